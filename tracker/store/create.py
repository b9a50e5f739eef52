"""Making a repository of a folder that has none, and what only this clone knows about its files."""

import os
import shutil
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from tracker.errors import BadCall, CouldNot, ProveoutError, Refused
from tracker.records.places import SHOP
from tracker.records.shop import Shop
from tracker.store.clone import Clone
from tracker.store.git import Git, find_git, path_text
from tracker.store.git_faults import GitFailedError
from tracker.store.open_clone import open_clone
from tracker.store.toml_files import load_shop
from tracker.store.work_tree import read_file

BRANCH = "main"


class Folder:
    """A folder a shop is made in (`tracker.services.init.Ground`); ``missing_ok`` folders are made."""

    def __init__(self, folder: Path) -> None:
        """Raises BadCall (``is-a-file``), Refused (``inside-repository``), CouldNot (``no-git``, ``not-written``, ...).

        Whether a shop may be here at all is asked before a folder is made.
        """
        find_git()
        _outside(folder)
        self._new = [one for one in (folder.absolute(), *folder.absolute().parents) if not one.exists()]
        self._made_git = False
        self._path = _made(folder)
        self._git = Git(folder=str(self._path))

    @property
    def root(self) -> str:
        """Its path, for people's eyes."""
        return str(self._path)

    def files(self) -> Sequence[str]:
        """Every file in it and below, without git's own; links are not followed."""
        found: list[str] = []
        for at, folders, names in os.walk(self._path, onerror=_raise):
            folders[:] = sorted(folder for folder in folders if folder != ".git")
            here = Path(at).relative_to(self._path).as_posix()
            found += [name if here == "." else f"{here}/{name}" for name in names if name != ".git"]
        return sorted(found)

    def shop(self) -> Shop | None:
        """The shop.toml that lies there, or None; raises BadCall when it is wrong."""
        data = read_file(self._path, SHOP)
        return None if data is None else load_shop(data, SHOP)

    def person(self) -> tuple[str, str] | None:
        """Name and e-mail address from the environment or git's settings; None unless both are set."""
        name = os.environ.get("GIT_AUTHOR_NAME") or self._setting("user.name")
        email = os.environ.get("GIT_AUTHOR_EMAIL") or self._setting("user.email")
        return (name, email) if name and email else None

    def existing(self) -> Clone | None:
        """The repository this folder is already, or None.

        Raises Refused (``inside-repository``), CouldNot as `open_clone` does.
        """
        try:
            clone = open_clone(self._path)
        except CouldNot as fault:
            if fault.name == "no-repository":
                return None
            raise
        if clone.bare or not Path(clone.root).samefile(self._path):
            raise _inside(clone)
        return clone

    def repository(self) -> Clone:
        """The same, made where there is none yet."""
        clone = self.existing()
        if clone is None:
            # loaded here alone: it costs more time than most verbs take, and a repository is made once
            from git import GitCommandError, Repo

            self._made_git = not (self._path / ".git").exists()
            try:
                Repo.init(self._path, initial_branch=BRANCH).close()
            except GitCommandError as fault:
                said = str(fault.stderr).encode("utf-8", "surrogateescape")
                raise GitFailedError(
                    ("init",), int(str(fault.status)) if str(fault.status).isdigit() else 1, said
                ) from fault
            clone = open_clone(self._path)
        return clone

    def write_attributes(self, text: str) -> None:
        """Add these lines to ``info/attributes``, if they are not there; what stands there is kept."""
        out = self._git.run("rev-parse", "--git-path", "info/attributes")
        path = self._path / path_text(out).rstrip("\n")
        try:
            held = path.read_bytes().decode("utf-8", "surrogateescape") if path.exists() else ""
            there = set(held.splitlines())
            new = [line for line in text.splitlines() if line not in there]
            if not new:
                return
            path.parent.mkdir(parents=True, exist_ok=True)
            joined = held + ("\n" if held and not held.endswith("\n") else "") + "\n".join(new) + "\n"
            path.write_bytes(joined.encode("utf-8", "surrogateescape"))
        except OSError as fault:
            raise _not_written(path, fault) from fault

    def take_back(self, texts: Mapping[str, str]) -> None:
        """Take away what was made here, as long as it holds nothing else; what is in a commit stays."""
        with suppress(OSError, ProveoutError):
            clone = self.existing()
            if clone is not None and clone.head().commit is not None and clone.tree().read(SHOP) is not None:
                return
            for path, text in texts.items():
                if read_file(self._path, path) == text.encode("utf-8"):
                    (self._path / path).unlink()
            if self._made_git and (clone is None or clone.head().commit is None):
                shutil.rmtree(self._path / ".git")
        for folder in [*((self._path / path).parent for path in texts), *self._new]:
            with suppress(OSError):  # one that holds something stays
                folder.rmdir()

    def _setting(self, name: str) -> str | None:
        status, out, _ = self._git.attempt("config", "--get", name)
        return path_text(out).strip() or None if status == 0 else None


def _outside(folder: Path) -> None:
    """Refuse a folder still to be made that would lie inside another repository."""
    above = next((parent for parent in folder.absolute().parents if parent.is_dir()), None)
    if above is None or folder.exists():
        return
    try:
        clone = open_clone(above)
    except CouldNot as fault:
        if fault.name == "no-repository":
            return
        raise
    raise _inside(clone)


def _inside(clone: Clone) -> Refused:
    return Refused(
        "inside-repository",
        "this folder lies inside another repository",
        where=clone.root,
        fix=f"make the shop there: proveout init {clone.root} ..., or take a folder outside",
    )


def _made(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return folder.resolve()
    except (FileExistsError, NotADirectoryError) as fault:
        raise BadCall(
            "is-a-file",
            "this is a file, not a folder",
            where=str(folder),
            fix="name the folder of the programs",
        ) from fault
    except OSError as fault:
        raise _not_written(folder, fault) from fault


def _not_written(path: Path, fault: OSError) -> CouldNot:
    return CouldNot(
        "no-permission" if isinstance(fault, PermissionError) else "not-written",
        f"cannot write here: {fault.strerror or fault}",
        where=str(path),
        fix="look at the permissions and the free space",
    )


def _raise(fault: OSError) -> None:
    raise CouldNot(
        "no-permission" if isinstance(fault, PermissionError) else "not-readable",
        f"a folder cannot be read: {fault.strerror or fault}",
        where=str(fault.filename),
        fix="look at its permissions",
    ) from fault
