"""A small shop with one plate checked in: what tests of the verbs start from."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from tests.fakes.repository import FakeRepository, desk_at
from tracker.records.events import Step
from tracker.services.checkin import check_in
from tracker.services.desk import Desk
from tracker.services.naming import parse_named

START = datetime(2026, 2, 2, 9, 10, tzinfo=UTC)
JOB_PATH = "jobs/4471/job.toml"
PROGRAM = "jobs/4471/op10/O1001.nc"

PEOPLE = (
    ("np", "Nora Pencil", "programmer"),
    ("kp", "Kit Parallel", "setup"),
    ("ss", "Sol Shim", "setup"),
    ("dg", "Dell Gauge", "quality"),
    ("bb", "Bo Both", 'programmer", "setup'),
)
SHOP = (
    '[shop]\nname = "Bench"\ntimezone = "Europe/London"\n'
    + "".join(
        f'[[people]]\ninitials = "{initials}"\nname = "{name}"\nemail = "{initials}@bench.example"\nroles = ["{role}"]\n'
        for initials, name, role in PEOPLE
    )
    + '[[machines]]\nid = "MILL2"\ntype = "mill"\nunits = "inch"\npockets = 20\n'
    + '[[machines]]\nid = "MILL3"\ntype = "mill"\nunits = "inch"\n'
)
JOB = """\
[job]
number = "4471"
drawing = "4471"
drawing_revision = "C"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
[[operations.tools]]
number = 3
stick_out = 1.25
[[operations.tools]]
number = 4
stick_out = 2.5
[[operations.tools]]
number = 5
stick_out = 1.75
"""
TEXT = """\
%
O1001 (PLATE)
N10 G20 G17 G40 G80 G90
N20 T3 M6
N30 G0 G54 X0. Y0. S3000 M3
N40 G43 H3 Z1. M8
N50 G1 Z-0.5 F20.
N60 X2.
N70 G0 Z1. M9
N80 T4 M6
N90 G0 G54 X1. Y1. S2000 M3
N100 G43 H4 Z1. M8
N110 G83 Z-1.16 R0.1 Q0.15 F15.
N120 G80 M9
N130 T5 M6
N140 G0 G54 X1. Y1. S2500 M3
N150 G43 H5 Z1. M8
N160 G81 Z-0.81 R0.1 F12.
N170 G80 M9
N180 M30
%
"""


class Floor:
    """The repository and a clock that goes on by an hour with every act."""

    def __init__(self, shop: str = SHOP, job: str = JOB, text: str = TEXT) -> None:
        self.repo = FakeRepository()
        self.now = START
        self.repo.save({"shop.toml": shop}, at=START)
        self.check_in(by="np", reason="first issue", files={JOB_PATH: job, PROGRAM: text})

    def desk(self) -> Desk:
        """A desk one hour later than the last."""
        self.now += timedelta(hours=1)
        return desk_at(self.repo, self.now)

    def check_in(
        self, *, by: str, reason: str = "why", files: dict[str, str] | None = None, named: str = "4471/op10"
    ) -> None:
        """Save files and check the operation in."""
        for path, text in (files or {}).items():
            self.repo.write(path, text)
        check_in(self.desk(), [parse_named(named)], by=by, reason=reason)

    def edit(self, old: str, new: str, *, by: str = "np", path: str = PROGRAM) -> None:
        """Change the text as a programmer would, and check it in."""
        text = self.repo.work[path].decode()
        assert old in text
        self.check_in(by=by, reason=f"{old} to {new}", files={path: text.replace(old, new)})

    def records(self, event: str) -> list[object]:
        """Records of one kind, in order."""
        return [one.record for one in self.repo.ledger().records if event == one.record.EVENT]


FIGURES = {"P1": 20.0, "P7": 1.0, "P8": 5.0, "P9": 100.0, "P10": 6.5}


def done(*keys: str, but: Iterable[Step] = ()) -> tuple[Step, ...]:
    """Steps done with usual figures; ``but`` replaces some."""
    steps = {key: Step(step=key, done=True, value=FIGURES.get(key)) for key in keys}
    steps |= {step.step: step for step in but}
    return tuple(steps.values())


FULL = ("P0", "P1", "P2", "P3", "P4", "P5", "P6", "P8", "P9", "P10")
SHORT = ("P0", "P2", "P4", "P8", "P9")
