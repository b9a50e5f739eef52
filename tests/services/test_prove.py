from dataclasses import replace
from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, JOB_PATH, PROGRAM, SHOP, SHORT, START, TEXT, Floor, done
from tests.fakes.stick_shop import edited, exported_shop, program
from tracker.errors import BadCall, CouldNot, Refused
from tracker.records.encode import machine_profile
from tracker.records.events import FirstPiece, ProofRecord, Step
from tracker.services.comparing import PlainFile
from tracker.services.measured import measured
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, blank_form, finish, with_ran
from tracker.services.prove_tools import later_tools

ACCEPT = Answers(result="accepted", steps=done(*FULL), first_piece="report 2231")


def prove(
    floor, answers=ACCEPT, *, named="4471/op10", machine="MILL2", by="ss", ran=(), take_in=False, **more
):
    desk = floor.desk()
    begun = begin(desk, parse_named(named), machine=machine, by=by, **more)
    if ran:
        begun = with_ran(desk, begun, ran, take_in=take_in)
    return finish(desk, begun, answers)


NAMED = parse_named("4471/op10")


def refusal(kind, call):
    with pytest.raises(kind) as caught:
        call()
    return caught.value


def test_an_accepted_proof_says_everything_that_binds_it():
    floor = Floor()
    report = prove(floor)
    (proof,) = floor.records("proof")
    (revision,) = floor.records("revision")
    assert report.record == proof
    assert proof.revision.startswith("r0001-")
    assert report.path.startswith(f"jobs/4471/records/op10/{proof.revision}-proof-MILL2-20260202T111000Z-ss")
    assert (proof.job, proof.operation, proof.machine, proof.by) == ("4471", "op10", "MILL2", "ss")
    assert (proof.result, proof.cause, proof.tools, proof.again) == ("accepted", None, (), False)
    assert proof.operation_fingerprint == revision.operation_fingerprint
    assert proof.rule_version == revision.rule_version
    assert proof.files == revision.files
    assert proof.machine_profile == machine_profile(floor.repo.tree().shop().machine("MILL2"))
    assert proof.steps == done(*FULL)
    assert proof.first_piece == FirstPiece(report="report 2231", by="ss", result="accepted")
    assert proof.at == proof.entered == START + timedelta(hours=2)
    assert proof.clock == "set"
    commit = floor.repo.log()[-1]
    assert (commit.author, list(commit.files)[-1]) == ("ss@bench.example", report.path)
    assert commit.message == "4471/op10 r1: proved on MILL2, accepted"
    assert report.standing.state == "proven"
    assert report.begun.target.display_id == revision.operation_fingerprint[:8].upper()


def test_nothing_else_the_person_had_is_touched():
    floor = Floor()
    floor.repo.write("notes.txt", "mine")
    floor.repo.stage("notes.txt")
    before = floor.repo.log()[-1].files
    report = prove(floor)
    after = floor.repo.log()[-1].files
    assert after.keys() - before.keys() == {report.path}
    assert floor.repo.index["notes.txt"] == b"mine"


def test_a_rejection_keeps_its_cause_and_needs_no_steps():
    floor = Floor()
    report = prove(
        floor, Answers(result="rejected", cause="program", note="T4 packs\n chips", first_piece="scrap")
    )
    (proof,) = floor.records("proof")
    assert (proof.result, proof.cause, proof.reason) == ("rejected", "program", "T4 packs chips")
    assert proof.first_piece.result == "rejected"
    assert report.standing.state == "rejected"


@pytest.mark.parametrize(
    ("answers", "name"),
    [
        (Answers(result="rejected"), "no-cause"),
        (Answers(result="rejected", cause="progam"), "unknown-cause"),
        (replace(ACCEPT, cause="program"), "wrong-call"),
        (Answers(cause="program"), "wrong-call"),
        (replace(ACCEPT, at=START + timedelta(days=900)), "future-time"),
    ],
)
def test_a_call_that_makes_no_sense(answers, name):
    floor = Floor()
    assert refusal(BadCall, lambda: prove(floor, answers)).name == name
    assert floor.records("proof") == []


def test_an_accepted_proof_lists_all_that_is_missing():
    floor = Floor()
    steps = done("P0", "P1", "P2", "P3", "P4", but=[Step(step="P9", done=True, value=70.0)])
    fault = refusal(Refused, lambda: prove(floor, Answers(result="accepted", steps=steps)))
    assert fault.name == "steps-missing"
    assert [line.split(" ")[0] for line in fault.reasons] == ["P5", "P6", "P8", "P10", "P9"]
    assert floor.records("proof") == []


def test_a_limit_is_kept():
    floor = Floor()
    steps = done(*FULL, but=[Step(step="P9", done=True, value=70.0)])
    prove(floor, Answers(result="accepted", steps=steps, limit="feed 70 percent"))
    assert floor.records("proof")[0].limits == "feed 70 percent"


def test_a_half_done_prove_out_is_kept_and_taken_up_again():
    floor = Floor()
    first = prove(floor, Answers(steps=done("P0", "P1", "P2")))
    assert first.record.result == "unfinished"
    assert any(line.startswith("P3") for line in first.lacks)
    assert first.standing.state == "unproven"
    desk = floor.desk()
    begun = begin(desk, parse_named("4471/op10"), machine="MILL2", by="kp")
    assert begun.unfinished.record == first.record
    assert [step.step for step in begun.before] == ["P0", "P1", "P2"]
    rest = Answers(result="accepted", steps=done("P3", "P4", "P5", "P6", "P8", "P9", "P10"))
    assert refusal(Refused, lambda: finish(desk, begun, rest)).name == "steps-missing"
    report = finish(desk, begun, replace(rest, take_up=True))
    assert [step.step for step in report.record.steps] == list(FULL)
    closed = begin(floor.desk(), parse_named("4471/op10"), machine="MILL2", by="kp")
    assert closed.unfinished is None


def test_a_prove_out_begun_elsewhere_or_of_another_text_is_not_taken_up():
    floor = Floor()
    prove(floor, Answers(steps=done("P0")))
    assert begin(floor.desk(), parse_named("4471"), machine="MILL3", by="kp").unfinished is None
    assert begin(floor.desk(), parse_named("4471"), machine="MILL2", by="kp", tools=["5"]).unfinished is None
    floor.edit("Z-0.81", "Z-0.85")
    assert begin(floor.desk(), parse_named("4471"), machine="MILL2", by="kp").unfinished is None


def test_a_first_piece_that_is_waited_for():
    floor = Floor()
    report = prove(floor, replace(ACCEPT, first_piece="Waiting"))
    assert report.record.first_piece == FirstPiece(result="waiting")
    assert report.standing.state == "unproven"
    assert "waiting" in report.standing.reason


def test_a_section_proof_names_its_tools_as_the_program_does():
    floor = Floor()
    report = prove(floor, Answers(result="accepted", steps=done(*SHORT)), tools=["T05", "4"])
    assert report.record.tools == ("4", "5")
    desk = floor.desk()
    begun = begin(desk, parse_named("4471"), machine="MILL2", by="ss", tools=["4"])
    assert later_tools(desk, begun.target, begun.tools) == ("5",)
    assert later_tools(desk, begun.target, ("5",)) == ()
    assert later_tools(desk, begun.target, ("3",)) == ("4", "5")


def test_an_unknown_tool_names_the_known_ones():
    floor = Floor()
    fault = refusal(BadCall, lambda: prove(floor, tools=["7"]))
    assert fault.name == "unknown-tool"
    assert "3, 4, 5" in fault.fix


@pytest.mark.parametrize(
    ("named", "machine", "by", "name"),
    [
        ("4472", "MILL2", "ss", "unknown-job"),
        ("4471/op30", "MILL2", "ss", "unknown-operation"),
        ("4471/op10@r7", "MILL2", "ss", "unknown-revision"),
        ("4471", "MILL9", "ss", "unknown-machine"),
        ("4471", None, "ss", "which-machine"),
        ("4471", "MILL2", "zz", "unknown-person"),
        ("4471", "MILL2", None, "who"),
    ],
)
def test_unknown_names(named, machine, by, name):
    floor = Floor()
    assert refusal(BadCall, lambda: prove(floor, named=named, machine=machine, by=by)).name == name


@pytest.mark.parametrize("by", ["np", "dg"])
def test_only_setup_proves(by):
    floor = Floor()
    assert refusal(Refused, lambda: prove(floor, by=by)).name == "wrong-role"
    assert floor.records("proof") == []


def test_who_is_known_by_the_address_git_knows():
    floor = Floor()
    desk = replace(floor.desk(), email="SS@bench.example")
    assert begin(desk, parse_named("4471"), machine="mill2", by=None).person.initials == "ss"


@pytest.mark.parametrize("path", [PROGRAM, JOB_PATH])
def test_edits_not_checked_in_are_refused(path):
    floor = Floor()
    floor.repo.write(path, floor.repo.work[path] + b"# edited\n")
    fault = refusal(Refused, lambda: prove(floor))
    assert (fault.name, fault.where) == ("uncommitted-edits", path)
    assert refusal(Refused, lambda: prove(floor, named="4471@r1")).name == "uncommitted-edits"


def test_a_new_program_that_answers_to_a_call_is_an_edit():
    floor = Floor(text=TEXT.replace("N180 M30", "N180 M98 P1002\nN190 M30"))
    floor.check_in(by="np", files={"common/O1002.nc": "O1002\nG91 G1 X1. F5.\nG90\nM99\n"})
    assert prove(floor).record.result == "accepted"
    floor.repo.write("jobs/4471/op10/O1002.nc", "O1002\nG91 G1 X9. F5.\nG90\nM99\n")
    fault = refusal(Refused, lambda: prove(floor))
    assert (fault.name, fault.where) == ("uncommitted-edits", "jobs/4471/op10/O1002.nc")


def test_an_edit_of_another_file_does_not_matter():
    floor = Floor()
    floor.repo.write("jobs/4471/notes.txt", "x")
    floor.repo.write("jobs/4480/job.toml", "broken =")
    assert prove(floor).record.result == "accepted"


@pytest.mark.parametrize(
    ("path", "old", "new"), [(PROGRAM, "Z-0.81", "Z-0.85"), (JOB_PATH, "stick_out = 2.5", "stick_out = 2.6")]
)
def test_files_committed_past_the_tool_are_not_the_revision(path, old, new):
    floor = Floor()
    floor.repo.save({path: floor.repo.work[path].decode().replace(old, new)})
    fault = refusal(Refused, lambda: prove(floor))
    assert (fault.name, fault.where) == ("not-the-revision", path)


def test_a_program_taken_away_is_not_the_revision():
    floor = Floor()
    floor.repo.work.pop(PROGRAM)
    floor.repo.index.pop(PROGRAM)
    head = floor.repo.commits[floor.repo.head().commit]
    files = {path: data for path, data in head.files.items() if path != PROGRAM}
    floor.repo.commits[head.id] = replace(head, files=files)
    assert refusal((Refused, BadCall), lambda: prove(floor)).name in ("not-the-revision", "missing-program")


def test_an_older_revision_may_be_proved_and_is_said_to_be_older():
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85")
    report = prove(floor, named="4471@r1")
    assert report.record.revision.startswith("r0001-")
    assert "not the newest" in report.notes[0]


def test_a_machine_the_sheet_does_not_name_is_said():
    floor = Floor()
    assert "MILL3 is not among the machines" in prove(floor, machine="MILL3").notes[0]


def test_a_claimed_time():
    floor = Floor()
    report = prove(floor, replace(ACCEPT, at=START - timedelta(days=3)))
    assert report.record.at == START - timedelta(days=3)
    assert "20260130T091000Z" in report.path
    assert report.notes == ("entered late", "the time said lies before r1 was checked in")
    assert prove(floor, replace(ACCEPT, at=floor.now)).notes == ()


def test_no_branch_in_hand_and_a_locked_repository():
    floor = Floor()
    floor.repo.detach()
    assert refusal(Refused, lambda: prove(floor)).name == "detached-head"
    floor.repo.switch("main")
    floor.repo.locked = True
    assert refusal(CouldNot, lambda: prove(floor)).name == "locked"
    floor.repo.locked = False
    floor.repo.shallow = True
    assert refusal(CouldNot, lambda: prove(floor)).name == "shallow"


def test_what_changed_meanwhile_is_noticed():
    floor = Floor()
    floor.repo.meanwhile = lambda: floor.repo.save({"shop.toml": SHOP + "# changed\n"})
    assert refusal(Refused, lambda: prove(floor)).name == "moved"
    assert floor.records("proof") == []


def test_two_proofs_in_one_second_are_two_records():
    floor = Floor()
    desk = floor.desk()
    for _ in range(2):
        begun = begin(desk, parse_named("4471"), machine="MILL2", by="ss")
        finish(desk, begun, ACCEPT)
    assert len(floor.records("proof")) == 2


# -- the file off the control -----------------------------------------------------------------------------------------


def test_the_same_code_off_the_control_proves_the_revision_and_keeps_the_hash_of_what_was_run():
    floor = Floor()
    home = TEXT.replace("N10 ", "N1 ").replace("(PLATE)", "(COPY)").replace("\n", "\r\n").encode()
    report = prove(floor, ran=[PlainFile(name="D:/O1001.NC", data=home)])
    (revision,) = floor.records("revision")
    assert report.record.files[0].raw_sha256 != revision.files[0].raw_sha256
    assert report.record.files[0].fingerprint == revision.files[0].fingerprint
    assert report.record.files[0].path == PROGRAM


def test_an_edited_file_is_shown_and_refused_until_it_is_taken_in():
    floor = Floor()
    home = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())
    desk = floor.desk()
    begun = with_ran(desk, begin(desk, parse_named("4471"), machine="MILL2", by="ss"), [home])
    (edited,) = begun.ran.edited
    assert not edited.difference.same_code
    assert [change.new.text.split()[-1] for change in edited.difference.changes] == ["F12.5"]
    assert refusal(Refused, lambda: finish(desk, begun, ACCEPT)).name == "edited-at-control"
    assert len(floor.records("revision")) == 1


def test_a_proof_that_is_refused_says_that_its_edit_is_checked_in():
    floor = Floor()
    home = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())
    bare = replace(ACCEPT, steps=())
    fault = refusal(Refused, lambda: prove(floor, bare, ran=[home], take_in=True))
    assert fault.name == "steps-missing"
    assert fault.what.endswith("missing; the edit is checked in as r2 all the same")
    assert len(floor.records("revision")) == 2
    assert refusal(Refused, lambda: prove(floor, bare)).what.endswith(" missing")


def test_an_edited_file_becomes_the_next_revision_in_the_provers_name_and_is_proved():
    floor = Floor()
    home = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())
    report = prove(floor, ran=[home], take_in=True)
    first, second = floor.records("revision")
    assert (second.by, second.revision) == ("ss", "r0002")
    assert second.origins[0].kinds == ("feed",)
    assert report.record.revision.startswith("r0002-")
    assert report.record.operation_fingerprint == second.operation_fingerprint != first.operation_fingerprint
    assert report.begun.checked_in.checked_in[0].number == 2
    assert floor.repo.tree().read(PROGRAM) == home.data
    assert report.standing.state == "unproven"
    assert "second person owed" in report.standing.reason


def test_a_file_that_is_another_revision_is_named():
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85")
    fault = refusal(Refused, lambda: prove(floor, ran=[PlainFile(name="O1001.NC", data=TEXT.encode())]))
    assert fault.name == "another-revision"
    assert "4471/op10@r1" in fault.fix


def test_an_edit_of_an_older_revision_is_not_taken_in_silently():
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85")
    home = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())
    fault = refusal(Refused, lambda: prove(floor, named="4471@r1", ran=[home]))
    assert fault.name == "not-the-newest"
    # of a stick nobody named a revision that could be left out
    assert fault.fix == "prove it against the newest: proveout prove 4471/op10 --machine ID --ran FILE"


@pytest.mark.parametrize("take_in", [False, True])
def test_an_edit_of_an_older_revision_undoes_nothing_of_the_office(take_in):
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85")
    home = PlainFile(name="O1001.NC", data=TEXT.replace("F15.", "F12.5").encode())
    fault = refusal(Refused, lambda: prove(floor, ran=[home], take_in=take_in))
    assert fault.name == "both-changed"
    office, control = fault.reasons
    assert office.startswith("O1001.nc, office since r1 (r2): ")
    assert "Z-0.85" in office
    assert control.startswith("O1001.nc, control since r1 (O1001.NC): ")
    assert "F12.5" in control
    assert len(floor.records("revision")) == 2


def test_an_edit_that_has_the_stamp_of_the_newest_may_have_an_older_line_again():
    floor = Floor()
    floor.edit("Z-0.81", "Z-0.85")
    mark = floor.records("revision")[-1].operation_fingerprint[:8].upper()
    text = TEXT.replace("F15.", "F12.5").replace("(PLATE)", f"(PLATE)\n(ID {mark} 4471 OP10 R2)")
    prove(floor, ran=[PlainFile(name="O1001.NC", data=text.encode())], take_in=True)
    assert len(floor.records("revision")) == 3


@pytest.mark.parametrize("data", [b"", b"%\n(NOTHING)\n%\n"])
def test_a_file_without_code_proves_nothing(data):
    floor = Floor()
    assert (
        refusal(Refused, lambda: prove(floor, ran=[PlainFile(name="O1001.NC", data=data)])).name == "no-code"
    )


@pytest.mark.parametrize(
    ("cut_at", "why"),
    [
        ("N120", "it opens with % and no % closes it"),
        ("N180", "it opens with % and no % closes it"),
    ],
)
@pytest.mark.parametrize("answers", [ACCEPT, Answers(result="rejected", cause="program")])
def test_a_file_whose_transfer_was_cut_becomes_no_revision(cut_at, why, answers):
    """Triage of what comes home: common practice, no source."""
    floor = Floor()
    home = PlainFile(name="O1001.NC", data=TEXT[: TEXT.index(cut_at)].encode())
    fault = refusal(Refused, lambda: prove(floor, answers, ran=[home], take_in=True))
    assert fault.name == "not-whole"
    assert why in fault.what
    assert len([one for one in floor.repo.ledger().records if one.record.EVENT == "revision"]) == 1


def test_a_file_that_lost_much_of_its_code_becomes_no_revision():
    """Its end is there; a gap and a deleted section look the same (common practice, no source)."""
    floor = Floor()
    data = (TEXT[: TEXT.index("N80")] + TEXT[TEXT.index("N130") :]).encode()
    fault = refusal(Refused, lambda: prove(floor, ran=[PlainFile(name="O1001.NC", data=data)], take_in=True))
    assert (fault.name, fault.where) == ("not-whole", "O1001.NC")
    assert "14 blocks of code where there were 19, though its end is there" in fault.what
    assert fault.fix.endswith("take it in first: proveout collect DIR --checkin 4471/op10 --whole")
    assert len(floor.records("revision")) == 1


def test_a_file_nobody_can_place():
    floor = Floor(text=TEXT.replace("N180 M30", "N180 M98 P1002\nN190 M30"))
    floor.check_in(by="np", files={"jobs/4471/op10/O1002.nc": "O1002\nG91 G1 X1. F5.\nG90\nM99\n"})
    fault = refusal(
        BadCall, lambda: prove(floor, ran=[PlainFile(name="X.NC", data=b"G0 X1.\nG1 Y1. F1.\nM30\n")])
    )
    assert fault.name == "which-program"
    assert "O1001.nc, O1002.nc" in fault.fix


@pytest.fixture
def other_job():
    """4471/op20 out on MILL2, and 5000 with a program of its own; what lies on the stick, and a proof of op20 begun."""
    shop = exported_shop()
    shop.add_job("5000", "O2001.nc", edited(program(2001), (b"T3 M6", b"T8 M6"), (b"H3", b"H8")))
    shop.check_in("5000/op10")

    def proved(data: bytes):
        begun = begin(shop.desk(), parse_named("4471/op20"), machine="MILL2", by="ss")
        return with_ran(shop.desk(), begun, [PlainFile(name="WHAT.NC", data=data)], take_in=True)

    return shop, proved


def test_the_text_of_another_operation_is_no_edit_of_this_one(other_job):
    shop, proved = other_job
    fault = refusal(Refused, lambda: proved(shop.repo.tree().read("jobs/5000/op10/O2001.nc")))
    assert fault.name == "another-program"
    assert "is the text of 5000/op10 r1, not of 4471/op20" in fault.what
    assert shop.revision("4471/op20").name.startswith("r0001-")


def test_nor_is_an_edit_of_one_by_its_id_line(other_job):
    shop, proved = other_job
    shop.for_proving("5000/op10")
    home = edited(shop.files["MILL2/FOR-PROVING/O2001.NC"], (b"F15.", b"F12."))
    fault = refusal(Refused, lambda: proved(home))
    assert fault.name == "another-program"
    assert "is by its id line an edit of the text of 5000/op10 r1" in fault.what
    assert proved(edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12."))).checked_in is not None


def test_what_shares_next_to_nothing_with_the_program_is_no_edit_of_it(other_job):
    shop, proved = other_job
    text = b"%\nO7777 (GEAR)\nT11 M6\nG0 G54 X5. Y5. S100 M3\nG43 H11 Z9.\nG1 Z-3. F1.\nX9.\nY9.\nX1.\nG0 Z9.\nM30\n%\n"
    fault = refusal(Refused, lambda: proved(text))
    assert fault.name == "another-program"
    assert "WHAT.NC is no edit of O1003.nc: it shares 1 of 10 blocks with r1" in fault.what
    assert shop.revision("4471/op20").name.startswith("r0001-")


# -- the short form -----------------------------------------------------------------------------------------------------


def test_the_short_form_renews_a_proof_of_the_same_text():
    floor = Floor()
    prove(floor)
    floor.now += timedelta(days=800)
    assert begin(floor.desk(), parse_named("4471"), machine="MILL2", by="ss").standing.state == "lapsed"
    report = prove(floor, Answers(result="accepted", steps=done(*SHORT)), again=True)
    assert report.record.again
    assert report.standing.state == "proven"


def test_the_short_form_renews_nothing_that_was_never_proved():
    floor = Floor()
    fault = refusal(Refused, lambda: prove(floor, again=True))
    assert fault.name == "nothing-to-renew"
    assert "prove it in full" in fault.fix


def test_where_a_review_is_all_that_is_owed_the_short_form_says_so():
    floor = Floor()
    prove(floor)
    floor.edit("F15.", "F12.5")
    fault = refusal(Refused, lambda: prove(floor, again=True))
    assert fault.fix.startswith(
        'proveout review 4471 --by INITIALS -m "why"; or prove it in full: proveout prove '
    )


def test_the_short_form_renews_nothing_that_was_never_proved_and_says_so_once():
    floor = Floor()
    assert refusal(Refused, lambda: prove(floor, again=True)).fix.count("proveout prove ") == 1


def test_the_short_form_wants_the_same_machine():
    floor = Floor()
    prove(floor)
    floor.repo.save({"shop.toml": SHOP.replace("pockets = 20", "pockets = 24")}, at=floor.now)
    fault = refusal(Refused, lambda: prove(floor, again=True))
    assert fault.name == "nothing-to-renew"
    assert "pockets" in fault.what
    floor.now += timedelta(days=800)
    found = begin(floor.desk(), parse_named("4471"), machine="MILL2", by="ss").standing
    assert (found.state, found.clears) == ("lapsed", ("proveout prove 4471 --machine MILL2",))


def test_nobody_is_given_a_short_form_that_nobody_could_sign():
    floor = Floor()
    prove(floor)
    assert "P4" in blank_form(floor.desk(), NAMED, machine="MILL2", short=True, again=True).text
    floor.repo.save({"shop.toml": SHOP.replace("pockets = 20", "pockets = 24")}, at=floor.now)
    fault = refusal(Refused, lambda: blank_form(floor.desk(), NAMED, machine="MILL2", short=True, again=True))
    assert fault.name == "nothing-to-renew"
    assert blank_form(floor.desk(), NAMED, machine="MILL2", short=True).text


def test_a_short_form_whose_first_piece_waits_asks_for_its_measuring_and_not_for_another():
    floor = Floor()
    prove(floor)
    floor.now += timedelta(days=800)
    report = prove(floor, Answers(result="accepted", steps=done(*SHORT), first_piece="waiting"), again=True)
    assert report.standing.state == "lapsed"
    assert "; first piece waiting since the prove-out by ss" in report.standing.reason
    assert report.standing.clears == (
        "proveout measured 4471 --machine MILL2 --report NO --accept --by INITIALS",
    )
    measured(floor.desk(), NAMED, machine="MILL2", by="ss", report="77", result="accepted")
    assert begin(floor.desk(), NAMED, machine="MILL2", by="ss").standing.state == "proven"


def test_the_short_form_wants_the_same_text():
    floor = Floor()
    prove(floor)
    floor.edit("Z-0.81", "Z-0.85")
    assert refusal(Refused, lambda: prove(floor, again=True)).name == "nothing-to-renew"


def test_tools_and_the_short_form_do_not_go_together():
    floor = Floor()
    assert refusal(BadCall, lambda: prove(floor, again=True, tools=["5"])).name == "wrong-call"


def test_every_proof_is_a_proof_record():
    floor = Floor()
    prove(floor)
    assert all(isinstance(record, ProofRecord) for record in floor.records("proof"))
