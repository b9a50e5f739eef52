"""What the signature of a record is worth. Pure: who signed is found elsewhere, here it is held against the people of shop.toml.

Whose key it must be: of who sat at the keyboard, ``entered_by`` where the record names somebody there, else ``by``. A person
who is not at the keyboard cannot sign; that one enters for another is written in the record and judged by who may.

When: only the shop.toml counts that stood *before* the record came in. At a server that is the main branch before the push, so
no date that a commit or a record claims is asked; without a server it is the state the record's commit follows. A key that is
replaced later leaves what it signed good; a key that was taken out signs nothing that comes after, whatever date it claims.

=============== ======================================================================================================
verdict         what it means
=============== ======================================================================================================
good            signed with a key of who sat at the keyboard
unsigned        there is no signature
broken          there is one, and it does not hold over the record's bytes, or was made for something else
unknown-key     it holds, by a key nobody has or had
not-his-key     it holds, by a key of somebody else
revoked         it holds, by a key that was taken out of shop.toml before
left            it holds, by a key of somebody who had left when the state before was made
=============== ======================================================================================================
"""

from collections.abc import Iterable
from datetime import datetime

from tracker.frozen import dataclass
from tracker.policy.days import local_date, zone_of
from tracker.records.events import AnyRecord
from tracker.records.public_keys import key_print, same_key
from tracker.records.shop import Person, Shop
from tracker.records.signatures import REQUIRED, is_stop
from tracker.records.stored import Found

GOOD, UNSIGNED, BROKEN = "good", "unsigned", "broken"
UNKNOWN, NOT_HIS, REVOKED, LEFT = "unknown-key", "not-his-key", "revoked", "left"
VERDICTS = (GOOD, UNSIGNED, BROKEN, UNKNOWN, NOT_HIS, REVOKED, LEFT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """The answer: ``verdict`` of `VERDICTS`, by ``whom`` it should be, the ``key``'s print where it holds, all in ``words``."""

    verdict: str
    whom: str
    words: str
    key: str | None = None

    @property
    def good(self) -> bool:
        """Whether it is signed by who it should be."""
        return self.verdict == GOOD


def signer_of(record: AnyRecord) -> str:
    """The initials of who must have signed."""
    return record.entered_by or record.by


def stops(record: AnyRecord) -> bool:
    """Whether a record only stops use, so that it counts unsigned too; one that permits anything never does."""
    return is_stop(record.EVENT, getattr(record, "result", None))


def needs_signature(shop: Shop | None) -> bool:
    """Whether a record that follows this shop.toml must be signed; where there was none yet, none can be asked."""
    return shop is not None and shop.policy.signatures == REQUIRED


def worth(
    whom: str, found: Found, shop: Shop, earlier: Iterable[Shop] = (), followed: datetime | None = None
) -> Worth:
    """What a signature is worth.

    Args:
        whom: initials of who must have signed.
        found: what the check of the signature found.
        shop: shop.toml before the record came in.
        earlier: versions of it from before that, asked only for a key that does not stand in ``shop``.
        followed: the date of the newest state the record's commit follows, None where it is not known.
    """
    if not found.there:
        return Worth(verdict=UNSIGNED, whom=whom, words="is not signed")
    if found.key is None:
        return Worth(
            verdict=BROKEN, whom=whom, words=f"has a signature that {found.fault or 'does not hold'}"
        )
    verdict, words = _whose(whom, found.key, shop, earlier, followed)
    return Worth(verdict=verdict, whom=whom, words=words, key=key_print(found.key))


def _whose(
    whom: str, key: str, shop: Shop, earlier: Iterable[Shop], followed: datetime | None
) -> tuple[str, str]:
    shown = f"key {key_print(key)}"
    found = holders(shop, key)
    mine = next((one for one in found if one.initials.casefold() == whom.casefold()), None)
    if mine is not None:
        if mine.left and followed and local_date(followed, zone_of(shop)) > mine.left:
            return LEFT, f"is signed by {mine.initials}, and follows a state made after {mine.initials} left"
        return GOOD, f"is signed by {mine.initials} ({shown})"
    if found:
        return NOT_HIS, f"is signed by {found[0].initials} ({shown}), and should be by {whom}"
    before = next((one for version in earlier for one in holders(version, key)), None)
    if before is not None:
        words = (
            f"is signed with {shown} of {before.initials}, which was taken out of shop.toml before it came in"
        )
        return REVOKED, words
    return UNKNOWN, f"is signed with {shown}, which nobody has in the shop.toml before it"


def holders(shop: Shop, key: str) -> list[Person]:
    """Who has this key in shop.toml."""
    return [one for one in shop.people if any(same_key(key, line) for line in one.keys)]
