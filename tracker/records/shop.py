"""What stands in ``shop.toml``: the shop, its policy, people, machines and sticks.

Field names are the keys of the file. ``None`` means "not stated": a check that needs the value says "not computed".
Lengths are in the machine's units, rapid rates in units per minute, lathe X is a diameter.
"""

from datetime import date

from tracker.frozen import dataclass, field

CARRY = ("numbering", "wording", "format")
REVIEW = ("precall", "coolant", "dwell", "stop", "slower", "drawing", "sheet-text")
REPROVE = ("motion", "feed", "speed", "tool", "offset", "stop-removed", "sheet-tool", "sheet-offset")


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """How strict a shop is; defaults are the loosest it may be for the kinds of change."""

    carry: tuple[str, ...] = CARRY
    review: tuple[str, ...] = REVIEW
    slower_percent: float = 20
    reprove: tuple[str, ...] = REPROVE
    max_carries: int = 3
    machines: str = "any"
    two_person: bool = True
    lapse_months: int = 24
    signatures: str = "optional"
    deviation_hours: int = 24
    prior_until: date | None = None
    post_stamp: tuple[str, ...] = ()
    group_first_piece: bool = True
    sticks: str = "any"


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """Margins of the checks, lengths in mm. The defaults are this tool's own, common practice without a source."""

    rapid_gap: float = 1
    points_percent: float = 95
    call_depth: int = 4
    stick_out_gap: float = 2
    travel_gap: float = 10
    jaw_gap: float = 3
    units_ratio: tuple[float, float] = (20, 30)
    leap: float = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody the shop lets act, by date; ``left`` is the last day, ``since`` the first."""

    initials: str
    name: str
    email: str
    roles: tuple[str, ...]
    keys: tuple[str, ...] = ()
    since: date | None = None
    left: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Axes:
    """A figure per axis; None where not stated."""

    x: float | None = None
    y: float | None = None
    z: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """Lowest and highest machine coordinate per axis; None where not stated."""

    x: tuple[float, float] | None = None
    y: tuple[float, float] | None = None
    z: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A machine as the shop describes it. `type` is ``mill`` or ``lathe``."""

    id: str
    type: str
    units: str
    changer: str | None = None
    pockets: int | None = None
    large_tool_over: float | None = None
    max_rpm: float | None = None
    chuck_max_rpm: float | None = None
    rapid: Axes | None = None
    travel: Travel | None = None
    decimal: str | None = None
    group: str | None = None
    resident: tuple[int, ...] = ()
    file_name: str = "{name}"
    line_end: str = "crlf"
    percent: str | None = None
    characters: str = "any"
    max_line: int = 0
    names_8_3: bool = False
    folder: str | None = None
    codes: tuple[str, ...] = ()
    max_tool_length: float | None = None
    max_tool_weight: float | None = None

    @property
    def folder_name(self) -> str:
        """Folder on the stick: as stated, else the machine's id."""
        return self.folder or self.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Stick:
    """A medium with a name and an owner (initials), and how a PC finds it.

    ``label`` is the name the medium itself carries, absent: ``name``; ``path`` its folder, for one that is always at
    one place (a share, a card in a fixed reader). ``lost``: the day it was given up; it is not called in any more.
    """

    name: str
    owner: str
    label: str | None = None
    path: str | None = None
    lost: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The whole of ``shop.toml``."""

    name: str
    timezone: str = "UTC"
    paper: str = "a4"
    policy: Policy = field(default_factory=Policy)
    checks: Checks = field(default_factory=Checks)
    people: tuple[Person, ...] = ()
    machines: tuple[Machine, ...] = ()
    sticks: tuple[Stick, ...] = ()

    def person(self, initials: str) -> Person | None:
        """The person with these initials, without regard to case."""
        return next((p for p in self.people if p.initials.lower() == initials.lower()), None)

    def stick(self, name: str) -> Stick | None:
        """The stick with this name, without regard to case."""
        return next((one for one in self.sticks if one.name.casefold() == name.casefold()), None)

    def stick_labelled(self, label: str) -> Stick | None:
        """The one stick a medium with this label is, without regard to case; None where none or several would be."""
        found = [one for one in self.sticks if (one.label or one.name).casefold() == label.casefold()]
        return found[0] if len(found) == 1 else None

    def machine(self, machine_id: str) -> Machine | None:
        """The machine with this id, without regard to case."""
        return next((m for m in self.machines if m.id.lower() == machine_id.lower()), None)
