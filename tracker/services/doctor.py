"""``doctor``: whether this PC and this clone are set up, each point on, off, or could not be told, with the exact fix.

A point that cannot be looked at never counts as on. Points that are advice (a slower scanner, no second copy of the
record) are told and do not make the answer no.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import ProveoutError
from tracker.services import doctor_points as points
from tracker.services import doctor_signing as signing
from tracker.services.desk import Desk
from tracker.services.doctor_backup import backups
from tracker.services.doctor_points import Place, Point
from tracker.services.ports_setup import SetUp

Check = Callable[[Place], Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoctorReport:
    """Every point, in a fixed order."""

    root: str
    points: tuple[Point, ...]
    now: datetime

    @property
    def off(self) -> bool:
        """Whether a point that counts is off."""
        return any(point.state == "off" and not point.advice for point in self.points)

    @property
    def unknown(self) -> bool:
        """Whether a point that counts could not be told."""
        return any(point.state == "could not tell" and not point.advice for point in self.points)


def doctor(desk: Desk, setup: SetUp) -> DoctorReport:
    """Look at every point; one that cannot be looked at does not stop the others."""
    checks = _SERVER_CHECKS if setup.bare else _CHECKS
    place = Place(desk=desk, setup=setup)
    seen = tuple(_look(name, check, place) for name, check in checks)
    return DoctorReport(root=setup.root, points=seen, now=desk.clock.now())


def _look(name: str, check: Check, place: Place) -> Point:
    try:
        return check(place)
    except ProveoutError as error:
        says = error.what if error.where is None else f"{error.what} ({error.where})"
        return Point(name=name, state="could not tell", says=says, fix=error.fix)


_CHECKS: tuple[tuple[str, Check], ...] = (
    ("version", points.versions),
    ("git", points.git),
    ("scanner", points.scanner),
    ("history", points.history),
    ("hook", points.hook),
    ("diff", points.driver),
    ("attributes", points.attributes),
    ("shop", points.shop),
    ("person", points.person),
    ("machine", points.machine),
    ("ssh-keygen", signing.program),
    ("key", signing.key),
    ("signatures", signing.people),
    ("signers", signing.signers),
    ("roles", points.roles),
    ("locks", points.locks),
    ("unfinished", points.unfinished),
    ("names", points.names),
    ("links", points.links),
    ("share", points.share),
    ("backup", backups),
)
_OF_SERVER = ("version", "git", "scanner", "history", "hook", "shop", "roles", "locks")
_SERVER_CHECKS: tuple[tuple[str, Check], ...] = (
    *(pair for pair in _CHECKS if pair[0] in _OF_SERVER),
    ("main", points.main_branch),
    ("journal", points.receive_journal),
)
