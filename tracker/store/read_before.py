"""Which job the records are of that this clone has read before, so that the local hook takes only its own job's apart.

What the bytes of a blob say can never change, so a note of it holds for as long as the same version reads them; they are
still fetched and hashed again each time, and a record that could not be read is never noted. It spares time at the
local hook only, as the notes of `tracker.store.derived` do: a push, status, export and audit never look at it. A note
that is missing, of another version or not written to its end is no note.
"""

import os
from collections.abc import Mapping

from tracker import __version__

_PLACE = ("proveout", "read-before")
_END = "end"


def jobs_read_before(common_dir: str) -> dict[str, str]:
    """Blob id -> number of the job, in lower case, of records of one job."""
    try:
        with open(_path(common_dir), encoding="utf-8") as file:  # noqa: PTH123 - see derived
            lines = file.read().split("\n")
    except (OSError, ValueError):
        return {}
    if len(lines) < 2 or lines[0] != __version__ or lines[-1] != _END:
        return {}
    rows = (line.partition(" ") for line in lines[1:-1])
    return {blob: job for blob, _, job in rows}


def note_jobs_read(common_dir: str, jobs: Mapping[str, str]) -> None:
    """Write down what is known by now; silently nothing where it cannot be written."""
    rows = [f"{blob} {job}" for blob, job in jobs.items() if job.isprintable()]
    path = _path(common_dir)
    try:
        os.makedirs(os.path.dirname(path), exist_ok=True)  # noqa: PTH103, PTH120
        with open(f"{path}.{os.getpid()}", "w", encoding="utf-8", newline="\n") as file:  # noqa: PTH123
            file.write("\n".join([__version__, *rows, _END]))
        os.replace(f"{path}.{os.getpid()}", path)  # noqa: PTH105
    except (OSError, ValueError):
        return


def _path(common_dir: str) -> str:
    return os.path.join(common_dir, *_PLACE)  # noqa: PTH118
