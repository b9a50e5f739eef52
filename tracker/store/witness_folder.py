"""The folder of a witness: ``record.git``, a bare copy that runs no hook and takes no setting of its source, the journal.

What is fetched lands below ``refs/seen/now/`` first, which no audit looks at; only `tracker.services.witness` moves a
kept reference on. The source is read through git's own upload-pack, so a plain shared folder serves as well as a server.
"""

import contextlib
import errno
import hashlib
import os
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

from tracker.errors import BadCall, CouldNot
from tracker.store.git import Git, find_git, path_bytes, path_text
from tracker.store.git_faults import GitFailedError
from tracker.store.refs import read_refs

_RECORD = "record.git"
_JOURNAL = "journal.txt"
_LAST = "journal-last.txt"
_SOURCE = "source.txt"
_PART = ".part"
_KEPT = ("refs/heads/", "refs/tags/")
_NOW = "refs/seen/now/"
# what git says where it read the source and could not put down what it read
_OURS = ("couldn't write", "unable to write", "unable to create")
_QUIET = (
    "-c",
    f"core.hooksPath={os.devnull}",
    "-c",
    "protocol.ext.allow=never",
    "-c",
    "gc.auto=0",
    "-c",
    "fetch.recurseSubmodules=false",
)


class WitnessFolder:
    """A folder with the copy and the journal (`tracker.services.ports_witness.Copy` and `Journal`)."""

    def __init__(self, folder: Path, source: str) -> None:
        self._folder = folder
        self.source = source
        self.record = folder / _RECORD
        self.git = Git(folder=str(self.record))

    def see(self) -> Mapping[str, str]:
        """Every branch and tag of the source, their objects fetched."""
        words = (
            "fetch",
            "--quiet",
            "--prune",
            "--no-tags",
            "--no-write-fetch-head",
            "--no-auto-gc",
            "--force",
        )
        specs = tuple(f"+{kept}*:{_NOW}{kept.removeprefix('refs/')}*" for kept in _KEPT)
        try:
            there = self.git.run(
                *_QUIET, "ls-remote", "--refs", "--", self.source, *(f"{one}*" for one in _KEPT)
            )
            self.git.run(*_QUIET, *words, "--", self.source, *specs)
        except GitFailedError as fault:
            raise self._not_seen(fault) from fault
        refs = self._refs()
        seen = {f"refs/{ref.removeprefix(_NOW)}": refs[ref] for ref in refs if ref.startswith(_NOW)}
        listed = {row.partition("\t")[2] for row in path_text(there).splitlines()}
        if not listed <= seen.keys():  # what hangs on a history without its beginning is not handed out
            raise CouldNot(
                "shallow",
                "what the witness watches holds only a part of the history, so nothing can be proven from it",
                where=self.source,
                fix="let it watch the repository everybody pushes to, or a whole clone",
            )
        return seen

    def _not_seen(self, fault: GitFailedError) -> CouldNot:
        """What kept a look from being made: this side's disk, or the way to the source."""
        if fault.name in ("disk-full", "dubious-ownership"):
            return fault
        if any(word in line for line in fault.reasons for word in _OURS):
            return CouldNot(
                "not-written",
                "the witness cannot write its copy",
                where=str(self.record),
                reasons=fault.reasons,
                fix="look at the free space and the permissions there, then run it again",
            )
        return CouldNot(
            "unreachable",
            "what the witness watches cannot be read now",
            where=self.source,
            reasons=fault.reasons or (fault.what,),
            fix="look at the network, the share and the right to read there, then run it again",
        )

    def kept(self) -> Mapping[str, str]:
        """Every branch and tag as the copy keeps it."""
        return {ref: one for ref, one in self._refs().items() if ref.startswith(_KEPT)}

    def holds(self, earlier: str, later: str) -> bool:
        """Whether commit ``earlier`` is in the history of ``later``."""
        words = ("merge-base", "--is-ancestor", earlier, later)
        status, _, said = self.git.attempt(*words)
        if status not in (0, 1):
            raise GitFailedError(words, status, said)
        return status == 0

    def keep(self, ref: str, new: str, old: str | None) -> None:
        """Make a reference, or move it on."""
        self.git.run(*_QUIET, "update-ref", path_bytes(ref), new, old or "0" * len(new))

    def put_aside(self, ref: str, object_id: str, stamp: str) -> None:
        """Keep what was seen under ``refs/seen/<stamp>/``."""
        name = f"refs/seen/{stamp}/{ref.removeprefix('refs/')}"
        self.git.run(*_QUIET, "update-ref", path_bytes(name), object_id)

    def point_head(self) -> None:
        """HEAD on the source's branch, so that the copy can be read and cloned; a kept branch is never left for it."""
        status, out, _ = self.git.attempt(*_QUIET, "ls-remote", "--symref", "--", self.source, "HEAD")
        said = [line.split()[1] for line in path_text(out).splitlines() if line.startswith("ref: ")]
        kept = self.kept()
        here = path_text(self.git.run(*_QUIET, "symbolic-ref", "--quiet", "HEAD", ok=(0, 1))).strip()
        # a source without a branch in hand says none: then the one in hand here, else a usual one, else any
        likely = [*(said if status == 0 else ()), here, "refs/heads/main", "refs/heads/master", *sorted(kept)]
        named = next((ref for ref in likely if ref in kept and ref.startswith("refs/heads/")), None)
        if named is not None and named != here:
            self.git.run(*_QUIET, "symbolic-ref", "HEAD", path_bytes(named))

    def forget(self) -> None:
        """Drop what an audit noted here: a witness takes nothing over from the day before."""
        shutil.rmtree(self.record / "proveout", ignore_errors=True)

    def lines(self) -> Sequence[bytes]:
        """Every line of the journal."""
        try:
            data = (self._folder / _JOURNAL).read_bytes()
        except FileNotFoundError:
            return []
        return data.removesuffix(b"\n").split(b"\n") if data else []

    def last(self) -> tuple[int, str] | None:
        """Count and digest noted after the latest line."""
        try:
            count, digest = (self._folder / _LAST).read_text("ascii").split()
            return int(count), digest
        except FileNotFoundError:
            return None
        except ValueError:
            return len(self.lines()) + 1, "unreadable"

    def add(self, line: bytes) -> None:
        """Add one line; one that was cut short gets its end first."""
        path = self._folder / _JOURNAL
        before = path.read_bytes() if path.exists() else b""
        with path.open("ab", buffering=0) as file:
            whole = b"\n" * (bool(before) and not before.endswith(b"\n")) + line + b"\n"
            written = 0
            try:
                while written < len(whole):
                    written += file.write(whole[written:]) or 0
                os.fsync(file.fileno())
            except OSError:
                # half a line would read as one that was tampered with; one somebody else added meanwhile stays
                with contextlib.suppress(OSError):
                    if path.stat().st_size == len(before) + written:
                        file.truncate(len(before))
                raise
        beside = self._folder / f"{_LAST}.new"
        beside.write_text(f"{len(self.lines())} {hashlib.sha256(line).hexdigest()}\n", "ascii", newline="\n")
        beside.replace(self._folder / _LAST)

    def _refs(self) -> Mapping[str, str]:
        return {ref.name: ref.object_id for ref in read_refs(self.git)}


def open_witness(folder: Path, source: str | None) -> WitnessFolder:
    """The witness in a folder, begun where there is none.

    Raises BadCall (``not-a-witness``, ``no-source``), CouldNot (``no-git``, ``no-permission``).
    """
    known = _known(folder)
    if known is None and folder.exists() and (not folder.is_dir() or _holds_more(folder)):
        fix = "name a new folder, or that of a witness that was begun before"
        raise BadCall("not-a-witness", "this is no folder of a witness", where=str(folder), fix=fix)
    named = _absolute(source) if source is not None else known
    if named is None:
        fix = f'proveout witness "{folder}" --from REPO_OR_URL'
        raise BadCall("no-source", "what is this witness to watch?", where=str(folder), fix=fix)
    if known is not None and named != known:
        fix = "begin another witness in another folder"
        raise BadCall("no-source", f"this witness watches {known}", where=str(folder), fix=fix)
    return WitnessFolder(folder.absolute(), named)


def begin(witness: WitnessFolder) -> bool:
    """Make the folder and the empty copy where there is none; whether it was made just now."""
    if witness.record.exists():
        return False
    find_git()
    folder = witness.record.parent
    source, record = folder / f"{_SOURCE}{_PART}", folder / f"{_RECORD}{_PART}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        form = _format_of(witness)
        shutil.rmtree(record, ignore_errors=True)  # of one that was killed
        Git(folder=str(folder)).run("init", "--quiet", "--bare", "--template=", *form, record.name)
        source.write_text(f"{witness.source}\n", "utf-8", "surrogateescape", newline="\n")
        source.replace(folder / _SOURCE)
        record.replace(witness.record)  # last: where it is, all is there
    except CouldNot:
        undo(witness)
        raise
    except OSError as fault:
        undo(witness)
        if fault.errno not in (errno.EACCES, errno.EPERM):
            raise
        fix = "ask its owner for the right to write there, or name another folder"
        raise CouldNot(
            "no-permission",
            "the folder of the witness cannot be made",
            where=str(witness.record.parent),
            fix=fix,
        ) from fault
    return True


def undo(witness: WitnessFolder) -> None:
    """Take away what `begin` made, and nothing else: what a witness whose copy is gone has seen stays told."""
    folder = witness.record.parent
    part = folder / f"{_RECORD}{_PART}"
    try:  # under that name first: half of it must not pass for a copy
        if witness.record.exists():
            witness.record.replace(part)
    except OSError:
        return  # a whole one stays, and the next look goes on with it
    shutil.rmtree(part, ignore_errors=True)
    with contextlib.suppress(OSError):
        (folder / f"{_SOURCE}{_PART}").unlink(missing_ok=True)
        journal = folder / _JOURNAL
        if journal.exists() and journal.stat().st_size:
            return
        for name in (_SOURCE, _JOURNAL):
            (folder / name).unlink(missing_ok=True)
        folder.rmdir()


def _holds_more(folder: Path) -> bool:
    """Whether there is anything but what a witness that was killed as it began had made."""
    ours = {f"{_RECORD}{_PART}", f"{_SOURCE}{_PART}"}
    return any(path.name not in ours for path in folder.iterdir())


def _format_of(witness: WitnessFolder) -> tuple[str, ...]:
    """``--object-format=sha256`` where the source has such ids."""
    words = ("ls-remote", "--", witness.source)
    status, out, _ = Git(folder=str(witness.record.parent)).attempt(*_QUIET, *words)
    first = out.split(b"\t", 1)[0]
    return ("--object-format=sha256",) if status == 0 and len(first) == 64 else ()


def _known(folder: Path) -> str | None:
    try:
        return (folder / _SOURCE).read_text("utf-8", "surrogateescape").strip() or None
    except OSError:
        return None


def _absolute(source: str) -> str:
    """A folder by its full name, since a scheduled task runs from elsewhere; an address as it is."""
    return str(Path(source).resolve()) if Path(source).exists() else source
