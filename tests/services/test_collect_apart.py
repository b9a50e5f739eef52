"""Collect and identify: texts that went out for a deviation, and what an export took off the stick again."""

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program
from tracker.reports.collect import as_json
from tracker.services.countersign import countersign
from tracker.services.export import export
from tracker.services.export_deviation import Emergency, export_deviation
from tracker.services.identify import NamedFile, identify
from tracker.services.naming import parse_named

MAIN, APART = "MILL2/O1001.NC", "MILL2/DEVIATION/O1001.NC"
UNPROVEN = "UNPROVEN - FOR PROVE-OUT ONLY"
WHY = "spindle of MILL3 is down and the lot is due"


@pytest.fixture
def shop() -> StickShop:
    """r2 of op10, not proved, went out for a deviation of 8 hours beside the released r1."""
    made = exported_shop()
    made.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    made.check_in("4471/op10", reason="deeper")
    export_deviation(
        made.desk(), made.to("MILL2"), parse_named("4471/op10@r2"), Emergency(reason=WHY, hours=8)
    )
    return made


def verdict(shop: StickShop, path: str = APART):
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == path]
    return found


def told(shop: StickShop, path: str = APART):
    return identify(shop.desk(), shop.shaper, [NamedFile(name=path, data=shop.files[path])], "MILL2").files[0]


def test_while_its_hours_run_it_is_as_exported_and_owed(shop):
    found = verdict(shop)
    assert (found.verdict, found.operation, found.revision) == ("as-exported", "op10", "r2")
    assert found.message == (
        "r2, written 16 Feb 2026 by ss, NOT RELEASED, under a deviation, until 16:02 on 16 Feb 2026; a second person is owed"
    )
    assert verdict(shop, MAIN).message.startswith("r1, written 6 Feb 2026 by ss, release 1")


def test_a_countersigned_one_owes_nobody(shop):
    countersign(shop.desk(), parse_named("4471/op10@r2"), machine="MILL2", by="dg", reason="watched it")
    assert "owed" not in verdict(shop).message


def test_when_its_hours_are_over_it_is_stale(shop):
    shop.day(17)
    found = verdict(shop)
    assert (found.verdict, found.revision) == ("stale", "r2")
    assert found.message == (
        "r2, written 16 Feb 2026 by ss, NOT RELEASED, under a deviation whose hours are over. How many parts were made? "
        "Take it off the stick and the control."
    )


def test_it_is_stale_too_where_the_text_was_released_since(shop):
    shop.prove("4471/op10")
    shop.release("4471")
    shop.day(17)
    assert verdict(shop).verdict == "stale"
    assert "it is released: export it plainly" in verdict(shop).message


def test_nobody_is_sent_to_an_export_that_would_refuse_it(shop):
    shop.prove("4471/op10")
    shop.release("4471")
    shop.day(17, year=2029)
    assert "; it is released, and may not run here: lapsed 16 Feb 2028" in verdict(shop).message
    shop.hold("4471/op10")
    assert "released" not in verdict(shop).message


def test_what_was_stopped_meanwhile_is_said(shop):
    shop.hold("4471/op10")
    assert "; stopped since: held by dg" in verdict(shop).message


def test_a_withdrawn_text_must_come_off_there_too(shop):
    shop.prove("4471/op10")
    shop.release("4471")
    shop.withdraw("4471", 2)
    assert verdict(shop).verdict == "withdrawn"


def test_an_edit_of_it_is_held_against_what_went_out(shop):
    shop.files[APART] = edited(shop.files[APART], (b"F15.", b"F12.5"))
    found = verdict(shop)
    assert (found.verdict, found.revision, found.kinds) == ("changed-code", "r2", ("slower",))


def test_a_missing_one_is_missing(shop):
    del shop.files[APART]
    assert verdict(shop).verdict == "missing"


def test_its_list_is_in_order_and_one_of_another_folder_is_not(shop):
    listed = "MILL2/DEVIATION/PROVEOUT.JSON"
    assert listed not in shop.verdicts()
    shop.files["MILL2/FOR-PROVING/PROVEOUT.JSON"] = shop.files[listed]
    shop.disk._folders_of("MILL2/FOR-PROVING/x")
    assert shop.verdicts()["MILL2/FOR-PROVING/PROVEOUT.JSON"] == "other-machine"


def test_what_an_export_took_off_is_not_missing_and_what_is_back_is_judged(shop):
    again = shop.files[APART]
    shop.day(20).export()
    assert not [path for path in shop.files if path.startswith("MILL2/DEVIATION")]
    assert set(shop.verdicts().values()) == {"as-exported"}
    shop.files[APART] = again
    assert verdict(shop).verdict == "stale"


def for_proving() -> StickShop:
    """r2 of op10 out for its prove-out beside the released r1."""
    made = exported_shop()
    made.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    made.check_in("4471/op10", reason="deeper")
    made.for_proving("4471/op10")
    return made


def test_what_a_mirror_took_off_is_not_missing():
    shop = for_proving()
    shop.withdraw("4471", 1)
    export(shop.desk(), shop.to("MILL2"), (), mirror=True)
    assert [path for path in shop.files if path.startswith("MILL2/O")] == []
    assert {path: one for path, one in shop.verdicts().items() if one != "for-proving"} == {}


def test_a_prove_out_an_export_took_off_when_its_week_was_over_is_not_missing():
    shop = for_proving()
    shop.day(28).export()
    assert not [path for path in shop.files if "FOR-PROVING" in path]
    assert set(shop.verdicts().values()) == {"as-exported"}


def test_of_a_prove_out_one_file_that_is_gone_is_missing():
    shop = for_proving()
    del shop.files["MILL2/FOR-PROVING/O1002.NC"]
    gone = verdict(shop, "MILL2/FOR-PROVING/O1002.NC")
    assert (gone.verdict, gone.unreleased) == ("missing", UNPROVEN)
    assert gone.message == f"{UNPROVEN}: was exported to this stick and is not there any more"


def test_the_word_stands_at_every_text_that_is_not_released_and_at_no_other():
    shop = for_proving()
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"F15.", b"F12.5"))
    edit = verdict(shop, path)
    assert (edit.verdict, edit.unreleased) == ("changed-code", UNPROVEN)
    assert edit.message.startswith(f"the code was changed since r2, which went out as {UNPROVEN}: slower. ")
    said = {one["file"]: one.get("unreleased") for one in as_json(shop.collect(dry_run=True))["files"]}
    assert {file for file, words in said.items() if words == UNPROVEN} == {path, "MILL2/FOR-PROVING/O1002.NC"}
    assert said[MAIN] is None


def test_an_edit_of_a_released_text_is_not_said_to_be_unproven():
    shop = exported_shop()
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    edit = verdict(shop, MAIN)
    assert (edit.verdict, edit.unreleased) == ("changed-code", None)
    assert edit.message.startswith("the code was changed since r1: ")


def test_identify_says_it_may_not_run_by_itself(shop):
    one = told(shop)
    assert (one.identity, one.revision, one.may_run) == ("known", "r2", False)
    assert (
        one.why
        == "went out under a deviation, until 16:02 on 16 Feb 2026: only for that, a second person is owed"
    )
    shop.day(17)
    assert told(shop).why == "went out under a deviation whose hours are over"
