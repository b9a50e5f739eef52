"""In whose name and under whose key a release tag may be; decided here, no outside source."""

from datetime import UTC, date, datetime

import pytest

from tests.policy.rows import line
from tracker.policy.release_tag import maker_words, tag_worth, who_can_tag
from tracker.policy.signed import GOOD, NOT_HIS, REVOKED, UNKNOWN, UNSIGNED
from tracker.records.events import ReleaseRecord
from tracker.records.shop import Person, Policy, Shop
from tracker.records.stored import Found

NOON = datetime(2026, 2, 2, 12, tzinfo=UTC)
ROLES = {"dg": ("quality",), "qq": ("quality",), "np": ("programmer",), "ss": ("setup",)}
RECORD = ReleaseRecord(job="4471", by="dg", at=NOON, entered=NOON, number=1)


def shop(signatures="required", gone=None, **keys: str) -> Shop:
    """Everybody with the key called like the person unless said otherwise; ``gone``: who left the day before."""
    people = tuple(
        Person(
            initials=who,
            name=who,
            email=f"{who}@b.example",
            roles=roles,
            keys=tuple(map(line, keys.get(who, who).split())),
            left=date(2026, 2, 1) if who == gone else None,
        )
        for who, roles in ROLES.items()
    )
    return Shop(name="Bench", timezone="Europe/London", people=people, policy=Policy(signatures=signatures))


@pytest.mark.parametrize("tagger", ["dg@b.example", "DG@B.example ", "qq@b.example"])
def test_by_who_put_it_down_or_another_of_quality(tagger):
    assert maker_words(tagger, RECORD, [shop()]) is None


@pytest.mark.parametrize("tagger", ["np@b.example", "dg@elsewhere.example", "", None])
def test_by_somebody_else_or_nobody(tagger):
    words = maker_words(tagger, RECORD, [shop()])
    assert words is not None
    assert words.startswith(f"the tag was made by {tagger or 'nobody'}, and its record by dg")


def test_by_who_put_it_down_without_the_role_today():
    assert (
        maker_words(
            "np@b.example", ReleaseRecord(job="1", by="NP", at=NOON, entered=NOON, number=1), [shop()]
        )
        is None
    )


def test_under_an_address_of_before():
    old = Shop(
        name="B", people=(Person(initials="dg", name="dg", email="old@b.example", roles=("quality",)),)
    )
    assert maker_words("old@b.example", RECORD, [shop(), old]) is None
    assert maker_words("old@b.example", RECORD, [shop()]) is not None


@pytest.mark.parametrize(
    ("key", "verdict"),
    [("dg", GOOD), ("qq", GOOD), ("np", NOT_HIS), ("stranger", UNKNOWN), ("old", REVOKED), (None, UNSIGNED)],
)
def test_what_its_signature_is_worth(key, verdict):
    found = Found(there=key is not None, key=line(key) if key else None)
    assert tag_worth(RECORD, found, shop(), [shop(dg="old")]).verdict == verdict


def test_another_of_quality_who_has_left_signs_none():
    found, left = Found(there=True, key=line("qq")), shop(gone="qq")
    assert tag_worth(RECORD, found, left, (), NOON).verdict == NOT_HIS
    assert tag_worth(RECORD, found, left).verdict == GOOD
    assert tag_worth(RECORD, found, shop(), (), NOON).verdict == GOOD


@pytest.mark.parametrize(
    ("before", "now", "who"),
    [
        (shop("optional"), shop("optional"), None),
        (None, shop("optional"), None),
        (shop(), shop(), ("dg", "qq")),
        (shop(), shop("optional"), ("dg", "qq")),
        (shop("optional"), shop(), ("dg", "qq")),
        (None, shop(), ("dg", "qq")),
        (shop(), shop(dg="new"), ("qq",)),
        (shop(), shop(dg="new dg"), ("dg", "qq")),
        (shop("optional", dg="old"), shop(), ("dg", "qq")),
        (shop(), shop(dg="new", qq=""), ()),
        (shop(), shop(dg="np", qq=""), ()),
        (shop(), shop(gone="dg"), ("qq",)),
        (shop(), shop(gone="qq", dg="new"), ()),
    ],
)
def test_who_can_still_make_it(before, now, who):
    assert who_can_tag(RECORD, before, now, NOON) == who
