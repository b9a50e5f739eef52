"""Whether the history in a clone is whole: a shallow, partial or grafted one proves nothing.

Asked by the local hook too, where pathlib would take longer to import than everything here.
"""

import os

from tracker.errors import CouldNot

Folder = str | os.PathLike[str]


def check_whole(common_dir: Folder) -> None:
    """Raise CouldNot (``shallow``, ``partial``, ``grafted``) unless the whole history is here."""
    fault = missing_history(common_dir)
    if fault is not None:
        raise fault


def missing_history(common_dir: Folder) -> CouldNot | None:
    """What keeps this clone from showing the whole history, with the fix; None when nothing does."""
    grafts = os.path.join(common_dir, "info", "grafts")  # noqa: PTH118 - see the module
    if _says_something(os.path.join(common_dir, "shallow")):  # noqa: PTH118
        return CouldNot(
            "shallow",
            "this clone holds only the end of the history (shallow), so nothing can be proven from it",
            where=str(common_dir),
            fix="git fetch --unshallow",
        )
    if _says_something(grafts):
        return CouldNot(
            "grafted",
            "this clone shows a history that was put together by hand (grafts)",
            where=grafts,
            fix="delete that file, or work in a fresh clone",
        )
    if _has_promisor(os.path.join(common_dir, "objects", "pack")):  # noqa: PTH118
        return CouldNot(
            "partial",
            "this clone holds only a part of the files (partial clone), so nothing can be proven from it",
            where=str(common_dir),
            fix="make a fresh clone without --filter",
        )
    return None


def _has_promisor(packs: str) -> bool:
    try:
        return any(name.endswith(".promisor") for name in os.listdir(packs))  # noqa: PTH208
    except OSError:
        return False


def _says_something(file: str) -> bool:
    try:
        with open(file, "rb") as opened:  # noqa: PTH123
            lines = opened.read().splitlines()
    except OSError:
        return False
    return any(line.strip() and not line.startswith(b"#") for line in lines)
