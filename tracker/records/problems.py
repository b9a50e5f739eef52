"""What is wrong with a file people write, as values; where it stands is a path of keys and list places."""

from collections.abc import Iterable

from tracker.frozen import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where (``("machines", 1, "pockets")``), what, and how to put it right."""

    path: Path
    message: str
    fix: str | None = None


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name most like ``name`` (case aside), None when nothing is known."""
    by_lower = {one.lower(): one for one in known}
    import difflib  # only a name that is not there pays for it

    close = difflib.get_close_matches(name.lower(), by_lower, n=1, cutoff=0.0)
    return by_lower[close[0]] if close else None


def nearest_fix(name: str, known: Iterable[str], what: str) -> str:
    """``did you mean MILL2? machines known here: MILL2, MILL3``."""
    names = list(known)
    close = nearest(name, names)
    if close is None:
        return f"there are no {what} here yet"
    return f"did you mean {close}? {what} known here: {', '.join(names)}"
