"""Folders of old programs on any disk; they are only read."""

import os
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path

from tracker.errors import BadCall, CouldNot
from tracker.services.ports_adopt import OldFile

_OWN = frozenset({".git", ".proveout"})


class OldFiles:
    """`tracker.services.ports_adopt.OldFolder` on a disk; ``root`` is the repository's."""

    def __init__(self, root: Path, standing: Path, name: str) -> None:
        """``name`` as a person named it from the folder he is ``standing`` in; raises BadCall (``no-such-folder``)."""
        self._name = name
        self._top = standing / name
        if not self._top.is_dir():
            raise BadCall(
                "no-such-folder",
                "there is no such folder",
                where=name,
                fix="name the folder the old programs lie in",
            )
        self._root = root.resolve()

    @property
    def label(self) -> str:
        """The folder as it was named."""
        return self._name

    def look(self) -> Sequence[OldFile]:
        """Every file in it and below, sorted."""
        within = self._within()
        return [
            OldFile(
                path=path,
                named=f"{self._name.rstrip('/')}/{path}" if self._name != "." else path,
                size=size,
                in_repository=None if within is None else f"{within}/{path}".removeprefix("./"),
            )
            for path, size in sorted(_walk(self._top, ""))
        ]

    def read(self, path: str) -> bytes:
        """The bytes of a file."""
        try:
            return (self._top / path).read_bytes()
        except (OSError, ValueError) as fault:
            raise CouldNot(
                "not-readable",
                f"the file cannot be read: {getattr(fault, 'strerror', None) or fault}",
                where=path,
                fix="look at its permissions, and whether the medium is whole",
            ) from fault

    def _within(self) -> str | None:
        """Where the folder lies in the repository (``.`` for the root), or None."""
        try:
            return self._top.resolve().relative_to(self._root).as_posix()
        except ValueError:
            return None


def _walk(top: Path, below: str) -> Iterator[tuple[str, int]]:
    """Path and size of every regular file; a folder that cannot be opened is passed over."""
    try:
        entries = sorted(os.scandir(top), key=lambda entry: entry.name)
    except OSError:
        return
    for entry in entries:
        path = f"{below}{entry.name}"
        try:
            seen = entry.stat(follow_symlinks=False)
        except OSError:
            continue
        if stat.S_ISDIR(seen.st_mode):
            if entry.name not in _OWN:
                yield from _walk(top / entry.name, f"{path}/")
        elif (
            stat.S_ISREG(seen.st_mode) and entry.name != ".git"
        ):  # a submodule's says where its repository lies
            yield path, seen.st_size
