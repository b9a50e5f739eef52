import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, released_shop
from tracker.errors import BadCall, Refused
from tracker.policy.deviations import OVERDUE, OWED, RUNNING, deviations
from tracker.records.events import DeviationRecord, ExportRecord
from tracker.reports.deviations import sentence
from tracker.reports.status import as_json
from tracker.services.countersign import countersign
from tracker.services.export_deviation import Emergency, export_deviation
from tracker.services.identify import NamedFile, identify
from tracker.services.naming import parse_named
from tracker.services.status import status

WHY = "spindle of MILL2 is down and the lot is due today"


def deviate(shop: StickShop, name: str = "4471/op10-m3", machine: str = "MILL3", **other):
    why = Emergency(
        reason=other.pop("reason", WHY), hours=other.pop("hours", None), lot=other.pop("lot", None)
    )
    return export_deviation(shop.desk(), shop.to(machine, **other), parse_named(name), why)


def sign(shop: StickShop, by: str):
    return countersign(
        shop.desk(), parse_named("4471/op10-m3@r1"), machine="MILL3", by=by, reason="watched the first piece"
    )


def test_it_goes_into_a_folder_of_its_own_with_its_stamp_and_two_records():
    shop = released_shop()
    report = deviate(shop, lot="L7")
    assert report.folder == "MILL3/DEVIATION"
    assert sorted(shop.files) == [
        "MILL3/DEVIATION/O1001.NC",
        "MILL3/DEVIATION/O1002.NC",
        "MILL3/DEVIATION/PROVEOUT.JSON",
    ]
    text = shop.files["MILL3/DEVIATION/O1001.NC"]
    assert b"\n(DEVIATION - NOT RELEASED)\n(ID " in text
    assert b" REL " not in text
    manifest = shop.shaper.read_manifest(shop.files["MILL3/DEVIATION/PROVEOUT.JSON"])
    assert (manifest.purpose, (manifest.until - manifest.at).total_seconds()) == ("deviation", 24 * 3600)
    records = [one.record for one in shop.repo.ledger().records]
    (made,) = [one for one in records if isinstance(one, DeviationRecord)]
    (export,) = [one for one in records if isinstance(one, ExportRecord)]
    assert (made.machine, made.hours, made.lot, made.reason, made.by) == ("MILL3", 24, "L7", WHY, "ss")
    assert export.purpose == "deviation"


def test_every_status_opens_with_it_until_it_is_countersigned_and_over():
    shop = released_shop()
    deviate(shop, hours=8)
    report = status(shop.desk(), may_run=True, machine="MILL2", job="4471")
    assert [one.state for one in report.deviations] == [OWED]
    assert as_json(report)["deviations"][0]["state"] == OWED
    assert "a second person is owed: proveout countersign 4471/op10-m3@r1" in sentence(
        report.deviations[0], "UTC"
    )
    sign(shop, "kp")
    (running,) = status(shop.desk()).deviations
    assert (running.state, running.signed_by) == (RUNNING, "kp")
    assert sentence(running, "UTC").endswith("kp stands behind it")
    shop.day(8)
    assert status(shop.desk()).deviations == ()


def test_what_is_over_and_owed_is_loud_and_can_still_be_signed():
    shop = released_shop()
    deviate(shop)
    shop.day(8)
    (one,) = status(shop.desk()).deviations
    assert one.state == OVERDUE
    assert sentence(one, "UTC").startswith("DEVIATION OVERDUE: 4471/op10-m3 r1 on MILL3 by ss, over since ")
    sign(shop, "kp")
    assert status(shop.desk()).deviations == ()


@pytest.mark.parametrize("by", ["ss", "np"])
def test_who_made_it_and_who_has_no_such_role_cannot_sign_it(by):
    shop = released_shop()
    deviate(shop)
    with pytest.raises(Refused) as caught:
        sign(shop, by)
    assert caught.value.name == "wrong-role"


@pytest.mark.parametrize(
    ("other", "name"),
    [
        ({"reason": None}, "no-reason"),
        ({"reason": "  because it must   "}, "no-reason"),
        ({"hours": 0}, "deviation-hours"),
        ({"hours": 25}, "deviation-hours"),
        ({"hours": -1}, "deviation-hours"),
    ],
)
def test_calls_that_are_wrong(other, name):
    shop = released_shop()
    with pytest.raises(BadCall) as caught:
        deviate(shop, **other)
    assert caught.value.name == name
    assert shop.files == {}


def test_a_shop_that_lets_none_run():
    shop = StickShop(policy="deviation_hours = 0")
    shop.check_in("4471/op10-m3")
    with pytest.raises(Refused) as caught:
        deviate(shop)
    assert caught.value.name == "no-deviations"


def test_what_may_run_needs_none():
    with pytest.raises(Refused) as caught:
        deviate(released_shop(), "4471/op10", "MILL2")
    assert caught.value.name == "may-run"


def test_what_quality_stopped_stays_stopped():
    shop = released_shop()
    shop.hold("4471/op10-m3")
    with pytest.raises(Refused) as caught:
        deviate(shop)
    assert caught.value.name == "held"


def test_what_was_rejected_stays_rejected():
    shop = released_shop()
    shop.prove("4471/op10-m3", "MILL3", result="rejected", cause="program")
    with pytest.raises(Refused) as caught:
        deviate(shop)
    assert caught.value.name == "rejected"


def test_a_dry_run_records_and_writes_nothing():
    shop = released_shop()
    before = len(shop.repo.ledger().records)
    assert deviate(shop, dry_run=True).record is None
    assert (shop.files, len(shop.repo.ledger().records)) == ({}, before)


def test_it_is_never_a_release_and_leaves_the_standing_alone():
    shop = released_shop()
    before = [(row.state, row.released, row.may_run) for row in status(shop.desk()).rows]
    deviate(shop)
    sign(shop, "dg")
    assert [(row.state, row.released, row.may_run) for row in status(shop.desk()).rows] == before


def test_its_text_is_called_in_and_taken_off_when_the_hours_are_over():
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    deviate(shop, "4471/op10@r2", "MILL2", hours=8)
    assert not [one for one in shop.export().call_in if "DEVIATION" in one.path]
    shop.day(20)
    first = shop.disk
    shop.new_stick("RED-2")
    assert "MILL2/DEVIATION/O1001.NC" in {one.path for one in shop.export().call_in if one.stick == "BLUE-1"}
    shop.disk, shop.label = first, "BLUE-1"
    left = {one.path: one.why for one in shop.export().leaves}
    assert left["MILL2/DEVIATION/O1001.NC"] == "was for a deviation, and its hours are over"
    assert not [path for path in shop.files if "DEVIATION" in path]


def test_an_old_deviation_stamp_is_taken_out_of_the_next_copy():
    shop = released_shop()
    deviate(shop)
    data = shop.files["MILL3/DEVIATION/O1001.NC"]
    shop.save("jobs/4471/op10-m3/O1001.nc", data)
    shop.check_in("4471/op10-m3", reason="as it came home")
    shop.for_proving("4471/op10-m3", "MILL3")
    again = shop.files["MILL3/FOR-PROVING/O1001.NC"]
    assert (b"DEVIATION" in again, again.count(b"(ID ")) == (False, 1)


def test_deviations_of_the_whole_ledger_are_at_hand_for_lists():
    shop = released_shop()
    deviate(shop)
    assert [one.record.job for one in deviations(shop.repo.ledger(), shop.now)] == ["4471"]


def test_an_edit_of_it_is_to_be_collected_first_also_where_nothing_may_run():
    shop = released_shop()
    deviate(shop, hours=8)
    shop.day(8)
    path = "MILL3/DEVIATION/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"F15.", b"F12."))
    del shop.files["MILL3/DEVIATION/O1002.NC"]
    report = shop.export(machine="MILL3")
    assert [one.path for one in report.changed] == [path]
    assert "collect it first" in report.changed[0].why
    assert path in shop.files


@pytest.mark.parametrize("stop", ["held", "rejected"])
def test_where_its_text_is_stopped_since_no_status_says_until_when_it_runs(stop):
    shop = released_shop()
    deviate(shop, hours=8)
    assert status(shop.desk()).deviations[0].stopped is None
    if stop == "held":
        shop.hold("4471/op10-m3")
    else:
        shop.prove("4471/op10-m3", "MILL3", result="rejected", cause="chatter")
    report = status(shop.desk())
    (one,) = report.deviations
    said = sentence(one, "UTC")
    assert said.startswith("DEVIATION STOPPED: 4471/op10-m3 r1 on MILL3 by ss, ")
    assert f"not to be run any more, {stop} " in said
    assert "until" not in said
    assert "a second person is owed" in said
    assert as_json(report)["deviations"][0]["stopped"] == one.stopped


def why_not(shop: StickShop, data: bytes) -> str:
    (one,) = identify(shop.desk(), shop.shaper, [NamedFile(name="O1001.NC", data=data)], "MILL3").files
    assert not one.may_run
    return one.why


def test_identify_says_that_it_was_stopped():
    shop = released_shop()
    deviate(shop, hours=8)
    data = shop.files["MILL3/DEVIATION/O1001.NC"]
    assert "only for that" in why_not(shop, data)
    shop.hold("4471/op10-m3")
    assert "went out under a deviation, and was stopped since: held by dg" in why_not(shop, data)
