"""Whether the history in a clone is whole: a shallow, partial or grafted one proves nothing."""

from pathlib import Path

from tracker.errors import CouldNot


def check_whole(common_dir: Path) -> None:
    """Raise CouldNot (``shallow``, ``partial``, ``grafted``) unless the whole history is here."""
    fault = missing_history(common_dir)
    if fault is not None:
        raise fault


def missing_history(common_dir: Path) -> CouldNot | None:
    """What keeps this clone from showing the whole history, with the fix; None when nothing does."""
    if _says_something(common_dir / "shallow"):
        return CouldNot(
            "shallow",
            "this clone holds only the end of the history (shallow), so nothing can be proven from it",
            where=str(common_dir),
            fix="git fetch --unshallow",
        )
    if _says_something(common_dir / "info" / "grafts"):
        return CouldNot(
            "grafted",
            "this clone shows a history that was put together by hand (grafts)",
            where=str(common_dir / "info" / "grafts"),
            fix="delete that file, or work in a fresh clone",
        )
    if next((common_dir / "objects" / "pack").glob("*.promisor"), None) is not None:
        return CouldNot(
            "partial",
            "this clone holds only a part of the files (partial clone), so nothing can be proven from it",
            where=str(common_dir),
            fix="make a fresh clone without --filter",
        )
    return None


def _says_something(file: Path) -> bool:
    try:
        lines = file.read_bytes().splitlines()
    except OSError:
        return False
    return any(line.strip() and not line.startswith(b"#") for line in lines)
