import io

import pytest
from rich.console import Console

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, released_shop
from tests.services.test_export import common_shop
from tracker.errors import BadCall
from tracker.records.events import ExportRecord, RanRecord, StrikeRecord
from tracker.reports.where import as_json, print_text
from tracker.services.export import export
from tracker.services.naming import parse_named
from tracker.services.where import LIMIT, WhereReport, where


def asked(shop: StickShop, name: str) -> WhereReport:
    return where(shop.desk(), parse_named(name))


def kinds(report: WhereReport) -> list[tuple[str, str | None, str | None]]:
    return [(one.what, one.machine, one.stick) for one in report.places]


def ran(shop: StickShop, name: str, **other) -> None:
    stored = shop.revision(name)
    at = shop.desk().clock.now()
    shop._put(
        RanRecord(
            job="4471",
            operation="op10",
            revision=stored.name,
            machine="MILL2",
            operation_fingerprint=stored.record.operation_fingerprint,
            at=at,
            entered=at,
            by="kp",
            **other,
        ),
        machine="MILL2",
    )


def test_a_revision_that_went_nowhere_says_so_and_what_no_record_can_know():
    report = asked(released_shop(), "4471/op10-m3@r1")
    assert report.places == ()
    assert as_json(report)["limit"] == LIMIT
    assert "cannot know what the spindle ran" in LIMIT


def test_proof_stick_and_run_are_listed_in_order():
    shop = exported_shop()
    ran(shop, "4471/op10", lot="L7", quantity=12, serials=("1", "2"))
    report = asked(shop, "4471/op10@r1")
    assert kinds(report) == [
        ("proved", "MILL2", None),
        ("exported", "MILL2", "BLUE-1"),
        ("ran", "MILL2", None),
    ]
    assert report.places[1].files == ("MILL2/O1001.NC", "MILL2/O1002.NC")
    assert report.places[2].words == "lot L7, 12 pieces, 1, 2"
    assert report.machines == ("MILL2",)
    assert report.sticks == ("BLUE-1",)


def test_what_came_home_is_listed_with_its_verdict():
    shop = exported_shop()
    shop.collect()
    seen = [one for one in asked(shop, "4471/op10@r1").places if one.what == "seen"]
    assert [(one.words, one.stick) for one in seen] == [("as-exported", "BLUE-1")]


def test_another_revision_with_the_same_code_is_told_from_the_revision_itself():
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", edited(program(1001, sub=1002), (b"(OFFICE TEXT)", b"(NEW WORDS)")))
    shop.check_in("4471/op10", reason="wording")
    places = asked(shop, "4471/op10@r2").places
    assert [(one.what, one.revision, one.same_text) for one in places] == [
        ("proved", "r1", False),
        ("exported", "r1", False),
    ]


def test_other_code_is_not_listed_but_the_shared_program_is():
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    (place,) = asked(shop, "4471/op10@r2").places
    assert (place.files, place.same_text, place.part) == (("MILL2/O1002.NC",), False, True)


def test_a_called_program_that_went_out_with_another_operation_took_the_text_nowhere():
    shop = common_shop()
    shop.export("5002")
    report = asked(shop, "5001/op10@r1")
    (place,) = [one for one in report.places if one.what == "exported"]
    assert (place.files, place.job, place.revision, place.part) == (("MILL2/O8001.NC",), "5002", "r1", True)
    assert (report.machines, report.sticks, report.parts) == (("MILL2",), (), ("BLUE-1",))
    out = io.StringIO()
    print_text(report, Console(file=out, width=96))
    text = " ".join(out.getvalue().split())
    assert "exported MILL2 BLUE-1 5002/op10 r1" in text
    assert "0 sticks (none). Programs it calls, beside another text: BLUE-1." in text


def test_of_two_revisions_with_one_number_every_place_says_which():
    shop = exported_shop()
    ran(shop, "4471/op10", lot="L7")
    first = shop.revision("4471/op10@r1")
    shop.repo.record("jobs/4471/records/op10/r0001-dddddddd.toml", first.record)
    digits = first.name.partition("-")[2]
    report = asked(shop, f"4471/op10@r1-{digits}")
    assert {one.revision for one in report.places} == {report.revision} == {f"r1-{digits}"}


def test_a_struck_export_stays_with_its_mark_since_the_stick_still_carries_it():
    shop = exported_shop()
    (export,) = [one for one in shop.repo.ledger().records if isinstance(one.record, ExportRecord)]
    at = shop.desk().clock.now()
    shop.repo.record(
        "records/20260216T090000Z-strike-ss.toml",
        StrikeRecord(record=export.path, at=at, entered=at, by="ss", reason="wrong stick"),
    )
    (place,) = [one for one in asked(shop, "4471/op10@r1").places if one.what == "exported"]
    assert place.struck


def test_what_a_mirror_took_off_is_listed_too():
    shop = exported_shop()
    shop.hold("4471/op10")
    export(shop.desk(), shop.to(), mirror=True)
    report = asked(shop, "4471/op10@r1")
    assert kinds(report)[1:] == [("exported", "MILL2", "BLUE-1"), ("taken off", "MILL2", "BLUE-1")]
    assert report.places[2].files == ("MILL2/O1001.NC", "MILL2/O1002.NC")
    assert report.sticks == ("BLUE-1",)


def test_a_stick_that_came_home_without_it_says_so():
    """Where a text is to be called in, a stick it is no longer on need not be looked for."""
    shop = exported_shop()
    del shop.files["MILL2/O1001.NC"]
    shop.collect()
    report = asked(shop, "4471/op10@r1")
    assert [(one.what, one.files, one.words) for one in report.places[2:]] == [
        ("seen", ("MILL2/O1002.NC",), "as-exported"),
        ("missing", ("MILL2/O1001.NC",), ""),
    ]
    assert [one.stick for one in report.places[2:]] == ["BLUE-1", "BLUE-1"]
    assert report.places[3].same_text


def test_unknown_names_are_wrong_calls():
    with pytest.raises(BadCall, match="r9"):
        asked(released_shop(), "4471/op10@r9")
