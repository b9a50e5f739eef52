"""Stops that go out alone where the rest of a share cannot go out.

A hold must reach the others whatever else this clone holds: the shared repository may turn something away, two edits of one file
may wait for a choice, work that is not checked in may stand in the way. So each record that only stops use, and is not there yet,
is offered in a commit of its own on what is there, with the bytes, the signature and the time it has here; the branch here keeps
its own commit of it, and the next share brings both together. What it is about must lie there already, and its maker be listed there. Into a record that has nothing in common with this one goes nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from tracker.errors import ProveoutError
from tracker.policy.may import may
from tracker.policy.signed import signer_of, stops
from tracker.records.events import LiftRecord, MeasuredRecord, ProofRecord, StrikeRecord, WithdrawRecord
from tracker.records.shop import Person
from tracker.records.signatures import signature_path
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.ports_share import Entries, Remote, SharedRepository

_TRIES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Stops:
    """Paths of stops the others had not: ``sent`` by themselves; ``kept``: not even so, and only this clone knows them.

    ``ended``: those of ``sent`` that were ended here since, by a record that waits with the rest.
    """

    sent: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    ended: frozenset[str] = frozenset()

    @property
    def words(self) -> tuple[str, ...]:
        """A line for each."""
        waits = "; what ended it here waits with the rest"
        sent = (
            f"sent all the same, since it only stops use: {path}{waits if path in self.ended else ''}"
            for path in self.sent
        )
        return (*sent, *(f"NOT sent, so tell the others that this stops use: {path}" for path in self.kept))


def send_stops(desk: Desk, shared: SharedRepository, place: Remote, branch: str) -> Stops:
    """Offer each; one that is refused keeps no other back, and that none can be sent is no further fault of the share."""
    try:
        ledger, tip = desk.repo.ledger(), desk.repo.head().commit
        if tip is None:
            return Stops()
        return _Alone(desk=desk, shared=shared, place=place, branch=branch).run(ledger, shared.entries(tip))
    except ProveoutError:
        return Stops()


@dataclass(slots=True, kw_only=True)
class _Alone:
    """One round; ``theirs``: what the branch there is at, as far as is known."""

    desk: Desk
    shared: SharedRepository
    place: Remote
    branch: str
    theirs: str | None = None
    sent: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)

    def run(self, ledger: Ledger, here: Entries) -> Stops:
        """Each stop there is in ``here``, the oldest first."""
        self._look()
        for stored in _oldest_first(ledger, here):
            if self.theirs is None or stored.path not in self.shared.entries(self.theirs):
                gone = self._offer(ledger, here, stored)
                (self.sent if gone else self.kept).append(stored.path)
        ended = frozenset(_ended(ledger)) & set(self.sent)
        return Stops(sent=tuple(self.sent), kept=tuple(self.kept), ended=ended)

    def _look(self) -> None:
        self.theirs = self.shared.fetch(self.place, self.desk.clock.now()).branches.get(self.branch)

    def _offer(self, ledger: Ledger, here: Entries, stored: Stored) -> bool:
        """Whether it is there now; where somebody else was faster it is offered again on top of theirs."""
        added = {path: here[path] for path in (stored.path, signature_path(stored.path)) if path in here}
        message = f"{stored.record.EVENT} by {stored.record.by}, sent alone"
        for _ in range(_TRIES):
            try:
                person = self._known_there(ledger, stored, signed=len(added) > 1)
                if person is None or self.theirs is None:
                    return False
                made = self.shared.add(
                    self.theirs, added, message, person, stored.record.entered, self.desk.clock.now()
                )
                answer = self.shared.push(self.place, self.branch, made, {}).answer
                if answer == "accepted":
                    self.theirs = made
                    return True
                if answer != "race":
                    return False
                self._look()
            except ProveoutError:
                return False  # the way there is cut off: those that went out before are told all the same
        return False

    def _known_there(self, ledger: Ledger, stored: Stored, *, signed: bool) -> Person | None:
        """Who made it, if what it is about lies there and they may; a server that guards nothing would take it all the same."""
        record, listed = stored.record, ledger.shop.person
        shop = self.desk.repo.tree(self.theirs).shop()
        action = "prove" if isinstance(record, ProofRecord) else record.EVENT
        for name in (record.by, record.entered_by or record.by):
            there, here = shop.person(name), listed(name)
            if there is None or here is None or may(shop, there, action, record.entered) is not None:
                return None
            if signed and there.keys != here.keys:
                return None
        lies_there = set(_about(stored)) <= self.shared.entries(self.theirs).keys()
        return shop.person(signer_of(record)) if lies_there else None


def _about(stored: Stored) -> Iterator[str]:
    """Paths of the records without which it says nothing."""
    record, folder = stored.record, stored.path.rpartition("/")[0]
    if record.revision is not None:
        yield f"{folder}/{record.revision}.toml"
    if isinstance(record, WithdrawRecord):
        yield f"{folder}/release-{record.number:04}.toml"
    if isinstance(record, MeasuredRecord):
        yield record.proof


def _oldest_first(ledger: Ledger, here: Entries) -> Iterator[Stored]:
    found = (one for one in ledger.records if one.path in here and stops(one.record))
    yield from sorted(found, key=lambda one: (one.record.entered, one.path))


def _ended(ledger: Ledger) -> Iterator[str]:
    for stored in ledger.records:
        record = stored.record
        if isinstance(record, LiftRecord):
            yield from (path for path in (record.hold, record.withdrawal) if path)
        elif isinstance(record, StrikeRecord):
            yield record.record
