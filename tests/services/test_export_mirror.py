import io

import pytest
from rich.console import Console

from tests.fakes.disk import PowerCut
from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, released_shop, renumbered
from tracker.errors import CouldNot, Refused
from tracker.records.events import ExportRecord
from tracker.reports.export import print_text
from tracker.services.export import export
from tracker.services.export_report import MOST_UNKNOWN


def mirror(shop: StickShop, **other):
    return export(shop.desk(), shop.to(**other), mirror=True)


def last_export(shop: StickShop) -> ExportRecord:
    found = [one.record for one in shop.repo.ledger().records if isinstance(one.record, ExportRecord)]
    return max(found, key=lambda record: record.at)


def renamed_shop() -> StickShop:
    """4471 as exported; then the machine's folder holds an older copy of ours under another name, and a stranger."""
    shop = exported_shop()
    shop.files["MILL2/OLD.NC"] = shop.files["MILL2/O1003.NC"]
    shop.files["MILL2/NOTES.TXT"] = b"mine"
    shop.files["PICTURE.PNG"] = b"png"
    return shop


def test_what_of_ours_is_not_in_the_set_leaves_and_the_rest_stays():
    shop = renamed_shop()
    report = mirror(shop)
    assert [(one.path, one.why) for one in report.leaves] == [
        ("MILL2/OLD.NC", "is not in the set for this machine")
    ]
    assert report.unknown == ("MILL2/NOTES.TXT",)
    assert sorted(shop.files) == [
        "MILL2/NOTES.TXT",
        "MILL2/O1001.NC",
        "MILL2/O1002.NC",
        "MILL2/O1003.NC",
        "MILL2/PROVEOUT.JSON",
        "PICTURE.PNG",
    ]
    assert [one.path for one in last_export(shop).removed] == ["MILL2/OLD.NC"]


def test_a_plain_export_takes_nothing_of_the_released_set_away():
    shop = renamed_shop()
    assert shop.export().leaves == ()
    assert "MILL2/OLD.NC" in shop.files


def test_a_dry_run_shows_the_plan_and_takes_nothing_off():
    shop = renamed_shop()
    before = dict(shop.files)
    assert [one.path for one in mirror(shop, dry_run=True).leaves] == ["MILL2/OLD.NC"]
    assert shop.files == before


def test_what_changed_since_is_unknown_and_kept():
    shop = renamed_shop()
    shop.files["MILL2/OLD.NC"] = edited(shop.files["MILL2/OLD.NC"], (b"F15.", b"F12.5"))
    report = mirror(shop)
    assert (report.leaves, report.unknown) == ((), ("MILL2/NOTES.TXT", "MILL2/OLD.NC"))


def test_with_nothing_that_may_run_all_of_ours_leaves():
    shop = exported_shop()
    shop.withdraw("4471", 1)
    report = mirror(shop)
    assert report.files == ()
    assert sorted(shop.files) == ["MILL2/PROVEOUT.JSON"]
    assert shop.shaper.read_manifest(shop.files["MILL2/PROVEOUT.JSON"]).files == ()


def test_a_stick_that_was_mirrored_is_called_in_no_more_for_what_left():
    shop = exported_shop()
    shop.withdraw("4471", 1)
    mirror(shop)
    shop.new_stick("RED-2")
    assert mirror(shop).call_in == ()


def proving_shop() -> StickShop:
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    shop.for_proving("4471/op10")
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files
    return shop


def test_the_next_export_takes_off_what_was_for_proving_once_its_week_is_over():
    shop = proving_shop()
    assert shop.export().leaves == ()
    shop.day(24)
    report = shop.export()
    assert {one.path for one in report.leaves} == {
        "MILL2/FOR-PROVING/O1001.NC",
        "MILL2/FOR-PROVING/O1002.NC",
        "MILL2/FOR-PROVING/PROVEOUT.JSON",
    }
    assert not [path for path in shop.files if "FOR-PROVING" in path]


def test_an_edit_in_the_folder_for_proving_stays_with_its_list():
    shop = proving_shop()
    shop.files["MILL2/FOR-PROVING/O1001.NC"] += b"(EDITED)\r\n"
    shop.day(24)
    shop.export()
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files
    assert "MILL2/FOR-PROVING/PROVEOUT.JSON" in shop.files


def test_a_mirror_leaves_a_text_that_is_still_out_for_its_prove_out():
    shop = proving_shop()
    mirror(shop)
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files


def test_what_stops_the_released_text_takes_no_later_one_off_that_is_out_for_its_prove_out():
    shop = proving_shop()
    shop.prove("4471/op10@r1", result="rejected", cause="machine")
    assert shop.export().leaves == ()
    assert mirror(shop).leaves != ()  # r1's own text goes
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files
    assert "MILL2/O1001.NC" not in shop.files


def test_a_text_out_for_its_prove_out_leaves_when_it_is_held_itself():
    shop = proving_shop()
    shop.hold("4471/op10")
    assert {(one.path, one.why.partition(" 2026")[0]) for one in shop.export().leaves} == {
        ("MILL2/FOR-PROVING/O1001.NC", "held by dg 16 Feb"),
        ("MILL2/FOR-PROVING/O1002.NC", "held by dg 16 Feb"),
        ("MILL2/FOR-PROVING/PROVEOUT.JSON", "speaks of what has left"),
    }


def for_proving_alone() -> StickShop:
    """MILL3, for which nothing is released: a text out for its prove-out, and no other."""
    shop = exported_shop()
    shop.for_proving("4471/op10-m3", machine="MILL3")
    return shop


def test_where_nothing_may_run_the_next_export_takes_it_off_all_the_same():
    shop = for_proving_alone()
    with pytest.raises(Refused) as fault:
        shop.export(machine="MILL3")
    assert fault.value.name == "nothing-to-export"
    shop.day(24)
    with pytest.raises(Refused):
        shop.export("4471", machine="MILL3")
    report = shop.export(machine="MILL3")
    assert "MILL3/FOR-PROVING/O1001.NC" in {one.path for one in report.leaves}
    assert not [path for path in shop.files if "FOR-PROVING" in path]
    assert last_export(shop).files == ()


def test_what_the_office_checks_in_meanwhile_takes_no_text_away_that_is_out_for_its_prove_out():
    """Of an operation in no release, and of one that is released."""
    shop = for_proving_alone()
    shop.save("jobs/4471/op10-m3/O1001.nc", program(1001, sub=1002, depth="-0.65"))
    shop.check_in("4471/op10-m3", reason="deeper")
    with pytest.raises(Refused) as fault:
        shop.export(machine="MILL3")
    assert fault.value.name == "nothing-to-export"
    assert mirror(shop, machine="MILL3").leaves == ()
    assert "MILL3/FOR-PROVING/O1001.NC" in shop.files
    other = proving_shop()
    other.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.8"))
    other.check_in("4471/op10", reason="deeper still")
    assert other.export().leaves == mirror(other).leaves == ()


def test_a_rejected_text_stays_to_be_tried_again():
    shop = proving_shop()
    shop.prove("4471/op10@r2", result="rejected", cause="machine")
    assert shop.export().leaves == ()
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files


def test_one_that_is_not_for_the_machine_any_more_leaves():
    shop = for_proving_alone()
    job = shop.repo.tree().read("jobs/4471/job.toml")
    shop.repo.save({"jobs/4471/job.toml": edited(job, (b'["MILL3"]', b'["MILL2"]'))}, at=shop.now)
    assert {one.path: one.why for one in shop.export(machine="MILL3").leaves} == {
        "MILL3/FOR-PROVING/O1001.NC": "is in no release for this machine any more",
        "MILL3/FOR-PROVING/O1002.NC": "is in no release for this machine any more",
        "MILL3/FOR-PROVING/PROVEOUT.JSON": "speaks of what has left",
    }


def test_an_export_for_another_prove_out_takes_nothing_away():
    shop = proving_shop().day(24)
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    assert shop.for_proving("5001/op10").leaves == ()
    assert "MILL2/FOR-PROVING/O1001.NC" in shop.files


def test_texts_of_a_prove_out_that_were_proved_and_released_leave():
    shop = proving_shop()
    shop.prove("4471/op10@r2")
    shop.release("4471")
    report = shop.export()
    assert "MILL2/FOR-PROVING/O1001.NC" in {one.path for one in report.leaves}


def test_a_stick_that_lets_nothing_be_taken_off_is_said_and_the_record_says_what_was_meant():
    shop = renamed_shop()
    shop.disk.fails["remove MILL2/OLD.NC"] = PermissionError(13, "write protected", "OLD.NC")
    with pytest.raises(CouldNot) as caught:
        mirror(shop)
    assert caught.value.name == "read-only"
    assert "MILL2/OLD.NC" in shop.files


def test_a_power_cut_while_taking_off_leaves_whole_files_and_the_next_mirror_ends_it():
    shop = renamed_shop()
    shop.disk.fails["sync_folder MILL2"] = OSError(5, "gone", "MILL2")
    with pytest.raises(CouldNot):
        mirror(shop)
    shop.disk.fails.clear()
    mirror(shop)
    assert "MILL2/OLD.NC" not in shop.files
    assert not [path for path in shop.files if path.endswith(".TMP")]


def test_nothing_is_taken_off_before_it_is_recorded():
    shop = renamed_shop()
    shop.disk.cut_after = 1
    with pytest.raises(PowerCut):
        mirror(shop)
    assert "MILL2/OLD.NC" in shop.files


def test_a_new_stick_is_mirrored_like_any_other():
    shop = released_shop()
    assert {one.action for one in mirror(shop).files} == {"written"}


def test_a_mirror_says_what_stopped_a_text_it_takes_off():
    shop = exported_shop()
    shop.hold("4471/op20")
    report = export(shop.desk(), shop.to(), mirror=True)
    ((path, why),) = [(one.path, one.why) for one in report.leaves]
    assert path == "MILL2/O1003.NC"
    assert why.startswith("held by dg ")
    assert "gauge out of calibration" in why


def test_a_control_edit_of_what_may_not_run_is_said_by_a_plain_export_too():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.files["MILL2/NOTES.TXT"] = b"mine"
    shop.hold("4471/op20")
    for report in (shop.export(), mirror(shop)):
        assert [(one.path, one.why) for one in report.changed] == [
            ("MILL2/O1003.NC", "was changed since it was exported: collect it first")
        ]
        assert "MILL2/O1003.NC was changed since it was exported: collect it first" in report.decisions
    assert report.unknown == ("MILL2/NOTES.TXT",)
    assert b"F12.5" in shop.files["MILL2/O1003.NC"]


def folder_renamed(shop: StickShop) -> None:
    shop_toml = (shop.repo.tree().read("shop.toml") or b"").decode()
    renamed = shop_toml.replace('id = "MILL2"', 'id = "MILL2"\nfolder = "VMC2"')
    shop.repo.save({"shop.toml": renamed}, at=shop.now)


def test_what_lies_in_the_folder_a_machine_had_before_is_called_in():
    shop = exported_shop()
    folder_renamed(shop)
    shop.files["MILL2/NOTES.TXT"] = b"mine"
    assert [(one.stick, one.path) for one in shop.export().call_in] == []  # they may run there
    shop.hold("4471/op20")
    lay = dict(shop.files)
    report = shop.export()
    (before,) = [one for one in report.call_in if one.path.startswith("MILL2/")]
    assert (before.stick, before.path) == ("BLUE-1", "MILL2/O1003.NC")
    assert before.why.startswith("held by dg ")
    told = [line for line in report.decisions if line.startswith("MILL2/O1003.NC ")]
    assert told == ["MILL2/O1003.NC may not run any more and still lies there: take it off"]
    assert report.leaves == ()
    assert {path for path in lay if path.startswith("MILL2/") and shop.files[path] == lay[path]} == {
        "MILL2/O1001.NC",
        "MILL2/O1002.NC",
        "MILL2/O1003.NC",
        "MILL2/NOTES.TXT",
        "MILL2/PROVEOUT.JSON",
    }


def test_a_mirror_takes_what_is_ours_off_the_folder_its_machine_had_before():
    shop = proving_shop()
    folder_renamed(shop)
    shop.files["MILL2/O1002.NC"] = changed = edited(shop.files["MILL2/O1002.NC"], (b"F60.", b"F40."))
    shop.files["MILL2/FOR-PROVING/NOTES.TXT"] = b"mine"
    report = mirror(shop)
    why = "lies where MILL2 had its folder before"
    assert [(one.path, one.why) for one in report.leaves] == [
        ("MILL2/FOR-PROVING/O1001.NC", why),
        ("MILL2/FOR-PROVING/O1002.NC", why),
        ("MILL2/O1001.NC", why),
        ("MILL2/O1003.NC", why),
    ]
    assert [one.path for one in report.changed] == ["MILL2/O1002.NC"]
    left = {path for path in shop.files if path.startswith("MILL2/")}
    assert left == {
        "MILL2/O1002.NC",
        "MILL2/PROVEOUT.JSON",
        "MILL2/FOR-PROVING/NOTES.TXT",
        "MILL2/FOR-PROVING/PROVEOUT.JSON",
    }
    assert shop.files["MILL2/O1002.NC"] == changed


def test_what_was_for_proving_in_the_folder_a_machine_had_before_goes_after_its_week_too():
    shop = proving_shop()
    folder_renamed(shop)
    assert shop.export().leaves == ()
    leaves = shop.day(30, 3).export().leaves
    assert [(one.path, one.why) for one in leaves] == [
        ("MILL2/FOR-PROVING/O1001.NC", "was out for its prove-out for a week"),
        ("MILL2/FOR-PROVING/O1002.NC", "was out for its prove-out for a week"),
        ("MILL2/FOR-PROVING/PROVEOUT.JSON", "speaks of what has left"),
    ]
    assert "MILL2/O1001.NC" in shop.files


def test_a_list_in_the_folder_a_machine_had_before_goes_with_the_last_program():
    shop = exported_shop()
    folder_renamed(shop)
    mirror(shop)
    assert {path.partition("/")[0] for path in shop.files} == {"VMC2"}
    assert mirror(shop).leaves == ()


def test_of_an_edit_that_was_taken_in_tidied_it_is_said_that_it_is_to_be_taken_off():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = lies = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op20", reason="less burr", tidy=True)
    shop.hold("4471/op20")
    (changed,) = shop.export().changed
    assert changed.why.startswith(
        "has the code of 4471/op20 r2 (held by dg 16 Feb 2026: gauge out of calibration; "
    )
    assert " in a writing that is in no record: " in changed.why
    assert changed.why.endswith("take it off by hand")
    assert shop.files["MILL2/O1003.NC"] == lies


def test_of_an_edit_that_was_taken_in_it_is_said_which_revision_it_is():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op20", reason="less burr")
    shop.hold("4471/op20")
    assert shop.export().decisions == (
        "MILL2/O1003.NC is 4471/op20 r2, taken in and not for this stick: take it off by hand",
    )


def test_of_thousands_of_strangers_the_first_are_named_and_the_rest_counted():
    shop = exported_shop()
    shop.files.update({f"MILL2/PIC{at:05}.PNG": b"png" for at in range(2_000)})
    report = mirror(shop)
    assert len(report.unknown) == 2_000
    assert len(report.decisions) == MOST_UNKNOWN + 1
    assert (
        report.decisions[-1]
        == "1,980 more files in MILL2 in no record: collect them, or take them off by hand"
    )
    out = io.StringIO()
    print_text(report, Console(file=out, width=100))
    assert out.getvalue().count("kept, unknown") == MOST_UNKNOWN + 1  # and the summary
    assert "1,980 more files in MILL2, in no record: kept" in out.getvalue()


# -- carried there past every export -------------------------------------------------------------------------------


def test_an_office_text_carried_to_the_stick_by_hand_is_named_where_it_may_not_run():
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.files["MILL2/O5001.NC"] = program(5001)
    (one,) = shop.export().changed
    assert one.path == "MILL2/O5001.NC"
    assert one.why == (
        "is 5001/op10 r1 as it was checked in (is in no release; unproven: never proved on MILL2), and no export wrote it "
        "there: take it off by hand"
    )
    report = mirror(shop)
    assert (report.unknown, report.changed) == ((), (one,))
    assert shop.files["MILL2/O5001.NC"] == program(5001)


def test_one_that_may_run_is_named_by_a_mirror_alone():
    shop = exported_shop()
    shop.files["MILL2/COPY.NC"] = program(1003)
    assert shop.export().changed == ()
    (one,) = mirror(shop).changed
    assert one.why == (
        "is 4471/op20 r1 as it was checked in, and no export wrote it there: take it off by hand"
    )


def test_one_in_another_writing_is_named_where_it_may_not_run():
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.files["MILL2/O7001.NC"] = renumbered(program(5001))
    (one,) = shop.export().changed
    assert one.path == "MILL2/O7001.NC"
    assert one.why == (
        "has the code of 5001/op10 r1 (is in no release; unproven: never proved on MILL2) in a writing that is in no record: "
        "collect tells comments from the control; then take it off by hand"
    )
    report = mirror(shop)
    assert (report.unknown, report.changed) == ((), (one,))


def test_one_in_another_writing_that_may_run_is_named_by_a_mirror_alone():
    shop = exported_shop()
    shop.files["MILL2/COPY.NC"] = renumbered(program(1003))
    assert shop.export().changed == ()
    (one,) = mirror(shop).changed
    assert one.why.startswith("has the code of 4471/op20 r1 in a writing that is in no record: ")


def test_one_for_its_prove_out_is_named_once_it_is_stopped():
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.files["MILL2/FOR-PROVING/O5001.NC"] = program(5001)
    assert shop.export().changed == ()
    shop.hold("5001/op10")
    (one,) = shop.export().changed
    assert "(held by dg 16 Feb 2026" in one.why


def test_a_plan_is_a_table_also_where_something_is_in_the_way():
    shop = exported_shop()
    shop.files["MILL2/O1001.NC"] = edited(shop.files["MILL2/O1001.NC"], (b"F15.", b"F12.5"))
    shop.files["MILL2/OLD.NC"] = shop.files["MILL2/O1003.NC"]
    before = dict(shop.files)
    plan = mirror(shop, dry_run=True)
    assert {one.path: one.action for one in plan.files} == {
        "MILL2/O1001.NC": "in-the-way",
        "MILL2/O1002.NC": "unchanged",
        "MILL2/O1003.NC": "unchanged",
    }
    assert [one.path for one in plan.leaves] == ["MILL2/OLD.NC"]
    assert plan.decisions[0].startswith(
        "nothing would be written: MILL2/O1001.NC was changed since it was exported, or is not ours: run proveout collect"
    )
    out = io.StringIO()
    print_text(plan, Console(file=out, width=100))
    assert "MILL2/O1001.NC  in the way" in out.getvalue()
    assert shop.files == before
    with pytest.raises(Refused) as caught:
        mirror(shop)
    assert caught.value.name == "collect-first"
