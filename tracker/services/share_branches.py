"""Other branches than the one that is shared: what came in on them, and which records lie on one of this PC alone.

Stops count from every branch a clone has (`tracker.policy.book`). So who was sent a hold on a side branch is told, and so
is who keeps one that nobody else can see: a share moves the branch in hand only.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.records.places import is_record
from tracker.services.ports_share import SharedRepository, There


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherBranch:
    """A branch, and how many changes, or records, it is about."""

    branch: str
    number: int


def came_in(
    shared: SharedRepository, before: Mapping[str, str], there: There, branch: str, head: str | None
) -> tuple[OtherBranch, ...]:
    """Branches beside ``branch`` that are new there or went on; ``before``: where each was known to be."""
    news = [
        OtherBranch(branch=name, number=shared.ahead(tip, before.get(name, head)))
        for name, tip in sorted(there.branches.items())
        if name != branch and before.get(name) != tip
    ]
    return tuple(one for one in news if one.number)


def only_here(
    shared: SharedRepository, before: Mapping[str, str], there: There, branch: str, head: str | None
) -> tuple[OtherBranch, ...]:
    """Branches of this clone with records that neither the branch in hand nor any branch there holds.

    Also those the shared repository had ``before`` and has no more: it was exchanged for another, or they were taken away.
    """
    found: list[OtherBranch] = []
    known: set[str] | None = None
    gone = {name: tip for name, tip in before.items() if name not in there.branches and name != "HEAD"}
    others = gone | {name: tip for name, tip in shared.branches().items() if name != branch}
    for name, tip in sorted(others.items()):
        if head is not None and not shared.ahead(tip, head):
            continue
        if any(not shared.ahead(tip, other) for other in there.branches.values()):
            continue
        known = known if known is not None else _records(shared, [head, *there.branches.values()])
        number = len(_records(shared, [tip]) - known)
        if number:
            found.append(OtherBranch(branch=name, number=number))
    return tuple(found)


def _records(shared: SharedRepository, tips: Sequence[str | None]) -> set[str]:
    return {path for tip in dict.fromkeys(tips) for path in shared.entries(tip) if is_record(path)}
