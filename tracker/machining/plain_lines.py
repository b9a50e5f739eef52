"""What a plain motion line is, and a line of a comment that surely is only wording: patterns over bytes.

A plain line holds a line number or none, G0 to G3 and words of ``X Y Z I J K R F`` with numbers, nothing else, and ends
with LF or CR LF. To the reference it is a simple line (`tracker.machining.lines`) that no order of blocks depends on.
"""

import re
from functools import cache

SHORTEST = 64
"""Lines of a row; fewer are not worth putting aside."""

OPENINGS = (
    "AB AX BE BG BL BN BP CA CL DE DF DG DO DP DS ED EF EL EN EP ER ES EX FC FO FR GO GT GU IF KE LO LU MC MD MI MS OP OR "
    "PC PL PO PR PY RE RO RP RQ SC SE SS SU TH TL TM TO UA UI UT WB WH WR"
)
"""First two letters of all comments that a control may act on or read as a statement (`tracker.nc.wording`).

One with a comma may be such a comment whatever its letters.
"""

_NUMBER = rb"[-+]?+(?:[0-9]++\.?+[0-9]*+|\.[0-9]++)"
_WORD = rb"[XYZIJKRFxyzijkrf][ \t]*+" + _NUMBER
_CODE = rb"[Gg][ \t]*+(?:0[0-3]|[0-3])(?![0-9.])"
_OPENS = rb"[ \t]*+(?:[Nn][ \t]*+[0-9]++[ \t]*+)?+"
_PLAIN = _OPENS + rb"(?:(?:" + _WORD + rb"|" + _CODE + rb")[ \t]*+)++\r?+\n"
_BARE = _OPENS + rb"(?:" + _WORD + rb"[ \t]*+)++\r?+\n"
_WORDING = (
    rb"[ \t]*+\((?!(?i:"
    + OPENINGS.replace(" ", "|").encode()
    + rb"))[A-Za-z]{2}[A-Za-z0-9 .+/:*_-]*+\)[ \t]*+\r?+\n"
)


@cache
def row_pattern(shortest: int, *, coded: bool) -> re.Pattern[bytes]:
    """Rows of at least so many plain lines: with wording between them, or, if not ``coded``, of lines without G alone."""
    line, between = (_PLAIN, _WORDING) if coded else (_BARE, rb"(?!)")
    more = rb"(?:(?:" + between + rb")*+" + line + rb"){%d,}+" % (shortest - 1)
    return re.compile(rb"(?m)^" + line + more)
