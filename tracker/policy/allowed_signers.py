"""The file of allowed signers ssh-keygen and git verify by (ssh-keygen(1), ALLOWED SIGNERS), made of shop.toml.

A line a person and key, with the days the key counts: from the day it came into shop.toml (and not before ``since``) up to
the day it was taken out, or the end of ``left``. ``valid-before`` is the first moment that no longer counts. Days are whole
and are read by ssh-keygen on the clock of the PC. git holds them against the time a tag itself claims, so this file is a
help for looking, never what a release is judged by.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from tracker.patterns import lazy_pattern
from tracker.policy.days import local_date, zone_of
from tracker.records.public_keys import key_line, public_key
from tracker.records.shop import Person
from tracker.records.signatures import NAMESPACE, TAG_NAMESPACE
from tracker.records.stored import Ledger

_HEAD = "# written by proveout install, from shop.toml; made anew each time\n"
_PLAIN = lazy_pattern(r"[A-Za-z0-9][A-Za-z0-9._%+@-]*")


def allowed_signers(ledger: Ledger) -> str | None:
    """The whole file; None where nobody ever had a key."""
    rows = [_row(*one) for one in sorted(_spans(ledger), key=str)]
    return _HEAD + "".join(rows) if rows else None


def principal(person: Person) -> str:
    """What a person is called there: the e-mail address, or the initials where it holds marks of a pattern."""
    return person.email if _PLAIN.fullmatch(person.email) else person.initials


def _spans(ledger: Ledger) -> Iterator[tuple[str, str, date | None, date | None]]:
    """Who, which key, its first day and the first day it no longer counts."""
    zone = zone_of(ledger.shop)
    began: dict[tuple[str, str], date] = {}
    was: dict[tuple[str, str], Person] = {}
    for version in sorted(ledger.shops, key=lambda one: one.order):
        day = local_date(version.committed, zone)
        here = _keys(version.shop.people)
        for pair in was.keys() - here.keys():
            yield _span(was[pair], pair[1], began.pop(pair), day)
        for pair in here.keys() - was.keys():
            began[pair] = day
        was = here
    now = _keys(ledger.shop.people)
    for pair, person in now.items():
        yield _span(person, pair[1], began.get(pair), None)


def _span(
    person: Person, line: str, came: date | None, gone: date | None
) -> tuple[str, str, date | None, date | None]:
    first = max((day for day in (came, person.since) if day), default=None)
    left = person.left + timedelta(days=1) if person.left else None
    return principal(person), line, first, min((day for day in (gone, left) if day), default=None)


def _keys(people: tuple[Person, ...]) -> dict[tuple[str, str], Person]:
    found: dict[tuple[str, str], Person] = {}
    for person in people:
        for text in person.keys:
            key = public_key(text)
            if not isinstance(key, str):
                found[person.initials.lower(), key_line(bytes.fromhex(key.blob))] = person
    return found


def _row(who: str, line: str, first: date | None, before: date | None) -> str:
    words = [f'namespaces="{TAG_NAMESPACE},{NAMESPACE}"']
    words += [f'valid-after="{first:%Y%m%d}"'] if first else []
    words += [f'valid-before="{before:%Y%m%d}"'] if before else []
    return f"{who} {','.join(words)} {line}\n"
