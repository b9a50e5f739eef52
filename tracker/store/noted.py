"""Notes under the git directory that spare the local hook time: rows of text, with the version that wrote them.

Nothing is ever believed that cannot be found out again without a note: one that is missing, of another version, or not
written to its end is no note, and one that cannot be written is not. Only the local hook looks at them; a push, status,
export and audit never do.
"""

import os
from collections.abc import Iterable, Sequence

from tracker import __version__
from tracker.nc.identity import RULE_VERSION

_FOLDER = "proveout"
_HEAD = f"{__version__} {RULE_VERSION}"
_END = "end"


def noted_rows(common_dir: str, name: str) -> Sequence[str]:
    """The rows of a note."""
    try:
        with open(_path(common_dir, name), encoding="utf-8", newline="\n") as file:  # noqa: PTH123 - see derived
            lines = file.read().split("\n")
    except (OSError, ValueError):
        return ()
    if len(lines) < 2 or lines[0] != _HEAD or lines[-1] != _END:
        return ()
    return lines[1:-1]


def note_rows(common_dir: str, name: str, rows: Iterable[str]) -> None:
    """Write a note anew; silently nothing where it cannot be written. No row holds a line feed."""
    path = _path(common_dir, name)
    try:
        os.makedirs(os.path.dirname(path), exist_ok=True)  # noqa: PTH103, PTH120
        with open(f"{path}.{os.getpid()}", "w", encoding="utf-8", newline="\n") as file:  # noqa: PTH123
            file.write("\n".join([_HEAD, *rows, _END]))
        os.replace(f"{path}.{os.getpid()}", path)  # noqa: PTH105
    except (OSError, ValueError):
        return


def _path(common_dir: str, name: str) -> str:
    return os.path.join(common_dir, _FOLDER, name)  # noqa: PTH118
