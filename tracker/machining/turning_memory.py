"""What turning cycles remember from block to block."""

from tracker.frozen import dataclass
from tracker.machining.turning_shape import Point


@dataclass(slots=True)
class Memory:
    """Figures said in the first of two blocks of a cycle; base units, radii. None: not said.

    Attributes:
        depth, retract: of G71 and G72.
        away, times: shift (z, r) and number of passes of G73.
        back: how far G74 and G75 draw back after a peck.
        springs, chamfer: of G76: finishing passes, and drawing out in tenths of the lead.
        least, finish: least depth of a pass and finishing allowance of G76.
        end: (z, r) the cycle G90, G92 or G94 in force goes to; ``taper`` its R.
        code: that cycle; None: none.
        legs: moves of cycles handed out up to now.
    """

    depth: float | None = None
    retract: float | None = None
    away: Point | None = None
    times: float | None = None
    back: float | None = None
    springs: int | None = None
    chamfer: float | None = None
    least: float | None = None
    finish: float | None = None
    code: str | None = None
    end: Point | None = None
    taper: float | None = 0.0
    legs: int = 0
