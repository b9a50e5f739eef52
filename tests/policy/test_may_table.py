"""Who may do what: every action by every role, the facts that bar somebody, and people by date."""

from datetime import UTC, date, datetime

import pytest

from tracker.errors import Refused
from tracker.frozen import replace
from tracker.policy.may import ROLES, holders, may, require
from tracker.records.shop import Person, Shop

NOON = datetime(2026, 3, 20, 12, tzinfo=UTC)
PEOPLE = {
    initials: Person(
        initials=initials, name=initials, email=f"{initials}@b.example", roles=tuple(roles.split())
    )
    for initials, roles in {
        "np": "programmer",
        "ss": "setup",
        "dg": "quality",
        "xx": "",
        "al": "programmer setup quality",
    }.items()
}
SHOP = Shop(name="Bench", timezone="Europe/London", people=tuple(PEOPLE.values()))

# action | who may, of np (programmer) ss (setup) dg (quality) xx (listed, no role) al (all three)
TABLE = [
    ("checkin", "np al"),
    ("shop", "dg al"),
    ("prove", "ss al"),
    ("measured", "ss al"),
    ("ran", "np ss dg xx al"),
    ("export", "np ss dg xx al"),
    ("collect", "np ss dg xx al"),
    ("hold", "np ss dg xx al"),
    ("review", "np dg al"),
    ("countersign", "ss dg al"),
    ("release", "dg al"),
    ("lift", "dg al"),
    ("withdraw", "dg al"),
    ("strike", "np ss dg xx al"),
    ("enter", "np ss dg xx al"),
]
# action | person | facts | words of the reason, None: may
FACTS = [
    ("checkin", "ss", {"off_control": True}, None),
    ("checkin", "np", {"off_control": True}, None),
    ("checkin", "dg", {"off_control": True}, "programmer or setup"),
    ("review", "np", {"writers": ("np",)}, "nobody reviews what he wrote himself"),
    ("review", "np", {"writers": ("NP",)}, "nobody reviews what he wrote himself"),
    ("review", "al", {"writers": ("ss", "al")}, "nobody reviews what he wrote himself"),
    ("review", "dg", {"writers": ("np", "ss")}, None),
    ("countersign", "ss", {"prover": "ss"}, "is the prover; a second person is owed"),
    ("countersign", "al", {"prover": "ss", "writers": ("al",)}, "wrote this revision"),
    ("countersign", "dg", {"prover": "ss", "writers": ("ss",)}, None),
    ("countersign", "np", {"prover": "ss"}, "has not the role setup or quality"),
    ("strike", "ss", {"made_by": ("ss",)}, None),
    ("strike", "ss", {"made_by": ("kp", "SS")}, None),
    ("strike", "ss", {"made_by": ("kp",)}, "everybody strikes his own slips"),
    ("strike", "dg", {"made_by": ("kp",)}, "everybody strikes his own slips"),
    ("strike", "ss", {"made_by": ("ss",), "stops_use": True}, "has not the role quality"),
    ("strike", "dg", {"made_by": ("ss",), "stops_use": True}, None),
]


def test_the_table_has_every_action():
    assert {action for action, _ in TABLE} == set(ROLES)


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize(("action", "allowed"), TABLE)
def test_roles(action, allowed, who):
    why = may(SHOP, PEOPLE[who], action, NOON)
    assert (why is None) == (who in allowed.split())
    assert why is None or why.startswith(f"{who} has not the role ")


@pytest.mark.parametrize(("action", "who", "facts", "words"), FACTS)
def test_facts(action, who, facts, words):
    why = may(SHOP, PEOPLE[who], action, NOON, **facts)
    assert why is None if words is None else words in (why or "")


def test_anyone_changes_the_shop_while_nobody_is_quality():
    nobody = Shop(name="Bench", people=(PEOPLE["np"], PEOPLE["xx"]))
    assert may(nobody, PEOPLE["xx"], "shop", NOON) is None


# who holds quality, from and to | the day | whether somebody without a role may change the shop
SHOP_DAYS = [
    (None, None, 20, False),
    (None, date(2026, 3, 20), 20, False),
    (None, date(2026, 3, 19), 20, True),
    (date(2026, 3, 20), None, 20, False),
    (date(2026, 3, 21), None, 20, True),
]


@pytest.mark.parametrize(("since", "left", "day", "anyone"), SHOP_DAYS)
def test_quality_that_is_not_there_that_day_guards_nothing(since, left, day, anyone):
    gauge = Person(initials="dg", name="d", email="d@b.example", roles=("quality",), since=since, left=left)
    shop = Shop(name="Bench", people=(PEOPLE["np"], PEOPLE["xx"], gauge))
    why = may(shop, PEOPLE["xx"], "shop", datetime(2026, 3, day, 12, tzinfo=UTC))
    assert (why is None) == anyone
    assert anyone or why == "xx has not the role quality that this needs"
    assert [one.initials for one in holders(shop, "quality", date(2026, 3, day))] == (
        [] if anyone else ["dg"]
    )


@pytest.mark.parametrize("action", sorted(ROLES))
@pytest.mark.parametrize(
    ("since", "left", "words"),
    [
        (None, date(2026, 3, 19), "al left on 19 Mar 2026 and is not listed for 20 Mar 2026 in shop.toml"),
        (date(2026, 3, 21), None, "al came on 21 Mar 2026 and is not listed for 20 Mar 2026 in shop.toml"),
    ],
)
def test_who_is_not_there_that_day_may_nothing(action, since, left, words):
    al = replace(PEOPLE["al"], since=since, left=left)
    assert may(Shop(name="Bench", people=(al,)), al, action, NOON) == words
    back = replace(al, since=None, left=None)
    assert may(Shop(name="Bench", people=(back,)), back, action, NOON) is None


# London is an hour ahead of UTC in summer: 23:30 UTC is the next day there
@pytest.mark.parametrize(
    ("since", "left", "moment", "is_listed"),
    [
        (date(2026, 3, 20), None, datetime(2026, 3, 19, 23, 59, tzinfo=UTC), False),
        (date(2026, 3, 20), None, datetime(2026, 3, 20, 0, 0, tzinfo=UTC), True),
        (None, date(2026, 3, 20), datetime(2026, 3, 20, 23, 59, tzinfo=UTC), True),
        (None, date(2026, 3, 20), datetime(2026, 3, 21, 0, 0, tzinfo=UTC), False),
        (date(2026, 7, 2), None, datetime(2026, 7, 1, 22, 59, tzinfo=UTC), False),
        (date(2026, 7, 2), None, datetime(2026, 7, 1, 23, 0, tzinfo=UTC), True),
        (None, date(2026, 7, 1), datetime(2026, 7, 1, 22, 59, tzinfo=UTC), True),
        (None, date(2026, 7, 1), datetime(2026, 7, 1, 23, 0, tzinfo=UTC), False),
    ],
)
def test_people_by_date(since, left, moment, is_listed):
    person = Person(initials="kp", name="k", email="k@b.example", roles=("setup",), since=since, left=left)
    why = may(SHOP, person, "hold", moment)
    assert (why is None) == is_listed
    assert is_listed or "is not listed for" in (why or "")


def test_the_refusal_names_who_could():
    with pytest.raises(Refused) as caught:
        require(SHOP, PEOPLE["ss"], "release", NOON)
    assert (caught.value.name, caught.value.fix) == ("wrong-role", "ask one of: dg, al")
    alone = Shop(name="Bench", people=(PEOPLE["ss"],))
    with pytest.raises(Refused) as caught:
        require(alone, PEOPLE["ss"], "release", NOON)
    assert caught.value.fix == "nobody listed may; put the role into shop.toml"
    require(SHOP, PEOPLE["dg"], "release", NOON)
