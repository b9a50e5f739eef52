"""Axes by place, planes, and the two ways of spelling a length."""

from collections.abc import Mapping
from types import MappingProxyType

AXES = "XYZABC"
PLACE: Mapping[str, int] = MappingProxyType({letter: place for place, letter in enumerate(AXES)})
LINEAR = 3
"""Axes before this place are lengths, the others angles."""

PLANES: Mapping[int, tuple[int, int, int]] = MappingProxyType({17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)})
"""First, second and third axis of a plane, right-handed (NISTIR 6556 section 3.5.3): G18 is Z, X, Y."""

CENTRES: Mapping[int, tuple[str, str]] = MappingProxyType({17: ("I", "J"), 18: ("K", "I"), 19: ("J", "K")})
"""Letters of the centre of an arc, for the first and second axis."""

MM_PER_INCH = 25.4


def factor_between(units: str | None, base: str | None) -> float:
    """What a length in ``units`` is multiplied with to be one in ``base``; 1 where either is not known."""
    if units is None or base is None or units == base:
        return 1.0
    return MM_PER_INCH if units == "inch" else 1 / MM_PER_INCH
