"""Where things stand in a shop's repository: pure questions about paths.

Paths are relative to the root, with forward slashes, as text. The places are ``shop.toml``, ``jobs/<job>/job.toml``,
records below ``jobs/<job>/records/`` and ``records/``, and everything else is programs and people's own files.
"""

SHOP = "shop.toml"
RECORD_SUFFIXES = (".toml", ".sig")


def is_below_records(path: str) -> bool:
    """Whether ``path`` lies in a folder for records: nothing may ever be changed or taken away there.

    Compared without regard to case, since on Windows and macOS ``Records/`` is the same folder.
    """
    lower = path.lower()
    if "records/" not in lower:
        return False
    parts = lower.split("/")
    if len(parts) >= 2 and parts[0] == "records":
        return True
    return len(parts) >= 4 and parts[0] == "jobs" and parts[2] == "records"


def is_record(path: str) -> bool:
    """Whether ``path`` is the file of a record (not the signature beside it)."""
    return path.endswith(".toml") and is_below_records(path)


def job_folder(path: str) -> str | None:
    """``jobs/4471`` for every path below that folder, else None."""
    parts = path.split("/")
    return "/".join(parts[:2]) if len(parts) >= 3 and parts[0] == "jobs" else None


def is_of_the_office(folder: str) -> bool:
    """Whether a folder, seen from the root, holds what the office keeps: programs, records, git's own; ``""`` is the root."""
    return folder.partition("/")[0].lower() in {"", ".git", "jobs", "records"}


def is_job_file(path: str) -> bool:
    """Whether ``path`` is a job.toml where one belongs: ``jobs/<folder>/job.toml``."""
    parts = path.split("/")
    return len(parts) == 3 and parts[0] == "jobs" and parts[2] == "job.toml"


def operation_of_record(path: str) -> str | None:
    """``op10`` for a record of one operation, ``jobs/4471/records/op10/...``; else None."""
    parts = path.split("/")
    if len(parts) == 5 and parts[0] == "jobs" and parts[2] == "records":
        return parts[3]
    return None
