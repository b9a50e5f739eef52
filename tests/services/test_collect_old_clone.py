"""The stick comes home to a PC whose clone is older than what lies on it."""

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, released_shop
from tracker.reports.collect_words import decisions
from tracker.services.identify import NamedFile, identify

PLACE = "MILL2/O7001.NC"
STAMP = b"(ID 0BADC0DE 7001 OP10 R1 REL 1 MILL2)\r\n"


def stranger(*, stamp: bytes = STAMP) -> bytes:
    return program(7001, depth="-0.9").replace(b"(OFFICE TEXT)\n", stamp)


def found_on(shop: StickShop):
    return next(one for one in shop.collect(dry_run=True).files if one.file == PLACE)


def test_a_program_with_an_id_that_is_in_no_record_is_to_be_shared_for_before_it_is_adopted():
    shop = exported_shop()
    shop.files[PLACE] = stranger()
    assert STAMP in shop.files[PLACE]
    one = found_on(shop)
    assert one.verdict == "unknown"
    assert one.message.endswith(
        "Its id 0BADC0DE is in no record here: where another PC wrote it, proveout share first."
    )
    (line,) = decisions(shop.collect(dry_run=True))
    assert line.startswith(f"{PLACE}: its id is in no record here: proveout share, and collect again.")


def test_one_without_an_id_is_a_stranger_as_before():
    shop = exported_shop()
    shop.files[PLACE] = stranger(stamp=b"")
    assert "is in no record here" not in found_on(shop).message
    (line,) = decisions(shop.collect(dry_run=True))
    assert line == f"{PLACE}: not known: whose is it? Adopt it, or take it off."


def test_identify_says_so_too():
    shop = released_shop()
    (one,) = identify(shop.desk(), shop.shaper, [NamedFile(name="O7001.NC", data=stranger())], "MILL2").files
    assert (one.identity, one.may_run) == ("unknown", False)
    assert "Its id 0BADC0DE is in no record here" in one.why


def test_an_edit_that_is_taken_in_with_such_an_id_is_still_to_be_decided_about():
    """It may be an edit of what another PC made of the same text: nothing here can tell, so a person is told."""
    shop = exported_shop()
    place = "MILL2/O1003.NC"
    sent = shop.files[place]
    mark = next(line for line in sent.splitlines(keepends=True) if line.startswith(b"(ID "))
    shop.files[place] = edited(sent, (mark, mark.replace(mark[4:12], b"0BADC0DE")), (b"F15.", b"F12.5"))
    report = shop.collect(checkin="4471/op20", reason="less burr")
    assert report.settled == {place: shop.revision("4471/op20").name}
    (line,) = [one for one in decisions(report) if one.startswith(place)]
    assert line.startswith(f"{place}: taken in, and its id is in no record here: proveout share")
    assert [one.file for one in report.undecided] == [place]
