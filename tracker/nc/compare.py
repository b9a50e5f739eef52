"""How two NC texts differ: kinds of change, block by block.

Equal bytes end the matter at once, equal code leaves numbering, wording and format. Else the canonical texts are set
against each other block by block, what was moved is told apart, and every changed word gets the first kind that fits
it. The comparison is of texts: what a machine does with them is not in it.
"""

from collections.abc import Mapping
from fractions import Fraction

from tracker.frozen import dataclass
from tracker.nc import kinds as k
from tracker.nc.canonical import Reading
from tracker.nc.compare_change import Change, Comparison, Side, Stretch
from tracker.nc.compare_kinds import Findings, add_flow, called_every_block, judged, unread
from tracker.nc.compare_sides import Text
from tracker.nc.compare_tools import reads_as_lathe
from tracker.nc.difference import difference
from tracker.nc.difference_text import text_kinds
from tracker.nc.kinds_precall import reader_of
from tracker.nc.kinds_slower import ratio
from tracker.nc.scan import read, read_both

__all__ = [
    "Change",
    "Comparison",
    "Shown",
    "Side",
    "Stretch",
    "compare",
    "compare_readings",
    "slower_applies",
    "with_slower",
]

WORD_ADDRESS = "word-address"
LATHE_NOTE = "read with lathe meanings, as its words suggest"
MILL_NOTE = "read with mill meanings: nothing in the text says mill or lathe"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Kinds (sorted) and changes as a screen shows them: feed and speed read as ``slower`` where that is true."""

    kinds: tuple[str, ...]
    changes: tuple[Change, ...]


def slower_applies(slower: float | None, percent: float) -> bool:
    """Whether new/old ratio ``slower`` stays within ``percent`` of the old value; exactly ``percent`` does."""
    if slower is None:
        return False
    return Fraction(str(slower)) >= 1 - Fraction(str(percent)) / 100


def with_slower(comparison: Comparison, percent: float = 20) -> Shown:
    """The comparison as shown: ``feed`` and ``speed`` become ``slower`` if no changed F or S fell by more."""
    if not slower_applies(comparison.slower, percent):
        return Shown(kinds=comparison.kinds, changes=comparison.changes)
    changes: dict[Change, None] = {}
    for change in comparison.changes:
        if change.kind in (k.FEED, k.SPEED):
            change = Change(kind=k.SLOWER, tool=change.tool, old=change.old, new=change.new)
        changes[change] = None
    kinds = {k.SLOWER if kind in (k.FEED, k.SPEED) else kind for kind in comparison.kinds}
    return Shown(kinds=tuple(sorted(kinds)), changes=tuple(changes))


def compare(
    old: bytes,
    new: bytes,
    *,
    strict: bool = False,
    lathe: bool | None = None,
    called: Mapping[int, bytes] | None = None,
    called_before: Mapping[int, bytes] | None = None,
) -> Comparison:
    """How ``new`` differs from ``old``.

    Args:
        old: bytes of the earlier text.
        new: bytes of the later text.
        strict: every line number counts as code.
        lathe: read with lathe meanings (True) or mill meanings (False); None: as the words say.
        called: programs in hand by O number, for what stands in those called by ``new``.
        called_before: the same for ``old``; None: as ``called``.
    """
    if old == new:
        return Comparison(same_code=True, lathe=bool(lathe))
    old_reading, new_reading = read_both(old, new, strict=strict)
    return compare_readings(
        old,
        new,
        old_reading,
        new_reading,
        lathe=lathe,
        called=called,
        called_before=called_before,
    )


def compare_readings(
    old: bytes,
    new: bytes,
    old_reading: Reading,
    new_reading: Reading,
    *,
    lathe: bool | None = None,
    called: Mapping[int, bytes] | None = None,
    called_before: Mapping[int, bytes] | None = None,
) -> Comparison:
    """`compare` for texts that were read already; both readings must have been made with the same ``strict``."""
    same_dialect = old_reading.dialect == new_reading.dialect
    if same_dialect and old_reading.code == new_reading.code:
        return _same_code(old, new, old_reading, new_reading, lathe=bool(lathe))
    is_lathe, notes = _judge_lathe(old_reading, new_reading, lathe)
    before = called if called_before is None else called_before
    old_text = Text(old, old_reading, lathe=is_lathe, called=reader_of(before, _code))
    new_text = Text(new, new_reading, lathe=is_lathe, called=reader_of(called, _code))
    found = difference(old_reading.code, new_reading.code)
    if same_dialect and old_reading.dialect == WORD_ADDRESS:
        findings = judged(old_text, new_text, found)
        if called_every_block(old_reading.code) or called_every_block(new_reading.code):
            add_flow(findings)
        beside = text_kinds(old_reading, new_reading, found.stretches, findings.pairs)
    else:
        findings = unread(old_text, new_text, found)
        beside = frozenset()
    return _told(findings, beside, old_text, new_text, found.stretches, lathe=bool(is_lathe), notes=notes)


def _same_code(
    old: bytes, new: bytes, old_reading: Reading, new_reading: Reading, *, lathe: bool
) -> Comparison:
    """Equal code: what is left is text. Bytes that differ in nothing that is kept apart differ in format."""
    kinds = text_kinds(old_reading, new_reading, (), ())
    if not kinds and old != new:
        kinds = frozenset({k.FORMAT})
    return Comparison(same_code=True, kinds=tuple(sorted(kinds)), changes=_once(kinds), lathe=lathe)


def _told(
    findings: Findings,
    beside: frozenset[str],
    old: Text,
    new: Text,
    stretches: tuple[Stretch, ...],
    *,
    lathe: bool,
    notes: tuple[str, ...],
) -> Comparison:
    """The comparison, from what was found. Code that differs without a change that says how is ``other``."""
    changes = tuple(change for _, change in findings.changes)
    if not changes:
        changes = (Change(kind=k.OTHER, tool=None, old=None, new=None),)
    slower = None if findings.undecided else ratio(findings.speeds, old.threads, new.threads)
    kinds = {change.kind for change in changes} | beside
    return Comparison(
        same_code=False,
        kinds=tuple(sorted(kinds)),
        changes=(*changes, *_once(beside)),
        slower=slower,
        lathe=lathe,
        notes=notes,
        stretches=stretches,
    )


def _once(kinds: frozenset[str]) -> tuple[Change, ...]:
    """The kinds that are said once for the whole file."""
    return tuple(Change(kind=kind, tool=None, old=None, new=None) for kind in k.in_order(kinds))


def _judge_lathe(old: Reading, new: Reading, lathe: bool | None) -> tuple[bool | None, tuple[str, ...]]:
    """Which meanings to use, and what to say about it."""
    if lathe is not None:
        return lathe, ()
    words_say = reads_as_lathe(old.code, new.code)
    if words_say is None:
        return None, (MILL_NOTE,)
    return words_say, (LATHE_NOTE,) if words_say else ()


def _code(data: bytes) -> bytes:
    return read(data).code
