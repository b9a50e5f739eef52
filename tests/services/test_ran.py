from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, Floor, done
from tracker.errors import BadCall, Refused
from tracker.records.events import DeviationRecord, FirstPiece, ReleasedOperation, ReleaseRecord
from tracker.services.hold import hold
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish
from tracker.services.ran import Run, ran

NAMED = parse_named("4471/op10")


def prove(floor):
    desk = floor.desk()
    begun = begin(desk, NAMED, machine="MILL2", by="ss")
    return finish(desk, begun, Answers(result="accepted", steps=done(*FULL)))


def put(floor, run=Run(), *, by="np", machine="MILL2", named=NAMED):  # noqa: B008 - frozen
    return ran(floor.desk(), named, run, machine=machine, by=by)


def refusal(kind, call):
    with pytest.raises(kind) as caught:
        call()
    return caught.value


def test_a_run_is_put_down_by_anyone_listed():
    floor = Floor()
    prove(floor)
    run = Run(lot=" L7 ", quantity=12, serials=["A1,A2", "A3"], first_piece="report 9", note="no\ntrouble")
    done_ = put(floor, run)
    (record,) = floor.records("ran")
    assert (record.machine, record.lot, record.quantity) == ("MILL2", "L7", 12)
    assert record.serials == ("A1", "A2", "A3")
    assert record.date == "2026-02-02"
    assert record.reason == "no trouble"
    assert record.first_piece == FirstPiece(report="report 9", by="np", result="accepted")
    assert record.revision.startswith("r0001-")
    assert record.operation_fingerprint == floor.records("revision")[0].operation_fingerprint
    assert done_.notes == ()
    said = "4471/op10 r1: ran on MILL2 on 2 Feb 2026, lot L7, 12 pieces, serials A1, A2, A3"
    assert done_.said == said


@pytest.mark.parametrize(
    ("run", "said"), [(Run(), True), (Run(lot="L7"), False), (Run(serials=("A1",)), False)]
)
def test_a_run_without_lot_and_serials_says_that_none_leads_back_to_it(run, said):
    floor = Floor()
    prove(floor)
    assert any("no lot is named" in note for note in put(floor, run).notes) is said


@pytest.mark.parametrize(
    ("serials", "quantity", "said"),
    [
        (["A1,A1,A3"], 3, ["serial A1 stands more than once"]),
        (["SN 1, SN 2"], 4, ["serial SN stands more than once"]),
        (["A1,A2,A3"], 2, ["3 serials for 2 pieces"]),
        (["A1,A1"], 1, ["serial A1 stands more than once", "2 serials for 1 piece"]),
        (["A1,A2"], 3, []),
        (["A1,A2"], None, []),
    ],
)
def test_serials_that_are_likely_a_slip_are_told_and_kept(serials, quantity, said):
    floor = Floor()
    prove(floor)
    notes = put(floor, Run(lot="L7", serials=serials, quantity=quantity)).notes
    assert [note.partition(";")[0] for note in notes] == said
    assert all("strike this run" in note for note in notes)
    assert len(floor.records("ran")) == 1


def test_a_run_that_was_not_usable_is_kept_and_said():
    floor = Floor()
    done_ = put(floor)
    assert len(floor.records("ran")) == 1
    assert "it was unproven" in done_.notes[0]
    assert "renews nothing" in done_.notes[0]


def test_the_day_is_that_of_the_shop():
    floor = Floor()
    put(floor, Run(day="2026-02-01"))
    assert floor.records("ran")[0].date == "2026-02-01"
    floor.now = floor.now.replace(month=7, hour=22, minute=30)
    put(floor)
    assert floor.records("ran")[1].date == "2026-07-03"


@pytest.mark.parametrize(
    ("run", "name"),
    [
        (Run(day="yesterday"), "bad-date"),
        (Run(day="2026-13-01"), "bad-date"),
        (Run(day="2026-02-03"), "bad-date"),
        (Run(quantity=0), "bad-quantity"),
    ],
)
def test_a_run_that_makes_no_sense(run, name):
    floor = Floor()
    assert refusal(BadCall, lambda: put(floor, run)).name == name
    assert floor.records("ran") == []


def test_unknown_names():
    floor = Floor()
    assert refusal(BadCall, lambda: put(floor, machine="MILL9")).name == "unknown-machine"
    assert refusal(BadCall, lambda: put(floor, by="zz")).name == "unknown-person"
    assert refusal(BadCall, lambda: put(floor, named=parse_named("4472"))).name == "unknown-job"
    floor.repo.detach()
    assert refusal(Refused, lambda: put(floor)).name == "detached-head"


def release(floor, number):
    at = floor.now + timedelta(minutes=1)
    stored = floor.repo.ledger().records
    held = next(one for one in reversed(stored) if one.record.EVENT == "revision")
    operation = ReleasedOperation(
        operation="op10", revision=held.name, operation_fingerprint=held.record.operation_fingerprint
    )
    record = ReleaseRecord(job="4471", at=at, entered=at, by="dg", number=number, operations=(operation,))
    floor.repo.record(f"jobs/4471/records/release-{number:04}.toml", record)


def test_what_ran_is_what_is_released_unless_said_otherwise():
    floor = Floor()
    prove(floor)
    release(floor, 1)
    floor.edit("Z-0.81", "Z-0.85")
    done_ = put(floor)
    assert floor.records("ran")[0].revision.startswith("r0001-")
    assert done_.notes[0] == "r1 is what was released last; it is not the newest revision"
    put(floor, named=parse_named("4471@r2"))
    assert floor.records("ran")[1].revision.startswith("r0002-")


@pytest.mark.parametrize(
    ("days", "machine", "said"), [(0, "MILL2", True), (2, "MILL2", False), (0, "MILL3", False)]
)
def test_a_text_out_under_a_deviation_that_may_be_what_ran_is_named(days, machine, said):
    floor = Floor()
    prove(floor)
    release(floor, 1)
    floor.edit("Z-0.81", "Z-0.85")
    newest = next(one for one in reversed(floor.repo.ledger().records) if one.record.EVENT == "revision")
    went = floor.now - timedelta(days=days)
    deviation = DeviationRecord(
        job="4471",
        operation="op10",
        revision=newest.name,
        at=went,
        entered=went,
        by="ss",
        machine=machine,
        operation_fingerprint=newest.record.operation_fingerprint,
        hours=2,
    )
    floor.repo.record("jobs/4471/records/op10/r0002-deviation.toml", deviation)
    words = (
        "r2 was out on MILL2 under a deviation: if that is what ran, strike this run and name 4471/op10@r2"
    )
    assert (words in put(floor).notes) is said
    assert words not in put(floor, named=parse_named("4471@r2")).notes


def test_of_an_operation_the_newest_release_left_out_nothing_is_said_to_be_released_now():
    floor = Floor()
    prove(floor)
    release(floor, 1)
    floor.edit("Z-0.81", "Z-0.85")
    alone = ReleaseRecord(job="4471", at=floor.now, entered=floor.now, by="dg", number=2)
    floor.repo.record("jobs/4471/records/release-0002.toml", alone)
    assert "r1 is what was released last; it is not the newest revision" in put(floor).notes


def test_a_run_that_is_put_down_later_happened_on_the_day_it_was_at():
    floor = Floor()
    put(floor, Run(at=floor.now - timedelta(days=3)))
    assert floor.records("ran")[0].date == "2026-01-30"
    assert refusal(BadCall, lambda: put(floor, Run(at=floor.now, day="2026-02-01"))).name == "bad-date"


def test_a_run_is_told_by_how_it_stood_on_its_own_day():
    floor = Floor()
    day = floor.now.date().isoformat()
    prove(floor)
    floor.now += timedelta(days=1)
    hold(floor.desk(), NAMED, by="np", reason="chatter")
    assert not any("it was" in note for note in put(floor, Run(day=day, lot="L7")).notes)
    assert "it was held" in put(floor, Run(lot="L8")).notes[0]


def test_what_is_claimed_has_happened():
    floor = Floor()
    soon = floor.now + timedelta(days=1)
    assert refusal(BadCall, lambda: put(floor, Run(at=soon))).name == "future-time"
    held = refusal(BadCall, lambda: hold(floor.desk(), NAMED, by="np", reason="chatter", at=soon))
    assert held.name == "future-time"
    assert not floor.records("ran")
    assert not floor.records("hold")


def test_a_run_put_down_after_a_hold_of_its_day_is_told_by_its_own_time():
    floor = Floor()
    prove(floor)
    floor.now += timedelta(hours=2)
    ran_at = floor.now - timedelta(hours=1)
    hold(floor.desk(), NAMED, by="np", reason="chatter")
    assert not any("it was" in note for note in put(floor, Run(at=ran_at, lot="L7")).notes)
