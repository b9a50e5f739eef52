"""What a deviation is on a moment: a row an hour and what had happened by then."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.fakes.stick_shop import released_shop
from tracker.policy.deviations import CLOSED, OVERDUE, OWED, RUNNING, deviations, shown
from tracker.records.events import CountersignRecord, DeviationRecord, StrikeRecord

START = datetime(2026, 2, 6, 2, 0, tzinfo=UTC)


def shop_with(*acts: tuple, hours: int = 8, policy: str = "two_person = true"):
    """A shop where ``ss`` made a deviation at 02:00; ``acts``: (hour, kind, initials[, entered_by])."""
    shop = released_shop()
    if policy != "two_person = true":
        text = shop.repo.tree().read("shop.toml").decode()
        shop.repo.save(
            {"shop.toml": text.replace("two_person = true", policy)}, at=START - timedelta(hours=1)
        )
    path = "jobs/4471/records/op10/r0001-x-deviation-MILL2-20260206T020000Z-ss.toml"
    stored = shop.revision("4471/op10-m3")
    opening = {"job": "4471", "operation": "op10-m3", "revision": stored.name}
    shop.repo.record(
        path,
        DeviationRecord(
            **opening,
            machine="MILL3",
            hours=hours,
            operation_fingerprint=stored.record.operation_fingerprint,
            at=START,
            entered=START,
            by="ss",
            reason="spindle of MILL2 is down and the lot is due",
        ),
    )
    last = path
    for number, (hour, kind, by, *entered_by) in enumerate(acts):
        at = START + timedelta(hours=hour)
        said = {
            "at": at,
            "entered": at,
            "by": by,
            "reason": "watched it",
            "entered_by": next(iter(entered_by), None),
        }
        made = (
            CountersignRecord(**opening, proof=path, **said)
            if kind == "sign"
            else StrikeRecord(record=path if kind == "strike" else last, **said)
        )
        last = f"records/20260206T0{number}0000Z-{kind}-{by}.toml"
        shop.repo.record(last, made)
    return shop


@pytest.mark.parametrize(
    ("acts", "hour", "state", "signed"),
    [
        ((), 0, OWED, None),
        ((), 7.99, OWED, None),
        ((), 8, OVERDUE, None),
        ((), 1000, OVERDUE, None),
        (((1, "sign", "kp"),), 2, RUNNING, "kp"),
        (((1, "sign", "dg"),), 8, CLOSED, "dg"),
        (((9, "sign", "kp"),), 10, CLOSED, "kp"),
        (((1, "sign", "ss"),), 8, OVERDUE, None),  # who made it
        (((1, "sign", "SS"),), 8, OVERDUE, None),
        (((1, "sign", "kp", "ss"),), 8, OVERDUE, None),  # entered by who made it
        (((1, "sign", "np"),), 8, OVERDUE, None),  # a programmer has no such role
        (((1, "sign", "zz"),), 8, OVERDUE, None),  # nobody listed
        (((1, "strike", "ss"),), 8, OVERDUE, None),  # the text went out all the same
        (((1, "sign", "kp"), (2, "unsign", "kp")), 8, OVERDUE, None),  # the countersign was struck
    ],
)
def test_a_deviation_is_what_happened_by_then(acts, hour, state, signed):
    (one,) = deviations(shop_with(*acts).repo.ledger(), START + timedelta(hours=hour))
    assert (one.state, one.signed_by) == (state, signed)


def test_a_shop_of_one_owes_nobody():
    shop = shop_with(policy="two_person = false")
    assert [one.state for one in deviations(shop.repo.ledger(), START)] == [RUNNING]
    assert shown(shop.repo.ledger(), START + timedelta(hours=8)) == ()


def test_hours_past_the_policy_of_that_day_do_not_count():
    (one,) = deviations(shop_with(hours=1000).repo.ledger(), START)
    assert one.ends == START + timedelta(hours=24)


def test_overdue_stands_first():
    shop = shop_with()
    record = deviations(shop.repo.ledger(), START)[0].record
    from tracker.frozen import replace

    later = START + timedelta(hours=7)
    shop.repo.record(
        "records/20260206T090000Z-deviation-MILL3-kp.toml", replace(record, by="kp", at=later, entered=later)
    )
    found = shown(shop.repo.ledger(), START + timedelta(hours=9))
    assert [(one.state, one.record.by) for one in found] == [(OVERDUE, "ss"), (OWED, "kp")]
