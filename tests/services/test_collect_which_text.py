"""Which revision a control edit was made of, where more than one of the program went out to the machine."""

import re

import pytest

from tests.fakes.stick_shop import JOB, StickShop, edited, exported_shop, program, released_shop, renumbered
from tracker.errors import Refused
from tracker.nc.scan import identity
from tracker.policy.find import label
from tracker.records.events import CollectRecord
from tracker.reports.collect_words import decisions
from tracker.services.identify import NamedFile, identify

MAIN, APART = "MILL2/O1001.NC", "MILL2/FOR-PROVING/O1001.NC"
OFFICE = "jobs/4471/op10/O1001.nc"
EDIT = (b"Z0. F20.", b"Z0. F18.")


def without_stamp(data: bytes) -> bytes:
    found, count = re.subn(rb"\(ID[^)]*\)\r\n", b"", data)
    assert count == 1
    return found


def two_out() -> StickShop:
    """r1 was exported, and lies there still; the office's r2 with another depth lies beside it for its prove-out."""
    shop = exported_shop()
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    return shop


def verdict_on(shop: StickShop, path: str):
    return next(one for one in shop.collect(dry_run=True).files if one.file == path)


@pytest.mark.parametrize("as_saved", [bytes, without_stamp])
def test_an_edit_of_the_text_that_stayed_is_no_edit_of_the_later_one(as_saved):
    shop = two_out()
    shop.files[MAIN] = as_saved(edited(shop.files[MAIN], EDIT))
    found = verdict_on(shop, MAIN)
    assert (found.verdict, found.revision) == ("changed-code", "r1")
    assert "motion" not in found.kinds
    assert "feed" in found.kinds
    with pytest.raises(Refused) as fault:
        shop.collect(checkin="4471/op10", reason="chips")
    assert fault.value.name == "both-changed"
    assert {line.split(":")[0] for line in fault.value.reasons} == {
        "O1001.nc, office since r1 (r2)",
        f"O1001.nc, control since r1 ({MAIN})",
    }


@pytest.mark.parametrize("as_saved", [bytes, without_stamp])
def test_an_edit_of_the_later_one_is_taken_in_after_it(as_saved):
    shop = two_out()
    shop.files[APART] = as_saved(edited(shop.files[APART], EDIT))
    assert verdict_on(shop, APART).revision == "r2"
    (done,) = shop.collect(checkin="4471/op10", reason="chips").taken_in.checked_in
    assert [label(origin.revision) for origin in done.record.origins] == ["r2"]


@pytest.mark.parametrize("as_saved", [bytes, without_stamp])
def test_of_one_line_changed_on_both_sides_the_place_says_which_it_was(as_saved):
    shop = two_out()
    shop.files[MAIN] = as_saved(edited(shop.files[MAIN], (b"Z-0.5 ", b"Z-0.6 ")))
    assert verdict_on(shop, MAIN).revision == "r1"


def test_an_older_stick_is_held_against_what_went_out_on_it():
    shop = exported_shop()
    first = dict(shop.files)
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.new_stick("RED-1")
    shop.export()
    shop.new_stick("BLUE-1")
    shop.files.update(first)
    shop.files[MAIN] = edited(shop.files[MAIN], EDIT)
    assert verdict_on(shop, MAIN).revision == "r1"


@pytest.mark.parametrize("as_saved", [bytes, without_stamp])
def test_a_second_edit_on_the_same_stick_is_an_edit_of_what_was_taken_in(as_saved):
    shop = exported_shop()
    shop.files[MAIN] = as_saved(edited(shop.files[MAIN], EDIT))
    shop.collect(checkin="4471/op10", reason="chips")
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12."))
    assert verdict_on(shop, MAIN).revision == "r2"
    (done,) = shop.collect(checkin="4471/op10", reason="less burr").taken_in.checked_in
    assert [label(origin.revision) for origin in done.record.origins] == ["r2"]


def taken_in_once(change: tuple[bytes, bytes], **how) -> StickShop:
    """r1 went out, was edited at the control, and the edit is r2; the stick still carries it."""
    shop = exported_shop()
    shop.files[MAIN] = edited(shop.files[MAIN], change)
    shop.collect(checkin="4471/op10", reason="chips", **how)
    return shop


@pytest.mark.parametrize("tidy", [False, True])
@pytest.mark.parametrize("as_saved", [bytes, without_stamp])
@pytest.mark.parametrize(
    ("first", "second"),
    [
        (EDIT, (b"Z0. F18.", b"Z0. F16.")),  # the very line once more
        (EDIT, (b"F15.", b"F12.")),
        ((b"X1001.", b"X1001. F12.\nX1000. F11."), (b"F11.", b"F10.")),  # a line that the first edit added
    ],
)
def test_a_second_edit_on_one_stick_follows_the_first_whatever_line_it_is(tidy, as_saved, first, second):
    shop = taken_in_once(first, tidy=tidy)
    shop.files[MAIN] = as_saved(edited(shop.files[MAIN], second))
    found = verdict_on(shop, MAIN)
    assert (found.verdict, found.revision) == ("changed-code", "r2")
    (done,) = shop.collect(checkin="4471/op10", reason="less burr", tidy=tidy).taken_in.checked_in
    assert [label(origin.revision) for origin in done.record.origins] == ["r2"]
    assert len([change for change in found.changes if change.old is not None]) == 1


def test_an_edit_that_has_a_line_of_the_first_text_again_is_held_against_the_first():
    """It came from a control that still had r1: taken in after r2 it would undo what r2 changed."""
    shop = taken_in_once(EDIT)
    shop.files[MAIN] = edited(shop.files[MAIN], (EDIT[1], EDIT[0]), (b"F15.", b"F12."))
    assert verdict_on(shop, MAIN).revision == "r1"
    with pytest.raises(Refused) as fault:
        shop.collect(checkin="4471/op10", reason="less burr")
    assert fault.value.name == "both-changed"
    assert "by the office or by an edit taken in before" in fault.value.what


def test_what_was_taken_in_on_one_stick_says_nothing_of_another():
    shop = taken_in_once(EDIT)
    lay = dict(shop.files)
    shop.new_stick("RED-1")
    shop.files.update(lay)
    shop.files[MAIN] = edited(shop.files[MAIN], (EDIT[1], b"Z0. F16."))
    found = {one.file: one for one in shop.collect(dry_run=True, stick="RED-1").files}
    assert found[MAIN].revision == "r1"


def test_what_was_taken_in_and_exported_over_is_held_against_the_export():
    shop = taken_in_once(EDIT)
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    shop.files[MAIN] = edited(shop.files[MAIN], (b"Z0. F20.", b"Z0. F16."))
    assert verdict_on(shop, MAIN).revision == "r3"


def test_comments_the_office_changed_since_are_no_change_of_the_control():
    """r2 has the stamp of r1, since its code is the same; what lies there is r1 all the same."""
    shop = exported_shop()
    text = shop.repo.tree().read(OFFICE)
    shop.save(OFFICE, edited(text, (b"(OFFICE TEXT)", b"(CHECK DRILL RUNOUT FIRST)")))
    shop.check_in("4471/op10", reason="a hint")
    shop.files[MAIN] = edited(shop.files[MAIN], EDIT)
    found = verdict_on(shop, MAIN)
    assert (found.verdict, found.revision, found.kinds) == ("changed-code", "r1", ("feed",))


@pytest.mark.parametrize("end", [b"\r", b"\n\r\r"])
def test_a_stamp_is_not_said_to_be_lost_where_the_control_ends_lines_otherwise(end):
    shop = exported_shop()
    shop.files[MAIN] = shop.files[MAIN].replace(b"\r\n", b"\n").replace(b"\n", end)
    found = verdict_on(shop, MAIN)
    assert found.verdict == "same-code"
    assert "id line is lost" not in found.message


def test_an_edit_whose_stamp_names_a_text_of_another_pc_says_so():
    there = two_out()
    here = exported_shop()
    here.files[MAIN] = there.files[APART]
    found = verdict_on(here, MAIN)
    mark = there.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert (
        f"Its id {mark} is in no record here: where another PC wrote it, proveout share first."
        in found.message
    )
    here.files[MAIN] = edited(exported_shop().files[MAIN], EDIT)
    assert "in no record here" not in verdict_on(here, MAIN).message


def test_another_jobs_program_in_the_place_of_the_one_exported_there_is_to_be_decided():
    """Two jobs with one O number: what the other calls lies beside it, too, and is not its own."""
    shop = released_shop()
    shop.add_job("5000", "O1001.nc", program(1001, depth="-0.7"))
    waiver = 'rule = "o-number-twice"\nline = "O1001 (PART)"\nreason = "never on one stick"\nby = "np"\n'
    job = "jobs/5000/job.toml"
    shop.save(job, shop.repo.work[job] + f"[[operations.waivers]]\n{waiver}".encode())
    shop.check_in("5000/op10")
    shop.prove("5000/op10")
    shop.release("5000")
    shop.export("5000")
    other = shop.files["MILL2/O1001.NC"]
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == "MILL2/O1001.NC"]
    assert not found.open
    shop.new_stick("RED-1")
    shop.export("4471")
    shop.files["MILL2/O1001.NC"] = other
    report = shop.collect()
    (found,) = report.undecided
    assert (found.file, found.verdict, found.job) == ("MILL2/O1001.NC", "as-exported", "5000")
    assert found.message.endswith("release 1; O1001.nc of 4471/op10 r1 was exported to this place")
    assert decisions(report) == (
        "MILL2/O1001.NC: in the place of another program: who put it there? Take it off and export again.",
    )


@pytest.mark.parametrize("as_saved", [lambda data: data, renumbered])
def test_a_called_program_in_the_place_of_the_main_one_of_its_own_operation(as_saved):
    """The file list of the control shows the name of the main program, and nothing of it is on the stick."""
    shop = StickShop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    for job in ("4471/op10", "4471/op10-m3"):
        shop.check_in(job)
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    shop.files["MILL2/O1003.NC"] = as_saved(shop.files.pop("MILL2/O1002.NC"))
    report = shop.collect()
    (found,) = report.undecided
    assert (found.file, found.aside) == ("MILL2/O1003.NC", "place")
    assert found.message.endswith("; O1003.nc of 4471/op20 r1 was exported to this place")
    with pytest.raises(Refused) as caught:
        shop.export()
    assert caught.value.reasons[0].startswith("MILL2/O1003.NC ")


def test_a_program_the_office_renamed_is_no_other_one():
    shop = exported_shop()
    shop.repo.remove(OFFICE)
    shop.save("jobs/4471/job.toml", JOB.replace('"op10/O1001.nc"', '"op10/PLATE.nc"'))
    text = program(1001, sub=1002, depth="-0.55")
    shop.save("jobs/4471/op10/PLATE.nc", text)
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.files[MAIN] = text
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert (found.verdict, found.revision, found.aside) == ("same-code", "r2", "")


@pytest.mark.parametrize(("kept", "gone"), [(MAIN, APART), (APART, MAIN)])
def test_an_edit_in_its_own_place_is_not_the_one_that_is_gone_from_another(kept, gone):
    shop = two_out()
    shop.files[kept] = edited(shop.files[kept], EDIT)
    del shop.files[gone]
    assert (verdict_on(shop, kept).verdict, verdict_on(shop, gone).verdict) == ("changed-code", "missing")


def test_an_edit_saved_under_another_name_is_the_one_that_is_gone():
    shop = two_out()
    shop.files["MILL2/O1001A.NC"] = edited(shop.files.pop(MAIN), EDIT)
    assert verdict_on(shop, "MILL2/O1001A.NC").verdict == "changed-code"
    assert [one.file for one in shop.collect(dry_run=True).files if one.verdict == "missing"] == []


# -- edited from a text for another machine ------------------------------------------------------------------------

ELSEWHERE = "MILL3/O1001.NC"


def in_another_folder(as_saved) -> StickShop:
    """The text for MILL2, edited, in the folder of MILL3, whose own operation has a text of the same number."""
    shop = exported_shop()
    shop.files[ELSEWHERE] = as_saved(edited(shop.files[MAIN], EDIT))
    shop.disk._folders_of("MILL3/x")
    return shop


def test_an_edit_of_another_machines_text_is_put_down_with_its_own_code():
    shop = in_another_folder(bytes)
    shop.collect()
    records = [one.record for one in shop.repo.ledger().records]
    files = [one for one in records if isinstance(one, CollectRecord)][-1].files
    (file,) = [one for one in files if one.path == ELSEWHERE]
    assert file.fingerprint == identity(shop.files[ELSEWHERE]).fingerprint
    assert file.fingerprint not in [one.fingerprint for one in shop.revision("4471/op10").record.files]


def test_an_edit_of_another_machines_text_is_none_of_this_machines_operation():
    shop = in_another_folder(bytes)
    one = verdict_on(shop, ELSEWHERE)
    assert (one.verdict, one.operation, one.revision) == ("other-machine", "op10", "r1")
    assert "an edit of 4471/op10 r1, as its id line says: for MILL2, not for MILL3" in one.message
    (line,) = decisions(shop.collect(dry_run=True))
    assert line.startswith(f"{ELSEWHERE}: an edit of a text for another machine: who edited it")
    for name in ("4471/op10-m3", "4471/op10"):
        with pytest.raises(Refused) as fault:
            shop.collect(checkin=name, reason="chips")
        assert fault.value.name == "nothing-to-take-in"


def test_put_into_the_folder_of_its_machine_it_is_taken_in():
    shop = in_another_folder(bytes)
    shop.files[MAIN] = shop.files.pop(ELSEWHERE)
    (done,) = shop.collect(checkin="4471/op10", reason="chips").taken_in.checked_in
    assert done.record.operation == "op10"


def test_without_its_id_line_it_is_held_against_the_text_for_the_machine():
    shop = in_another_folder(without_stamp)
    one = verdict_on(shop, ELSEWHERE)
    assert (one.verdict, one.operation) == ("changed-code", "op10-m3")
    assert "motion" in one.kinds


def test_identify_names_what_the_id_line_says():
    shop = in_another_folder(bytes)
    file = NamedFile(name="O1001.NC", data=shop.files[ELSEWHERE])
    (one,) = identify(shop.desk(), shop.shaper, [file], "MILL3").files
    assert (one.identity, one.operation, one.may_run) == ("changed", "op10", False)
    assert "motion" not in one.kinds
    assert one.why.endswith("4471/op10 is for MILL2, not for MILL3")


FAMILY = {"5000": (b"O1003", b"O5000"), "6000": (b"O1003", b"O6000")}
NO_STAMP = (re.compile(rb"\(ID[^)]*\)\r\n"), b"")


@pytest.mark.parametrize(
    "swaps",
    [((b"O5000", b"O7000"), (b"Z-0.7", b"Z-0.75")), (NO_STAMP, (b"F15", b"F12"), (b"Z1. M9", b"Z1.5 M9"))],
    ids=["id line", "number"],
)
def test_of_two_programs_it_is_as_much_like_the_text_itself_says_which_it_was_and_not_its_name(swaps):
    """Two parts of one family, told apart by little more than number and comment: one laid by hand in the other's place."""
    shop = released_shop()
    for job, own in FAMILY.items():
        text = edited(program(1003, depth="-0.7"), own)
        # of a text that has no stamp the other one has the feed, and this one the number
        feed = (b"F15", b"F12") if NO_STAMP in swaps and job == "6000" else (b"F15", b"F15")
        shop.add_job(job, f"O{job}.nc", edited(text, feed))
        shop.check_in(f"{job}/op10")
        shop.prove(f"{job}/op10")
        shop.release(job)
    shop.export()
    text = shop.files["MILL2/O5000.NC"]
    for old, new in swaps:
        text, count = re.subn(old, new, text)
        assert count
    shop.new_stick("RED-2")
    shop.files["O6000.NC"] = text
    found = verdict_on(shop, "O6000.NC")
    assert (found.verdict, found.job) == ("changed-code", "5000")
