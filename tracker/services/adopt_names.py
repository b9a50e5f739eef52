"""Which job and operation an old program may belong to, going by its folder and name. Proposals: a person decides."""

import re
from collections.abc import Iterable, Sequence

from tracker.records.ids import is_id
from tracker.services.init import ENDINGS, NUMBERED

_OPERATION = re.compile(r"(?i)op[ _-]?(\d{1,4})[a-z]?")
_LONGEST = 24
_FEW = 6
"""Main programs in one folder up to which they are taken for the operations of one job."""


def proposed(path: str, beside: int, machines: Iterable[str]) -> tuple[str, str | None]:
    """Job and operation for a main program.

    Args:
        path: of the file from the folder looked at.
        beside: main programs in its folder, itself among them.
        machines: ids of the shop's machines: a folder called like one says nothing of the job.

    Returns:
        The job's id, and the operation's where a folder names it.
    """
    *folders, name = path.split("/")
    stem = name.rpartition(".")[0] or name
    known = {one.lower() for one in machines}
    folders = [one for one in folders if one.lower() not in known and one.lower() not in ("jobs", "programs")]
    operation = None
    if folders and (found := _OPERATION.fullmatch(folders[-1])):
        operation, folders = f"op{int(found[1])}", folders[:-1]
    if folders and (operation is not None or beside <= _FEW):
        return as_id(folders[-1]), operation
    return as_id(stem), operation


def as_id(text: str) -> str:
    """The nearest thing to ``text`` that may be an id."""
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", text.encode("ascii", "ignore").decode()).strip("-._")
    plain = re.sub(r"\.\.+", ".", plain)[:_LONGEST].rstrip(".-")
    if is_id(plain):
        return plain
    return f"J-{plain}"[:_LONGEST].rstrip(".-") if plain else "J-unnamed"


def machine_of(path: str, machines: Sequence[str]) -> str:
    """The machine one of the folders is called like, else the only one the shop has, or an empty text."""
    parts = {part.lower() for part in path.split("/")[:-1]}
    found = [one for one in machines if one.lower() in parts]
    possible = found or machines
    return possible[0] if len(possible) == 1 else ""


def looks_like_program(path: str) -> bool:
    """Whether a file is called as NC programs are: by its ending, or like a program number."""
    stem, _, ending = path.rpartition("/")[2].rpartition(".")
    return ending.lower() in ENDINGS or NUMBERED.fullmatch(stem or ending) is not None
