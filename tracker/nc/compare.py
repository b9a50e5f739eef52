"""How two NC texts differ: kinds of change, block by block."""

from dataclasses import dataclass
from fractions import Fraction

from tracker.nc import kinds as k
from tracker.nc.compare_change import Change, Comparison, Side, Stretch

__all__ = ["Change", "Comparison", "Shown", "Side", "Stretch", "slower_applies", "with_slower"]


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
