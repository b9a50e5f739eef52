"""A small invented shop on the repository in memory, with a stick: what export and collect are tried on."""

import copy
from datetime import UTC, datetime, timedelta
from functools import cache

from tests.fakes.disk import MemoryDisk
from tests.fakes.repository import FakeRepository, desk_at
from tracker.policy.find import find_revision, newest
from tracker.records.events import (
    FirstPiece,
    HoldRecord,
    ProofRecord,
    ReleaseRecord,
    WithdrawRecord,
)
from tracker.records.names import event_file
from tracker.records.stored import Stored
from tracker.services.checkin import check_in
from tracker.services.collect import Brought, collect
from tracker.services.export import export
from tracker.services.export_proving import export_for_proving
from tracker.services.naming import Named, parse_named
from tracker.services.outbound import Destination
from tracker.services.progress import Tell, quiet
from tracker.services.release import release
from tracker.stick.layout import StickShaper
from tracker.stick.medium import FolderMedium
from tracker.stick.telling import Telling

SHOP = """\
format = 1
[shop]
name = "Threepenny Bench Works"
timezone = "UTC"
[policy]
{policy}
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@threepenny.example"
roles = ["programmer"]
[[people]]
initials = "kp"
name = "Kit Parallel"
email = "kp@threepenny.example"
roles = ["setup"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@threepenny.example"
roles = ["setup"]
[[people]]
initials = "dg"
name = "Dell Gauge"
email = "dg@threepenny.example"
roles = ["quality"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
file_name = "O{{number:04}}.NC"
{mill2}
[[machines]]
id = "MILL3"
type = "mill"
units = "inch"
file_name = "O{{number:04}}.NC"
line_end = "lf"
[[sticks]]
name = "BLUE-1"
owner = "kp"
"""

JOB = """\
format = 1
[job]
number = "4471"
name = "Pivot plate"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
[[operations]]
id = "op20"
program = "op20/O1003.nc"
machines = ["MILL2"]
units = "inch"
[[operations]]
id = "op10-m3"
program = "op10-m3/O1001.nc"
machines = ["MILL3"]
units = "inch"
alternative_to = "op10"
"""

PLAIN_JOB = """\
format = 1
[job]
number = "{number}"
[[operations]]
id = "op10"
program = "op10/{program}"
machines = ["MILL2"]
units = "inch"
"""


def program(
    number: int, *, name: str = "PART", feed: str = "15.", depth: str = "-0.5", sub: int | None = None
) -> bytes:
    """A program of two tools, numbered and commented as an office does it."""
    call = f"N95 M98 P{sub}\n" if sub else ""
    return (
        f"%\nO{number:04} ({name})\n(OFFICE TEXT)\nN10 G20\nN20 G0 G17 G40 G49 G80 G90\nN30 T3 M6\n"
        f"N40 G0 G54 X-1. Y0.6 S3000 M3\nN50 G43 H3 Z1. M8\nN60 G1 Z0. F20.\nN70 X{number}.\nN80 Y2.4\nN90 X-1.\n{call}"
        f"N100 G0 Z1. M9\nN110 T4 M6\nN120 G0 G54 X0.5 Y0.5 S1800 M3\nN130 G43 H4 Z1. M8\n"
        f"N140 G83 Z{depth} R0.1 Q0.15 F{feed}\nN150 X3.5\nN160 Y2.5\nN170 X0.5\nN180 G80\nN190 G0 Z1. M9\n"
        f"N200 G91 G28 Z0.\nN210 M30\n%\n"
    ).encode()


def sub_program(number: int, *, depth: str = "0.25") -> bytes:
    return (
        f"%\nO{number:04} (CONTOUR)\nN10 G41 D3 G1 X0. F60.\nN20 Y2.75\nN30 G2 X{depth} Y3. I0.25 J0.\n"
        f"N40 G1 X3.75\nN50 G40 X-0.75\nN60 M99\n%\n"
    ).encode()


def edited(data: bytes, *swaps: tuple[bytes, bytes]) -> bytes:
    """The text after an edit; every swap must find what it swaps."""
    for old, new in swaps:
        assert old in data
        data = data.replace(old, new)
    return data


def renumbered(data: bytes) -> bytes:
    """The text as a control may write it: numbered anew, comments dropped, blanks gone, CR LF."""
    lines = []
    for line in data.replace(b"\r\n", b"\n").split(b"\n"):
        words = [word for word in line.split(b"(")[0].split() if word]
        if words and words[0][:1] == b"N" and words[0][1:].isdigit():
            words = [b"N%d" % (len(lines) + 1), *words[1:]]
        if words:
            lines.append(b"".join(words))
    return b"\r\n".join(lines) + b"\r\n"


class StickShop:
    """The shop, and what people do in it; days count from 1 Feb 2026, 08:00 UTC, each act a minute later."""

    def __init__(self, *, policy: str = "two_person = true", mill2: str = "") -> None:
        self.repo = FakeRepository()
        self.now = datetime(2026, 2, 1, 8, 0, tzinfo=UTC)
        self.disk = MemoryDisk()
        self.label = "BLUE-1"
        self.shaper = StickShaper()
        self.repo.save(
            {
                "shop.toml": SHOP.format(policy=policy, mill2=mill2),
                "jobs/4471/job.toml": JOB,
                "jobs/4471/op10/O1001.nc": program(1001, sub=1002),
                "jobs/4471/op20/O1003.nc": program(1003),
                "jobs/4471/op10-m3/O1001.nc": program(1001, sub=1002, depth="-0.6"),
                "jobs/4471/sub/O1002.nc": sub_program(1002),
            },
            at=self.now,
        )

    def copy(self) -> "StickShop":
        """The same shop once more; building one takes a hundred times as long."""
        return copy.deepcopy(self)

    # -- the calendar ----------------------------------------------------------------------------------------------

    def day(self, day: int, month: int = 2, year: int = 2026) -> "StickShop":
        self.now = datetime(year, month, day, 8, 0, tzinfo=UTC)
        return self

    def desk(self, email: str | None = None):
        self.now += timedelta(minutes=1)
        return desk_at(self.repo, self.now, email)

    # -- the office ------------------------------------------------------------------------------------------------

    def save(self, path: str, data: bytes | str) -> None:
        self.repo.write(path, data)

    def add_job(self, number: str, name: str, data: bytes) -> None:
        self.repo.save(
            {
                f"jobs/{number}/job.toml": PLAIN_JOB.format(number=number, program=name),
                f"jobs/{number}/op10/{name}": data,
            },
            at=self.now,
        )

    def check_in(self, *names: str, by: str = "np", reason: str = "issue"):
        return check_in(self.desk(), [parse_named(name) for name in names], by=by, reason=reason)

    def revision(self, name: str) -> Stored:
        named = parse_named(name)
        ledger = self.repo.ledger()
        if named.revision is None:
            return newest(ledger, named.job, named.operation or "op10")[0]
        return find_revision(ledger, named, named.operation or "op10")

    def prove(
        self, name: str, machine: str = "MILL2", by: str = "ss", result: str = "accepted", **other
    ) -> None:
        stored = self.revision(name)
        desk = self.desk()
        good = FirstPiece(report="2231", by=by, result="accepted") if result == "accepted" else None
        record = ProofRecord(
            job=stored.record.job,
            operation=stored.record.operation,
            revision=stored.name,
            machine=machine,
            operation_fingerprint=stored.record.operation_fingerprint,
            rule_version=stored.record.rule_version,
            files=stored.record.files,
            result=result,
            first_piece=other.pop("first_piece", good),
            at=desk.clock.now(),
            entered=desk.clock.now(),
            by=by,
            **other,
        )
        self._put(record, machine=machine)

    def hold(self, name: str, by: str = "dg", reason: str = "gauge out of calibration") -> None:
        named = parse_named(name)
        at = self.desk().clock.now()
        record = HoldRecord(
            job=named.job,
            operation=named.operation,
            at=at,
            entered=at,
            by=by,
            reason=reason,
            scope="operation",
        )
        self._put(record)

    def withdraw(self, job: str, number: int, by: str = "dg", reason: str = "too low") -> None:
        at = self.desk().clock.now()
        (release,) = [
            one.record
            for one in self.repo.ledger().records
            if isinstance(one.record, ReleaseRecord) and (one.record.job, one.record.number) == (job, number)
        ]
        record = WithdrawRecord(
            job=job, number=number, operations=release.operations, at=at, entered=at, by=by, reason=reason
        )
        self._put(record)

    def release(self, job: str, by: str = "dg") -> None:
        release(self.desk(), parse_named(job), by=by)

    def _put(self, record, machine: str | None = None) -> None:
        path = event_file(
            f"jobs/{record.job}",
            record.operation,
            record.revision,
            record.EVENT,
            machine,
            record.at,
            record.by,
        )
        self.repo.record(path, record)

    # -- the stick -------------------------------------------------------------------------------------------------

    @property
    def medium(self) -> FolderMedium:
        return FolderMedium(self.disk, self.label)

    @property
    def files(self) -> dict[str, bytes]:
        return self.disk.files

    def new_stick(self, label: str) -> None:
        self.disk, self.label = MemoryDisk(), label

    def to(
        self,
        machine: str | None = "MILL2",
        *,
        by: str | None = "ss",
        dry_run: bool = False,
        stick: str | None = None,
        tell: Tell = quiet,
    ):
        return Destination(
            medium=FolderMedium(self.disk, self.label, Telling(tell)),
            shaper=StickShaper(tell),
            machine=machine,
            by=by,
            stick=stick,
            dry_run=dry_run,
            tell=tell,
        )

    def export(self, *jobs: str, machine: str | None = "MILL2", **other):
        return export(self.desk(), self.to(machine, **other), jobs)

    def for_proving(self, name: str, machine: str = "MILL2", **other):
        return export_for_proving(self.desk(), self.to(machine, **other), parse_named(name))

    def collect(self, *, checkin: str | None = None, email: str | None = None, **other):
        named: Named | None = parse_named(checkin) if checkin else None
        other.setdefault("by", "ss")
        return collect(self.desk(email), self.medium, self.shaper, Brought(checkin=named, **other))

    def verdicts(self, **other) -> dict[str, str]:
        return {one.file: one.verdict for one in self.collect(dry_run=True, **other).files}


@cache
def _released() -> StickShop:
    made = StickShop()
    made.check_in("4471/op10", "4471/op20", "4471/op10-m3")
    made.prove("4471/op10")
    made.prove("4471/op20")
    made.release("4471")
    return made.day(6)


@cache
def _exported() -> StickShop:
    made = released_shop()
    made.export()
    return made.day(16)


def released_shop() -> StickShop:
    """4471 released: op10 and op20 proved on MILL2; op10-m3, for MILL3, checked in and not proved. 6 Feb."""
    return _released().copy()


def exported_shop() -> StickShop:
    """The same, exported to BLUE-1 for MILL2; ten days later."""
    return _exported().copy()
