"""``audit --list signatures``: who signed what, by which key, and what each signature is worth.

By the shop.toml before the record came in, as everywhere; a record that came in before any shop.toml by the first one.
"""

from collections.abc import Iterator

from tracker.policy.signed import needs_signature, signer_of, stops, worth
from tracker.policy.unsigned import signing_shop
from tracker.records.stored import Ledger, Stored

Signature = tuple[Stored, str, str, str, str]
"""A record; who should have signed; the key's print, or nothing; the verdict; whether it must be signed: yes, no, a stop."""


def signatures(ledger: Ledger) -> Iterator[Signature]:
    """Every record of every branch, in the order they came in."""
    for stored in ledger.records:
        before, earlier = signing_shop(ledger, stored)
        shop = before or (ledger.shops[0].shop if ledger.shops else ledger.shop)
        value = worth(signer_of(stored.record), ledger.sealed(stored), shop, earlier)
        must = "yes" if needs_signature(before) else "no"
        if must == "yes" and stops(stored.record):
            must = "no, it stops"
        yield stored, value.whom, value.key or "", value.verdict, must
