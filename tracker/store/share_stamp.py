"""When a clone last shared: a note of ours, or what git itself left behind, whichever was written later."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from tracker.clock import parse_time
from tracker.errors import CouldNot

_STAMP = "last-share"


def put_stamp(common_dir: Path, at: datetime) -> None:
    """Note that it was now; raises CouldNot (``not-written``).

    It is written where it stands: one that is cut short is no time, and then what git left behind tells.
    """
    path = common_dir / "proveout" / _STAMP
    try:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ\n").encode("ascii"))
    except OSError as fault:
        raise CouldNot(
            "not-written",
            f"the file cannot be written: {fault.strerror or fault}",
            where=str(path),
            fix="look at the free space and the permissions of the folder",
        ) from fault


def last_share(git_dir: Path, common_dir: Path) -> datetime | None:
    """When something last came from a shared repository or went to one; None: never.

    An empty FETCH_HEAD is what a fetch that failed leaves behind.
    """
    files = [git_dir / "FETCH_HEAD", common_dir / "FETCH_HEAD"]
    files += (common_dir / "logs" / "refs" / "remotes").rglob("*")
    facts = [path.stat() for path in files if path.is_file()]
    latest = max((int(fact.st_mtime) for fact in facts if fact.st_size), default=None)
    ours = common_dir / "proveout" / _STAMP
    try:
        noted = parse_time(ours.read_text(encoding="ascii").strip())
        if latest is None or ours.stat().st_mtime + 1 >= latest:
            return noted
    except (OSError, ValueError):
        pass
    return datetime.fromtimestamp(latest, UTC) if latest is not None else None


def has_remote(config: Mapping[str, str]) -> bool:
    """Whether a clone with these settings of git knows another place."""
    return any(name.startswith("remote.") and name.endswith(".url") and text for name, text in config.items())
