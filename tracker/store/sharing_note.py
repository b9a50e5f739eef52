"""The note of a move that is under way: from which commit to which, kept under the git directory while it lasts."""

from datetime import datetime
from pathlib import Path

from tracker.clock import parse_time, utc_text
from tracker.frozen import dataclass
from tracker.store.work_tree import write_file

_NAME = "share-moving.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A move of ``branch`` from commit ``old`` to ``new``, begun at ``at``."""

    branch: str | None
    old: str | None
    new: str
    at: datetime


def is_noted(git_dir: Path) -> bool:
    """Whether a move is under way, or was cut short."""
    return (git_dir / "proveout" / _NAME).exists()


def put_note(git_dir: Path, note: Note) -> None:
    """Write it down to the disk; raises CouldNot (``not-written``)."""
    import json  # every call looks whether there is a note, hardly one has to do with any

    row = {"format": 1, "branch": note.branch, "from": note.old, "to": note.new, "at": utc_text(note.at)}
    write_file(git_dir / "proveout", _NAME, json.dumps(row).encode("ascii"))


def read_note(git_dir: Path) -> Note | None:
    """The note; None where there is none, or one nobody can read: it is written at once, so that one is not ours."""
    import json

    try:
        row = json.loads((git_dir / "proveout" / _NAME).read_bytes())
        return Note(branch=row["branch"], old=row["from"], new=row["to"], at=parse_time(row["at"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def drop_note(git_dir: Path) -> None:
    """The move is over."""
    (git_dir / "proveout" / _NAME).unlink(missing_ok=True)
