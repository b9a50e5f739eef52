"""Export: what may run on a machine today, onto a stick, with a record."""

import hashlib
import json

import pytest

from tests.fakes.disk import PowerCut
from tests.fakes.stick_shop import StickShop, edited, program, released_shop, renumbered, sub_program
from tracker.errors import BadCall, CouldNot, Refused
from tracker.frozen import replace
from tracker.nc import scan
from tracker.policy.find import newest, short_name
from tracker.records.events import ExportRecord
from tracker.reports.read_me import read_me
from tracker.services.outgoing import gather
from tracker.services.usable import Board

MANIFEST = "MILL2/PROVEOUT.JSON"


@pytest.fixture
def shop() -> StickShop:
    return released_shop()


def exports(shop: StickShop) -> list[ExportRecord]:
    return [one.record for one in shop.repo.ledger().records if isinstance(one.record, ExportRecord)]


def refused(shop: StickShop, *jobs: str, **other) -> Refused:
    before = dict(shop.files)
    commits = len(shop.repo.commits)
    with pytest.raises(Refused) as fault:
        shop.export(*jobs, **other)
    assert shop.files == before
    assert len(shop.repo.commits) == commits
    return fault.value


def test_what_is_released_and_stands_goes_out_with_stamp_manifest_and_record(shop):
    report = shop.export()
    assert sorted(shop.files) == ["MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC", MANIFEST]
    main = shop.files["MILL2/O1001.NC"]
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert main.startswith(f"%\r\nO1001 (PART)\r\n(ID {mark} 4471 OP10 R1 REL 1 MILL2)\r\n".encode())
    assert scan.identity(main).fingerprint == scan.identity(program(1001, sub=1002)).fingerprint
    assert [(one.path, one.action, one.revision, one.release) for one in report.files] == [
        ("MILL2/O1001.NC", "written", "r1", 1),
        ("MILL2/O1003.NC", "written", "r1", 1),
        ("MILL2/O1002.NC", "written", "r1", 1),
    ]
    assert [(one.operation, one.state) for one in report.operations] == [
        ("op10", "proven"),
        ("op20", "proven"),
    ]
    (record,) = exports(shop)
    assert (record.machine, record.stick, record.purpose, record.by) == ("MILL2", "BLUE-1", "released", "ss")
    assert record.manifest == hashlib.sha256(shop.files[MANIFEST]).hexdigest()
    assert {one.path: one.sha256 for one in record.files} == {
        path: hashlib.sha256(data).hexdigest() for path, data in shop.files.items() if path != MANIFEST
    }
    assert report.record == "records/20260206T080100Z-export-MILL2-ss.toml"


def test_the_manifest_says_what_lies_there_for_whom_and_until_when(shop):
    shop.export()
    listed = json.loads(shop.files[MANIFEST])
    assert {key: listed[key] for key in ("schema", "stick", "machine", "purpose", "at", "by", "until")} == {
        "schema": "proveout/manifest/1",
        "stick": "BLUE-1",
        "machine": "MILL2",
        "purpose": "released",
        "at": "2026-02-06T08:01:00Z",
        "by": "ss",
        "until": "2026-03-08T08:01:00Z",
    }
    assert [(one["file"], one["operation"], one["release"]) for one in listed["files"]] == [
        ("O1001.NC", "op10", 1),
        ("O1002.NC", "op10", 1),
        ("O1003.NC", "op20", 1),
    ]


def test_a_program_two_operations_share_carries_its_own_digits_and_says_sub():
    shop = StickShop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op10", "4471/op20")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    report = shop.export()
    own = scan.identity(sub_program(1002)).fingerprint[:8].upper()
    assert f"(ID {own} 4471 SUB REL 1 MILL2)\r\n".encode() in shop.files["MILL2/O1002.NC"]
    (shared,) = [one for one in report.files if one.path == "MILL2/O1002.NC"]
    assert shared.users == ("4471/op10", "4471/op20")


def common_shop() -> StickShop:
    """Two jobs that call common/O8001."""
    shop = StickShop()
    shop.repo.save({"common/O8001.nc": sub_program(8001)})
    shop.add_job("5001", "O5001.nc", program(5001, sub=8001))
    shop.add_job("5002", "O5002.nc", program(5002, sub=8001))
    for job in ("5001", "5002"):
        shop.check_in(f"{job}/op10")
        shop.prove(f"{job}/op10")
        shop.release(job)
    return shop


def test_a_program_several_jobs_share_names_none_of_them_whichever_goes_out():
    shop = common_shop()
    shop.export()
    own = scan.identity(sub_program(8001)).fingerprint[:8].upper()
    assert f"(ID {own} COMMON MILL2)\r\n".encode() in shop.files["MILL2/O8001.NC"]
    before = shop.files["MILL2/O8001.NC"]
    report = shop.export("5001")
    assert shop.files["MILL2/O8001.NC"] == before
    assert {one.action for one in report.files} == {"unchanged"}


def test_two_releases_with_different_texts_of_one_common_program_are_refused():
    shop = common_shop()
    shop.save("common/O8001.nc", sub_program(8001, depth="0.3"))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    fault = refused(shop)
    assert fault.name == "two-texts"
    (reason,) = fault.reasons
    assert reason == (
        "common/O8001.nc has one text in 5002/op10 r1 (release 1) and another in 5001/op10 r2 (release 2); "
        "only one can lie on the stick: release both with the same text"
    )
    assert refused(shop, "5002").name == "two-texts"


def test_two_programs_with_one_name_are_refused_with_both_named(shop):
    shop.add_job("5000", "O1001.nc", program(1001, depth="-0.7"))
    waiver = 'rule = "o-number-twice"\nline = "O1001 (PART)"\nreason = "never on one stick"\nby = "np"\n'
    job = "jobs/5000/job.toml"
    shop.save(job, shop.repo.work[job] + f"[[operations.waivers]]\n{waiver}".encode())
    shop.check_in("5000/op10")
    shop.prove("5000/op10")
    shop.release("5000")
    fault = refused(shop)
    assert fault.name == "cannot-shape"
    assert fault.reasons == (
        "jobs/4471/op10/O1001.nc (4471/op10) and jobs/5000/op10/O1001.nc (5000/op10) would both be O1001.NC on MILL2",
    )
    assert fault.fix is not None
    assert fault.fix.endswith(
        "; the other jobs go without 5000 if they are named: proveout export --machine MILL2 --to DIR 4471"
    )
    shop.export("4471")
    fault = refused(shop, "5000")
    assert fault.name == "name-taken"
    (reason,) = fault.reasons
    assert reason == (
        "MILL2/O1001.NC is jobs/4471/op10/O1001.nc (4471/op10), and jobs/5000/op10/O1001.nc (5000/op10) would have "
        "the same name"
    )


def test_a_called_program_that_moved_takes_no_place_of_one_others_call():
    shop = common_shop()
    shop.export()
    shop.save("jobs/5001/sub/O8001.nc", sub_program(8001, depth="0.3"))
    job = "jobs/5001/job.toml"
    line = sub_program(8001).splitlines()[1].decode().strip()
    waiver = f'rule = "o-number-twice"\nline = "{line}"\nreason = "never on one stick"\nby = "np"\n'
    shop.save(job, shop.repo.work[job] + f"[[operations.waivers]]\n{waiver}".encode())
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    assert refused(shop, "5001").name == "name-taken"


def moved_sub() -> StickShop:
    """4471 on the stick; its sub lies in common/ since, and was released so; op20 is held."""
    shop = released_shop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    shop.repo.remove("jobs/4471/sub/O1002.nc")
    shop.save("common/O1002.nc", sub_program(1002))
    shop.check_in("4471/op10", "4471/op20", "4471/op10-m3", reason="the sub is common")
    for operation in ("op10", "op20"):
        shop.prove(f"4471/{operation}")
    shop.release("4471")
    shop.hold("4471/op20")
    return shop


def test_a_called_program_that_moved_for_all_goes_out_though_one_of_them_is_held():
    shop = moved_sub()
    (sub,) = [one for one in shop.export().files if one.path == "MILL2/O1002.NC"]
    assert (sub.program, sub.action) == ("common/O1002.nc", "replaced")


def test_one_of_the_same_code_takes_no_place_of_one_others_call_where_it_lay():
    shop = common_shop()
    shop.export()
    shop.save("jobs/5001/sub/O8001.nc", sub_program(8001))
    job = "jobs/5001/job.toml"
    line = sub_program(8001).splitlines()[1].decode().strip()
    waiver = f'rule = "o-number-twice"\nline = "{line}"\nreason = "never on one stick"\nby = "np"\n'
    shop.save(job, shop.repo.work[job] + f"[[operations.waivers]]\n{waiver}".encode())
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    assert refused(shop, "5001").name == "name-taken"


def test_what_does_not_stand_is_left_out_with_its_reason_and_what_clears_it(shop):
    shop.hold("4471/op20")
    report = shop.export()
    assert "MILL2/O1003.NC" not in shop.files
    (out,) = report.left_out
    assert (out.operation, out.revision) == ("op20", "r1")
    assert "held by dg" in out.why


def test_what_is_in_no_release_is_left_out_with_what_it_lacks(shop):
    fault = refused(shop, machine="MILL3")
    assert fault.name == "nothing-to-export"
    assert fault.reasons == ("4471/op10-m3 r1: is not in release 1; unproven: never proved on MILL3",)
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    (out,) = [one for one in shop.export().left_out if one.job == "5001"]
    assert out.why.startswith("is in no release; proven ")
    assert out.clears == ("proveout release 5001",)


def test_a_release_that_does_not_hold_the_newest_revision_goes_out_as_it_was_released(shop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.export()
    assert b"Z-0.5 " in shop.files["MILL2/O1001.NC"]


def test_only_the_jobs_named_go_out():
    shop = common_shop()
    report = shop.export("5002")
    assert sorted(shop.files) == ["MILL2/O5002.NC", "MILL2/O8001.NC", MANIFEST]
    assert report.refused_jobs == ()


def test_where_some_jobs_were_named_it_is_said_what_else_lies_there_and_may_run():
    shop = common_shop()
    shop.export()
    assert shop.export("5002").notes == (
        "not of this export, but there from earlier ones, and may run too: MILL2/O5001.NC (5001/op10 r1)",
    )
    assert shop.export().notes == ()
    shop.hold("5001/op10")
    report = shop.export("5002")
    assert report.notes == ()
    assert [one.path for one in report.call_in] == ["MILL2/O5001.NC"]


def test_a_job_that_is_not_released_is_said_beside_one_that_is(shop):
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    report = shop.export("4471", "5001")
    assert report.refused_jobs == ("5001",)
    assert [(one.job, one.operation) for one in report.left_out] == [("5001", "op10")]
    assert refused(shop, "5001").name == "nothing-to-export"


@pytest.mark.parametrize(
    ("call", "name"),
    [
        ({"machine": "MILL9"}, "unknown-machine"),
        ({"machine": None}, "which-machine"),
        ({"by": "zz"}, "unknown-person"),
        ({"by": None}, "who"),
    ],
)
def test_calls_that_are_wrong(shop, call, name):
    with pytest.raises(BadCall) as fault:
        shop.export(**call)
    assert fault.value.name == name


def test_an_unknown_job_is_a_wrong_call(shop):
    with pytest.raises(BadCall) as fault:
        shop.export("4472")
    assert fault.value.name == "unknown-job"
    assert shop.files == {}


def test_somebody_who_left_may_not(shop):
    text = shop.repo.work["shop.toml"].replace(
        b'roles = ["setup"]\n[[people]]', b'roles = ["setup"]\nleft = 2026-01-31\n[[people]]', 1
    )
    shop.repo.save({"shop.toml": text})
    assert refused(shop, by="kp").name == "wrong-role"


def test_a_detached_head_refuses_it(shop):
    shop.repo.detach()
    assert refused(shop).name == "detached-head"


def test_a_shallow_clone_cannot_tell(shop):
    shop.repo.shallow = True
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == "shallow"


def test_a_dry_run_says_it_all_and_writes_nothing(shop):
    plan = shop.export(dry_run=True)
    assert shop.files == {}
    assert exports(shop) == []
    assert plan.record is None
    assert [(one.path, one.action) for one in plan.files] == [
        (one.path, one.action) for one in shop.export().files
    ]


def test_exported_again_nothing_changes_but_the_list(shop):
    shop.export()
    before = {path: data for path, data in shop.files.items() if path != MANIFEST}
    report = shop.export()
    assert {one.action for one in report.files} == {"unchanged"}
    assert {path: data for path, data in shop.files.items() if path != MANIFEST} == before
    assert len(exports(shop)) == 2


def test_a_newer_release_replaces_what_an_export_wrote(shop):
    shop.export()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    report = shop.export()
    assert {one.path: one.action for one in report.files} == {
        "MILL2/O1001.NC": "replaced",
        "MILL2/O1002.NC": "replaced",
        "MILL2/O1003.NC": "replaced",
    }
    assert b"R2 REL 2 MILL2" in shop.files["MILL2/O1001.NC"]


@pytest.mark.parametrize("path", ["MILL2/O1001.NC", "MILL2/o1001.nc"])
def test_what_changed_since_is_collected_first(shop, path):
    shop.export()
    del shop.files["MILL2/O1001.NC"]
    shop.files[path] = b"somebody's edit"
    fault = refused(shop)
    assert fault.name == "collect-first"
    assert any(
        "O1001" in reason.upper() and "was changed since it was exported" in reason
        for reason in fault.reasons
    )


def test_a_stranger_under_our_name_is_not_replaced_on_a_manifests_word(shop):
    own = b"%\nO1001\nM30\n%\n"
    forged = json.dumps(
        {
            "schema": "proveout/manifest/1",
            "files": [{"file": "O1001.NC", "sha256": hashlib.sha256(own).hexdigest()}],
        }
    )
    shop.files.update({"MILL2/O1001.NC": own, MANIFEST: forged.encode()})
    shop.disk._folders_of(MANIFEST)
    fault = refused(shop)
    assert fault.reasons == (
        "MILL2/O1001.NC was changed since it was exported, or is not ours",
        "MILL2/PROVEOUT.JSON is no list an export recorded here wrote: proveout share, if another PC did; else take it off",
    )


def test_an_edit_that_was_taken_in_may_be_replaced(shop):
    shop.export()
    edit = edited(shop.files["MILL2/O1001.NC"], (b"F15.", b"F12.5"))
    shop.files["MILL2/O1001.NC"] = edit
    assert refused(shop).name == "collect-first"
    shop.collect(checkin="4471/op10", reason="less burr")
    shop.export()
    assert b"F15." in shop.files["MILL2/O1001.NC"]
    assert shop.repo.tree().read("jobs/4471/op10/O1001.nc") == edit


def test_other_files_on_the_stick_stay_as_they_are(shop):
    other = {"MILL2/NOTES.TXT": b"mine", "MILL2/O9999.NC": b"%\nO9999\nM30\n%\n", "O1001.NC": b"in the root"}
    shop.files.update(other)
    shop.disk._folders_of("MILL2/x")
    shop.export()
    assert {path: shop.files[path] for path in other} == other


def test_what_may_no_longer_lie_on_the_stick_is_called_in_and_left(shop):
    shop.export()
    kept = shop.files["MILL2/O1003.NC"]
    shop.hold("4471/op20")
    report = shop.export()
    (call,) = report.call_in
    assert (call.stick, call.path, call.operation, call.revision) == (
        "BLUE-1",
        "MILL2/O1003.NC",
        "op20",
        "r1",
    )
    assert "held by dg" in call.why
    assert shop.files["MILL2/O1003.NC"] == kept
    assert "O1003.NC" in [one["file"] for one in json.loads(shop.files[MANIFEST])["files"]]


def test_a_file_written_for_another_machine_is_called_in(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3")
    shop.files["MILL2/O1009.NC"] = shop.files["MILL3/FOR-PROVING/O1001.NC"]
    shop.disk._folders_of("MILL2/x")
    (call,) = shop.export().call_in
    assert (call.path, call.why) == ("MILL2/O1009.NC", "was written for MILL3")


def test_a_text_that_is_still_out_for_its_prove_out_is_not_called_in(shop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    assert shop.export().call_in == ()
    shop.prove("4471/op10")
    shop.release("4471")
    assert {(one.path, one.why) for one in shop.export().leaves} == {
        ("MILL2/FOR-PROVING/O1001.NC", "was for its prove-out; r2 (release 2) is released"),
        ("MILL2/FOR-PROVING/O1002.NC", "was for its prove-out; r2 (release 2) is released"),
        ("MILL2/FOR-PROVING/PROVEOUT.JSON", "speaks of what has left"),
    }


def test_other_sticks_that_carry_an_older_text_are_called_in_until_they_come_home(shop):
    shop.export()
    old = shop.disk
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.new_stick("RED-2")
    report = shop.export()
    assert [(one.stick, one.path, one.why) for one in report.call_in] == [
        ("BLUE-1", "MILL2/O1001.NC", "superseded by r2 (release 2)")
    ]
    assert report.decisions == (
        "BLUE-1 carries 1 file that may not run any more (MILL2/O1001.NC): call it in",
    )
    assert any("RED-2 is no stick of shop.toml" in note for note in report.notes)
    red, shop.disk, shop.label = shop.disk, old, "BLUE-1"
    del shop.files["MILL2/O1001.NC"]
    shop.collect()
    shop.disk, shop.label = red, "RED-2"
    assert shop.export().call_in == ()


def test_a_withdrawn_release_goes_out_no_more_and_an_older_one_does_not_come_back(shop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    shop.withdraw("4471", 2)
    fault = refused(shop)
    assert fault.name == "nothing-to-export"
    *texts, lies = fault.reasons
    assert all("withdrawn" in reason for reason in texts)
    assert lies.startswith("BLUE-1 carries 3 files that may not run any more")


def test_a_release_whose_text_does_not_agree_with_its_record_does_not_go_out(shop):
    for commit in shop.repo.commits.values():
        if "jobs/4471/op20/O1003.nc" in commit.files:
            commit.files["jobs/4471/op20/O1003.nc"] = program(1003, depth="-0.9")
    fault = refused(shop)
    assert fault.name == "nothing-to-export"
    assert "release 1 cannot be derived again" in fault.reasons[0]


def test_a_text_that_is_lost_after_the_release_was_derived_is_never_written(shop):
    usable, _ = Board(shop.desk(), shop.repo.ledger()).on_machine(shop.repo.tree().shop().machine("MILL2"))
    for commit in shop.repo.commits.values():
        if "jobs/4471/op20/O1003.nc" in commit.files:
            commit.files["jobs/4471/op20/O1003.nc"] = program(1003, depth="-0.9")
    lost = {one.source: one for one in gather(shop.repo, usable).programs}["jobs/4471/op20/O1003.nc"]
    with pytest.raises(CouldNot) as fault:
        lost.read()
    assert (fault.value.name, fault.value.where) == ("damaged", "jobs/4471/op20/O1003.nc")


def test_a_text_that_does_not_agree_with_its_record_stays_behind_alone(shop):
    usable, _ = Board(shop.desk(), shop.repo.ledger()).on_machine(shop.repo.tree().shop().machine("MILL2"))
    for commit in shop.repo.commits.values():
        if "jobs/4471/op20/O1003.nc" in commit.files:
            commit.files["jobs/4471/op20/O1003.nc"] = program(1003, depth="-0.9")
    asked_anew = [replace(one, released=replace(one.released, texts={})) for one in usable]
    gathered = gather(shop.repo, asked_anew)
    assert [one.source for one in gathered.programs] == ["jobs/4471/op10/O1001.nc", "jobs/4471/sub/O1002.nc"]
    (out,) = gathered.left_out
    assert (out.operation, out.clears) == ("op20", ("proveout audit",))


def released(mill2: str, main: bytes) -> StickShop:
    shop = StickShop(mill2=mill2)
    shop.save("jobs/4471/op10/O1001.nc", main)
    shop.check_in("4471/op10", "4471/op20")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    return shop


def test_a_line_end_machine_of_another_kind_and_capitals():
    shop = released(
        'line_end = "lf"\ncharacters = "ascii-upper"\nfolder = "Mill 2"',
        program(1001, name="Tr\u00e4ger", sub=1002),
    )
    report = shop.export()
    assert shop.files["Mill 2/O1001.NC"].startswith(b"%\nO1001 (TRAEGER)\n(ID ")
    assert [note for one in report.files for note in one.notes] == [
        "1 place in comments put into plain letters"
    ]


def test_a_text_the_machine_cannot_hold_without_a_change_of_code_is_refused():
    main = edited(program(1001, sub=1002), (b"N210 M30", b"N205 M0 (Turn over)\nN210 M30"))
    shop = released('characters = "ascii-upper"', main)
    fault = refused(shop)
    assert fault.name == "cannot-shape"
    assert "'N205 M0 (Turn over)' counts as code" in fault.reasons[0]
    assert fault.fix == "change the name or the text in the office, or the machine's table in shop.toml"


def test_one_text_that_cannot_be_shaped_says_how_the_other_jobs_go():
    """Whoever stands at the machine cannot change a text in the office, and the stick is wanted for the others."""
    shop = released('characters = "ascii-upper"', program(1001, sub=1002))
    text = edited(program(1501), (b"N210 M30", b"N205 M0 (Turn over)\nN210 M30"))
    shop.add_job("5000", "O1501.nc", text)
    shop.check_in("5000/op10")
    shop.prove("5000/op10")
    shop.release("5000")
    fault = refused(shop)
    assert fault.name == "cannot-shape"
    assert [reason.split(":")[0] for reason in fault.reasons] == ["jobs/5000/op10/O1501.nc"]
    assert fault.fix is not None
    before, _, command = fault.fix.partition("; the other jobs go without 5000 if they are named: ")
    assert (before[:15], command) == ("change the name", "proveout export --machine MILL2 --to DIR 4471")
    shop.export(*command.split()[6:])
    assert refused(shop, "5000").fix == before


# -- when the stick or the power fails -----------------------------------------------------------------------------


def steps_of_an_export() -> int:
    shop = released_shop()
    shop.export()
    return shop.disk.steps


@pytest.mark.parametrize("names", ["done", "lost", "torn"])
@pytest.mark.parametrize("cut", range(1, steps_of_an_export() + 1))
def test_after_a_power_cut_every_program_is_known_and_the_next_export_mends_it(shop, cut, names):
    shop.disk.cut_after = cut
    with pytest.raises(PowerCut):
        shop.export()
    shop.disk = shop.disk.after_cut(names=names, content=False)
    known = {one.sha256 for record in exports(shop) for one in record.files}
    for path, data in shop.files.items():
        if not shop.shaper.leftover(path.rsplit("/", 1)[-1]) and path != MANIFEST:
            assert hashlib.sha256(data).hexdigest() in known, path
    half = [path for path in shop.files if shop.shaper.leftover(path.rsplit("/", 1)[-1])]
    report = shop.export()
    assert sorted(path for path in shop.files if path not in half) == [
        "MILL2/O1001.NC",
        "MILL2/O1002.NC",
        "MILL2/O1003.NC",
        MANIFEST,
    ]
    assert sorted(report.cut_off) == sorted(half)
    assert len(report.decisions) == len(half)
    assert set(shop.verdicts().values()) <= {"as-exported", "incomplete"}


def test_a_stick_pulled_before_the_record_leaves_no_record(shop):
    shop.disk.fails["create"] = OSError(5, "input/output error")
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == "medium-gone"
    assert exports(shop) == []
    assert shop.files == {}


def test_a_record_that_cannot_be_made_leaves_nothing_on_the_stick(shop):
    shop.repo.locked = True
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == "locked"
    assert shop.files == {}


def test_a_stick_pulled_after_the_record_is_said_and_the_record_stands(shop):
    shop.disk.fails["rename"] = OSError(5, "input/output error")
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == "medium-gone"
    assert "run the export again" in (fault.value.fix or "")
    assert len(exports(shop)) == 1
    del shop.disk.fails["rename"]
    shop.export()
    assert set(shop.verdicts().values()) == {"as-exported"}


def test_a_full_stick_is_found_before_anything_is_written(shop):
    shop.disk.free = 1000
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == "no-room"
    assert shop.files == {}


@pytest.mark.parametrize("path", ["MILL2/O1001.NC", MANIFEST])
def test_a_link_in_the_way_is_refused(shop, path):
    shop.disk.links.add(path)
    fault = refused(shop)
    assert fault.name == "link-on-stick"
    assert fault.reasons == (f"{path} is a link",)


# -- for a prove-out -----------------------------------------------------------------------------------------------


def test_for_proving_goes_into_a_folder_of_its_own_and_says_so(shop):
    report = shop.for_proving("4471/op10-m3", machine="MILL3", by="kp")
    mark = shop.revision("4471/op10-m3").record.operation_fingerprint[:8].upper()
    assert shop.files["MILL3/FOR-PROVING/O1001.NC"].startswith(
        f"%\nO1001 (PART)\n(UNPROVEN - FOR PROVE-OUT ONLY)\n(ID {mark} 4471 OP10-M3 R1 MILL3)\n".encode()
    )
    assert sorted(shop.files) == [
        "MILL3/FOR-PROVING/O1001.NC",
        "MILL3/FOR-PROVING/O1002.NC",
        "MILL3/FOR-PROVING/PROVEOUT.JSON",
    ]
    (record,) = exports(shop)
    assert (record.purpose, record.files[0].release) == ("for-proving", None)
    said = shop.shaper.read_manifest(shop.files["MILL3/FOR-PROVING/PROVEOUT.JSON"])
    words = "UNPROVEN - FOR PROVE-OUT ONLY"
    assert [one.unreleased for one in said.files] == [words, words]
    assert [(one.unreleased, one.not_in_text) for one in report.files] == 2 * [(words, None)]
    assert report.operations[0].state == "unproven"


def test_for_proving_takes_a_rejected_text_to_be_tried_again(shop):
    shop.prove("4471/op10-m3", machine="MILL3", result="rejected", cause="setup")
    assert shop.for_proving("4471/op10-m3", machine="MILL3").operations[0].state == "rejected"


@pytest.mark.parametrize(
    ("target", "machine", "name"),
    [("4471/op10", "MILL2", "already-proven"), ("4471/op10", "MILL3", "not-for-machine")],
)
def test_for_proving_refuses_what_needs_none_and_what_is_for_another_machine(shop, target, machine, name):
    with pytest.raises(Refused) as fault:
        shop.for_proving(target, machine=machine)
    assert fault.value.name == name
    assert shop.files == {}


def test_for_proving_refuses_what_is_held(shop):
    shop.hold("4471/op10-m3")
    with pytest.raises(Refused) as fault:
        shop.for_proving("4471/op10-m3", machine="MILL3")
    assert fault.value.name == "held"


def test_for_proving_takes_an_older_revision_that_is_named(shop):
    shop.save("jobs/4471/op10-m3/O1001.nc", program(1001, sub=1002, depth="-0.65"))
    shop.check_in("4471/op10-m3")
    shop.for_proving("4471/op10-m3@r1", machine="MILL3")
    assert b"Z-0.6 " in shop.files["MILL3/FOR-PROVING/O1001.NC"]
    with pytest.raises(BadCall) as fault:
        shop.for_proving("4471/op10-m3@r7", machine="MILL3")
    assert fault.value.name == "unknown-revision"


def test_for_proving_dry_run_writes_nothing(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3", dry_run=True)
    assert shop.files == {}
    assert exports(shop) == []


def test_a_renumbered_copy_that_came_home_is_not_written_over_unseen(shop):
    shop.export()
    shop.files["MILL2/O1001.NC"] = renumbered(shop.files["MILL2/O1001.NC"])
    assert refused(shop).name == "collect-first"


def test_what_goes_out_says_that_something_newer_is_not_released(shop):
    assert not any("newer" in note for one in shop.export().operations for note in one.notes)
    shop.save("jobs/4471/op20/O1003.nc", program(1003, depth="-0.9"))
    shop.check_in("4471/op20")
    report = shop.export()
    said = {one.operation: [note for note in one.notes if "newer" in note] for one in report.operations}
    assert said == {"op10": [], "op20": ["newer and not released: r2"]}
    assert b"newer and not released: r2" in read_me(report)
    shop.prove("4471/op20")
    shop.release("4471")
    assert not any("newer" in note for one in shop.export().operations for note in one.notes)


def test_two_newer_revisions_of_one_number_are_told_apart(shop):
    shop.repo.branch("other")
    shop.repo.switch("other")
    shop.save("jobs/4471/op20/O1003.nc", program(1003, depth="-0.9"))
    shop.check_in("4471/op20")
    shop.repo.switch("main")
    elsewhere = shop.repo.branches.pop("other")  # in another clone, of which nobody knows yet
    shop.save("jobs/4471/op20/O1003.nc", program(1003, depth="-0.95"))
    shop.check_in("4471/op20")
    shop.repo.branches["other"] = elsewhere
    shop.repo.merge("other")
    notes = [note for one in shop.export().operations for note in one.notes if "newer" in note]
    names = sorted(short_name(one.name) for one in newest(shop.repo.ledger(), "4471", "op20"))
    assert len(set(names)) == 2
    assert all(name.startswith("r2-") for name in names)
    assert [sorted(note.removeprefix("newer and not released: ").split(" and ")) for note in notes] == [names]


@pytest.mark.parametrize("folder", ["MILL2", "MILL2/FOR-PROVING"])
def test_the_folder_of_a_machine_on_a_stick_is_no_stick(shop, folder):
    """Written inside it, the old texts would stay where the machine looks."""
    shop.export()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    inside = f"{folder}/"
    files = {path[len(inside) :]: data for path, data in shop.files.items() if path.startswith(inside)}
    shop.new_stick(folder.rpartition("/")[2])
    shop.files.update(files)
    with pytest.raises(BadCall) as fault:
        shop.export()
    assert fault.value.name == "no-stick"
    assert fault.value.fix == "name the folder of the stick, which that one lies in"
    assert shop.files == files
