"""release: refused with every reason, made with its evidence, taken up again; and what the clone believes afterwards."""

from dataclasses import replace
from datetime import timedelta
from hashlib import sha256

import pytest

from tests.fakes.floor import FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT, Floor, done
from tracker.errors import BadCall, CouldNot, Refused
from tracker.policy.gate import message_of
from tracker.policy.standing import Judge
from tracker.records.events import Finding, HoldRecord, Origin
from tracker.records.names import revision_file
from tracker.services.hold import hold
from tracker.services.lift import lift, lift_machine
from tracker.services.naming import parse_named
from tracker.services.ports import TagSeen
from tracker.services.prove import Answers, begin, finish
from tracker.services.rederive import rederive, tag_for
from tracker.services.release import ONLY_HERE, release
from tracker.services.released import Releases, released
from tracker.services.review import review

NAMED = parse_named("4471")
TWO = JOB.replace('machines = ["MILL2"]', 'machines = ["MILL2", "MILL3"]')
ALTERNATIVE = (
    JOB
    + '[[operations]]\nid = "op10-m3"\nprogram = "op10-m3/O1001.nc"\nmachines = ["MILL3"]\nalternative_to = "op10"\n'
)


def prove(floor, named="4471/op10", machine="MILL2", by="ss", result="accepted"):
    desk = floor.desk()
    begun = begin(desk, parse_named(named), machine=machine, by=by)
    cause = "setup" if result == "rejected" else None
    finish(desk, begun, Answers(result=result, cause=cause, steps=done(*FULL), first_piece="report 1"))


def proven(**more) -> Floor:
    floor = Floor(**more)
    prove(floor)
    return floor


def make(floor, by="dg", **more):
    return release(floor.desk(), NAMED, by=by, **more)


def refusal(floor, kind=Refused, **more):
    with pytest.raises(kind) as caught:
        make(floor, **more)
    return caught.value


def believed(floor):
    desk = floor.desk()
    ledger = desk.repo.ledger()
    return released(desk.repo, ledger, Judge(ledger, desk.clock.now()), "4471")


# -- made ---------------------------------------------------------------------------------------------------------------


def test_a_release_names_what_it_rests_on_and_is_derived_again():
    floor = proven()
    made = make(floor, reason=" first\nlot ")
    assert (made.number, made.tag, made.path) == (1, "release/4471/1", "jobs/4471/records/release-0001.toml")
    (operation,) = made.record.operations
    paths = {one.path: one.sha256 for one in operation.relied_on}
    files = floor.repo.tree(made.commit).files
    assert {"r0001", "proof"} == {"proof" if "proof" in path else "r0001" for path in paths}
    assert all(sha256(files[path]).hexdigest() == digest for path, digest in paths.items())
    assert (operation.operation, operation.machines, made.record.reason) == ("op10", ("MILL2",), "first lot")
    (tag,) = floor.repo.release_tags()
    assert (tag.target, tag.header_name) == (made.commit, "release/4471/1")
    assert tag.message == message_of("4471", 1, made.path, sha256(files[made.path]).hexdigest())
    assert rederive(floor.repo, tag).reasons == ()
    assert made.notes == (ONLY_HERE,)
    assert believed(floor).latest.number == 1


def test_a_dry_run_writes_nothing():
    floor = proven()
    before = len(floor.repo.commits)
    plan = make(floor, dry_run=True)
    assert (plan.number, plan.commit, plan.dry_run) == (1, None, True)
    assert (len(floor.repo.commits), floor.repo.tags) == (before, {})


def test_numbers_go_on_and_the_latest_counts():
    floor = proven()
    make(floor)
    same = "it holds the very revisions release 1 holds, for the same machines"
    assert make(floor, dry_run=True).notes == (same,)
    floor.edit("N10 ", "N11 ")
    made = make(floor)
    assert (made.number, same in made.notes) == (2, False)
    assert believed(floor).latest.operations["op10"].revision.name.startswith("r0002")


# -- refused -------------------------------------------------------------------------------------------------------------


def test_every_reason_with_what_clears_it():
    floor = Floor()
    hold(floor.desk(), parse_named("4471/op10"), by="kp", reason="gauge")
    fault = refusal(floor)
    assert (fault.name, fault.what) == ("not-released", "4471 is not released: 1 reason")
    assert "held by kp 2 Feb 2026: gauge; unproven: never proved on MILL2" in fault.reasons[0]
    assert (
        'proveout lift 4471 --by INITIALS -m "why"; proveout prove 4471 --machine MILL2' in fault.reasons[0]
    )
    assert floor.repo.tags == {}


@pytest.mark.parametrize("result", ["rejected", "unfinished"])
def test_no_standing_no_release(result):
    floor = Floor()
    prove(floor, result=result)
    assert refusal(floor).name == "not-released"


def test_what_is_not_checked_in():
    floor = proven(job=JOB)
    floor.repo.write(PROGRAM, TEXT + "(NOTE)\n")
    assert f"{PROGRAM} was edited and is not checked in" in refusal(floor).reasons[0]
    floor.repo.save({PROGRAM: TEXT + "(NOTE)\n"})
    assert f"4471: {PROGRAM} is not as recorded in r1" in refusal(floor).reasons[0]


def test_a_sheet_changed_past_the_tool():
    floor = proven()
    floor.repo.save({JOB_PATH: JOB.replace("2.5", "2.75")})
    assert "the setup sheet is not as recorded in r1" in refusal(floor).reasons[0]


def test_an_operation_that_was_never_checked_in():
    floor = proven()
    more = '[[operations]]\nid = "op20"\nprogram = "op20/O2.nc"\nmachines = ["MILL2"]\n'
    floor.repo.save({JOB_PATH: JOB + more})
    assert any("4471/op20 is not checked in" in reason for reason in refusal(floor).reasons)


def test_a_program_that_is_gone():
    floor = proven()
    head = floor.repo.commits[floor.repo.head().commit]
    del head.files[PROGRAM]
    floor.repo.work.pop(PROGRAM)
    floor.repo.index.pop(PROGRAM)
    assert any("there is no such file" in reason for reason in refusal(floor).reasons)


def test_a_call_nobody_can_answer():
    text = TEXT.replace("N180 M30", "N175 M98 P77\nN180 M30")
    floor = proven(text=text)
    assert any("4471" in reason and "77" in reason for reason in refusal(floor).reasons)


def test_a_hold_on_another_branch():
    floor = proven()
    floor.repo.branch("other")
    floor.repo.switch("other")
    hold(floor.desk(), parse_named("4471/op10"), by="kp", reason="gauge")
    floor.repo.switch("main")
    assert "held by kp" in refusal(floor).reasons[0]


def test_two_revisions_side_by_side():
    floor = proven()
    floor.repo.branch("other")
    floor.edit("N10 ", "N11 ")
    floor.repo.switch("other")
    floor.edit("N10 ", "N12 ")
    floor.repo.switch("main")
    floor.repo.merge("other", at=floor.now)
    assert "stand side by side" in refusal(floor).reasons[0]


def test_machines_any_and_all():
    floor = proven(job=TWO)
    made = make(floor, dry_run=True)
    assert made.record.operations[0].machines == ("MILL2",)
    assert made.not_included == (("op10", "not on MILL3: unproven: never proved on MILL3"),)
    strict = proven(job=TWO, shop=SHOP + '[policy]\nmachines = "all"\n')
    assert "4471 r1 on MILL3: unproven: never proved on MILL3" in refusal(strict).reasons[0]
    prove(strict, machine="MILL3")
    assert make(strict).record.operations[0].machines == ("MILL2", "MILL3")


def test_of_alternatives_one_is_needed_and_the_others_are_named():
    floor = Floor(job=ALTERNATIVE, text=TEXT)
    floor.check_in(by="np", named="4471/op10-m3", files={"jobs/4471/op10-m3/O1001.nc": TEXT})
    assert len(refusal(floor).reasons) == 2
    prove(floor)
    made = make(floor)
    assert [one.operation for one in made.record.operations] == ["op10"]
    assert made.record.not_included[0]["operation"] == "op10-m3"
    assert "never proved on MILL3" in str(made.record.not_included[0]["reason"])
    prove(floor, named="4471/op10-m3", machine="MILL3")
    assert [one.operation for one in make(floor).record.operations] == ["op10", "op10-m3"]


def test_a_machine_that_is_not_named_or_not_known():
    floor = proven(job=JOB.replace('machines = ["MILL2"]', ""))
    assert "job.toml names no machine" in refusal(floor).reasons[0]
    floor = proven()
    floor.repo.save({"shop.toml": SHOP.replace("MILL2", "MILL7")}, at=floor.now)
    assert "MILL2 is not in shop.toml" in refusal(floor).reasons[0]


def test_a_record_that_cannot_be_read():
    floor = proven()
    floor.repo.save({"jobs/4471/records/op10/r0001-hold.toml": "event = 'hold'\nformat = 99\n"})
    assert any("cannot be read" in reason for reason in refusal(floor).reasons)


def test_a_record_of_another_job_that_cannot_be_read_does_not_matter():
    floor = proven()
    floor.repo.save({"jobs/4472/records/op10/r0001-hold.toml": "event = 'hold'\nformat = 99\n"})
    assert make(floor).number == 1


def test_a_record_from_tomorrow():
    floor = proven()
    at = floor.now + timedelta(days=3)
    record = HoldRecord(job="4471", operation="op10", at=at, entered=at, by="kp", scope="operation")
    floor.repo.record("jobs/4471/records/op10/x-hold-kp.toml", record)
    assert "one of the two clocks was wrong" in refusal(floor).reasons[0]


@pytest.mark.parametrize(
    ("kind", "change", "name"),
    [
        (Refused, {"by": "ss"}, "wrong-role"),
        (BadCall, {"by": "zz"}, "unknown-person"),
    ],
)
def test_who(kind, change, name):
    assert refusal(proven(), kind, **change).name == name


def test_calls_that_are_wrong():
    floor = proven()
    for text, name in (("4471/op10", "whole-job"), ("4471@r1", "whole-job"), ("9999", "unknown-job")):
        with pytest.raises(BadCall) as caught:
            release(floor.desk(), parse_named(text), by="dg")
        assert caught.value.name == name


def test_a_detached_head_and_a_shallow_clone():
    floor = proven()
    floor.repo.detach()
    assert refusal(floor).name == "detached-head"
    floor.repo.switch("main")
    floor.repo.shallow = True
    assert refusal(floor, CouldNot).name == "shallow"


def test_a_hold_that_comes_in_between_keeps_the_tag_from_being_made():
    floor = proven()
    desk = floor.desk()

    def meanwhile():
        at = floor.now
        record = HoldRecord(
            job=None, at=at, entered=at, by="kp", scope="machine", machine="MILL2", cause="crash"
        )
        floor.repo.record("records/x-hold-MILL2-kp.toml", record)

    floor.repo.meanwhile = meanwhile
    with pytest.raises(Refused) as caught:
        release(desk, NAMED, by="dg")
    assert caught.value.name == "not-released"
    assert "held with MILL2 by kp" in caught.value.reasons[0]
    assert floor.repo.tags == {}
    floor.repo.meanwhile = None
    # the record that stayed behind can never be tagged: its number is passed over
    lift_machine(floor.desk(), "MILL2", by="dg", check="spindle run")
    assert make(floor).number == 2


# -- taken up again -------------------------------------------------------------------------------------------------------


def test_a_record_without_its_tag_is_taken_up():
    floor = proven()
    first = make(floor)
    floor.repo.tags.clear()
    assert make(floor, dry_run=True).taken_up
    assert floor.repo.tags == {}
    hold(floor.desk(), parse_named("4471/op10"), by="kp", reason="gauge")
    again = make(floor)
    assert (again.number, again.taken_up, again.commit) == (1, True, first.commit)
    assert floor.repo.tags["refs/tags/release/4471/1"].target == first.commit


# -- believed -------------------------------------------------------------------------------------------------------------


def test_a_later_hold_or_lapse_does_not_reach_back():
    floor = proven()
    make(floor)
    hold(floor.desk(), parse_named("4471/op10"), by="kp", reason="gauge")
    floor.now += timedelta(days=3000)
    (tag,) = floor.repo.release_tags()
    assert rederive(floor.repo, tag).holds
    assert believed(floor).latest.number == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "blob", "target": None}, "on a blob"),
        ({"kind": "tree", "target": None}, "on a tree"),
        ({"kind": "commit", "target": None}, "straight on a commit"),
        ({"target": None}, "on something that is no state of the shop"),
    ],
)
@pytest.mark.parametrize("number", [2, 7])
def test_a_tag_that_can_be_no_release_is_said_and_takes_no_number(change, words, number):
    floor = proven()
    make(floor)
    ref = f"refs/tags/release/4471/{number}"
    real = floor.repo.tags["refs/tags/release/4471/1"]
    floor.repo.tags[ref] = replace(real, ref=ref, **change)
    (reason,) = refusal(floor).reasons
    assert f"release/4471/{number} is no release: the tag stands {words}" in reason
    assert f"git tag -d release/4471/{number}" in reason
    assert believed(floor).latest.number == 1
    del floor.repo.tags[ref]
    assert make(floor).number == 2


def test_a_tag_that_names_no_record_is_passed_over():
    floor = proven()
    made = make(floor)
    floor.repo.tags["refs/tags/release/4471/9"] = TagSeen(
        ref="refs/tags/release/4471/9", object_id="9", kind="commit"
    )
    floor.repo.tags["refs/tags/release/4471/8"] = TagSeen(
        ref="refs/tags/release/4471/8",
        object_id="8",
        kind="tag",
        target=made.commit,
        header_name="release/4471/8",
        message="mine",
    )
    found = believed(floor)
    assert found.latest.number == 1
    assert [one.name.number for one in found.passed_over] == [9, 8]


def forged(floor, change):
    """A release record written by hand, with the tag of a sound one on it."""
    made = make(floor, dry_run=True)
    floor.repo.record(made.path, change(made.record))
    data = floor.repo.work[made.path]
    name = "release/4471/1"
    tag = TagSeen(
        ref=f"refs/tags/{name}",
        object_id="1",
        kind="tag",
        target=floor.repo.head().commit,
        header_name=name,
        message=message_of("4471", 1, made.path, sha256(data).hexdigest()),
    )
    floor.repo.tags[tag.ref] = tag
    return rederive(floor.repo, tag)


def operation(record, **change):
    return replace(record, operations=(replace(record.operations[0], **change),))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda r: replace(r, by="ss"), "ss had not the role quality"),
        (lambda r: replace(r, number=7), "is of release 7 of 4471"),
        (lambda r: replace(r, job="4472"), "is no readable record of release 1 of 4471"),
        (lambda r: replace(r, operations=()), "names no operation"),
        (lambda r: operation(r, operation="op99"), "op99 is not in the job.toml"),
        (lambda r: operation(r, revision="r0009-00000000"), "the record names r0009-00000000"),
        (lambda r: operation(r, operation_fingerprint="0" * 64), "the record names r0001"),
        (lambda r: operation(r, machines=("MILL3",)), "MILL3 is not on its setup sheet"),
        (lambda r: operation(r, machines=()), "names no machine"),
        (lambda r: operation(r, relied_on=()), "names nothing it relies on"),
        (
            lambda r: operation(r, relied_on=(replace(r.operations[0].relied_on[0], sha256="0" * 64),)),
            "is not there as it was relied on",
        ),
        (lambda r: replace(r, entered=r.entered - timedelta(days=2)), "one of the two clocks was wrong"),
    ],
)
def test_a_forged_record_is_not_believed(change, words):
    floor = proven()
    found = forged(floor, change)
    assert not found.holds
    assert words in found.words


def test_a_release_by_hand_of_what_does_not_stand():
    floor = proven()
    made = make(floor, dry_run=True)
    floor.edit("Z-0.81", "Z-0.91")
    record = made.record
    floor.repo.record(made.path, record)
    stored = next(one for one in floor.repo.ledger().records if one.path == made.path)
    tag = tag_for(stored, record)
    floor.repo.tags[tag.ref] = tag
    found = believed(floor)
    assert found.latest is None
    assert "release 1 cannot be derived again" in found.why_none
    assert "4471 r2 on MILL2: unproven" in found.why_none


def test_a_release_that_can_no_longer_be_derived_hides_the_older_one():
    floor = proven()
    make(floor)
    made = make(floor)
    tag = floor.repo.tags["refs/tags/release/4471/2"]
    floor.repo.tags[tag.ref] = replace(tag, target=floor.repo.save({"note.txt": "x"}))
    found = believed(floor)
    assert found.latest is None
    assert f"came in with commit {made.commit[:12]}" in found.why_none


def test_a_record_changed_after_the_tag():
    floor = proven()
    made = make(floor)
    files = floor.repo.commits[made.commit].files
    files[made.path] += b"# more\n"
    (tag,) = floor.repo.release_tags()
    assert "has not the SHA-256 the tag says" in rederive(floor.repo, tag).words
    del files[made.path]
    assert "is not in its commit" in rederive(floor.repo, tag).words


def test_a_revision_record_that_claims_another_texts_fingerprint():
    floor = proven()
    (old,) = [s for s in floor.repo.ledger().records if s.record.EVENT == "revision"]
    text = TEXT.replace("Z-0.81", "Z-0.91")
    claim = replace(
        old.record,
        revision="r0002",
        files=(replace(old.record.files[0], raw_sha256=sha256(text.encode()).hexdigest()),),
        origins=(Origin(revision=old.name, kinds=("wording",)),),
    )
    data = floor.repo.encode(claim)
    path = revision_file("jobs/4471", "op10", 2, data)
    floor.repo.save({PROGRAM: text, path: data}, at=floor.now)
    (reason,) = refusal(floor).reasons
    assert "the fingerprint recorded in r2 is not that of its programs and sheet" in reason


def test_a_finding_recorded_at_check_in_refuses():
    floor = proven()
    (old,) = [s for s in floor.repo.ledger().records if s.record.EVENT == "revision"]
    finding = Finding(rule="lookup", severity="refuse", message="two programs O77", file=PROGRAM, line=4)
    record = replace(old.record, findings=(finding,))
    data = floor.repo.encode(record)
    for files in [one.files for one in floor.repo.commits.values()] + [floor.repo.work, floor.repo.index]:
        if old.path in files:
            files[old.path] = data
    assert f"{PROGRAM}:4: two programs O77 [lookup]" in "\n".join(refusal(floor).reasons)


def test_releases_know_the_jobs_and_the_strange_tags():
    floor = proven()
    make(floor)
    floor.repo.tags["refs/tags/release/x"] = TagSeen(ref="refs/tags/release/x", object_id="1", kind="commit")
    ledger = floor.repo.ledger()
    releases = Releases(floor.repo, ledger, Judge(ledger, floor.now))
    assert releases.jobs == ("4471",)
    assert [tag.ref for tag in releases.strange] == ["refs/tags/release/x"]
    assert releases.of("9999").why_none == "is in no release"


def test_a_lifted_hold_is_part_of_the_evidence():
    floor = proven()
    hold(floor.desk(), parse_named("4471/op10"), by="kp", reason="gauge")
    lift(floor.desk(), parse_named("4471/op10"), by="dg", reason="measured")
    made = make(floor)
    assert any("-lift-" in one.path for one in made.record.operations[0].relied_on)


# -- the texts behind a chain ---------------------------------------------------------------------------------------------


def rewritten(floor, change):
    """The newest revision record with something else in it, as if it had been written by hand."""
    old = [s for s in floor.repo.ledger().records if s.record.EVENT == "revision"][-1]
    data = floor.repo.encode(change(old.record))
    for files in [one.files for one in floor.repo.commits.values()] + [floor.repo.work, floor.repo.index]:
        if old.path in files:
            files[old.path] = data


def first_origin(record, **change):
    return replace(record, origins=(replace(record.origins[0], **change),))


def carried(old, new) -> Floor:
    """The first revision proved, then one change, reviewed or its section proved, whatever its kind."""
    floor = proven()
    floor.edit(old, new)
    return floor


def reviewed(floor):
    review(floor.desk(), parse_named("4471/op10"), by="dg", reason="read")


@pytest.mark.parametrize(
    ("old", "new", "change", "words"),
    [
        ("Z-0.81", "Z-0.91", {"kinds": ("coolant",)}, "the record leaves out motion"),
        ("F12.", "F6.", {"kinds": ("feed",), "slower": 0.9}, "how much it was slowed"),
        ("F12.", "F20.", {"kinds": ("feed",), "slower": 0.9}, "how much it was slowed"),
        ("X1. Y1. S2000 M3", "X1. Y1. S1900 M3", {"sections": ("5",)}, "changed sections (T4)"),
    ],
)
def test_a_step_said_to_be_lighter_than_it_is(old, new, change, words):
    floor = carried(old, new)
    rewritten(floor, lambda record: first_origin(record, **change))
    reviewed(floor)
    reasons = refusal(floor).reasons
    assert words in "\n".join(reasons)


def test_a_step_said_to_be_heavier_than_it_is_is_believed():
    floor = carried("N10 ", "N11 ")
    rewritten(floor, lambda record: first_origin(record, kinds=("coolant", "numbering"), sections=None))
    reviewed(floor)
    assert make(floor).operations[0].standings[0][1].state == "carried"


def test_a_text_that_cannot_be_read_back():
    floor = carried("N10 ", "N11 ")
    first = next(s for s in floor.repo.ledger().records if s.record.EVENT == "revision")
    floor.repo.commits[first.commit].files[PROGRAM] = b"O1\nM30\n"
    assert f"the text of r1-{first.sha256[:8]} cannot be read back" in "\n".join(refusal(floor).reasons)
