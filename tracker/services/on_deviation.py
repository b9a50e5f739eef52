"""Whether the deviation a text went out under still runs, in words a person at a stick understands."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.policy.days import words, zone_of
from tracker.policy.deviations import Deviation
from tracker.policy.find import same_name
from tracker.records.shop import Shop
from tracker.services.known import Exported, Known


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderDeviation:
    """``runs``: its hours are not over; ``owing``: a second person is owed; ``when`` in words."""

    runs: bool
    owing: bool
    when: str


def under_deviation(shop: Shop, every: Sequence[Deviation], text: Known, out: Exported) -> UnderDeviation:
    """The deviation ``text`` was exported under by ``out``; of several that run the longest."""
    mine = [one for one in every if _is_of(one, text, out)]
    running = [one for one in mine if not one.over]
    if not running:
        return UnderDeviation(
            runs=False, owing=any(one.owing for one in mine), when="under a deviation whose hours are over"
        )
    last = max(running, key=lambda one: one.ends)
    ends = last.ends.astimezone(zone_of(shop))
    when = f"under a deviation, until {ends:%H:%M} on {words(ends.date())}"
    return UnderDeviation(runs=True, owing=last.owing, when=when)


def _is_of(deviation: Deviation, text: Known, out: Exported) -> bool:
    record = deviation.record
    return (
        same_name(record.machine, out.record.machine)
        and same_name(record.job, text.job)
        and same_name(record.operation, text.operation)
        and record.revision == text.stored.name
    )
