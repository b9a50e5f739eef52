"""withdraw: the recall of a release, and what it does to everything with that code."""

from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, JOB, TEXT, Floor, done
from tracker.errors import BadCall, Refused
from tracker.policy.standing import Judge, standing
from tracker.records.events import ExportRecord, OnStick
from tracker.services.lift import lift_withdrawal
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish
from tracker.services.release import release
from tracker.services.release_named import ReleaseNamed
from tracker.services.released import released
from tracker.services.withdraw import withdraw

TWO = JOB + '[[operations]]\nid = "op20"\nprogram = "op20/O1003.nc"\nmachines = ["MILL2"]\nunits = "inch"\n'
FIRST = ReleaseNamed(job="4471", number=1)


def prove(floor, named):
    desk = floor.desk()
    begun = begin(desk, parse_named(named), machine="MILL2", by="ss")
    finish(desk, begun, Answers(result="accepted", cause=None, steps=done(*FULL), first_piece="report 1"))


@pytest.fixture
def floor():
    floor = Floor(job=TWO)
    floor.check_in(
        by="np", named="4471/op20", files={"jobs/4471/op20/O1003.nc": TEXT.replace("O1001", "O1003")}
    )
    prove(floor, "4471/op10")
    prove(floor, "4471/op20")
    release(floor.desk(), parse_named("4471"), by="dg")
    return floor


def recall(floor, *, named=FIRST, by="dg", reason="grip too low", **more):
    return withdraw(floor.desk(), named, by=by, reason=reason, **more)


def state(floor, operation):
    ledger = floor.repo.ledger()
    stored = next(
        s for s in ledger.records if s.record.EVENT == "revision" and s.record.operation == operation
    )
    return standing(ledger, stored, ledger.shop.machine("MILL2"), floor.now).state


def latest(floor):
    ledger = floor.repo.ledger()
    return released(floor.repo, ledger, Judge(ledger, floor.now), "4471")


def test_a_lift_says_which_recalls_it_ended_and_an_operation_that_was_recalled_is_named(floor):
    recall(floor, operations=["op20"], reason="edge break")
    with pytest.raises(Refused) as caught:
        recall(floor, operations=["op20"])
    assert caught.value.what == "op20 r1 of release 1 of 4471 is withdrawn already"
    recall(floor)
    notes = lift_withdrawal(floor.desk(), FIRST, by="dg", reason="looked at").notes
    assert [note.partition(" (")[2] for note in notes] == ["op20 r1): edge break", "op10 r1): grip too low"]


def test_all_of_a_release(floor):
    done_ = recall(floor)
    assert [one.operation for one in done_.record.operations] == ["op10", "op20"]
    assert all(one.relied_on == () for one in done_.record.operations)
    assert (state(floor, "op10"), state(floor, "op20")) == ("withdrawn", "withdrawn")
    assert "withdrawn by dg" in latest(floor).why_none
    assert latest(floor).latest.withdrawn


def test_one_operation_of_it(floor):
    recall(floor, operations=("OP20",))
    assert (state(floor, "op10"), state(floor, "op20")) == ("proven", "withdrawn")
    found = latest(floor)
    assert found.why_none is None
    assert found.latest.operations["op10"].withdrawn is None
    assert "grip too low" in found.latest.operations["op20"].withdrawn
    recall(floor)
    assert (state(floor, "op10"), state(floor, "op20")) == ("withdrawn", "withdrawn")
    with pytest.raises(Refused) as caught:
        recall(floor)
    assert caught.value.name == "already-withdrawn"


def test_an_older_release_does_not_come_back(floor):
    floor.edit("Z-0.81", "Z-0.91")
    prove(floor, "4471/op10")
    release(floor.desk(), parse_named("4471"), by="dg")
    recall(floor, named=ReleaseNamed(job="4471", number=2), operations=("op10",))
    found = latest(floor)
    assert found.latest.number == 2
    assert found.latest.operations["op10"].withdrawn
    lift_withdrawal(floor.desk(), ReleaseNamed(job="4471", number=2), by="dg", reason="measured")
    assert latest(floor).latest.operations["op10"].withdrawn is None


def test_the_withdrawal_of_a_release_that_is_not_there_cannot_be_lifted(floor):
    """It is not said to be one that is not withdrawn, as if it could run."""
    with pytest.raises(BadCall) as caught:
        lift_withdrawal(floor.desk(), ReleaseNamed(job="4471", number=9), by="dg", reason="measured")
    assert (caught.value.name, caught.value.fix) == ("unknown-release", "known: 4471@1")
    with pytest.raises(Refused) as refused:
        lift_withdrawal(floor.desk(), FIRST, by="dg", reason="measured")
    assert (refused.value.name, refused.value.what) == (
        "nothing-to-lift",
        "release 1 of 4471 is not withdrawn",
    )


def test_sticks_it_went_out_on_are_named(floor):
    revision = next(s for s in floor.repo.ledger().records if s.record.EVENT == "revision")
    at = floor.now + timedelta(minutes=1)
    file = OnStick(
        path="MILL2/O1001.NC", sha256="0" * 64, job="4471", operation="op10", revision=revision.name
    )
    other = OnStick(path="MILL2/O9.NC", sha256="0" * 64, job="4472", operation="op10", revision=revision.name)
    export = ExportRecord(
        at=at,
        entered=at,
        by="ss",
        machine="MILL2",
        stick="BLUE-1",
        purpose="released",
        manifest="0" * 64,
        files=(file, other),
    )
    floor.repo.record("records/x-export-MILL2-ss.toml", export)
    said = recall(floor)
    assert said.sticks == ("BLUE-1 (MILL2): MILL2/O1001.NC",)
    assert (said.were_on, said.machines) == ((), ("MILL2",))


@pytest.mark.parametrize(
    ("change", "kind", "name"),
    [
        ({"by": "ss"}, Refused, "wrong-role"),
        ({"by": "zz"}, BadCall, "unknown-person"),
        ({"reason": " "}, BadCall, "no-reason"),
        ({"operations": ("op30",)}, BadCall, "not-in-release"),
        ({"named": ReleaseNamed(job="4471", number=2)}, BadCall, "unknown-release"),
        ({"named": ReleaseNamed(job="9999", number=1)}, BadCall, "unknown-release"),
    ],
)
def test_what_it_refuses(floor, change, kind, name):
    before = len(floor.repo.commits)
    with pytest.raises(kind) as caught:
        recall(floor, **change)
    assert caught.value.name == name
    assert caught.value.fix
    assert len(floor.repo.commits) == before


def test_a_detached_head(floor):
    floor.repo.detach()
    with pytest.raises(Refused) as caught:
        recall(floor)
    assert caught.value.name == "detached-head"
