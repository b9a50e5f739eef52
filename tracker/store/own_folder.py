"""The folder below the git directory that is this program's own: never shared, never in the record."""

from pathlib import Path

from tracker.store.open_clone import open_clone


def own_folder(folder: str = ".") -> Path:
    """Made where there is none; raises OSError, and what `open_clone` raises."""
    place = open_clone(folder).git_dir / "proveout"
    place.mkdir(exist_ok=True)
    return place.resolve()
