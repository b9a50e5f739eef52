"""Stops that go out alone where the shared repository turned the rest away.

A hold must reach the others whatever else this clone holds. So each record that only stops use, and is not there yet, is
offered in a commit of its own on what is there, with the bytes and the signature it has here; the branch here keeps its own
commit of it, and the next share brings both together.
"""

from collections.abc import Iterator

from tracker.policy.signed import signer_of, stops
from tracker.records.signatures import signature_path
from tracker.records.stored import Ledger, Stored
from tracker.services.ports_share import Entries, Remote, SharedRepository


def send_stops(
    shared: SharedRepository, place: Remote, branch: str, ledger: Ledger, tip: str, theirs: str
) -> tuple[Stored, ...]:
    """Those that were taken in, in the order of the records; one that is refused keeps no other back.

    Args:
        shared: as this clone reaches it.
        place: where they go.
        branch: on which branch there.
        ledger: the record in hand.
        tip: what that was read from.
        theirs: what the branch there is at.
    """
    here, there = shared.entries(tip), shared.entries(theirs)
    taken: list[Stored] = []
    for stored in _unsent(ledger, here, there):
        person = ledger.shop.person(signer_of(stored.record))
        if person is None:
            continue
        added = {path: here[path] for path in (stored.path, signature_path(stored.path)) if path in here}
        message = f"{stored.record.EVENT} by {stored.record.by}, sent alone"
        made = shared.add(theirs, added, message, person, stored.record.entered)
        if shared.push(place, branch, made, {}).answer == "accepted":
            theirs = made
            taken.append(stored)
    return tuple(taken)


def _unsent(ledger: Ledger, here: Entries, there: Entries) -> Iterator[Stored]:
    for stored in ledger.records:
        if stored.path in here and stored.path not in there and stops(stored.record):
            yield stored
