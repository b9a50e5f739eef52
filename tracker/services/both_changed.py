"""An edit off a control of a text that has been changed since: both lists, and nothing is merged."""

from collections.abc import Sequence

from tracker.errors import Refused
from tracker.nc.compare import Change, compare
from tracker.policy.find import label
from tracker.services.collect_remarks import change_words
from tracker.services.known import Known, KnownTexts

MOST_LINES = 12
"""Changes shown of each side."""


def both_changed(spelled: str, reasons: Sequence[str]) -> Refused:
    """The error, with what each side changed (`both_lists`)."""
    return Refused(
        "both-changed",
        f"{spelled} was changed too since this text was exported, by the office or by an edit taken in before; "
        "nothing is merged",
        fix="bring both together by hand in the office, check that in, and prove it",
        reasons=tuple(reasons),
    )


def both_lists(known: KnownTexts, base: Known, now: Known, name: str, changes: Sequence[Change]) -> list[str]:
    """What the office changed from ``base`` to ``now``, and the ``changes`` of the file ``name`` off the control, a line each.

    Raises CouldNot (``damaged``) where a text cannot be read back.
    """
    strict = base.record.strict or now.record.strict
    office = compare(known.bytes_of(base), known.bytes_of(now), strict=strict).changes
    since = f"since {label(base.stored.name)}"
    return [
        *_lines(f"{base.file.name}, office {since} ({label(now.stored.name)})", office),
        *_lines(f"{base.file.name}, control {since} ({name})", changes),
    ]


def _lines(title: str, changes: Sequence[Change]) -> list[str]:
    shown = [f"{title}: {change_words(change)}" for change in changes[:MOST_LINES]]
    more = len(changes) - len(shown)
    return [*shown, f"{title}: and {more} more"] if more else shown
