"""Who acts: git's e-mail address, initials, the day, and the shop.toml before the change in hand."""

from datetime import UTC, datetime

import pytest

from tests.fakes.floor import JOB, JOB_PATH, PROGRAM, SHOP, TEXT
from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall, Refused
from tracker.records.events import HoldRecord
from tracker.services.checkin import check_in
from tracker.services.checkin_shop import check_in_shop
from tracker.services.desk import acting, opening
from tracker.services.hold import hold
from tracker.services.naming import parse_named
from tracker.store.toml_files import load_shop

NOON = datetime(2026, 3, 20, 12, tzinfo=UTC)


def with_dates(initials, dates, shop=SHOP):
    row = f'initials = "{initials}"\n'
    assert row in shop
    return shop.replace(row, row + dates)


def repository(shop=SHOP):
    repo = FakeRepository()
    repo.save({"shop.toml": shop, JOB_PATH: JOB, PROGRAM: TEXT})
    return repo


def who(email, shop=SHOP, by=None):
    repo = repository(shop)
    return acting(desk_at(repo, NOON, email=email), repo.tree().shop(), by).initials


@pytest.mark.parametrize("email", ["ss@bench.example", "  SS@Bench.Example \n", "Ss@bench.example"])
def test_case_and_blanks_of_an_address_do_not_count(email):
    assert who(email) == "ss"
    assert who("ss@bench.example", SHOP.replace("ss@bench.example", "SS@BENCH.example")) == "ss"


@pytest.mark.parametrize(
    ("email", "dates", "words"),
    [
        (None, "", "this PC stands for nobody"),
        ("   ", "", "this PC stands for nobody"),
        ("x@bench.example", "", "nobody in shop.toml has git's e-mail address here, x@bench.example"),
        ("ss@bench.example", "left = 2026-03-19\n", "ss left on 19 Mar 2026"),
        ("ss@bench.example", "since = 2026-03-21\n", "ss came on 21 Mar 2026"),
    ],
)
def test_a_pc_that_stands_for_nobody_says_why(email, dates, words):
    with pytest.raises(BadCall) as caught:
        who(email, with_dates("ss", dates))
    assert caught.value.name == "who"
    assert words in caught.value.reasons[0]
    assert caught.value.fix == "say it with --by INITIALS"


@pytest.mark.parametrize(
    ("first", "second", "is_refused"),
    [
        ("", "", True),
        ("left = 2026-03-20\n", "since = 2026-03-20\n", True),
        ("left = 2026-03-19\n", "since = 2026-03-20\n", False),
        ("since = 2026-03-20\n", "left = 2026-03-19\n", False),
        ("left = 2026-03-19\n", "", True),
    ],
)
def test_two_people_with_one_address(first, second, is_refused):
    shop = with_dates("kp", first, with_dates("ss", second)).replace("ss@bench.example", "KP@Bench.example")
    if not is_refused:
        assert len(load_shop(shop.encode(), "shop.toml").people) == 5
        expected = "ss" if first.startswith("left") else "kp"
        assert who("kp@bench.example", shop) == expected
        return
    with pytest.raises(BadCall) as caught:
        load_shop(shop.encode(), "shop.toml")
    line = shop.splitlines().index('email = "KP@Bench.example"') + 1
    assert caught.value.where == f"shop.toml:{line}"
    assert "kp has the e-mail address 'KP@Bench.example' too" in str(caught.value.what) + str(
        caught.value.reasons
    )


def test_one_who_has_left_is_refused_with_the_reason():
    repo = repository(with_dates("kp", "left = 2026-03-19\n"))
    with pytest.raises(Refused) as caught:
        hold(desk_at(repo, NOON), parse_named("4471/op10"), by="kp", reason="tool broke")
    assert caught.value.name == "wrong-role"
    assert caught.value.what == "kp left on 19 Mar 2026 and is not listed for 20 Mar 2026 in shop.toml"
    assert "ss" in (caught.value.fix or "")


@pytest.mark.parametrize(("day", "may"), [(18, False), (19, True), (20, True)])
def test_the_day_that_is_claimed_counts_too(day, may):
    repo = repository(with_dates("kp", "since = 2026-03-19\n"))
    desk, at = desk_at(repo, NOON), datetime(2026, 3, day, 12, tzinfo=UTC)
    kp = repo.tree().shop().person("kp")
    if may:
        assert HoldRecord(job="4471", operation="op10", revision=None, reason="x", scope="operation",
                          **opening(desk, kp, at=at)).at == at  # fmt: skip
        return
    with pytest.raises(Refused) as caught:
        opening(desk, kp, at=at)
    assert "kp came on 19 Mar 2026" in caught.value.what


def test_who_enters_it_must_be_here_and_who_says_it_too():
    repo = repository(with_dates("ss", "left = 2026-03-19\n"))
    desk = desk_at(repo, NOON, email="np@bench.example")
    words = {"reason": "off the control", "off_control": True}
    with pytest.raises(Refused) as caught:
        check_in(desk, [parse_named("4471/op10")], by="kp", entered_by="ss", **words)
    assert "ss left on 19 Mar 2026" in caught.value.what
    with pytest.raises(Refused) as caught:
        check_in(desk, [parse_named("4471/op10")], by="ss", entered_by="kp", **words)
    assert "ss left on 19 Mar 2026" in caught.value.what
    done = check_in(desk, [parse_named("4471/op10")], by="kp", entered_by="np", **words)
    assert (done.checked_in[0].record.by, done.checked_in[0].record.entered_by) == ("kp", "np")


def change(repo, by, shop, email=None):
    repo.write("shop.toml", shop)
    return check_in_shop(desk_at(repo, NOON, email=email), by=by, reason="people")


def test_the_state_before_the_change_decides():
    """Nobody makes himself quality, and quality may take its own role away."""
    mine = SHOP.replace(
        '"np@bench.example"\nroles = ["programmer"]', '"np@bench.example"\nroles = ["quality"]'
    )
    assert mine != SHOP
    repo = repository()
    with pytest.raises(Refused) as caught:
        change(repo, "np", mine)
    assert (caught.value.name, caught.value.fix) == ("wrong-role", "ask one of: dg")
    assert change(repo, "dg", mine).changed == ("people",)
    assert change(repo, "np", SHOP).changed == ("people",)


def test_one_who_writes_himself_in_may_not_act_while_quality_is_there():
    new = SHOP + '[[people]]\ninitials = "zz"\nname = "Z"\nemail = "zz@bench.example"\nroles = ["quality"]\n'
    with pytest.raises(BadCall) as caught:
        change(repository(), "zz", new)
    assert caught.value.name == "unknown-person"
    nobody = with_dates("dg", "left = 2026-03-19\n")
    added = nobody + new.removeprefix(SHOP)
    assert change(repository(nobody), "zz", added).by == "zz"
    assert change(repository(nobody), "np", added).by == "np"


def test_taking_oneself_out_of_the_days_does_not_undo_that_one_may():
    """`left` before today in the change itself: the state before decides."""
    assert change(repository(), "dg", with_dates("dg", "left = 2026-03-01\n")).by == "dg"
    with pytest.raises(Refused):
        change(repository(), "np", with_dates("dg", "left = 2026-03-01\n"))
