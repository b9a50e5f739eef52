"""Laws of standing, on random histories: what a stop, a strike, a lift, a proof, the days and a stricter policy may do."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.policy.test_standing_properties import LAST, add, everything, histories, usable
from tracker.policy.states import CARRIED, HELD, LAPSED, PROVEN, REJECTED, UNPROVEN, WITHDRAWN
from tracker.records.stored import Ledger

MONTH = 38
"""After everything in a history."""

# lapsed and unproven are both "not usable, and nothing stops it": neither is the better one
RANK = {WITHDRAWN: 0, HELD: 1, REJECTED: 2, LAPSED: 3, UNPROVEN: 3, CARRIED: 4, PROVEN: 5}
STOPS = st.sampled_from(
    (
        "hold op10 kp",
        "hold MILL2 xx crash",
        "hold r1 kp",
        "withdraw r1 dg",
        "withdraw 1 xx",
        "proof r1 MILL2 xx rejected program",
        "proof r1 MILL4 ss rejected setup",
        "proof r1 MILL9 ss tools=4 rejected tool",
    )
)
# by the way: from the looser to the stricter
STRICTER = st.sampled_from(
    (
        *({"max_carries": number} for number in (3, 2, 1, 0)),
        *({"lapse_months": number} for number in (0, 36, 24, 12, 3)),
        *({"slower_percent": number} for number in (20, 10, 5, 0)),
        {"two_person": True},
        {"carry": ("numbering", "format"), "review": ("wording", "coolant", "dwell", "slower")},
        {"review": ("dwell",), "reprove": ("motion", "feed", "coolant", "slower")},
        {"reprove": ("feed",)},
        {"carry": ()},
    )
)


def with_policy(ledger: Ledger, **changes) -> Ledger:
    """The same history of a shop that had this policy from the beginning."""
    shops = tuple(
        replace(v, shop=replace(v.shop, policy=replace(v.shop.policy, **changes))) for v in ledger.shops
    )
    return replace(
        ledger, shop=replace(ledger.shop, policy=replace(ledger.shop.policy, **changes)), shops=shops
    )


def looser(changes: dict) -> dict:
    """The loosest a shop may be in these points."""
    return {
        "max_carries": {"max_carries": 9},
        "lapse_months": {"lapse_months": 0},
        "slower_percent": {"slower_percent": 20},
        "two_person": {"two_person": False},
    }.get(next(iter(changes)), {})


def ranks(found) -> dict:
    return {key: RANK[one.state] for key, one in found.items()}


@settings(max_examples=60, deadline=None)
@given(histories(), STOPS, st.booleans())
def test_a_stop_never_makes_standing_better(rows, stop, elsewhere):
    before = everything(rows, rows.ledger(), LAST)
    add(rows, MONTH, stop, elsewhere=elsewhere)
    after = everything(rows, rows.ledger(), LAST)
    assert all(ranks(after)[key] <= rank for key, rank in ranks(before).items())
    for key, one in before.items():
        kept = [cause.words for cause in one.causes if cause.state in (WITHDRAWN, HELD, REJECTED)]
        assert set(kept) <= {cause.words for cause in after[key].causes}


@settings(max_examples=60, deadline=None)
@given(histories(), STOPS, st.booleans())
def test_a_stop_struck_by_quality_leaves_nothing_behind(rows, stop, elsewhere):
    add(rows, MONTH, "shop dg=quality")
    before = everything(rows, rows.ledger(), LAST)
    add(rows, MONTH, stop, elsewhere=elsewhere)
    add(rows, MONTH, "strike dg")
    assert everything(rows, rows.ledger(), LAST) == before


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(("hold op10 kp", "hold r1 kp", "hold MILL2 kp crash", "withdraw r1 dg")))
def test_a_stop_that_was_lifted_leaves_standing_as_it_was(rows, stop):
    before = everything(rows, rows.ledger(), LAST)
    add(rows, MONTH, stop)
    add(rows, MONTH, "lift dg")
    after = everything(rows, rows.ledger(), LAST)
    assert {key: one.state for key, one in after.items()} == {key: one.state for key, one in before.items()}
    asked = [one.first_piece for (_, machine), one in after.items() if machine == "MILL2" and one.usable]
    assert "MILL2" not in stop or all(asked)


@settings(max_examples=60, deadline=None)
@given(histories(), st.data())
def test_a_strike_that_is_struck_changes_nothing(rows, data):
    before = everything(rows, rows.ledger(), LAST)
    target = data.draw(st.sampled_from(rows.stored))
    assume(target.record.EVENT != "strike")
    number = next(n for n, s in rows.by_row.items() if s is target)
    by = data.draw(st.sampled_from(("dg", target.record.by)))
    add(rows, MONTH, f"strike {by} of={number}")
    add(rows, MONTH, f"strike {by}")
    assert everything(rows, rows.ledger(), LAST) == before


@settings(max_examples=60, deadline=None)
@given(histories(), st.data())
def test_nothing_on_another_branch_makes_anything_usable(rows, data):
    before = usable(everything(rows, rows.ledger(), LAST))
    number = data.draw(st.sampled_from(sorted(rows.by_row)))
    in_hand = [s for s in rows.stored if s.in_hand]
    assume(rows.by_row[number] in in_hand)
    what = data.draw(
        st.sampled_from(
            (
                "proof r1 MILL2 ss",
                "ran r1 MILL2 kp piece=accepted",
                f"strike dg of={number}",
                f"strike {rows.by_row[number].record.by} of={number}",
            )
        )
    )
    add(rows, MONTH, what, elsewhere=True)
    assert usable(everything(rows, rows.ledger(), LAST)) <= before


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(("MILL2", "MILL4", "MILL9")), st.data())
def test_a_full_proof_takes_nothing_away(rows, machine, data):
    name = data.draw(st.sampled_from(sorted(rows.names)))
    before = everything(rows, rows.ledger(), LAST)
    add(rows, MONTH, f"proof {name} {machine} ss")
    after = everything(rows, rows.ledger(), LAST)
    assert usable(before) <= usable(after)
    stopped = [cause for cause in after[name, machine].causes if cause.state in (WITHDRAWN, HELD)]
    assert stopped or after[name, machine].state == PROVEN


@settings(max_examples=80, deadline=None)
@given(histories(), STRICTER)
def test_a_stricter_policy_makes_nothing_usable(rows, strict):
    ledger = with_policy(rows.ledger(), **looser(strict))
    stricter = with_policy(ledger, **strict)
    assert usable(everything(rows, stricter, LAST)) <= usable(everything(rows, ledger, LAST))


@settings(max_examples=60, deadline=None)
@given(histories())
def test_each_more_change_let_through_makes_more_usable_or_the_same(rows):
    found = [
        usable(everything(rows, with_policy(rows.ledger(), max_carries=number), LAST)) for number in range(6)
    ]
    assert all(fewer <= more for fewer, more in pairwise(found))


@settings(max_examples=60, deadline=None)
@given(histories(), st.integers(0, 60))
def test_days_alone_make_nothing_usable(rows, months):
    later = f"{27 + (5 + months) // 12}-{(5 + months) % 12 + 1:02}-01"
    before = everything(rows, rows.ledger(), LAST)
    after = everything(rows, rows.ledger(), later)
    assert usable(after) <= usable(before)
    assert all(after[key].state == LAPSED or one.state == after[key].state for key, one in before.items())


@settings(max_examples=60, deadline=None)
@given(histories(), st.randoms(use_true_random=False), st.integers(2, 4))
def test_nor_does_the_order_of_what_came_in_together(rows, random, size):
    ledger = rows.ledger()
    first = {number: number - number % size for number in range(100)}
    together = [
        replace(s, order=first[s.order], commit=f"{s.commit[0]}{first[s.order]}") for s in ledger.records
    ]
    past = {f"{side}{n}": {f"c{k}" for k in range(n)} for n in range(100) for side in "cb"}
    one = replace(ledger, records=tuple(together), descends=lambda a, b: a == b or b in past.get(a, ()))
    random.shuffle(together)
    other = replace(one, records=tuple(together))
    assert everything(rows, other, LAST) == everything(rows, one, LAST)


@settings(max_examples=60, deadline=None)
@given(histories(), st.integers(1, 300))
def test_what_was_claimed_later_than_entered_counts_from_its_entry(rows, days):
    """A claimed day after the entry is not believed, so it changes nothing."""
    ledger = rows.ledger()
    ahead = tuple(
        replace(s, record=replace(s.record, at=s.record.entered + timedelta(days=days)))
        for s in ledger.records
    )
    found = everything(rows, replace(ledger, records=ahead), LAST)
    assert {k: v.state for k, v in found.items()} == {
        k: v.state for k, v in everything(rows, ledger, LAST).items()
    }
