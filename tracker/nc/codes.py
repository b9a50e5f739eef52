"""G and M codes by what their block's other numbers can mean, as far as labels are concerned.

A *plain* code is one whose P, Q, H, L … never name a line number on the controls known to us: everything else may be
a custom call and its numbers may be labels. The lists are common practice and from memory; a code missing here costs
a look, never more.
"""

from tracker.patterns import lazy_pattern

_WITH_NOTHING_BEHIND = lazy_pattern(r"\+?([0-9]+)\.?0*")


def code_of(number: str) -> str:
    """The code a G or M word may be read as, leading zeros gone already.

    ``+98``, ``98.`` and ``98.0`` are 98 to a control that takes a whole value with a point (NISTIR 6556 section
    3.3.2.1); anything else is as it is spelled.
    """
    match = None if number.isdigit() else _WITH_NOTHING_BEHIND.fullmatch(number)
    return match.group(1) if match else number


def _numbers(*ranges: tuple[int, int]) -> set[str]:
    return {str(n) for first, last in ranges for n in range(first, last + 1)}


PLAIN_G = frozenset(
    _numbers((0, 4), (7, 11), (15, 21), (28, 33), (40, 64), (68, 69), (80, 99))
    | {"5.1", "38.2", "38.3", "38.4", "38.5", "41.1", "42.1", "43.1", "43.4", "54.1", "59.1", "59.2", "59.3"}
    | {"61.1", "90.1", "91.1", "92.1", "92.2", "92.3", "17.1", "18.1", "19.1"}
)
"""G codes whose numbers are no labels. G27 is not one of them: some training machines jump to its L (from memory)."""

PLAIN_M = frozenset(_numbers((0, 11), (13, 14), (19, 19), (29, 30), (48, 49), (60, 60), (88, 89)))
"""M codes whose numbers are no labels."""

CALL_M = frozenset({"96", "97", "98", "99", "198"})
CALL_G = frozenset({"65", "66", "66.1", "67"})
TURNING_G = frozenset({"70", "71", "72", "73"})

SHOWN_G = frozenset({"47"})
"""G codes that cut the text of the comment in their block into the part (text engraving; from memory)."""

SHOWN_M = frozenset({"0", "1", "60", "109", "130"})
"""M codes at which a comment in their block speaks to the operator.

Stops; a question on the screen and a picture or page shown there, named by the comment (both from memory).
"""

SIMPLE_G = PLAIN_G - {"10", "11"} - SHOWN_G
"""G codes a simple line may hold (`tracker.nc.simple`)."""

SIMPLE_M = PLAIN_M
"""M codes a simple line may hold."""

LONG_L = 4
"""Characters of a number with which an L word is for care: it may be a cycle that takes text from a comment."""
