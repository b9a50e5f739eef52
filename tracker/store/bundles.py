"""Backups as bundles of git (`tracker.services.ports_backup.Vault`), and a bundle unpacked to be looked at.

The order: temporary name, through to the disk, ``git bundle verify``, a mirror clone of it on this PC, all of its
objects checked and its references compared with ours one by one, the words, and only then the names.
"""

import contextlib
import errno
import hashlib
import os
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from tracker.errors import BadCall, CouldNot, ProveoutError, Refused
from tracker.services.ports_backup import Bundle, LastBackup
from tracker.store.clone import Clone
from tracker.store.git import Git
from tracker.store.git_faults import GitFailedError
from tracker.store.refs import read_refs
from tracker.store.whole import check_whole

_NOTE = ("proveout", "last-backup")
_CHUNK = 1 << 20
_SPACE = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG}
_CLOSED = {errno.EROFS, errno.EACCES, errno.EPERM}


class BundleFolder:
    """A folder, on another disk, that takes bundles of one clone."""

    def __init__(self, clone: Clone, folder: Path) -> None:
        self._clone = clone
        self._folder = folder

    def keep(self, name: str, words: Callable[[Bundle], str]) -> Bundle:
        """Write, read back, name; see the port."""
        check_whole(self._clone.common_dir)
        self._check_folder()
        target, beside = self._folder / f"{name}.bundle", self._folder / f"{name}.txt"
        for path in (target, beside):
            if path.exists():
                fix = "wait a second and run it again; a backup is never replaced"
                raise Refused("backup-exists", "there is a backup of this name", where=str(path), fix=fix)
        half, half_words = target.with_suffix(".half"), beside.with_suffix(".half-txt")
        try:
            bundle = self._write(half, target)
            half_words.write_text(words(bundle), "utf-8", newline="\r\n")
            _through(half_words)
            half_words.replace(beside)
            half.replace(target)
            _through(self._folder)
        except OSError as fault:
            raise _medium(fault, self._folder) from fault
        except ProveoutError:
            if not self._folder.is_dir():
                raise _gone(self._folder) from None
            raise
        finally:
            for path in (half, half_words, half.with_name(f"{half.name}.lock")):
                with contextlib.suppress(OSError):
                    path.unlink()
            if not target.exists():  # words about a backup that did not come to be
                with contextlib.suppress(OSError):
                    beside.unlink()
        return bundle

    def note(self, last: LastBackup) -> None:
        """Remember the backup on this PC; silently nothing where it cannot be written."""
        path = self._clone.common_dir.joinpath(*_NOTE)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(
                f"{int(last.at.timestamp())}\n{last.path}\n", "utf-8", "surrogateescape", newline="\n"
            )

    def _check_folder(self) -> None:
        if not self._folder.is_dir():
            fix = "make the folder, or plug the disk in; an own disk or a share of another PC is best"
            raise BadCall("no-backup-folder", "there is no such folder", where=str(self._folder), fix=fix)
        here = self._folder.resolve()
        own = [Path(self._clone.root).resolve(), self._clone.common_dir.resolve()]
        if any(here == place or place in here.parents for place in own):
            fix = "name a folder on another disk, or on another PC"
            raise BadCall(
                "backup-inside", "a backup inside the record is lost with it", where=str(here), fix=fix
            )

    def _write(self, half: Path, target: Path) -> Bundle:
        git = self._clone.git
        before = _references(git)
        if not before:
            fix = "check something in first"
            raise CouldNot(
                "nothing-recorded", "there is nothing to back up yet", where=self._clone.root, fix=fix
            )
        head = ["HEAD"] if self._clone.head().commit is not None else []
        git.run("bundle", "create", "--quiet", str(half.absolute()), "--all", *head)
        _through(half)
        with unpacked(half) as mirror:
            after = _references(mirror.git)
        lost = sorted(before.items() ^ after.items())
        if lost and _references(git) == before:
            fix = "run proveout audit here, and look at the disk the backup goes to"
            raise CouldNot(
                "backup-not-whole",
                "what was read back is not what was written",
                where=str(target),
                reasons=tuple(sorted({name for name, _ in lost}))[:12],
                fix=fix,
            )
        if lost:
            raise CouldNot("lost-race", "somebody recorded at the same moment", fix="run it again")
        alone = ("rev-list", "-n1", "--remotes", "--not", "--branches", "--tags", "HEAD")
        return Bundle(
            path=str(target),
            sha256=_sha256(half),
            size=half.stat().st_size,
            references=len(after),
            beside=bool(head and git.run(*alone).strip()),
        )


@contextlib.contextmanager
def unpacked(bundle: Path) -> Iterator[Clone]:
    """A mirror clone of a bundle in a temporary folder of this PC, every object in it checked.

    Raises CouldNot (``backup-not-whole``) where the bundle is not whole, BadCall (``missing-file``, ``is-a-folder``).
    """
    from tracker.store.open_clone import open_clone

    if not bundle.is_file():
        name, what = ("is-a-folder", "a folder") if bundle.is_dir() else ("missing-file", "no such file")
        raise BadCall(
            name, f"{what} where a backup is wanted", where=str(bundle), fix="name the .bundle file"
        )
    with tempfile.TemporaryDirectory(prefix="proveout-", ignore_cleanup_errors=True) as folder:
        try:
            git = Git(folder=folder)
            git.run("init", "--quiet", "--bare", "--template=", "check.git")
            Git(folder=str(Path(folder, "check.git"))).run("bundle", "verify", str(bundle.absolute()))
            quiet = ("clone", "--quiet", "--mirror", "--template=")
            git.run("-c", f"core.hooksPath={os.devnull}", *quiet, "--", str(bundle.absolute()), "mirror.git")
            Git(folder=str(Path(folder, "mirror.git"))).run(
                "fsck", "--full", "--no-dangling", "--no-progress"
            )
        except GitFailedError as fault:
            if fault.name in ("disk-full", "no-permission"):
                raise
            fix = "do not count on this file; make another backup, on another disk"
            raise CouldNot(
                "backup-not-whole",
                "the backup cannot be unpacked whole",
                where=str(bundle),
                reasons=fault.reasons,
                fix=fix,
            ) from fault
        clone = open_clone(Path(folder, "mirror.git"))
        try:
            yield clone
        finally:
            clone.close()


def last_backup(common_dir: Path) -> LastBackup | None:
    """The latest backup this clone knows of, or None."""
    try:
        seconds, path = common_dir.joinpath(*_NOTE).read_text("utf-8", "surrogateescape").splitlines()[:2]
        return LastBackup(at=datetime.fromtimestamp(int(seconds), UTC), path=path)
    except (OSError, ValueError, OverflowError):
        return None


def _references(git: Git) -> dict[str, str]:
    return {ref.name: ref.object_id for ref in read_refs(git)}


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _through(path: Path) -> None:
    """Bring a file, or the names in a folder, through to the medium (Windows does so with folders by itself)."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    except OSError as fault:
        if fault.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS):  # shares that cannot are let be
            raise
    finally:
        os.close(handle)


def _medium(fault: OSError, folder: Path) -> ProveoutError:
    if fault.errno in _SPACE:
        fix = "make room there, then run it again; nothing half was left under the name of a backup"
        return CouldNot("disk-full", "there is no room for the backup", where=str(folder), fix=fix)
    if fault.errno in _CLOSED:
        fix = "ask its owner for the right to write there"
        return CouldNot("no-permission", "this folder may not be written", where=str(folder), fix=fix)
    return _gone(folder)


def _gone(folder: Path) -> CouldNot:
    fix = "plug it in again and run it again; nothing half was left under the name of a backup"
    return CouldNot("medium-gone", "the place of the backup went away", where=str(folder), fix=fix)
