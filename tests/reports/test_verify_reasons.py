"""What a shop does not state is one reason each for sheet and machine, with every rule counted."""

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import MILLING
from tracker.checks.finding import NotComputed
from tracker.records.job import Offset, Operation, Tool
from tracker.records.shop import Machine
from tracker.reports.verify import as_json, counted_words
from tracker.services.verify import VerifyReport
from tracker.services.verifying import Verified

BARE = Machine(id="MILL2", type="mill", units="inch")
SPARSE = Operation(
    id="op10",
    program="op10/O1001.nc",
    machines=("MILL2",),
    units="inch",
    offsets=(Offset(code="G54"),),
    tools=(Tool(number=1, stick_out=2.0), Tool(number=2, stick_out=2.0)),
)


def verified() -> Verified:
    result = check(subject(MILLING, machine=BARE, sheet=SPARSE))
    return said(*result.not_computed, checks=result.checks)


def said(*left: NotComputed, checks: tuple[str, ...] = ()) -> Verified:
    return Verified(
        job="4471",
        operation="op10",
        machines=("MILL2",),
        findings=(),
        not_computed=left,
        checks=checks,
    )


def left_out(why: str, rule: str = "h-not-tool") -> NotComputed:
    return NotComputed(rule=rule, why=why, operation="op10", machine="MILL2", file=None, line=None)


def test_what_is_not_stated_is_said_once_for_the_sheet_and_once_for_the_machine():
    words = counted_words(verified())
    assert words.count("the setup sheet states no") == 1
    assert words.count("MILL2 states no") == 1
    assert "clearance_z, stock top," in words
    assert "max_rpm, rapid, changer" in words
    assert "more)" not in words
    assert len(words) < 520


def test_json_still_has_one_each():
    one = verified()
    rows = as_json(VerifyReport(operations=(one,)))["not_computed"]
    assert len(rows) == len(one.not_computed) > 20
    assert {row["why"] for row in rows} >= {"max_rpm of MILL2 is not stated"}


def test_another_reason_keeps_its_words():
    why = "not followed: a call by a variable"
    assert f"({why}: h-not-tool)" in counted_words(said(left_out(why)))


def test_what_is_said_behind_it_is_no_list_of_missing_keys():
    why = "bottom of the stock is not stated: whether the hole goes through"
    assert f"({why}: h-not-tool)" in counted_words(said(left_out(why)))
