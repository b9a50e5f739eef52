"""What stands in ``job.toml``: the job, its operations and their setup sheets.

Field names are the keys of the file. Lengths are in the operation's units. Defaults that the language of the trade
has (H and D are the tool's number) are filled in by the properties, never written back into the file.
"""

from tracker.frozen import dataclass, replace
from tracker.typed import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """A work offset and where its zero lies on the part."""

    code: str
    origin: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """A tool of the setup sheet; ``h``/``d``/``offset`` None means the tool's own number."""

    number: int
    description: str | None = None
    diameter: float | None = None
    stick_out: float | None = None
    h: int | None = None
    d: int | None = None
    offset: int | None = None
    nose_radius: float | None = None
    insert: str | None = None
    large: bool = False
    through_coolant: bool = False
    flute_length: float | None = None
    length: float | None = None
    weight: float | None = None
    lowest_z: float | None = None

    @property
    def length_offset(self) -> int:
        """H in force: stated, else the tool number."""
        return self.number if self.h is None else self.h

    @property
    def diameter_offset(self) -> int:
        """D in force: stated, else the tool number."""
        return self.number if self.d is None else self.d

    @property
    def wear_offset(self) -> int:
        """Lathe offset in force: stated, else the tool number."""
        return self.number if self.offset is None else self.offset


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Stock beyond the finished part, and bar work; None where not stated."""

    top: float | None = None
    out_of_jaws: float | None = None
    bar_past_spindle: float | None = None
    supported: bool | None = None
    diameter: float | None = None
    steadied: bool | None = None
    bottom: float | None = None
    x: tuple[float, float] | None = None
    y: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """A finding a named person lets stand: one rule, with a tool or a line's text, never a wild-card."""

    rule: str
    reason: str
    by: str
    tool: int | None = None
    line: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One setup: its main program (path from job.toml's folder) and its setup sheet."""

    id: str
    program: str
    machines: tuple[str, ...] = ()
    units: str | None = None
    fixture: str | None = None
    clearance_z: float | None = None
    stock: Stock | None = None
    max_rpm: float | None = None
    continuous: bool | None = None
    alternative_to: str | None = None
    offsets: tuple[Offset, ...] = ()
    tools: tuple[Tool, ...] = ()
    waivers: tuple[Waiver, ...] = ()


# what an alternative takes over from the operation it replaces when it does not state it itself
_SHEET_KEYS = ("units", "fixture", "clearance_z", "stock", "max_rpm", "continuous", "offsets", "tools")
_STOCK_KEYS = (
    "top",
    "out_of_jaws",
    "bar_past_spindle",
    "supported",
    "diameter",
    "steadied",
    "bottom",
    "x",
    "y",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """The whole of a ``job.toml``; operations as written."""

    number: str
    part: str | None = None
    name: str | None = None
    drawing: str | None = None
    drawing_revision: str | None = None
    material: str | None = None
    operations: tuple[Operation, ...] = ()

    def operation(self, operation_id: str) -> Operation | None:
        """The operation with this id (without regard to case), sheet values of its original filled in."""
        wanted = operation_id.lower()
        found = next((op for op in self.operations if op.id.lower() == wanted), None)
        return None if found is None else filled_in(self, found)


def filled_in(job: Job, operation: Operation) -> Operation:
    """``operation`` with the sheet values an alternative does not state taken over from its original.

    Of the stock each figure is taken over by itself; offsets and tools are lists, taken over whole. An operation that
    is none, or is filled in already, comes back equal.
    """
    wanted = (operation.alternative_to or "").lower()
    original = next((op for op in job.operations if wanted and op.id.lower() == wanted), None)
    if original is None or original is operation:
        return operation
    own = {key: _own_or(getattr(operation, key), getattr(original, key)) for key in _SHEET_KEYS}
    if operation.stock is not None and original.stock is not None:
        own["stock"] = Stock(
            **{
                key: _own_or(getattr(operation.stock, key), getattr(original.stock, key))
                for key in _STOCK_KEYS
            }
        )
    return replace(operation, **own)


def _own_or(own: Any, other: Any) -> Any:
    return other if own is None or own == () else own
