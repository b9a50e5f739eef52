"""An export puts down what of ours it saw on the stick and no record has there: a recall has to find that stick too."""

import hashlib

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, renumbered
from tests.services.test_export_mirror import last_export, mirror
from tracker.records.events import RevisionRecord
from tracker.services.carriers import carriers
from tracker.services.naming import parse_named
from tracker.services.strike import strike
from tracker.services.where import where


def copied_shop() -> StickShop:
    """4471 on BLUE-1, which was copied to GREEN, the one in hand; 5001 is released too."""
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    files = dict(shop.files)
    shop.new_stick("GREEN")
    shop.files.update(files)
    return shop


def recalled(shop: StickShop) -> dict[str, tuple[str, ...]]:
    """Files by the sticks that carry 4471."""
    ledger = shop.repo.ledger()
    prints = {
        one.record.operation_fingerprint for one in ledger.records if isinstance(one.record, RevisionRecord)
    }
    return {one.stick: one.files for one in carriers(ledger, "4471", prints, shop.now)}


SOURCE = "jobs/4471/op20/O1003.nc"
ALL = ("MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC")


def test_what_a_copied_stick_carries_is_recalled_from_it_too():
    shop = copied_shop()
    report = shop.export("5001")
    assert [one.path for one in last_export(shop).found] == list(ALL)
    assert recalled(shop) == {"BLUE-1": ALL, "GREEN": ALL}
    assert report.notes[1] == (
        "the list in MILL2 was written to BLUE-1: this is BLUE-1 by another name, or a copy of it; it is recorded as GREEN "
        "from now on"
    )


def test_where_names_it_and_it_is_put_down_once():
    shop = copied_shop()
    shop.export("5001")
    report = where(shop.desk(), parse_named("4471/op20"))
    (seen,) = [one for one in report.places if one.stick == "GREEN"]
    assert (seen.what, seen.files) == ("seen", ("MILL2/O1003.NC",))
    again = shop.export("5001")
    assert last_export(shop).found == ()
    assert not [note for note in again.notes if "by another name" in note]


def test_what_may_not_run_is_called_in_from_it_by_an_export_to_another():
    shop = copied_shop()
    shop.hold("4471/op20")
    shop.export("5001")
    shop.new_stick("RED-1")
    assert {(one.stick, one.path) for one in shop.export().call_in} == {
        ("BLUE-1", "MILL2/O1003.NC"),
        ("GREEN", "MILL2/O1003.NC"),
    }


def test_a_text_for_its_prove_out_among_what_may_run_is_called_in_from_there():
    shop = copied_shop()
    shop.add_job("6001", "O6001.nc", program(6001))
    shop.check_in("6001/op10")
    shop.for_proving("6001/op10")
    shop.files["MILL2/O6001.NC"] = shop.files["MILL2/FOR-PROVING/O6001.NC"]
    shop.export()
    shop.new_stick("RED-1")
    assert [(one.stick, one.path) for one in shop.export().call_in] == [("GREEN", "MILL2/O6001.NC")]


def test_what_leaves_or_was_written_there_is_not_found_there():
    shop = copied_shop()
    shop.hold("4471/op20")
    mirror(shop)
    assert last_export(shop).found == ()
    assert recalled(shop)["GREEN"] == ("MILL2/O1001.NC", "MILL2/O1002.NC")


def test_an_edit_that_was_taken_in_elsewhere_is_found_by_its_bytes():
    shop = copied_shop()
    text = program(1003, feed="12.5")
    shop.save("jobs/4471/op20/O1003.nc", text)
    shop.check_in("4471/op20")
    shop.files["MILL2/COPY.NC"] = text
    shop.export("5001")
    (found,) = [one for one in last_export(shop).found if one.path == "MILL2/COPY.NC"]
    assert (found.job, found.operation, found.program) == ("4471", "op20", "jobs/4471/op20/O1003.nc")
    assert found.revision == shop.revision("4471/op20").name
    shop.hold("4471/op20")
    shop.new_stick("RED-1")
    assert ("GREEN", "MILL2/COPY.NC") in {(one.stick, one.path) for one in shop.export().call_in}


def test_a_copy_in_another_writing_is_found_by_its_code():
    shop = exported_shop()
    shop.files["MILL2/COPY.NC"] = data = renumbered(program(1003))
    shop.export()
    (found,) = last_export(shop).found
    assert (found.path, found.revision) == ("MILL2/COPY.NC", shop.revision("4471/op20").name)
    assert found.sha256 == hashlib.sha256(data).hexdigest()
    assert recalled(shop) == {"BLUE-1": ("MILL2/COPY.NC", *ALL)}


def test_an_export_for_a_prove_out_finds_one_in_its_own_folder():
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.files["MILL2/FOR-PROVING/COPY.NC"] = renumbered(program(1003))
    shop.files["MILL2/FOR-PROVING/NOTES.NC"] = b"%\nO9999\nG0 X9.\nM30\n%\n"
    shop.for_proving("5001/op10")
    assert [one.path for one in last_export(shop).found] == ["MILL2/FOR-PROVING/COPY.NC"]


# -- taken off by hand ---------------------------------------------------------------------------------------------


def test_what_was_taken_off_by_hand_is_called_in_no_more():
    shop = exported_shop()
    shop.hold("4471/op20")
    assert [one.path for one in shop.export().call_in] == ["MILL2/O1003.NC"]
    del shop.files["MILL2/O1003.NC"]
    shop.export()
    assert [one.path for one in last_export(shop).missing] == ["MILL2/O1003.NC"]
    assert recalled(shop) == {"BLUE-1": ("MILL2/O1001.NC", "MILL2/O1002.NC")}
    shop.export()
    assert last_export(shop).missing == ()
    report = where(shop.desk(), parse_named("4471/op20"))
    assert [one.what for one in report.places if one.files == ("MILL2/O1003.NC",)] == ["exported", "missing"]
    shop.new_stick("RED-1")
    assert shop.export().decisions == ()


def test_an_edit_that_was_taken_off_by_hand_is_gone_too():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = shop.files["MILL2/O1003.NC"].replace(b"F15.", b"F12.5")
    shop.collect()
    shop.hold("4471/op20")
    del shop.files["MILL2/O1003.NC"]
    shop.export()
    assert [one.path for one in last_export(shop).missing] == ["MILL2/O1003.NC"]


def test_another_stick_by_the_same_name_takes_nothing_off_the_first():
    shop = exported_shop()
    shop.hold("4471/op20")
    shop.new_stick("BLUE-1")
    (note,) = shop.export().notes
    assert note == (
        "BLUE-1 had a list in MILL2 on 6 Feb 2026, and this stick has none: it was emptied, or is another one by the same "
        "name; what that one carries is not looked at here. If it was emptied: proveout collect DIR --stick BLUE-1"
    )
    assert last_export(shop).missing == ()
    assert shop.export().notes == ()
    assert last_export(shop).missing == ()
    shop.new_stick("RED-1")
    assert [(one.stick, one.path) for one in shop.export().call_in] == [("BLUE-1", "MILL2/O1003.NC")]


def test_an_export_with_a_line_through_it_is_not_believed_about_what_is_gone():
    shop = exported_shop()
    shop.hold("4471/op20")
    del shop.files["MILL2/O1003.NC"]
    shop.export()
    (stored,) = [one for one in shop.repo.ledger().records if one.record == last_export(shop)]
    strike(shop.desk(), stored.path, by="ss", reason="that was another stick")
    assert recalled(shop)["BLUE-1"] == ALL


def copied_apart() -> StickShop:
    """A copy of a program lies in a folder of its own, and a mirror put it down."""
    shop = exported_shop()
    shop.files["OLD/O1003.NC"] = shop.files["MILL2/O1003.NC"]
    mirror(shop)
    assert recalled(shop) == {"BLUE-1": (*ALL, "OLD/O1003.NC")}
    return shop


def test_a_copy_that_was_the_last_in_its_folder_is_gone_once_the_stick_was_collected_without_it():
    shop = copied_apart()
    del shop.files["OLD/O1003.NC"]
    shop.collect()
    assert recalled(shop) == {"BLUE-1": ALL}


def test_a_collect_of_another_folder_alone_takes_nothing_off():
    shop = copied_apart()
    shop.disk.files = {
        path.removeprefix("MILL2/"): data for path, data in shop.files.items() if path.startswith("MILL2/")
    }
    shop.label = "MILL2"
    shop.collect(stick="BLUE-1")
    assert "OLD/O1003.NC" in recalled(shop)["BLUE-1"]


# -- two sticks by one name ----------------------------------------------------------------------------------------


def two_by_one_name() -> StickShop:
    """4471 went to one BLUE-1; the one in hand is another, with 5001 on it."""
    shop = copied_shop()
    shop.new_stick("BLUE-1")
    shop.export("5001")
    return shop


def test_what_the_other_stick_by_that_name_lacks_is_recalled_from_the_first_after_any_number_of_exports():
    shop = two_by_one_name()
    for _ in range(2):
        assert shop.export("5001").notes == ()
        assert last_export(shop).missing == ()
        assert recalled(shop) == {"BLUE-1": ALL}


def test_what_is_written_to_the_first_takes_nothing_off_the_other():
    shop = exported_shop()
    first = shop.disk
    shop.new_stick("BLUE-1")
    text = edited(shop.repo.tree().read(SOURCE), (b"Z-0.5", b"Z-0.55"))
    shop.save(SOURCE, text)
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    code = shop.revision("4471/op20@r2").record.operation_fingerprint
    shop.save(SOURCE, edited(text, (b"Z-0.55", b"Z-0.6")))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.disk = first
    shop.export()
    (one,) = carriers(shop.repo.ledger(), "4471", {code}, shop.now)
    assert one.files == ("MILL2/O1003.NC",)


def test_of_a_stick_that_was_emptied_a_person_says_so():
    shop = two_by_one_name()
    assert "missing" not in shop.verdicts().values()
    shop.collect()
    assert recalled(shop) == {"BLUE-1": ALL}
    report = shop.collect(stick="BLUE-1")
    assert [(one.file, one.message) for one in report.files if one.verdict == "missing"] == [
        (path, "was exported to a stick called BLUE-1 and is not there any more") for path in ALL
    ]
    assert recalled(shop) == {"BLUE-1": ()}
    assert "missing" not in shop.verdicts(stick="BLUE-1").values()
    assert shop.export("5001").notes == ()


def test_a_machines_folder_by_itself_says_nothing_of_the_stick():
    shop = two_by_one_name()
    files = {path.removeprefix("MILL2/"): data for path, data in shop.files.items()}
    shop.new_stick("MILL2")
    shop.files.update(files)
    assert "missing" not in shop.verdicts(stick="BLUE-1").values()


def test_a_prove_out_folder_that_was_taken_off_whole_is_missed():
    shop = exported_shop()
    shop.add_job("6001", "O6001.nc", program(6001))
    shop.check_in("6001/op10")
    shop.for_proving("6001/op10")
    for path in [path for path in shop.files if path.startswith("MILL2/FOR-PROVING/")]:
        del shop.files[path]
    shop.export()
    assert [one.path for one in last_export(shop).missing] == ["MILL2/FOR-PROVING/O6001.NC"]


def test_an_export_that_was_cut_off_is_on_the_same_stick_as_the_next_one():
    shop = exported_shop()
    before = dict(shop.files)
    text = edited(shop.repo.tree().read(SOURCE), (b"Z-0.5", b"Z-0.55"))
    for swap in ((b"F20.", b"F21."), (b"F21.", b"F22.")):
        text = edited(text, swap)
        shop.save(SOURCE, text)
        shop.check_in("4471/op20")
        shop.prove("4471/op20")
        shop.release("4471")
        shop.files.clear()
        shop.files.update(before)  # the stick was pulled out: nothing of the export before got its name
        shop.export()
    code = shop.revision("4471/op20@r2").record.operation_fingerprint
    (one,) = carriers(shop.repo.ledger(), "4471", {code}, shop.now)
    assert (one.files, one.gone) == ((), ("MILL2/O1003.NC",))


def test_an_edit_a_list_names_no_more_is_missed_too():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = shop.files["MILL2/O1003.NC"].replace(b"F15.", b"F12.5")
    shop.collect()
    shop.hold("4471/op20")
    shop.export()
    del shop.files["MILL2/O1003.NC"]
    shop.export()
    assert [one.path for one in last_export(shop).missing] == ["MILL2/O1003.NC"]


def test_the_first_coming_home_takes_nothing_off_the_other():
    shop = exported_shop()
    first = shop.disk
    shop.new_stick("BLUE-1")
    shop.save(SOURCE, edited(shop.repo.tree().read(SOURCE), (b"Z-0.5", b"Z-0.55")))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    shop.disk = first
    assert ("MILL2/O1003.NC", "stale") in {(one.file, one.verdict) for one in shop.collect().files}
    for name in ("4471/op20@r1", "4471/op20@r2"):
        code = shop.revision(name).record.operation_fingerprint
        (one,) = carriers(shop.repo.ledger(), "4471", {code}, shop.now)
        assert one.files == ("MILL2/O1003.NC",)
