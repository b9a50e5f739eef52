"""A call of one program by another, as `tracker.nc.calls` finds it."""

from tracker.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One call.

    Attributes:
        line: physical number of its line.
        text: the line as written, without blanks around it.
        word: ``M98``, ``M97`` (a line number of the same program), ``M96``, ``M198``, ``G65``, ``G66``, or ``call``.
        readings: (program number, repeats), every way it may be read.
        variable: called by variable, expression or name: it cannot be followed.
        doubtful: it stands in a comment; only some controls know it as a call.
    """

    line: int
    text: str
    word: str
    readings: tuple[tuple[int, int], ...]
    variable: bool
    doubtful: bool = False
