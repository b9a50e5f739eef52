"""What is known about the machine and the programs in hand before a program is run through.

Nothing in here is guessed: a figure that is not stated is None or missing, and what needs it is not computed.
"""

from collections.abc import Callable, Mapping

from tracker.frozen import dataclass, field

Triple = tuple[float, float, float]


def _nothing_in_hand(_number: int) -> bytes | None:
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a program is run through with.

    Attributes:
        lathe: words have lathe meanings; None: judged by the program's words, and the judgement is stated.
        units: ``inch`` or ``mm`` in force at the start; None: not known until G20 or G21.
        decimal: ``calculator`` (``X10`` is 10) or ``increment`` (``X10`` is 10 least increments, 0.0001 in or
            0.001 mm); None: taken as ``calculator`` and named as not known where a word without a point is met.
        called: the text of a program by its O number, or None if it is not in hand.
        resident: numbers of programs that live in the control; they are named, never followed.
        start: where the axes stand at the start in the work offset in force then (X Y Z, units at the start);
            None: not known.
        offsets: work offsets by code (``"G54"``) in machine coordinates; one that is missing is not known.
        lengths: tool length offsets by H; one that is missing is not known.
        home: machine coordinates of the G28 position; None: not known.
        max_rpm: highest speed of the spindle per minute; None: not known.
        t_changes: on a mill T changes the tool by itself, as in a program without any M6.
        most_blocks: blocks run after which a program is left, so that no loop runs for ever.
        most_calls: depth of calls after which a call is not followed.
        skip: block delete is on: lines that open with ``/`` are left out.
    """

    lathe: bool | None = None
    units: str | None = None
    decimal: str | None = None
    called: Callable[[int], bytes | None] = _nothing_in_hand
    resident: tuple[int, ...] = ()
    start: Triple | None = None
    offsets: Mapping[str, Triple] = field(default_factory=dict)
    lengths: Mapping[int, float] = field(default_factory=dict)
    home: Triple | None = None
    max_rpm: float | None = None
    t_changes: bool = False
    most_blocks: int = 10_000_000
    most_calls: int = 10
    skip: bool = False
