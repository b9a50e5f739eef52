"""What this clone has read before, so that the local hook need not take it apart once more.

Which job records are of, and which shop.toml and job.toml were found without a mistake: what the bytes of a blob say can
never change, so a note of it holds for as long as the same version reads them. They are still fetched and hashed again
each time, and what could not be read is never noted. See `tracker.store.noted` for who believes it.
"""

from collections.abc import Iterable, Mapping

from tracker.store.noted import note_rows, noted_rows

_JOBS = "read-before"
_SOUND = "sound-before"


def jobs_read_before(common_dir: str) -> dict[str, str]:
    """Blob id -> number of the job, in lower case, of records of one job."""
    rows = (row.partition(" ") for row in noted_rows(common_dir, _JOBS))
    return {blob: job for blob, _, job in rows}


def note_jobs_read(common_dir: str, jobs: Mapping[str, str]) -> None:
    """Write down what is known by now."""
    note_rows(common_dir, _JOBS, (f"{blob} {job}" for blob, job in jobs.items() if job.isprintable()))


def sound_before(common_dir: str) -> set[tuple[str, str]]:
    """(blob id, path) of every shop.toml and job.toml that was found without a mistake."""
    rows = (row.partition(" ") for row in noted_rows(common_dir, _SOUND))
    return {(blob, path) for blob, _, path in rows}


def note_sound(common_dir: str, files: Iterable[tuple[str, str]]) -> None:
    """Write down those known by now."""
    note_rows(common_dir, _SOUND, (f"{blob} {path}" for blob, path in files if path.isprintable()))
