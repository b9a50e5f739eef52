"""What may not lie on a stick any more is called in, wherever it lies and whatever it went out for."""

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, released_shop, renumbered
from tests.services.test_export_beside import deviate, two_new_jobs
from tests.services.test_export_mirror import mirror
from tests.services.test_export_other_language import TEXT, shop_with
from tracker.errors import Refused
from tracker.services import call_in
from tracker.services.call_in import purpose_in
from tracker.services.hold import hold
from tracker.services.naming import parse_named


def deviating_shop() -> StickShop:
    """r2 of 4471/op10 runs on a deviation on BLUE-1, for twenty hours."""
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    deviate(shop, "4471/op10@r2", 20)
    return shop


def in_deviation(shop: StickShop) -> list[str]:
    return [path for path in shop.files if path.startswith("MILL2/DEVIATION/")]


# -- stopped while its hours run -----------------------------------------------------------------------------------


def test_a_text_of_a_deviation_that_is_held_leaves_before_its_hours_are_over():
    shop = deviating_shop()
    assert len(in_deviation(shop)) == 3
    shop.hold("4471/op10")
    report = shop.export()
    (main,) = [one for one in report.leaves if one.path == "MILL2/DEVIATION/O1001.NC"]
    assert main.why.startswith("held by dg 16 Feb 2026: gauge out of calibration")
    assert in_deviation(shop) == []


def test_one_that_is_rejected_leaves_too_and_a_mirror_does_not_say_it_stays():
    shop = deviating_shop()
    shop.prove("4471/op10@r2", result="rejected", cause="chatter")
    report = mirror(shop)
    assert report.stays == ()
    assert in_deviation(shop) == []


def test_one_on_another_stick_is_called_in():
    shop = deviating_shop()
    shop.hold("4471/op10")
    shop.new_stick("RED-1")
    called = {(one.stick, one.path) for one in shop.export().call_in}
    assert ("BLUE-1", "MILL2/DEVIATION/O1001.NC") in called


def test_one_that_is_not_stopped_stays_its_hours():
    shop = deviating_shop()
    assert shop.export().leaves == ()
    assert len(in_deviation(shop)) == 3


@pytest.mark.parametrize(
    "out",
    [StickShop.for_proving, lambda shop, name: deviate(shop, name, 20)],
    ids=["for-proving", "deviation"],
)
def test_what_lies_beside_and_was_stopped_is_not_said_to_run_until_its_day(out):
    shop = two_new_jobs()
    out(shop, "5001/op10")
    shop.hold("5001/op10")
    report = out(shop, "5002/op10")
    (called,) = report.call_in
    assert called.path.endswith("/O5001.NC")
    assert report.decisions == (
        f"{called.path} may not run any more and still lies there: take it off, or use --mirror",
    )
    listed = shop.shaper.read_manifest(shop.files[f"{report.folder}/PROVEOUT.JSON"]).files
    assert [(one.file, one.may_not_run) for one in listed] == [("O5001.NC", called.why), ("O5002.NC", None)]
    said = report.notes[-1]
    assert ": not of this export, and held by dg 6 Feb 2026: gauge out of calibration" in said
    assert said.endswith("O5001.NC (5001/op10 r1); not to be run, a plain export takes it off")


# -- among what may run, and it went out for something else --------------------------------------------------------


def test_a_text_for_its_prove_out_that_was_copied_among_what_may_run_is_called_in():
    shop = released_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.for_proving("5001/op10")
    assert shop.export().call_in == ()
    shop.files["MILL2/O5001.NC"] = shop.files["MILL2/FOR-PROVING/O5001.NC"]
    (called,) = shop.export().call_in
    assert called.path == "MILL2/O5001.NC"
    assert called.why == (
        "UNPROVEN - FOR PROVE-OUT ONLY, and lies among what may run: is in no release; unproven: never proved on MILL2"
    )


def test_one_in_another_language_is_called_in_though_the_same_bytes_went_out_for_a_prove_out():
    shop = shop_with(TEXT, released=False)
    shop.for_proving("4480/op10")
    shop.prove("4480/op10")
    shop.release("4480")
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.export()
    shop.day(1, 3, 2028)
    shop.prove("5001/op10")
    shop.release("5001")
    (called,) = shop.export().call_in
    assert (called.path, called.why.partition(":")[0]) == ("MILL2/P12.H", "lapsed 1 Feb 2028")


def test_the_folder_says_what_a_text_is_there_for():
    assert [
        purpose_in(one) for one in ("MILL2", "MILL2/For-Proving", "M/DEVIATION/OLD", "MILL2/DEVIATIONS")
    ] == [
        "released",
        "for-proving",
        "deviation",
        "released",
    ]


# -- an edit that was taken in, on another stick -------------------------------------------------------------------


def edited_shop() -> StickShop:
    """O1003 was edited on BLUE-1; RED-1 is in hand."""
    shop = exported_shop()
    path = "MILL2/O1003.NC"
    shop.files[path] = edited(shop.files[path], (b"F15.", b"F12.5"))
    return shop


def called_from_red(shop: StickShop) -> list[tuple[str, str, str | None]]:
    shop.new_stick("RED-1")
    return [(one.stick, one.path, one.revision) for one in shop.export().call_in]


def test_an_edit_that_was_taken_in_and_is_held_is_called_in_from_where_it_lies():
    shop = edited_shop()
    shop.collect(checkin="4471/op20", reason="less burr")
    assert called_from_red(shop.copy()) == []
    shop.hold("4471/op20")
    assert called_from_red(shop) == [("BLUE-1", "MILL2/O1003.NC", "r2")]


def test_one_of_a_text_that_was_released_since_is_called_in_once_that_one_is_older():
    shop = edited_shop()
    shop.collect(checkin="4471/op20", reason="less burr")
    shop.prove("4471/op20", by="kp")
    shop.release("4471")
    assert called_from_red(shop.copy()) == []
    shop.save("jobs/4471/op20/O1003.nc", program(1003, feed="11."))
    shop.check_in("4471/op20", reason="slower still")
    shop.prove("4471/op20")
    shop.release("4471")
    assert called_from_red(shop) == [("BLUE-1", "MILL2/O1003.NC", "r2")]


def test_one_that_was_not_taken_in_is_called_in_for_what_it_was_made_of():
    shop = edited_shop()
    shop.collect()
    assert called_from_red(shop.copy()) == []
    shop.withdraw("4471", 1)
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    shop.new_stick("RED-1")
    (one,) = [one for one in shop.export().call_in if one.path == "MILL2/O1003.NC"]
    assert one.stick == "BLUE-1"
    assert one.why.startswith("was changed there, and what it was made of is withdrawn by dg")


# -- where nothing may go ------------------------------------------------------------------------------------------


def test_a_refusal_says_what_lies_there_all_the_same_and_how_to_take_it_off():
    shop = exported_shop()
    before = dict(shop.files)
    for operation in ("op10", "op20"):
        shop.hold(f"4471/{operation}")
    for jobs in ((), ("4471",)):
        with pytest.raises(Refused) as fault:
            shop.export(*jobs)
        assert fault.value.name == "nothing-to-export"
        assert fault.value.reasons[-1] == (
            "BLUE-1 carries 3 files that may not run any more (MILL2/O1001.NC, MILL2/O1002.NC, MILL2/O1003.NC)"
        )
        assert (
            fault.value.fix == "take off what may not run: proveout export --machine MILL2 --to DIR --mirror"
        )
    assert shop.files == before
    shop.new_stick("RED-1")
    with pytest.raises(Refused) as fault:
        shop.export()
    assert fault.value.reasons[-1].startswith("BLUE-1 carries 3 files")
    assert fault.value.fix == 'proveout lift 4471/op10 --by INITIALS -m "why"'


# -- a hold ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["4471/op20", "4471/op20@r1"])
def test_a_hold_says_which_sticks_carry_it(name):
    shop = exported_shop()
    done = hold(shop.desk(), parse_named(name), by="dg", reason="gauge out of calibration")
    assert done.notes == (
        "lies on BLUE-1 (MILL2), owner kp: MILL2/O1003.NC: not to be run from there while it is held",
    )


@pytest.mark.parametrize("name", ["4471/op10-m3", "4471/op10-m3@r1"])
def test_a_hold_of_what_no_stick_carries_says_nothing_of_sticks(name):
    shop = exported_shop()
    assert hold(shop.desk(), parse_named(name), by="dg", reason="gauge out of calibration").notes == ()


# -- copied out of the machine's folder ----------------------------------------------------------------------------


def test_a_copy_outside_the_machines_folders_is_called_in_once_it_may_not_run():
    shop = exported_shop()
    shop.files["O1003.NC"] = shop.files["OLD/o1003.nc"] = shop.files["MILL2/O1003.NC"]
    assert shop.export().call_in == ()
    shop.hold("4471/op20")
    report = shop.export()
    assert [one.path for one in report.call_in] == ["MILL2/O1003.NC", "O1003.NC", "OLD/o1003.nc"]
    assert report.call_in[-1].why.startswith("a copy outside the machines' folders: held by dg 16 Feb 2026")
    assert "O1003.NC may not run any more and still lies there: take it off" in report.decisions
    once_more = mirror(shop)
    assert once_more.call_in == ()
    assert [one.path for one in once_more.outside.copies] == ["O1003.NC", "OLD/o1003.nc"]


def test_one_for_its_prove_out_that_was_copied_up_is_not():
    shop = two_new_jobs()
    shop.for_proving("5001/op10")
    shop.files["O5001.NC"] = shop.files["MILL2/FOR-PROVING/O5001.NC"]
    assert shop.export().call_in == ()


def test_so_much_is_read_and_no_name_no_export_gave(monkeypatch):
    shop = exported_shop()
    shop.files["O1003.NC"] = shop.files["OLD.NC"] = shop.files["MILL2/O1003.NC"]
    shop.hold("4471/op20")
    assert [one.path for one in shop.export().call_in] == ["MILL2/O1003.NC", "O1003.NC"]
    monkeypatch.setattr(call_in, "MOST_BYTES", 10)
    assert [one.path for one in shop.export().call_in] == ["MILL2/O1003.NC"]


def test_the_list_on_the_stick_says_why_what_still_lies_there_may_not_run():
    shop = exported_shop()
    shop.hold("4471/op20")
    shop.export()
    found = shop.shaper.read_manifest(shop.files["MILL2/PROVEOUT.JSON"])
    said = {one.file: one.may_not_run for one in found.files}
    held = said.pop("O1003.NC")
    assert held is not None
    assert held.startswith("held by dg 16 Feb 2026")
    assert said == {"O1001.NC": None, "O1002.NC": None}


def test_a_refused_export_names_a_stopped_text_in_the_writing_of_a_control_too():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = renumbered(shop.files["MILL2/O1003.NC"])
    shop.hold("4471/op10")
    shop.hold("4471/op20")
    with pytest.raises(Refused) as caught:
        shop.export()
    assert caught.value.name == "nothing-to-export"
    (said,) = [one for one in caught.value.reasons if "O1003.NC" in one and "writing" in one]
    assert said.startswith("MILL2/O1003.NC has the code of 4471/op20 r1 (held by dg ")
