"""Who makes the tag of a release: who put its record down, or another of quality who takes up what was left without one. Pure.

A record may be left without its tag: the passphrase was wrong, the call was killed. Whoever of quality comes next makes it. A
tag stands in a tagger's name, and where the shop asks for it under a signature. The name is a text anybody can write: that it is
held against shop.toml keeps honest tags in order, and a false one is told; what a tag is believed for is its signature.

What cannot be tagged any more by anybody (the key that was listed then is listed no more) is passed over: the next release
gets the next number.
"""

from collections.abc import Iterable
from datetime import datetime

from tracker.policy.days import local_date, zone_of
from tracker.policy.shops import is_here
from tracker.policy.signed import NOT_HIS, Worth, holders, needs_signature, signer_of, worth
from tracker.records.events import ReleaseRecord
from tracker.records.public_keys import same_key
from tracker.records.shop import Person, Shop
from tracker.records.stored import Found

_QUALITY = "quality"


def maker_words(tagger: str | None, record: ReleaseRecord, shops: Iterable[Shop]) -> str | None:
    """Why a tag in this name is not as it should be; None where it is.

    Args:
        tagger: the e-mail address inside the tag.
        record: the release record it names.
        shops: every version of shop.toml there is: an address a person has, or had, will do.
    """
    address = (tagger or "").strip().casefold()
    right = {
        person.email.strip().casefold() for shop in shops for person in shop.people if _may(person, record)
    }
    if address in right:
        return None
    return (
        f"the tag was made by {tagger or 'nobody'}, and its record by {record.by}: a tag is made by who put the record down, "
        "or by another of quality"
    )


def tag_worth(
    record: ReleaseRecord,
    found: Found,
    shop: Shop,
    earlier: Iterable[Shop] = (),
    moment: datetime | None = None,
) -> Worth:
    """What the signature of a release tag is worth; arguments as of `tracker.policy.signed.worth`.

    It is good by who put the record down, and by another who has the role quality in ``shop`` and is listed at that
    ``moment`` (None: whenever).
    """
    value = worth(signer_of(record), found, shop, earlier)
    if value.verdict != NOT_HIS or found.key is None:
        return value
    day = local_date(moment, zone_of(shop)) if moment is not None else None
    others = (one for one in holders(shop, found.key) if _QUALITY in one.roles)
    other = next((one for one in others if day is None or is_here(one, day)), None)
    return value if other is None else worth(other.initials, found, shop)


def who_can_tag(
    record: ReleaseRecord, before: Shop | None, now: Shop, moment: datetime
) -> tuple[str, ...] | None:
    """The initials of those whose tag would be good today; None: anybody of quality, no signature is asked for.

    Args:
        record: the release record that has no tag.
        before: shop.toml before it came in, which every clone judges the tag by.
        now: shop.toml today, which a server judges it by.
        moment: today.
    """
    asked = [shop for shop in (before, now) if shop is not None and needs_signature(shop)]
    if not asked:
        return None
    day = local_date(moment, zone_of(now))
    return tuple(
        one.initials
        for one in now.people
        if is_here(one, day)
        and any(all(_holds(shop, one.initials, key, record) for shop in (*asked, now)) for key in one.keys)
    )


def _holds(shop: Shop, initials: str, key: str, record: ReleaseRecord) -> bool:
    person = shop.person(initials)
    return person is not None and _may(person, record) and any(same_key(key, line) for line in person.keys)


def _may(person: Person, record: ReleaseRecord) -> bool:
    """Whether a tag of theirs is as it should be."""
    own = {name.casefold() for name in (record.by, record.entered_by) if name}
    return person.initials.casefold() in own or _QUALITY in person.roles
