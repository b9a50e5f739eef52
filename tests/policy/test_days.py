"""Days in the shop, months, lapse; the clock stands still where it is asked."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from freezegun import freeze_time

from tests.policy.rows import SHOP, Rows, read
from tracker.clock import SystemClock
from tracker.policy.days import add_months, end_of_day, entered_late, lapse_day, local_date, words, zone_of
from tracker.policy.standing import standing

LONDON = zone_of(SHOP)


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        ((2024, 1, 17), 24, (2026, 1, 17)),
        ((2024, 2, 29), 24, (2026, 2, 28)),
        ((2024, 2, 29), 48, (2028, 2, 29)),
        ((2024, 2, 28), 24, (2026, 2, 28)),
        ((2026, 8, 31), 6, (2027, 2, 28)),
        ((2026, 12, 31), 2, (2027, 2, 28)),
        ((2026, 11, 30), 1, (2026, 12, 30)),
        ((2026, 1, 1), 12, (2027, 1, 1)),
    ],
)
def test_months_keep_the_day_of_the_month(day, months, later):
    assert add_months(date(*day), months) == date(*later)
    assert lapse_day(date(*day), months) == date(*later)
    assert lapse_day(date(*day), 0) is None


def test_the_end_of_a_day_follows_summer_time():
    assert end_of_day(date(2026, 3, 20), LONDON) == datetime(2026, 3, 20, 23, 59, 59, tzinfo=UTC)
    assert end_of_day(date(2026, 3, 29), LONDON) == datetime(2026, 3, 29, 22, 59, 59, tzinfo=UTC)
    assert end_of_day(date(2026, 10, 25), LONDON) == datetime(2026, 10, 25, 23, 59, 59, tzinfo=UTC)
    assert local_date(datetime(2026, 6, 30, 23, 0, tzinfo=UTC), LONDON) == date(2026, 7, 1)


def test_a_zone_this_pc_does_not_know_is_utc():
    assert zone_of(replace(SHOP, timezone="Nowhere/Atoll")) is UTC
    assert zone_of(replace(SHOP, timezone="../etc")) is UTC


def test_words():
    assert words(date(2026, 2, 4)) == "4 Feb 2026"


def test_late_is_more_than_48_hours():
    (proof,) = [
        s.record for s in read("02-02 r1 np | 02-04 proof r1 MILL2 ss").stored if s.record.EVENT == "proof"
    ]
    assert not entered_late(replace(proof, at=proof.entered - timedelta(hours=48)))
    assert entered_late(replace(proof, at=proof.entered - timedelta(hours=48, seconds=1)))
    assert entered_late(replace(proof, at=proof.entered + timedelta(hours=49)))


LAPSING = read("24-06-28 r1 np | 24-07-01 proof r1 MILL2 ss")


# proved on 1 July 2024 there; it lapses with the first second of 1 July 2026, which in summer is 23:00 UTC the day before
@pytest.mark.parametrize(
    ("now", "state"),
    [
        ("2026-06-30 22:59:59", "proven"),
        ("2026-06-30 23:00:00", "lapsed"),
        ("2026-07-01 12:00:00", "lapsed"),
    ],
)
def test_lapse_begins_at_midnight_of_the_shop(now, state):
    with freeze_time(now, tz_offset=0):
        moment = SystemClock().now()
    assert asked(LAPSING, moment) == state


@pytest.mark.parametrize(
    ("zone", "now", "state"),
    [
        ("America/Los_Angeles", "2026-07-01 06:59:59", "proven"),
        ("America/Los_Angeles", "2026-07-01 07:00:00", "lapsed"),
        ("Pacific/Auckland", "2026-06-30 11:59:59", "proven"),
        ("Pacific/Auckland", "2026-06-30 12:00:00", "lapsed"),
    ],
)
def test_midnight_is_where_the_shop_is(zone, now, state):
    rows = Rows(shop=replace(SHOP, timezone=zone)).read("24-06-28 r1 np | 24-07-01 proof r1 MILL2 ss")
    with freeze_time(now, tz_offset=0):
        moment = SystemClock().now()
    assert asked(rows, moment) == state


def test_a_hold_counts_for_the_whole_day_it_was_entered_on():
    rows = read("02-02 r1 np | 02-04 proof r1 MILL2 ss | 02-05 hold op10 dg")
    with freeze_time("2026-02-05 00:00:01"):
        assert asked(rows, SystemClock().now()) == "held"
    with freeze_time("2026-02-04 23:59:59"):
        assert asked(rows, SystemClock().now()) == "proven"
    west = datetime(2026, 2, 4, 23, 30, tzinfo=timezone(timedelta(hours=-5)))
    assert asked(rows, west) == "held"


def asked(rows, moment):
    ledger = rows.ledger()
    return standing(ledger, rows.find("r1"), ledger.shop.machine("MILL2"), moment).state
