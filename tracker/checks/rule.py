"""A rule: its name, how grave it is, what it looks for and why, with the two smallest programs that show it."""

from collections.abc import Mapping
from types import MappingProxyType

from tracker.checks.lost import BLOCKS
from tracker.checks.watch import Watch
from tracker.frozen import dataclass
from tracker.records.job import Operation
from tracker.records.shop import Machine

MILL, LATHE, ANY = "mill", "lathe", "any"
COMMON = "common practice, no source"
NOTHING: Mapping[int, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """Two programs for one sheet and machine: ``trips`` meets the rule and no other but ``also``, ``clean`` none.

    ``called`` holds the text of called programs by O number; ``trips_called`` those of the program that trips,
    where they differ. ``before`` is the text that was released and proven last, where a rule looks back at it, ``others``
    where programs of other operations with these numbers are.
    """

    trips: str
    clean: str
    sheet: Operation
    machine: Machine
    trips_sheet: Operation | None = None
    trips_machine: Machine | None = None
    called: Mapping[int, str] = NOTHING
    trips_called: Mapping[int, str] | None = None
    also: tuple[str, ...] = ()
    before: str | None = None
    others: Mapping[int, str] = NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One check.

    Attributes:
        name: stable slug in the trade's words.
        severity: ``refuse``, ``warn`` or ``info``.
        what: what it looks for, one sentence.
        reason: what happens at the machine.
        remedy: how to put it right, without a full stop.
        source: where the rule comes from.
        machines: ``mill``, ``lathe`` or ``any``: for which kind of machine it is meant.
        follows: it rests on the whole run: where a run could not be followed it is not computed in full.
        watch: the class that looks.
        example: the two programs.
    """

    name: str
    severity: str
    what: str
    reason: str
    remedy: str
    source: str = COMMON
    machines: str = MILL
    follows: bool = True
    watch: type[Watch]
    example: Example

    def touched_by(self, hidden: str) -> bool:
        """Whether it cannot be computed in full where this is hidden (`tracker.checks.lost`)."""
        if not self.follows:
            return False
        looks_at_moves = self.watch.move is not Watch.move or self.watch.stretch is not Watch.stretch
        return hidden == BLOCKS or looks_at_moves
