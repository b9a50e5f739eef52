"""The set-up of one repository on this PC (`tracker.services.ports_setup.SetUp`): hooks, settings, attributes."""

import os
import re
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from tracker.errors import CouldNot, Refused
from tracker.services.ports_backup import LastBackup
from tracker.services.ports_setup import HookPlace, HookSeen, LockSeen
from tracker.store.bundles import last_backup
from tracker.store.clone import Clone
from tracker.store.data import data_folder, hook_start
from tracker.store.git import path_bytes, path_text
from tracker.store.git_faults import lock_facts
from tracker.store.journal import left_over
from tracker.store.setup_signing import SigningSite
from tracker.store.share_stamp import has_remote, last_share
from tracker.store.tree import REGULAR
from tracker.store.whole import missing_history

# every version of ours has this in its second line
MARK = b"# proveout hook "
KEPT = ".before-proveout"
_HEADS = "refs/heads/"
_WRAPPER = "nc-text"
_TOOL = "nc-difftool"
_CACHE_REF = "refs/notes/textconv/nc"
_NEW_GIT = "install git 2.30 or newer (git-scm.com)"


class Site(SigningSite):
    """One repository's set-up; ``python`` is the interpreter the hooks start, by default the one running now."""

    def __init__(self, clone: Clone, *, python: str | None = None) -> None:
        super().__init__(clone)
        self._git = clone.git
        self._python = (python or sys.executable).replace("\\", "/")

    @property
    def root(self) -> str:
        """Its folder, for people's eyes."""
        return self._clone.root

    @property
    def bare(self) -> bool:
        """Whether it is a bare repository."""
        return self._clone.bare

    def git_version(self) -> tuple[int, ...]:
        """The version of git, like (2, 39, 5)."""
        said = self._git.run("version").decode("utf-8", "replace")
        found = re.search(r"(\d+)\.(\d+)(?:\.(\d+))?", said)
        if found is None:
            raise CouldNot(
                "git-failed", "git does not tell its version", reasons=(said.strip(),), fix=_NEW_GIT
            )
        return tuple(int(part) for part in found.groups() if part is not None)

    def hooks_place(self) -> tuple[HookPlace, str]:
        """Where git looks for hooks."""
        folder = self._hooks().resolve()
        if folder.is_relative_to(self._clone.common_dir.resolve()):
            return "own", str(folder)
        inside = not self.bare and folder.is_relative_to(Path(self.root).resolve())
        return ("tree" if inside else "elsewhere"), str(folder)

    def hook(self, name: str) -> HookSeen:
        """One hook as it lies there."""
        path = self._hooks() / name
        kept = path.with_name(name + KEPT)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return HookSeen(name=name, path=str(path), state="none", kept=kept.exists())
        except OSError as fault:
            raise _fault(path, fault) from fault
        lines = data.split(b"\n", 2)
        ours = len(lines) > 1 and lines[1].startswith(MARK)
        return HookSeen(
            name=name,
            path=str(path),
            state="ours" if data == self._template(name) else "old" if ours else "other",
            runs=os.access(path, os.X_OK),
            kept=kept.exists(),
        )

    def put_hook(self, name: str) -> None:
        """Write our hook; one of somebody else is kept under another name and still runs."""
        seen = self.hook(name)
        path = Path(seen.path)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if seen.state == "other":
                if seen.kept:
                    raise _in_the_way(path)
                path.rename(path.with_name(name + KEPT))
            _write_program(path, self._template(name))
        except OSError as fault:
            raise _fault(path, fault) from fault

    def drop_hook(self, name: str) -> None:
        """Take our hook away and give the one that was there before its name back."""
        seen = self.hook(name)
        if seen.state not in ("ours", "old"):
            return
        path = Path(seen.path)
        try:
            path.unlink()
            if seen.kept:
                path.with_name(name + KEPT).rename(path)
        except OSError as fault:
            raise _fault(path, fault) from fault

    def setting(self, name: str) -> str | None:
        """A setting of git in force here, or None."""
        status, out, _ = self._git.attempt("config", "-z", "--get", name)
        return path_text(out).rstrip("\0") if status == 0 else None

    def put_setting(self, name: str, value: str) -> None:
        """Set it for this repository alone."""
        self._git.run("config", "--local", "--replace-all", name, value)

    def drop_setting(self, name: str) -> None:
        """Take this repository's own value away, if there is one."""
        self._git.run("config", "--local", "--unset-all", name, ok=(0, 5))

    def driver(self, rule_version: int) -> str:
        """The command of the diff driver.

        git puts the file's name behind it. Where the wrapper is gone (the clone was moved) the file is shown as it is.
        """
        inner = 'if [ -f "$1" ]; then exec sh "$1" "$2" "$3"; else exec cat "$3"; fi'
        return f"sh -c {_quoted(inner)} {_WRAPPER} {_quoted(self._wrapper().as_posix())} {rule_version}"

    def difftool(self) -> str:
        """The command of ``git difftool``; git has the two files and the name ready for the shell."""
        inner = (
            'if [ -f "$1" ]; then exec sh "$1" "$2" "$3" "$4"; '
            'else git --no-pager diff --no-ext-diff --no-index -- "$2" "$3"; fi'
        )
        path = _quoted(self._wrapper(_TOOL).as_posix())
        return f'sh -c {_quoted(inner)} {_TOOL} {path} "$LOCAL" "$REMOTE" "$MERGED"'

    def put_driver(self) -> None:
        """Write the wrappers, and forget git's memory of earlier answers: some may have been given without us."""
        for name in (_WRAPPER, _TOOL):
            path = self._wrapper(name)
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                _write_program(path, self._template(name))
            except OSError as fault:
                raise _fault(path, fault) from fault
        self._forget_answers()

    def drop_driver(self) -> None:
        """Take the wrappers and git's memory away."""
        for name in (_WRAPPER, _TOOL):
            try:
                self._wrapper(name).unlink(missing_ok=True)
            except OSError as fault:
                raise _fault(self._wrapper(name), fault) from fault
        self._forget_answers()

    def _forget_answers(self) -> None:
        status, _, _ = self._git.attempt("rev-parse", "--verify", "--quiet", _CACHE_REF)
        if status == 0:
            self._git.run("update-ref", "-d", _CACHE_REF)

    def driver_file(self) -> bool:
        """Whether the wrappers are there as this version writes them."""
        try:
            return all(self._wrapper(name).read_bytes() == self._template(name) for name in (_WRAPPER, _TOOL))
        except OSError:
            return False

    def paths(self) -> Sequence[str]:
        """The files in the working folder."""
        return self._clone.work_tree().paths()

    def write_attributes(self, text: str) -> None:
        """Add these lines to the attributes only this clone has, if they are not there."""
        from tracker.store.create import Folder

        Folder(Path(self.root)).write_attributes(text)

    def attributes(self, paths: Sequence[str]) -> Sequence[tuple[str, str, str]]:
        """Per path what git makes of its attributes ``text``, ``diff`` and ``merge``."""
        names = b"".join(path_bytes(path) + b"\0" for path in paths)
        words = ("check-attr", "-z", "--stdin", "text", "diff", "merge")
        cells = self._git.run(*words, stdin=names).split(b"\0")[:-1]
        values = [path_text(value) for value in cells[2::3]]
        return [(values[at], values[at + 1], values[at + 2]) for at in range(0, len(values), 3)]

    def history_fault(self) -> CouldNot | None:
        """What keeps this clone from showing the whole history, or None."""
        return missing_history(self._clone.common_dir)

    def locks(self) -> Sequence[LockSeen]:
        """Locks of git that lie there now."""
        folders = {self._clone.git_dir, self._clone.common_dir}
        found = {path for folder in folders for path in folder.glob("*.lock")}
        found |= set((self._clone.common_dir / "refs").rglob("*.lock"))
        now = time.time()
        return [
            LockSeen(path=str(path), seconds=now - path.stat().st_mtime, says=lock_facts(path))
            for path in sorted(found)
            if path.exists()
        ]

    def unfinished(self) -> int:
        """How many check-ins were killed and wait to be tidied up."""
        journals = list(left_over(self._clone.git_dir))
        for journal in journals:
            journal.release()
        return len(journals)

    def last_share(self) -> tuple[bool, datetime | None]:
        """Whether there is a remote, and when something last came from or went to one."""
        remote = has_remote(self._clone.config)
        return remote, last_share(self._clone.git_dir, self._clone.common_dir) if remote else None

    def last_backup(self) -> LastBackup | None:
        """The latest backup made from this clone, or None."""
        return last_backup(self._clone.common_dir)

    def branches(self) -> tuple[str, Sequence[str]]:
        """The branch HEAD names, and those that are there."""
        there = [ref.name for ref in self._clone.refs() if ref.name.startswith(_HEADS)]
        return self._clone.head().branch or "", [name.removeprefix(_HEADS) for name in there]

    def put_main_branch(self, name: str) -> None:
        """Let HEAD name it."""
        self._clone.git.run("symbolic-ref", "HEAD", _HEADS + name)

    def receive_journal(self) -> tuple[int, Sequence[str]]:
        """What the receive journal holds, and what is wrong with it."""
        from tracker.store.receive_journal import journal_faults

        return journal_faults(self._clone.common_dir, {ref.name: ref.object_id for ref in self._clone.refs()})

    def links(self) -> Sequence[str]:
        """Links and submodules in HEAD."""
        entries = self._clone.tree().all_entries
        return sorted(path for path, entry in entries.items() if entry.mode not in REGULAR)

    def _hooks(self) -> Path:
        out = self._git.run("rev-parse", "--git-path", "hooks")
        return Path(self._git.folder) / path_text(out).rstrip("\n")

    def _wrapper(self, name: str = _WRAPPER) -> Path:
        return self._clone.common_dir / "proveout" / name

    def _template(self, name: str) -> bytes:
        text = (data_folder("hooks") / name).read_bytes().replace(b"\r\n", b"\n")
        return text.replace(b"'@PYTHON@'", os.fsencode(_quoted(self._python))).replace(
            b"'@START@'", os.fsencode(_quoted(hook_start().replace("\\", "/")))
        )


def _quoted(text: str) -> str:
    """A word for the shell, whatever stands in it."""
    return "'" + text.replace("'", "'\\''") + "'"


def _write_program(path: Path, data: bytes) -> None:
    """Put a file that can be run in place, at once."""
    temporary = path.with_name(f"{path.name}.{os.urandom(4).hex()}.part")
    try:
        temporary.write_bytes(data)
        temporary.chmod(0o755)
        temporary.replace(path)
    finally:
        with suppress(OSError):  # what went wrong before this is what is told
            temporary.unlink(missing_ok=True)


def _in_the_way(path: Path) -> Refused:
    return Refused(
        "hook-in-the-way",
        "another program put its hook in place of ours, and a kept one lies beside it: two cannot be kept",
        where=str(path),
        fix=f"put what both do into {path.name}{KEPT}, delete {path.name}, then run it again",
    )


def _fault(path: Path, fault: OSError) -> CouldNot:
    return CouldNot(
        "no-permission" if isinstance(fault, PermissionError) else "not-written",
        f"the set-up cannot be read or written: {fault.strerror or fault}",
        where=str(path),
        fix="look at the permissions of that folder",
    )
