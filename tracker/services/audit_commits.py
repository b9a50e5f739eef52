"""The commits of all history held against the rules a server holds a push against, by the same functions.

What came in past a gate (no server, a hook taken off, a clone that was copied) is told here under the name the server
refuses it by. Each commit is judged by the shop.toml it follows, since no push is known that it came with.

Some rules are of a push alone, and nothing is told of them here: ``clock-set`` and ``date-ahead`` hang on the server's
clock at the moment it takes something in; what references did (``branch-rewritten``, ``tag-moved`` ...) leaves no trace
in a history; that a change of people is a push by itself cannot be seen afterwards. Records of a newer version and
texts a merge made below ``jobs`` and ``common`` are told elsewhere in an audit, which knows more about them.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from tracker.policy.push import Breach, NewCommit
from tracker.records.places import SHOP
from tracker.services.ports_push import PushSeen
from tracker.services.problem import REFUSE, WARN, Problem
from tracker.services.push_files import attributes_in_force, is_attributes, names_breaches
from tracker.services.push_judge import commit_breaches

PUSH_ONLY = frozenset({"clock-set", "date-ahead"})
"""Rules that ask what time it was when a push came in."""
_TOLD_ELSEWHERE = frozenset({"newer-record", "unreadable-record", "text-not-recorded"})
_WARNINGS = frozenset(
    {"time-goes-back", "merged-text", "bad-name", "too-large", "date-forged", "evidence-missing"}
)
_PROGRAMS = ("jobs/", "common/")


def audit_commits(seen: PushSeen, commits: Sequence[NewCommit], now: datetime) -> Iterator[Problem]:
    """Everything a server would have refused these commits for.

    Args:
        seen: their repository, as if no reference had been there before.
        commits: those to look at, parents first.
        now: the moment of the audit.
    """
    for breach in dict.fromkeys(commit_breaches(seen, commits, now)):
        if breach.rule not in PUSH_ONLY | _TOLD_ELSEWHERE and not _merged_program(breach):
            yield _problem(breach)


def audit_names(seen: PushSeen, ends: Sequence[str]) -> Iterator[Problem]:
    """Names and links in the states branches stand on now, all of them."""
    for end in ends:
        listing = seen.listing(end)
        yield from map(_problem, names_breaches(listing, listing.keys()))


def audit_attributes(seen: PushSeen, ends: Sequence[str]) -> Iterator[Problem]:
    """Rules by which git may change bytes, in the states of the shop branches stand on: also those of before there was one."""
    for end in ends:
        listing = seen.listing(end)
        for path in filter(is_attributes, listing) if SHOP in listing else ():
            yield from map(_problem, attributes_in_force(path, seen.recorded.tree(end).read(path)))


def _merged_program(breach: Breach) -> bool:
    """Whether `tracker.services.audit_texts` tells it: only it knows if the text was checked in afterwards."""
    return breach.rule == "merged-text" and breach.where.startswith(_PROGRAMS)


def _problem(breach: Breach) -> Problem:
    return Problem(
        problem=breach.rule,
        severity=WARN if breach.rule in _WARNINGS else REFUSE,
        where=breach.where.removeprefix("commit "),
        message=breach.words,
    )
