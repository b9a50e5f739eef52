"""A small shop on real git, with everything of the person at this PC kept out."""

import os
import subprocess
from datetime import UTC, datetime
from pathlib import Path

from tracker.records.events import HoldRecord
from tracker.records.shop import Person
from tracker.services.ports import NewFile
from tracker.store.clone import Clone
from tracker.store.open_clone import open_clone

KIM = Person(initials="kp", name="Kim Pine", email="kim@shop.example", roles=("setup",))
AT = datetime(2026, 3, 11, 9, 15, 2, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Invented Shop"
[[people]]
initials = "kp"
name = "Kim Pine"
email = "kim@shop.example"
roles = ["setup"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
"""
JOB = """format = 1
[job]
number = "4471"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
"""
PROGRAM = b"%\r\nO1001\r\nG20 G17 G54\r\nG0 G90 X0 Y0\r\nM30\r\n%\r\n"


def git(folder, *words, check=True, stdin=None, env=None):
    done = subprocess.run(
        ["git", *words],
        cwd=folder,
        input=stdin,
        capture_output=True,
        check=False,
        env={**os.environ, **(env or {})},
    )
    if check:
        assert done.returncode == 0, (words, done.stderr)
        return done.stdout.decode("utf-8", "surrogateescape").rstrip("\n")
    return done


def write(folder: Path, path: str, data) -> None:
    full = folder / path
    full.parent.mkdir(parents=True, exist_ok=True)
    full.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8"))


def make_shop(folder: Path, *, attributes: str | None = "* -text\n") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    git(folder, "init", "-q", "-b", "main")
    write(folder, "shop.toml", SHOP)
    write(folder, "jobs/4471/job.toml", JOB)
    write(folder, "jobs/4471/op10/O1001.nc", PROGRAM)
    if attributes is not None:
        write(folder, ".gitattributes", attributes)
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "the shop begins")
    return folder


def hold_record(at: datetime = AT, *, by: str = "kp", reason: str = "tool broke") -> HoldRecord:
    return HoldRecord(
        job="4471",
        operation="op10",
        revision=None,
        at=at,
        entered=at,
        by=by,
        reason=reason,
        scope="operation",
    )


def record_path(number: int, operation: str = "op10") -> str:
    return f"jobs/4471/records/{operation}/2026031{number % 10}T0915{number:02}Z-hold-kp.toml"


def record(clone: Clone, path: str, **changes) -> str:
    """Check one record in; returns the commit."""
    data = clone.encode(hold_record(**changes))
    return clone.commit([NewFile(path=path, data=data)], message=f"hold {path}", author=KIM, at=AT)


def opened(folder: Path) -> Clone:
    return open_clone(folder)
