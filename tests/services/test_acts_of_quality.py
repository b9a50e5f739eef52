"""measured, countersign, review, hold, lift, strike: who may, what is put down, how things stand afterwards."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, START, TEXT, Floor, done
from tracker.errors import BadCall, Refused
from tracker.records.events import DeviationRecord, WithdrawRecord
from tracker.services.comparing import PlainFile
from tracker.services.countersign import countersign
from tracker.services.hold import hold, hold_machine
from tracker.services.lift import lift, lift_machine, lift_withdrawal
from tracker.services.measured import measured
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish, with_ran
from tracker.services.release_named import release_named
from tracker.services.review import differences, review
from tracker.services.strike import strike

NAMED = parse_named("4471/op10")


def prove(floor, *, by="ss", machine="MILL2", first_piece="report 1", ran=(), result="accepted", cause=None):
    desk = floor.desk()
    begun = begin(desk, NAMED, machine=machine, by=by)
    if ran:
        begun = with_ran(desk, begun, ran, take_in=True)
    return finish(
        desk, begun, Answers(result=result, cause=cause, steps=done(*FULL), first_piece=first_piece)
    )


def refusal(kind, call):
    with pytest.raises(kind) as caught:
        call()
    return caught.value


# -- measured -----------------------------------------------------------------------------------------------------------


def measure(floor, *, by="kp", machine="MILL2", report="2231", result="accepted", **more):
    return measured(floor.desk(), NAMED, machine=machine, by=by, report=report, result=result, **more)


def test_measured_lets_a_waiting_proof_count():
    floor = Floor()
    proof = prove(floor, first_piece="waiting")
    done_ = measure(floor, reason=" all sizes\nin ")
    (record,) = floor.records("measured")
    assert done_.records == (record,)
    assert (record.proof, record.report, record.result, record.by) == (proof.path, "2231", "accepted", "kp")
    assert record.revision == proof.record.revision
    assert record.reason == "all sizes in"
    assert done_.standings[0].standing.state == "proven"


def test_measured_rejected_turns_the_proof_down():
    floor = Floor()
    prove(floor, first_piece="waiting")
    done_ = measure(floor, result="rejected")
    assert done_.standings[0].standing.state == "rejected"
    assert done_.notes


def test_measured_answers_the_latest_that_waits_once():
    floor = Floor()
    first = prove(floor, first_piece="waiting")
    second = prove(floor, first_piece="waiting")
    measure(floor)
    measure(floor)
    assert [record.proof for record in floor.records("measured")] == [second.path, first.path]
    assert refusal(Refused, lambda: measure(floor)).name == "nothing-waiting"


@pytest.mark.parametrize(
    ("kind", "change", "name"),
    [
        (Refused, {"by": "np"}, "wrong-role"),
        (Refused, {"machine": "MILL3"}, "nothing-waiting"),
        (BadCall, {"report": " "}, "no-report"),
        (BadCall, {"report": None}, "no-report"),
        (BadCall, {"result": None}, "no-result"),
        (BadCall, {"machine": "MILL9"}, "unknown-machine"),
    ],
)
def test_measured_refuses(kind, change, name):
    floor = Floor()
    prove(floor, first_piece="waiting")
    assert refusal(kind, lambda: measure(floor, **change)).name == name
    assert floor.records("measured") == []


def test_nothing_waits_after_an_ordinary_proof():
    floor = Floor()
    prove(floor)
    assert refusal(Refused, lambda: measure(floor)).name == "nothing-waiting"


# -- countersign --------------------------------------------------------------------------------------------------------

EDITED = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())


def sign(floor, *, by="dg", reason="watched the first piece", machine="MILL2"):
    return countersign(floor.desk(), NAMED, machine=machine, by=by, reason=reason)


def test_a_second_person_lets_the_provers_own_text_count():
    floor = Floor()
    proof = prove(floor, ran=[EDITED])
    assert "second person owed" in proof.standing.reason
    signed = sign(floor)
    (record,) = floor.records("countersign")
    assert (record.proof, record.by, record.reason) == (proof.path, "dg", "watched the first piece")
    assert signed.standings[0].standing.state == "proven"
    assert signed.notes == ()


@pytest.mark.parametrize("by", ["ss", "np"])
def test_neither_the_prover_nor_a_programmer_countersigns(by):
    floor = Floor()
    prove(floor, ran=[EDITED])
    assert refusal(Refused, lambda: sign(floor, by=by)).name == "wrong-role"
    assert floor.records("countersign") == []


def test_a_writer_with_the_role_does_not_countersign():
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85", by="bb")
    prove(floor, by="ss")
    assert refusal(Refused, lambda: sign(floor, by="bb")).name == "wrong-role"


def test_a_countersign_nobody_owed_is_kept_and_said():
    floor = Floor()
    prove(floor)
    assert sign(floor, by="kp").notes == ("no second person was owed",)


def test_countersign_refuses():
    floor = Floor()
    assert refusal(Refused, lambda: sign(floor)).name == "nothing-to-countersign"
    prove(floor, result="rejected", cause="tool")
    assert refusal(Refused, lambda: sign(floor)).name == "nothing-to-countersign"
    prove(floor)
    assert refusal(BadCall, lambda: sign(floor, reason=" ")).name == "no-reason"
    sign(floor)
    assert refusal(Refused, lambda: sign(floor)).name == "nothing-to-countersign"


# -- review -------------------------------------------------------------------------------------------------------------


def read(floor, *, by="dg", reason="slower, T4 only", named="4471/op10"):
    return review(floor.desk(), parse_named(named), by=by, reason=reason)


def test_a_desk_review_lets_a_proof_carry_over_a_slower_feed():
    floor = Floor()
    prove(floor)
    floor.edit("F15.", "F12.5")
    reviewed = read(floor)
    (record,) = floor.records("review")
    first, second = floor.repo.ledger().records[0], floor.records("revision")[1]
    assert record.from_revision == first.name
    assert record.revision.startswith("r0002-")
    assert record.kinds == second.origins[0].kinds == ("feed",)
    assert "slower (T4)" in reviewed.said
    assert reviewed.standings[0].standing.state == "carried"


def test_the_reviewer_is_shown_the_differences():
    floor = Floor()
    floor.edit("F15.", "F12.5")
    (shown,) = differences(floor.desk(), NAMED)
    assert (shown.old, shown.new) == ("r1", "r2")
    assert "slower" in shown.kinds


@pytest.mark.parametrize("by", ["np", "ss"])
def test_neither_the_writer_nor_setup_reviews(by):
    floor = Floor()
    floor.edit("F15.", "F12.5")
    assert refusal(Refused, lambda: read(floor, by=by)).name == "wrong-role"


def test_review_refuses_what_it_has_no_say_in():
    floor = Floor()
    fault = refusal(Refused, lambda: read(floor))
    assert (fault.name, "no other revision" in fault.what) == ("nothing-to-review", True)
    floor.edit("(PLATE)", "(A PLATE)")
    fault = refusal(Refused, lambda: read(floor))
    assert (fault.name, "by themselves" in fault.what) == ("nothing-to-review", True)
    floor.edit("Z-0.81", "Z-0.85")
    fault = refusal(Refused, lambda: read(floor))
    assert fault.name == "not-for-review"
    assert fault.reasons == ("r2 to r3: motion",)
    floor.edit("F15.", "F9.")
    assert refusal(Refused, lambda: read(floor)).reasons == ("r3 to r4: feed",)
    floor.edit("N160 G81", "N155 M1\nN160 G81")
    assert refusal(BadCall, lambda: read(floor, reason=None)).name == "no-reason"
    assert read(floor).records[0].kinds == ("stop",)


# -- hold and lift ------------------------------------------------------------------------------------------------------


def test_a_hold_of_an_operation_reaches_later_revisions_and_a_lift_ends_it():
    floor = Floor()
    prove(floor)
    held = hold(floor.desk(), NAMED, by="kp", reason="gauge out of calibration")
    (record,) = floor.records("hold")
    assert (record.scope, record.job, record.operation, record.revision) == (
        "operation",
        "4471",
        "op10",
        None,
    )
    assert held.paths[0].startswith("jobs/4471/records/op10/2026")
    assert held.paths[0].endswith("-hold-kp.toml")
    assert held.standings[0].standing.state == "held"
    floor.edit("(PLATE)", "(A PLATE)")
    lifted = lift(floor.desk(), NAMED, by="dg", reason="measured again")
    (end,) = floor.records("lift")
    assert end.hold == held.paths[0]
    assert [(one.spelled, one.standing.state) for one in lifted.standings] == [("4471/op10 r2", "carried")]


def test_a_hold_of_a_revision_binds_to_its_code():
    floor = Floor()
    prove(floor)
    held = hold(floor.desk(), parse_named("4471@r1"), by="dg", reason="crack found")
    (record,) = floor.records("hold")
    assert record.scope == "revision"
    assert record.operation_fingerprint == floor.records("revision")[0].operation_fingerprint
    assert held.standings[0].standing.state == "held"
    floor.edit("(PLATE)", "(A PLATE)")
    # the same code under another number answers to the same hold
    lifted = lift(floor.desk(), parse_named("4471@r2"), by="dg", reason="looked at")
    assert lifted.records[0].hold == held.paths[0]
    assert lifted.standings[0].standing.state == "carried"


def test_all_holds_of_the_same_words_end_together():
    floor = Floor()
    for reason in ("one", "two"):
        hold(floor.desk(), NAMED, by="dg", reason=reason)
    lifted = lift(floor.desk(), NAMED, by="dg", reason="both looked at")
    assert len(lifted.paths) == len(set(lifted.paths)) == 2
    assert [note.partition(": ")[0] for note in lifted.notes] == ["this ended", "this ended"]
    assert [note.rpartition(": ")[2] for note in lifted.notes] == ["one", "two"]
    assert refusal(Refused, lambda: lift(floor.desk(), NAMED, by="dg", reason="x")).name == "nothing-to-lift"


def test_a_lift_in_other_words_says_what_is_held():
    floor = Floor()
    hold(floor.desk(), parse_named("4471@r1"), by="dg", reason="x")
    fault = refusal(Refused, lambda: lift(floor.desk(), NAMED, by="dg", reason="x"))
    assert (fault.name, "lift 4471/op10@r1" in fault.fix) == ("nothing-to-lift", True)
    other = Floor()
    hold(other.desk(), NAMED, by="dg", reason="x")
    fault = refusal(Refused, lambda: lift(other.desk(), parse_named("4471@r1"), by="dg", reason="x"))
    assert (fault.name, fault.fix.endswith("lift 4471/op10")) == ("nothing-to-lift", True)


def test_anybody_holds_and_quality_alone_lifts():
    floor = Floor()
    hold(floor.desk(), NAMED, by="np", reason="x")
    for by in ("np", "ss"):
        assert (
            refusal(Refused, lambda by=by: lift(floor.desk(), NAMED, by=by, reason="x")).name == "wrong-role"
        )
    assert floor.records("lift") == []


def test_hold_and_lift_want_a_reason():
    floor = Floor()
    assert refusal(BadCall, lambda: hold(floor.desk(), NAMED, by="dg", reason=None)).name == "no-reason"
    assert (
        refusal(BadCall, lambda: hold(floor.desk(), parse_named("4471@r1"), by="dg", reason="")).name
        == "no-reason"
    )
    hold(floor.desk(), NAMED, by="dg", reason="x")
    assert refusal(BadCall, lambda: lift(floor.desk(), NAMED, by="dg", reason=" ")).name == "no-reason"


def test_an_operation_that_was_never_checked_in_can_be_held():
    floor = Floor()
    text = floor.repo.work["jobs/4471/job.toml"].decode()
    floor.repo.save({"jobs/4471/job.toml": text + '[[operations]]\nid = "op20"\nprogram = "x.nc"\n'})
    held = hold(floor.desk(), parse_named("4471/op20"), by="dg", reason="x")
    assert held.paths[0].startswith("jobs/4471/records/op20/")
    assert held.standings == ()


def test_an_operation_that_is_only_in_the_records_can_still_be_held():
    floor = Floor()
    floor.repo.save({"jobs/4471/job.toml": "[job\n"})
    held = hold(floor.desk(), NAMED, by="dg", reason="job.toml is broken")
    assert held.paths[0].startswith("jobs/4471/records/op10/")


def test_a_hold_needs_no_clean_folder_but_a_branch():
    floor = Floor()
    floor.repo.write("jobs/4471/op10/O1001.nc", "edited")
    hold(floor.desk(), NAMED, by="dg", reason="x")
    floor.repo.detach()
    assert refusal(Refused, lambda: hold(floor.desk(), NAMED, by="dg", reason="x")).name == "detached-head"


def test_a_machine_is_held_and_lifted_with_a_word_on_what_was_checked():
    floor = Floor()
    prove(floor)
    held = hold_machine(floor.desk(), "mill2", by="ss", because="crash", reason="tool change")
    (record,) = floor.records("hold")
    assert (record.scope, record.machine, record.cause, record.job) == ("machine", "MILL2", "crash", None)
    assert held.paths[0].startswith("records/2026")
    assert held.paths[0].endswith("-hold-MILL2-ss.toml")
    assert refusal(Refused, lambda: measure(floor)).name == "nothing-waiting"
    fault = refusal(BadCall, lambda: lift_machine(floor.desk(), "MILL2", by="dg", check=" "))
    assert fault.name == "no-check"
    assert (
        refusal(Refused, lambda: lift_machine(floor.desk(), "MILL3", by="dg", check="x")).name
        == "nothing-to-lift"
    )
    assert (
        refusal(Refused, lambda: lift_machine(floor.desk(), "MILL2", by="ss", check="x")).name == "wrong-role"
    )
    lifted = lift_machine(floor.desk(), "MILL2", by="dg", check="spindle run-out 0.004")
    (end,) = floor.records("lift")
    assert (end.hold, end.machine, end.check) == (held.paths[0], "MILL2", "spindle run-out 0.004")
    assert "first piece" in lifted.notes[0]
    assert (
        refusal(Refused, lambda: lift_machine(floor.desk(), "MILL2", by="dg", check="x")).name
        == "nothing-to-lift"
    )


def test_a_machine_hold_names_what_happened():
    floor = Floor()
    for because, name in ((None, "no-cause"), ("krash", "unknown-cause")):
        fault = refusal(
            BadCall, lambda because=because: hold_machine(floor.desk(), "MILL2", by="ss", because=because)
        )
        assert fault.name == name
        assert "crash" in fault.fix
    fault = refusal(BadCall, lambda: hold_machine(floor.desk(), "MILL9", by="ss", because="crash"))
    assert fault.name == "unknown-machine"


def withdrawn(floor, number=1):
    at = floor.now + timedelta(minutes=5)
    record = WithdrawRecord(job="4471", at=at, entered=at, by="dg", reason="too low", number=number)
    floor.repo.record(f"jobs/4471/records/2026-withdraw-{number}-dg.toml", record)


def test_a_withdrawal_is_lifted_by_the_release_it_named():
    floor = Floor()
    prove(floor)
    withdrawn(floor)
    named = release_named("4471@1")
    assert (
        refusal(Refused, lambda: lift_withdrawal(floor.desk(), named, by="ss", reason="x")).name
        == "wrong-role"
    )
    assert (
        refusal(BadCall, lambda: lift_withdrawal(floor.desk(), named, by="dg", reason="")).name == "no-reason"
    )
    done_ = lift_withdrawal(floor.desk(), named, by="dg", reason="drawing was misread")
    (end,) = floor.records("lift")
    assert (end.withdrawal, end.hold, end.job) == ("jobs/4471/records/2026-withdraw-1-dg.toml", None, "4471")
    assert done_.paths[0].startswith("jobs/4471/records/2026")
    assert (
        refusal(Refused, lambda: lift_withdrawal(floor.desk(), named, by="dg", reason="x")).name
        == "nothing-to-lift"
    )


def test_the_withdrawal_of_a_release_or_a_job_nobody_knows():
    floor = Floor()
    two = release_named("4471@2")
    assert (
        refusal(BadCall, lambda: lift_withdrawal(floor.desk(), two, by="dg", reason="x")).name
        == "unknown-release"
    )
    nobody = release_named("4472@1")
    assert (
        refusal(BadCall, lambda: lift_withdrawal(floor.desk(), nobody, by="dg", reason="x")).name
        == "unknown-job"
    )


@pytest.mark.parametrize("text", ["4471@r1", "4471/op10@1", "4471", "@1"])
def test_what_names_no_release(text):
    assert release_named(text) is None


# -- strike -------------------------------------------------------------------------------------------------------------


def test_ones_own_slip_is_struck_and_stays_legible():
    floor = Floor()
    proof = prove(floor)
    struck = strike(floor.desk(), proof.path.rsplit("/", 1)[-1], by="ss", reason="wrong machine")
    (record,) = floor.records("strike")
    assert (record.record, record.revision, record.reason) == (
        proof.path,
        proof.record.revision,
        "wrong machine",
    )
    assert struck.paths[0].startswith(f"jobs/4471/records/op10/{proof.record.revision}-strike-")
    assert floor.repo.tree().read(proof.path) is not None
    again = begin(floor.desk(), NAMED, machine="MILL2", by="ss")
    assert again.standing.state == "unproven"
    fault = refusal(Refused, lambda: strike(floor.desk(), proof.path, by="ss", reason="x"))
    assert fault.name == "struck-already"


def test_a_line_through_a_deviation_is_said_to_end_nothing():
    floor = Floor()
    record = DeviationRecord(
        job="4471",
        operation="op10",
        machine="MILL2",
        operation_fingerprint="f" * 64,
        hours=4,
        reason="the customer's line stands still",
        at=floor.now,
        entered=floor.now,
        by="ss",
    )
    floor.repo.record("jobs/4471/records/op10/20260304T090000Z-deviation-MILL2-ss.toml", record)
    done_ = strike(floor.desk(), "20260304T090000Z-deviation-MILL2-ss", by="ss", reason="it never ran")
    assert "the deviation stays until its hours are over" in done_.notes[0]


def test_a_strike_of_a_shop_record_lies_with_it():
    floor = Floor()
    held = hold_machine(floor.desk(), "MILL2", by="ss", because="crash")
    assert (
        strike(floor.desk(), held.paths[0], by="dg", reason="the other machine")
        .paths[0]
        .startswith("records/2026")
    )


def test_nobody_strikes_what_another_made_and_stops_are_for_quality():
    floor = Floor()
    good = prove(floor)
    assert refusal(Refused, lambda: strike(floor.desk(), good.path, by="kp", reason="x")).name == "wrong-role"
    assert refusal(Refused, lambda: strike(floor.desk(), good.path, by="dg", reason="x")).name == "wrong-role"
    bad = prove(floor, result="rejected", cause="tool")
    assert refusal(Refused, lambda: strike(floor.desk(), bad.path, by="ss", reason="x")).name == "wrong-role"
    strike(floor.desk(), bad.path, by="dg", reason="it was the gauge")
    held = hold(floor.desk(), NAMED, by="ss", reason="x")
    assert (
        refusal(Refused, lambda: strike(floor.desk(), held.paths[0], by="ss", reason="x")).name
        == "wrong-role"
    )


def test_a_revision_is_never_struck():
    floor = Floor()
    name = floor.repo.ledger().records[0].name
    fault = refusal(Refused, lambda: strike(floor.desk(), name, by="np", reason="x"))
    assert (fault.name, "next revision" in fault.fix) == ("never-struck", True)


def test_which_record():
    floor = Floor()
    assert (
        refusal(BadCall, lambda: strike(floor.desk(), "r0009", by="np", reason="x")).name == "unknown-record"
    )
    prove(floor)
    prove(floor)
    fault = refusal(BadCall, lambda: strike(floor.desk(), "r0001", by="np", reason="x"))
    assert fault.name == "ambiguous-record"
    name = floor.repo.ledger().records[-1].name
    assert refusal(BadCall, lambda: strike(floor.desk(), name, by="ss", reason=None)).name == "no-reason"
    assert strike(floor.desk(), name.replace("/", "\\") + ".toml", by="ss", reason="x").records


def test_a_claimed_time_long_ago_is_said():
    floor = Floor()
    held = measured_late(floor)
    assert "entered late" in held.notes


def measured_late(floor):
    prove(floor, first_piece="waiting")
    return measure(floor, at=START - timedelta(days=3))


def test_the_clock_is_said_to_be_set():
    floor = Floor()
    hold(floor.desk(), NAMED, by="dg", reason="x")
    assert floor.records("hold")[0].clock == "set"
    assert replace(floor.records("hold")[0], clock=None).clock is None


def test_a_release_is_never_taken_for_a_revision_of_its_number():
    with pytest.raises(BadCall) as caught:
        parse_named("4471@1")
    assert (caught.value.name, caught.value.fix) == ("bad-name", "a revision is written 4471@r1")
    for text in ("4471@r1", "4471@R1", "4471/op10@1", "4471@1-7f3a"):
        assert parse_named(text).revision == 1
