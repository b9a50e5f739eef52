"""What a push asks of signatures. Pure; what one is worth says `tracker.policy.signed`.

======================== =============================================================================================
rule                     what it holds
======================== =============================================================================================
unsigned-record          where the shop.toml before asks for signatures, every record, change of shop.toml and release tag has one;
                         a record that only stops use (`tracker.policy.signed.stops`) may come without
signature-broken         a signature that is there holds over what it lies beside, and was made for that
signature-unknown-key    its key stands in the shop.toml before
signature-not-his-key    it is by who sat at the keyboard, and nobody else
signature-revoked        its key was not taken out of shop.toml before; what only stops use may have been signed before that, in
                         a clone that was away, and comes in as if it had no signature
signature-left           nobody who has left signs what follows a state made after that day
signature-alone          a signature comes beside its record, in the same commit
signature-replayed       what is signed comes in once
======================== =============================================================================================
"""

from collections.abc import Iterator

from tracker.policy.push import Breach, NewCommit
from tracker.policy.push_appended import changes_shop
from tracker.policy.signed import (
    BROKEN,
    GOOD,
    LEFT,
    NOT_HIS,
    REVOKED,
    UNKNOWN,
    UNSIGNED,
    Worth,
    needs_signature,
)
from tracker.records.places import SHOP, is_below_records, is_record
from tracker.records.shop import Shop
from tracker.records.signatures import SUFFIX, signed_path

_KEEP = "proveout install --key FILE --by INITIALS, and make it again from the state before"
_LEFT = "somebody who is here makes it again and signs it; proveout explain push-refused says how this one goes off the branch"
_LISTED = "quality puts the key into shop.toml, in a push of its own, before anything it signs"


def worth_breach(where: str, worth: Worth, shop: Shop | None, *, stop: bool = False) -> Breach | None:
    """What stands against this signature (or its absence) at ``where``.

    ``shop``: shop.toml before; ``stop``: what lies there only stops use, and may be unsigned.
    """
    if worth.verdict == UNSIGNED:
        words = f"{worth.words}, and records must be signed here (by {worth.whom})"
        needed = needs_signature(shop) and not stop
        return Breach(rule="unsigned-record", where=where, words=words, clears=_KEEP) if needed else None
    if worth.verdict == GOOD or (stop and worth.verdict == REVOKED):
        return None
    clears = {UNKNOWN: _LISTED, LEFT: _LEFT}.get(worth.verdict, _KEEP)
    return Breach(
        rule={
            BROKEN: "signature-broken",
            UNKNOWN: "signature-unknown-key",
            NOT_HIS: "signature-not-his-key",
            REVOKED: "signature-revoked",
            LEFT: "signature-left",
        }[worth.verdict],
        where=where,
        words=worth.words,
        clears=clears,
    )


def alone(commit: NewCommit) -> Iterator[Breach]:
    """Signatures a commit adds without the record they belong to."""
    added = {touch.path for touch in commit.made_here if touch.status == "A"}
    for path in sorted(added):
        if is_below_records(path) and path.endswith(SUFFIX) and signed_path(path) not in added:
            words = f"commit {commit.short} brings a signature without its record"
            yield Breach(rule="signature-alone", where=path, words=words, clears="leave the signature out")


def shop_unsigned(commit: NewCommit, shop: Shop | None) -> Iterator[Breach]:
    """A change of shop.toml without a record that could be signed, where records must be."""
    if len(commit.parents) > 1 or not changes_shop(commit) or not needs_signature(shop):
        return
    if not any(is_record(touch.path) and "-shop-" in touch.path for touch in commit.made_here):
        words = f"commit {commit.short} changes it without a signed record of the change"
        clears = 'proveout checkin shop.toml -m "why" makes such a commit'
        yield Breach(rule="unsigned-record", where=SHOP, words=words, clears=clears)


def replayed(where: str, first: str) -> Breach:
    """What is signed at ``where`` stands already at ``first``."""
    words = f"holds the bytes signed for {first}; a signature counts once"
    return Breach(rule="signature-replayed", where=where, words=words, clears="make a record of its own")
