"""``review``: a named person has read how a revision differs from the ones it came from.

A desk review lets a proof carry over kinds of change the shop's policy names for it; over more it has no say, and
where nothing but such kinds as carry by themselves changed there is nothing to review.
"""

from dataclasses import dataclass
from datetime import datetime

from tracker.errors import Refused
from tracker.nc.kinds import in_order
from tracker.policy.book import book_of
from tracker.policy.find import by_name, label
from tracker.policy.may import require
from tracker.policy.steps import read_kinds, tools_words
from tracker.policy.writers import writers
from tracker.records.events import Origin, ReviewRecord
from tracker.records.shop import Person, Policy
from tracker.services.acted import Acted, machines_of, record_for
from tracker.services.comparing import CompareReport, compare_revisions
from tracker.services.desk import Desk, acting, opening
from tracker.services.naming import Named
from tracker.services.recording import reason_text
from tracker.services.revision_text import revision_text
from tracker.services.target import Target, target


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A review somebody may make: of what, by whom, against which of the revisions it came from."""

    target: Target
    person: Person
    origins: tuple[Origin, ...]


def begin(desk: Desk, named: Named, *, by: str | None) -> Begun:
    """Look whether there is something to review, and whether this person may; raises what `review` raises for it."""
    found = target(desk, named)
    person = acting(desk, found.shop, by)
    book = book_of(found.ledger, found.record.job, desk.clock.now())
    entry = book.revisions.get(found.stored.name)
    wrote = writers(book, entry) if entry else frozenset[str]()
    require(found.shop, person, "review", desk.clock.now(), writers=wrote)
    return Begun(target=found, person=person, origins=_for_review(found, book.policy))


def review(
    desk: Desk, named: Named, *, by: str | None, reason: str | None, at: datetime | None = None
) -> Acted:
    """Put the review of a revision against each one it came from down.

    Raises:
        BadCall: unknown names, ``no-reason``.
        Refused: ``nothing-to-review``, ``not-for-review``, ``wrong-role`` (also for the writer), ``moved``.
    """
    begun = begin(desk, named, by=by)
    found, person, origins = begun.target, begun.person, begun.origins
    why = reason_text(reason, "what did you find?")
    records = tuple(
        ReviewRecord(
            job=found.record.job,
            operation=found.record.operation,
            revision=found.stored.name,
            reason=why,
            from_revision=origin.revision,
            kinds=origin.kinds,
            **opening(desk, person, at=at),
        )
        for origin in origins
    )
    policy = found.shop.policy
    kinds = in_order({kind for origin in origins for kind in read_kinds(origin, policy, 1.0)})
    tools = {tool for origin in origins for tool in origin.sections or ()}
    where = f" ({tools_words(sorted(tools))})" if tools else ""
    said = f"desk review by {person.initials} against {_labels(origins)}: {', '.join(kinds)}{where}"
    return record_for(desk, found, records, author=person, said=said, machines=machines_of(desk, found))


def differences(desk: Desk, named: Named) -> tuple[CompareReport, ...]:
    """What a reviewer has to read: the revision beside each one it came from."""
    found = target(desk, named)
    new = revision_text(desk.repo, found.stored)
    reports = []
    for origin in found.record.origins:
        source = by_name(found.ledger, found.job, found.operation, origin.revision)
        if source is not None:
            names = (label(origin.revision), found.label)
            reports.append(compare_revisions(found.shop, revision_text(desk.repo, source), new, names))
    return tuple(reports)


def _for_review(found: Target, policy: Policy) -> tuple[Origin, ...]:
    """The origins a review can say something about."""
    waiting: list[Origin] = []
    heavy: list[str] = []
    for origin in found.record.origins:
        # as if the older text were proved itself; what was slowed before it, standing adds up
        kinds = read_kinds(origin, policy, 1.0)
        beyond = kinds - {*policy.carry, *policy.review}
        if beyond:
            heavy.append(f"{label(origin.revision)} to {found.label}: {', '.join(in_order(beyond))}")
        elif not kinds <= set(policy.carry):
            waiting.append(origin)
    if heavy:
        raise Refused(
            "not-for-review",
            f"a desk review cannot let a proof carry over to {found.label}",
            fix="prove the changed tools, or the whole operation, again",
            reasons=tuple(heavy),
        )
    if not waiting:
        why = (
            "it came from no other revision"
            if not found.record.origins
            else "its changes carry by themselves"
        )
        raise Refused(
            "nothing-to-review",
            f"{found.spelled} needs no desk review: {why}",
            fix=f"proveout status --job {found.job} shows what is owed",
        )
    return tuple(waiting)


def _labels(origins: tuple[Origin, ...]) -> str:
    return " and ".join(label(origin.revision) for origin in origins)
