"""Modal groups: words of one group replace each other and stay in force until the next of the group.

Mill: T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000),
section 3.4 and Table 4, with the codes open-source controls add to the same groups (LinuxCNC documentation, G codes,
"Modal Groups"). Lathe: turning controls of the common kind where G90, G92 and G94 are turning cycles and G98/G99 the
feed mode; common practice, from memory.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from tracker.nc.word import Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A group: its ``name``, the number NISTIR 6556 Table 4 gives it (None where it has none), letter and codes."""

    name: str
    number: int | None
    letter: str
    codes: frozenset[str]


def _group(name: str, number: int | None, letter: str, codes: str) -> Group:
    return Group(name=name, number=number, letter=letter, codes=frozenset(codes.split()))


NON_MODAL = _group("non-modal", 0, "G", "4 10 28 30 52 53 92 92.1 92.2 92.3")

_BOTH = (
    _group("plane", 2, "G", "17 17.1 18 18.1 19 19.1"),
    _group("units", 6, "G", "20 21"),
    _group("radius", 7, "G", "40 41 41.1 42 42.1"),
    _group("length", 8, "G", "43 43.1 44 49"),
    _group("offset", 12, "G", "54 54.1 55 56 57 58 59 59.1 59.2 59.3"),
    _group("path", 13, "G", "61 61.1 62 63 64"),
    _group("speed-mode", 14, "G", "96 97"),
    _group("end", 4, "M", "0 1 2 30 60"),
    _group("change", 6, "M", "6"),
    _group("spindle", 7, "M", "3 4 5"),
    _group("coolant", 8, "M", "7 8 9"),
    _group("override", 9, "M", "48 49"),
)
_CYCLES = "80 81 82 83 84 85 86 87 88 89"

MILL: tuple[Group, ...] = (
    NON_MODAL,
    _group("motion", 1, "G", f"0 1 2 3 33 33.1 38.2 38.3 38.4 38.5 73 74 76 {_CYCLES}"),
    _group("distance", 3, "G", "90 91"),
    _group("arc-distance", 4, "G", "90.1 91.1"),
    _group("feed-mode", 5, "G", "93 94 95"),
    _group("retract", 10, "G", "98 99"),
    _group("diameter", 15, "G", "7 8"),
    _group("polar", None, "G", "15 16"),
    *_BOTH,
)

LATHE: tuple[Group, ...] = (
    _group("non-modal", 0, "G", "4 10 28 30 50 52 53 70 71 72 73 74 75 76"),
    _group("motion", 1, "G", f"0 1 2 3 32 33 34 90 92 94 {_CYCLES}"),
    _group("feed-mode", 5, "G", "98 99"),
    *_BOTH,
)


def _index(groups: Iterable[Group]) -> Mapping[tuple[str, str], Group]:
    return MappingProxyType({(group.letter, code): group for group in groups for code in group.codes})


_MILL_INDEX = _index(MILL)
_LATHE_INDEX = _index(LATHE)


def group_of(letter: str, number: str, *, lathe: bool = False) -> Group | None:
    """The group a G or M word belongs to, or None if it belongs to none of those known here."""
    return (_LATHE_INDEX if lathe else _MILL_INDEX).get((letter, number))


def conflicts(words: Sequence[Word], *, lathe: bool = False) -> tuple[tuple[Group, tuple[str, ...]], ...]:
    """Modal groups of which a block holds more than one word, each with those words.

    NISTIR 6556 section 3.3.5: two words of one modal group in a block are an error; M7 and M8 may both hold.
    Non-modal words have no such rule here.
    """
    by_group: dict[str, list[str]] = {}
    groups: dict[str, Group] = {}
    for word in words:
        group = group_of(word.letter, word.number, lathe=lathe)
        if group is not None and group.name != NON_MODAL.name:
            groups[group.name] = group
            by_group.setdefault(group.name, []).append(word.text)
    return tuple(
        (groups[name], tuple(texts))
        for name, texts in by_group.items()
        if len(texts) > 1 and set(texts) != {"M7", "M8"}
    )
