"""Which sticks a recall calls in: by code, as of now, and what went off them since."""

from dataclasses import replace

import pytest

from tests.fakes.stick_shop import edited, exported_shop, program, released_shop, renumbered
from tracker.records.events import CollectRecord, ExportRecord
from tracker.services.carriers import carriers
from tracker.services.naming import parse_named
from tracker.services.release_named import ReleaseNamed
from tracker.services.strike import strike
from tracker.services.where import where
from tracker.services.withdraw import withdraw

ALL = ("MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC")
OWNED = "BLUE-1 (MILL2), owner kp"


@pytest.fixture
def shop():
    return exported_shop()


def recall(shop, number: int = 1, **more):
    return withdraw(
        shop.desk(), ReleaseNamed(job="4471", number=number), by="dg", reason="grip too low", **more
    )


def test_a_stick_is_called_in_with_its_owner_and_the_machines_it_went_to(shop):
    shop.new_stick("RED-2")
    shop.export()
    said = recall(shop)
    assert said.sticks == (f"{OWNED}: {', '.join(ALL)}", f"RED-2 (MILL2): {', '.join(ALL)}")
    assert (said.were_on, said.machines) == ((), ("MILL2",))


def test_one_operation_calls_in_its_own_files_alone(shop):
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_another_revision_with_the_same_code_is_called_in_too(shop):
    text = shop.repo.tree().read("jobs/4471/op20/O1003.nc")
    shop.save("jobs/4471/op20/O1003.nc", edited(text, (b"(OFFICE TEXT)", b"(OTHER WORDS)")))
    shop.check_in("4471/op20")
    shop.release("4471")
    shop.new_stick("RED-2")
    shop.export()
    # release 1 held r1 of op20; RED-2 got r2, which is the same code
    said = recall(shop, operations=("op20",))
    assert said.sticks == (f"{OWNED}: MILL2/O1003.NC", "RED-2 (MILL2): MILL2/O1003.NC")


def test_what_was_replaced_taken_off_or_not_there_any_more_is_told_apart(shop):
    del shop.files["MILL2/O1002.NC"]
    shop.collect()
    text = shop.repo.tree().read("jobs/4471/op10/O1001.nc")
    shop.save("jobs/4471/op10/O1001.nc", edited(text, (b"Z-0.5", b"Z-0.55")))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    said = recall(shop, operations=("op10",))
    assert said.sticks == ()
    assert said.were_on == (f"{OWNED}: MILL2/O1001.NC, MILL2/O1002.NC",)
    assert said.machines == ("MILL2",)


@pytest.mark.parametrize("tidy", [False, True])
def test_an_edit_that_was_taken_in_lies_there_under_both_its_names(shop, tidy):
    """The stick holds r2 by now, and what r1 is recalled for may be in it all the same."""
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op20", reason="less burr", tidy=tidy)
    places = where(shop.desk(), parse_named("4471/op20@r2")).places
    assert [(one.what, one.stick, one.words) for one in places] == [("seen", "BLUE-1", "taken-in")]
    of_r2 = {shop.revision("4471/op20").record.operation_fingerprint}
    (carrier,) = carriers(shop.repo.ledger(), "4471", of_r2, shop.now)
    assert carrier.files == ("MILL2/O1003.NC",)
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)
    shop.files["MILL2/O1003.NC"] = b"%\nO1003\nM30\n%\n"
    shop.collect()
    (carrier,) = carriers(shop.repo.ledger(), "4471", of_r2, shop.now)
    assert carrier.files == (
        "MILL2/O1003.NC",
    )  # it came home as something else, and nobody looked what it was
    del shop.files["MILL2/O1003.NC"]
    shop.collect()
    (carrier,) = carriers(shop.repo.ledger(), "4471", of_r2, shop.now)
    assert (carrier.files, carrier.gone) == ((), ("MILL2/O1003.NC",))


def test_an_edit_that_came_home_leaves_the_stick_on_the_list(shop):
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect()
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def copied(shop, label: str) -> None:
    """The stick as it is, copied to another one."""
    files = dict(shop.files)
    shop.new_stick(label)
    for path, data in files.items():
        shop.disk._folders_of(path)
        shop.files[path] = data


def test_a_stick_copied_from_another_is_called_in_once_it_was_collected(shop):
    copied(shop, "RED-2")
    shop.collect(stick="RED-2")
    assert recall(shop, operations=("op20",)).sticks == (
        f"{OWNED}: MILL2/O1003.NC",
        "RED-2 (MILL2): MILL2/O1003.NC",
    )


def test_what_is_off_the_copy_again_is_not_called_in(shop):
    copied(shop, "RED-2")
    shop.collect(stick="RED-2")
    del shop.files["MILL2/O1003.NC"]
    shop.collect(stick="RED-2")
    said = recall(shop, operations=("op20",))
    assert said.sticks == (f"{OWNED}: MILL2/O1003.NC",)
    assert said.were_on == ("RED-2 (MILL2): MILL2/O1003.NC",)


def test_a_copy_that_lacks_a_file_takes_it_off_no_other_stick(shop):
    text = shop.repo.tree().read("shop.toml").decode()
    shop.repo.save({"shop.toml": text + '[[sticks]]\nname = "RED-2"\nowner = "ss"\n'}, at=shop.now)
    copied(shop, "RED-2")
    del shop.files["MILL2/O1003.NC"]
    said = shop.collect()
    assert said.stick == "RED-2"
    (ask,) = said.asks
    assert ask.startswith(
        "MILL2/PROVEOUT.JSON is the list of BLUE-1: it was copied to RED-2. Export to RED-2"
    )
    (missing,) = [one for one in said.files if one.verdict == "missing"]
    assert missing.message == "stands in the list of BLUE-1 that was copied here, and is not there"
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_of_a_copy_no_label_tells_apart_a_person_is_told_how(shop):
    copied(shop, "usb")
    assert shop.collect(dry_run=True).notes == ()
    del shop.files["MILL2/O1003.NC"]
    said = shop.collect(dry_run=True)
    assert (said.stick, said.notes) == (
        "BLUE-1",
        (
            "taken for BLUE-1 by the list on it: if it is a copy of BLUE-1, say its own name with --stick NAME",
        ),
    )


def test_a_file_renamed_on_the_control_is_called_in_where_it_lies(shop):
    shop.files["MILL2/O9003.NC"] = shop.files.pop("MILL2/O1003.NC")
    shop.collect()
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC, MILL2/O9003.NC",)


def test_a_folder_collected_by_itself_calls_nothing_in_twice(shop):
    for path in [path for path in shop.files if path.startswith("MILL2/")]:
        shop.files[path.removeprefix("MILL2/")] = shop.files.pop(path)
    shop.label = "MILL2"
    assert shop.collect().stick == "BLUE-1"
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_the_next_export_names_the_copy_that_carries_what_may_not_run(shop):
    copied(shop, "RED-2")
    shop.collect(stick="RED-2")
    shop.new_stick("GREEN-3")
    shop.hold("4471/op20")
    named = {(one.stick, one.path) for one in shop.export().call_in}
    assert named == {("BLUE-1", "MILL2/O1003.NC"), ("RED-2", "MILL2/O1003.NC")}


def test_what_never_went_out_calls_nothing_in():
    said = recall(released_shop())
    assert (said.carriers, said.sticks, said.were_on, said.machines) == ((), (), (), ())


def struck(shop, kind: type, by: str = "ss"):
    """A line through the last record of a kind."""
    path = [one.path for one in shop.repo.ledger().records if isinstance(one.record, kind)][-1]
    strike(shop.desk(), path, by=by, reason="the stick was only half in")


def test_a_struck_collect_takes_nothing_off_a_stick(shop):
    del shop.files["MILL2/O1002.NC"]
    shop.collect()
    struck(shop, CollectRecord)
    said = recall(shop)
    assert (said.sticks, said.were_on) == ((f"{OWNED}: {', '.join(ALL)}",), ())


def next_release_struck(shop):
    """A second release of op20, whose export was put down by mistake."""
    shop.save("jobs/4471/op20/O1003.nc", program(1003, depth="-0.55"))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    struck(shop, ExportRecord)


def test_what_a_struck_export_wrote_is_called_in_and_what_it_replaced_too(shop):
    next_release_struck(shop)
    assert recall(shop, 1, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)
    assert recall(shop, 2, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_the_next_export_that_counts_settles_both(shop):
    next_release_struck(shop)
    shop.export()
    said = recall(shop, 1, operations=("op20",))
    assert (said.sticks, said.were_on) == ((), (f"{OWNED}: MILL2/O1003.NC",))


def test_a_copy_with_the_name_of_a_program_in_the_machine_s_folder_is_another_file(shop):
    """Both were looked at: the one in the root is no short path of the other."""
    shop.files["O1003.NC"] = shop.files["MILL2/O1001.NC"]
    shop.collect()
    del shop.files["MILL2/O1001.NC"]
    shop.collect()
    (blue,) = recall(shop, operations=("op10",)).sticks
    assert "O1003.NC" in blue.partition(": ")[2].split(", ")


def a_folder_alone(shop, machine: str) -> None:
    """What lies in a machine's folder is looked at by itself, as with a folder copied to a PC."""
    disk, label, start = shop.disk, shop.label, f"{machine}/"
    shop.new_stick(machine)
    shop.files.update(
        {path.removeprefix(start): data for path, data in disk.files.items() if path.startswith(start)}
    )
    shop.collect(stick="BLUE-1")
    shop.disk, shop.label = disk, label


@pytest.mark.parametrize("left", [{}, {"MILL3/O9.NC": b"%\nO9\nG0 X1.\nM30\n%\n"}])
def test_a_collect_of_one_folder_takes_off_nothing_beside_it(shop, left):
    shop.files["O1003.NC"] = shop.files["MILL2/O1003.NC"]
    shop.collect()
    shop.files.update(left)
    a_folder_alone(shop, "MILL3")
    (blue,) = recall(shop, operations=("op20",)).sticks
    assert blue == f"{OWNED}: MILL2/O1003.NC, O1003.NC"


def test_what_was_seen_in_a_folder_alone_is_gone_when_that_is_looked_at_without_it(shop):
    shop.files["MILL2/OLD.NC"] = shop.files["MILL2/O1003.NC"]
    a_folder_alone(shop, "MILL2")
    assert "MILL2/OLD.NC" in recall(shop.copy(), operations=("op20",)).sticks[0]
    del shop.files["MILL2/OLD.NC"]
    a_folder_alone(shop, "MILL2")
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_an_edit_that_became_a_revision_on_another_stick_is_recalled_on_the_first_one_too(shop):
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect()
    edit = shop.files["MILL2/O1003.NC"]
    shop.new_stick("RED-2")
    shop.files["MILL2/O1003.NC"] = edit
    shop.collect(checkin="4471/op20", reason="less burr")
    shop.prove("4471/op20", by="kp")
    shop.release("4471")
    for number in (2, 1):
        said = recall(shop, number, operations=("op20",)).sticks
        assert {one.partition(" ")[0].rstrip(":") for one in said} == {"BLUE-1", "RED-2"}


def test_another_text_in_a_program_s_place_in_a_folder_alone_is_recalled_and_takes_nothing_off(shop):
    shop.files["MILL2/O1001.NC"] = shop.files["MILL2/O1003.NC"]
    del shop.files["MILL2/O1003.NC"]
    a_folder_alone(shop, "MILL2")
    assert "MILL2/O1001.NC" in recall(shop.copy(), operations=("op20",)).sticks[0]
    assert "MILL2/O1001.NC" in recall(shop, operations=("op10",)).sticks[0]


def test_an_edit_two_collects_hold_against_two_texts_is_recalled_for_both(shop):
    """What it was made of its bytes do not say: once the office made the same change, that text is as likely."""
    sent, text = shop.files["MILL2/O1003.NC"], shop.repo.tree().read("jobs/4471/op20/O1003.nc")
    mark = next(line for line in sent.splitlines(keepends=True) if line.startswith(b"(ID "))
    shop.files["MILL2/O1003.NC"] = edited(
        sent, (mark, b""), (b"F15.", b"F12.5"), (b"G0 Z1. M9", b"G0 Z1.5 M9")
    )
    first = next(one for one in shop.collect().files if one.file == "MILL2/O1003.NC")
    shop.save("jobs/4471/op20/O1003.nc", edited(text, (b"F15.", b"F12.5")))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    stick, label = shop.disk, shop.label
    shop.new_stick("RED-2")
    shop.export()
    shop.disk, shop.label = stick, label
    then = next(one for one in shop.collect().files if one.file == "MILL2/O1003.NC")
    assert [(one.verdict, one.revision) for one in (first, then)] == [
        ("changed-code", "r1"),
        ("changed-code", "r2"),
    ]
    for number in (2, 1):
        assert f"{OWNED}: MILL2/O1003.NC" in recall(shop, number, operations=("op20",)).sticks


def test_of_a_folder_alone_two_files_of_one_name_are_not_both_the_one_that_lies_deeper(shop):
    text = shop.files["MILL2/O1003.NC"]
    shop.new_stick("RED-2")
    shop.files["PC/B/O1003.NC"] = text
    shop.collect()
    shop.new_stick("PC")
    shop.files.update({"B/O1003.NC": text, "O1003.NC": text})
    shop.collect(stick="RED-2")
    (red,) = [one for one in recall(shop, operations=("op20",)).sticks if one.startswith("RED-2")]
    assert red.partition(": ")[2] == "O1003.NC, PC/B/O1003.NC"


def test_an_edit_that_became_a_revision_of_another_job_is_recalled_with_that_too(shop):
    """Two jobs with one program each, the same but for its number: an edit of one, as the other has it by now."""
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    edit = shop.files["MILL2/O1003.NC"]
    shop.collect()
    shop.add_job("9001", "O1003.nc", edit)
    shop.check_in("9001/op10")
    mark = shop.revision("9001/op10").record.operation_fingerprint
    (carrier,) = carriers(shop.repo.ledger(), "9001", {mark}, shop.now)
    assert carrier.files == ("MILL2/O1003.NC",)
    places = where(shop.desk(), parse_named("9001/op10@r1")).places
    assert ("same-code", "9001", True) in [(one.words, one.job, one.same_text) for one in places]
    assert f"{OWNED}: MILL2/O1003.NC" in recall(shop, operations=("op20",)).sticks


def test_another_text_by_the_name_of_one_that_lies_deeper_is_not_that_one(shop):
    before = shop.copy()
    shop.files["O1001.NC"] = shop.files["MILL2/O1003.NC"]
    shop.collect()
    stored = shop.repo.ledger().records[-1]
    (root,) = [one for one in stored.record.files if one.path == "O1001.NC"]
    before.repo.record(stored.path, replace(stored.record, files=(root,), lists=()))
    (blue,) = recall(before, operations=("op20",)).sticks
    assert "O1001.NC" in blue.partition(": ")[2].split(", ")


def test_an_edit_taken_in_from_another_program_s_place_is_recalled_for_what_it_was_made_of(shop):
    shop.files["MILL2/O1001.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    del shop.files["MILL2/O1003.NC"]
    shop.collect(checkin="4471/op20", reason="less burr")
    (blue,) = recall(shop, operations=("op20",)).sticks
    assert "MILL2/O1001.NC" in blue.partition(": ")[2].split(", ")


def test_a_control_s_writing_of_what_two_revisions_hold_is_recalled_for_each_a_collect_named(shop):
    """Two PCs that did not share: one knew r1 alone, the other an r2 with the same code."""
    shop.files["O7001.NC"] = renumbered(shop.files["MILL2/O1003.NC"])
    shop.collect()
    stored = shop.repo.ledger().records[-1]
    (root,) = [one for one in stored.record.files if one.path == "O7001.NC"]
    assert (root.verdict, root.revision[:5]) == ("same-code", "r0001")
    other = replace(root, job="4471", operation="op10", revision=shop.revision("4471/op10").name)
    shop.day(17)
    again = replace(stored.record, at=shop.now, entered=shop.now, files=(other,), lists=())
    shop.repo.record("records/20260217T090000Z-collect-MILL2-kp.toml", again)
    for operation in ("op10", "op20"):
        (blue,) = recall(shop.copy(), operations=(operation,)).sticks
        assert "O7001.NC" in blue.partition(": ")[2].split(", ")
