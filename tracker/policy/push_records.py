"""What a push asks of every new record: readable, where it belongs, by whom it says, by the clock, with authority. Pure.

=================== ==================================================================================================
rule                what it holds
=================== ==================================================================================================
clock-set           no record made with a clock that was set by hand
date-ahead          nothing is entered, or committed, later than the server's clock says
date-forged         a record was entered when its commit was written
wrong-digits        a revision's name opens the hash of its own bytes, and its number
record-copied       a record lies in the folder of its own job, operation and revision, by its own name
not-its-author      the commit is by who the record says, by the e-mail address in shop.toml
no-authority        that person is listed for the day and has the role, by the shop.toml before the push (while nobody
                    holds quality, by the one he writes himself into)
after-leaving       nobody who has left enters what follows a state made after that day
shop-no-authority   shop.toml is changed by quality (by anyone while nobody holds that role)
=================== ==================================================================================================
"""

from collections.abc import Iterator
from datetime import datetime

from tracker.frozen import dataclass
from tracker.policy.days import local_date, zone_of
from tracker.policy.may import QUALITY, ROLES, holders, may
from tracker.policy.push import Breach, NewCommit
from tracker.policy.push_appended import CLOCKS
from tracker.records.events import AnyRecord, ReleaseRecord, RevisionRecord, ShopRecord
from tracker.records.names import release_file, revision_name, revision_number
from tracker.records.places import SHOP, job_folder, operation_of_record
from tracker.records.shop import Person, Shop

_DIGITS = 8
_ACTIONS = {"revision": "checkin", "proof": "prove"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRecord:
    """A record a commit brings: ``job_number`` is that of the job.toml above it, None where there is none."""

    commit: NewCommit
    path: str
    sha256: str
    record: AnyRecord
    job_number: str | None = None

    @property
    def name(self) -> str:
        """File name without its ending."""
        return self.path.rsplit("/", 1)[-1].removesuffix(".toml")


def record_breaches(new: NewRecord, now: datetime) -> Iterator[Breach]:
    """Everything against a record that can be told from itself, its name, its commit and the server's clock."""
    record = new.record
    if record.clock is not None:
        yield _breach(
            new, "clock-set", "was made with a clock set by hand (PROVEOUT_NOW)", "make it again without"
        )
    if max(record.entered, record.at) > now + CLOCKS:
        yield _breach(
            new,
            "date-ahead",
            f"says {max(record.entered, record.at):%Y-%m-%d %H:%M} UTC, and it is not that late yet",
        )
    if abs(record.entered - new.commit.authored) > CLOCKS:
        words = f"says it was entered {record.entered:%Y-%m-%d %H:%M} UTC, its commit {new.commit.authored:%Y-%m-%d %H:%M}"
        yield _breach(new, "date-forged", words)
    if isinstance(record, RevisionRecord):
        yield from _digits(new, record)
    wrong = _elsewhere(new)
    if wrong is not None:
        yield _breach(new, "record-copied", wrong)


def _digits(new: NewRecord, record: RevisionRecord) -> Iterator[Breach]:
    number = revision_number(new.name)
    right = number is not None and record.revision == revision_name(number)
    if not right or new.name.partition("-")[2] != new.sha256[:_DIGITS]:
        words = (
            f"does not open the hash of its own bytes ({new.sha256[:_DIGITS]}), or is not {record.revision}"
        )
        yield _breach(new, "wrong-digits", words)


def _elsewhere(new: NewRecord) -> str | None:
    """Why a record does not belong where it lies."""
    record, parts = new.record, new.name.split("-")
    folder = job_folder(new.path)
    here = new.job_number if new.job_number is not None else (folder or "").rpartition("/")[2]
    if (record.job or "").casefold() != here.casefold():
        return f"is of job {record.job}, and lies with {here or 'what belongs to no job'}"
    operation = operation_of_record(new.path)
    if (operation or "").casefold() != (record.operation or "").casefold():
        return f"is of operation {record.operation}, and lies with {operation or 'no operation'}"
    if isinstance(record, RevisionRecord):
        return None
    if isinstance(record, ReleaseRecord):
        right = folder is not None and new.path == release_file(folder, record.number)
        return None if right else f"is of release {record.number}, and not called so"
    if record.revision is not None and not new.name.startswith(f"{record.revision}-"):
        return f"speaks of {record.revision}, and its name of another"
    if record.EVENT not in parts or not new.name.endswith(f"-{record.by}"):
        return f"is a {record.EVENT} by {record.by}, and its name says otherwise"
    return None


def authority_breaches(
    new: NewRecord, shop: Shop, now: datetime, before: datetime | None, left: Shop | None = None
) -> Iterator[Breach]:
    """Whether the person may.

    Args:
        new: the record.
        shop: shop.toml as it was before the push.
        now: by the server's clock.
        before: the date of the newest state the record's commit follows.
        left: shop.toml as the record's commit leaves it.
    """
    record = new.record
    person = shop.person(record.by) or _writes_himself_in(new, shop, left)
    if person is None:
        yield _breach(new, "no-authority", f"{record.by} is not in the shop.toml of before this push")
        return
    author = new.commit.author.strip().casefold()
    entered_by = shop.person(record.entered_by) if record.entered_by else None
    if author not in {one.email.strip().casefold() for one in (person, entered_by) if one is not None}:
        words = f"is by {record.by}, and its commit by {new.commit.author or 'nobody'}"
        yield _breach(new, "not-its-author", words, "everybody enters his own records")
    for who in (person, entered_by):
        yield from _left(new, who, shop, now, before) if who is not None else ()
    action = _ACTIONS.get(record.EVENT, record.EVENT)
    asked = action if action in ROLES else "enter"
    for who, what in ((person, asked), (entered_by, "enter" if asked == "checkin" else asked)):
        why = may(shop, who, what, record.entered, off_control=True) if who is not None else None
        if why is not None:
            yield _breach(new, "no-authority", f"{why} (by the shop.toml before this push)")
    if record.entered_by and entered_by is None:
        words = f"{record.entered_by}, who entered it, is not in the shop.toml of before this push"
        yield _breach(new, "no-authority", words)


def _writes_himself_in(new: NewRecord, shop: Shop, left: Shop | None) -> Person | None:
    """Who changes shop.toml while nobody holds quality may be listed by that very change: the first people are."""
    record = new.record
    if left is None or not isinstance(record, ShopRecord):
        return None
    guarded = holders(shop, QUALITY, local_date(record.entered, zone_of(shop)))
    return None if guarded else left.person(record.by)


def _left(
    new: NewRecord, person: Person, shop: Shop, now: datetime, before: datetime | None
) -> Iterator[Breach]:
    zone = zone_of(shop)
    if person.left is None or local_date(now, zone) <= person.left or before is None:
        return
    if local_date(before, zone) > person.left:
        yield _breach(
            new,
            "after-leaving",
            f"is by {person.initials}, and follows a state made after {person.initials} left",
        )


def shop_breaches(commit: NewCommit, shop: Shop, by: str | None) -> Iterator[Breach]:
    """Whether who made a commit may change shop.toml; ``by``: whom its record names, if there is one."""
    if not any(QUALITY in person.roles for person in shop.people):
        return
    author = commit.author.strip().casefold()
    named = {p.initials for p in shop.people if p.email.strip().casefold() == author}
    who = named if by is None else named & {by}
    ok = [p for p in shop.people if p.initials in who and may(shop, p, "shop", commit.authored) is None]
    if not ok:
        said = by or commit.author or "nobody"
        words = f"commit {commit.short} by {said} changes it, who had not the role quality before this push"
        yield Breach(
            rule="shop-no-authority",
            where=SHOP,
            words=words,
            clears="somebody with the role quality makes the change",
        )


def _breach(new: NewRecord, rule: str, words: str, clears: str | None = None) -> Breach:
    return Breach(rule=rule, where=new.path, words=words, clears=clears)
