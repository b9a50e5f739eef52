"""The code of one text with the id line of another: what is read back at the machine names the wrong text."""

import re

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, renumbered
from tracker.reports.collect_words import decisions
from tracker.services.identify import NamedFile, identify

MAIN, OTHER = "MILL2/O1001.NC", "MILL2/O1003.NC"
LINE = re.compile(rb"\(ID[^)]*\)")
WORDS = f"{MAIN}: its id line is of another text, and that is what is read back at the machine: take it off, and export again."


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def with_line(data: bytes, line: bytes) -> bytes:
    found, count = LINE.subn(line, data)
    assert count == 1
    return found


def line_of(data: bytes) -> bytes:
    (line,) = LINE.findall(data)
    return line


def told(shop: StickShop, data: bytes):
    (one,) = identify(shop.desk(), shop.shaper, [NamedFile(name="X.NC", data=data)], "MILL2").files
    return one


def on_stick(shop: StickShop):
    report = shop.collect(dry_run=True)
    return report, next(one for one in report.files if one.file == MAIN)


@pytest.mark.parametrize("short", [False, True])
def test_the_id_of_another_operation_is_to_be_decided_and_may_not_run(shop, short):
    line = line_of(shop.files[OTHER])
    shop.files[MAIN] = with_line(shop.files[MAIN], line[: line.index(b" 4471")] + b")" if short else line)
    report, found = on_stick(shop)
    assert (found.verdict, found.operation) == ("same-code", "op10")
    assert found.message.endswith(". Its id line is that of 4471/op20 r1, not of this text.")
    assert decisions(report) == (WORDS,)
    one = told(shop, shop.files[MAIN])
    assert (one.identity, one.operation, one.may_run) == ("known", "op10", False)
    assert one.why == "its id line is that of 4471/op20 r1: export it again"


def test_a_second_id_line_beside_its_own_is_another_texts_too(shop):
    own, other = line_of(shop.files[MAIN]), line_of(shop.files[OTHER])
    shop.files[MAIN] = with_line(shop.files[MAIN], other + b"\r\n" + own)
    report, _ = on_stick(shop)
    assert decisions(report) == (WORDS,)
    assert not told(shop, shop.files[MAIN]).may_run


def test_its_own_id_line_says_nothing_in_any_writing(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"\r\n", b"\n"))
    _, found = on_stick(shop)
    assert (found.verdict, found.aside) == ("same-code", "writing")
    assert "id line" not in found.message
    assert told(shop, shop.files[MAIN]).may_run


def test_a_program_that_operations_share_carries_its_own_digits(shop):
    sub = "MILL2/O1002.NC"
    shop.files[sub] = edited(shop.files[sub], (b"\r\n", b"\n"))
    assert shop.shaper.marks(shop.files[sub])
    found = next(one for one in shop.collect(dry_run=True).files if one.file == sub)
    assert (found.verdict, found.aside) == ("same-code", "writing")
    assert told(shop, shop.files[sub]).may_run


def test_a_lost_id_line_and_the_bytes_of_an_export_are_as_they_were(shop):
    assert told(shop, shop.files[MAIN]).may_run
    shop.files[MAIN] = with_line(shop.files[MAIN], b"(X)")
    assert told(shop, shop.files[MAIN]).may_run
    assert "Its id line is lost." in on_stick(shop)[1].message


def test_an_id_no_record_has_may_not_run(shop):
    shop.files[MAIN] = with_line(shop.files[MAIN], b"(ID 0BADC0DE)")
    words = "Its id 0BADC0DE is in no record here: where another PC wrote it, proveout share first."
    assert words in on_stick(shop)[1].message
    one = told(shop, shop.files[MAIN])
    assert (one.identity, one.may_run, one.why) == ("known", False, words)


def test_where_a_text_may_not_run_anyway_its_id_line_is_told_beside_that(shop):
    shop.files[MAIN] = with_line(shop.files[MAIN], line_of(shop.files[OTHER]))
    shop.hold("4471/op10")
    one = told(shop, shop.files[MAIN])
    assert one.why.startswith("held by dg")
    assert one.why.endswith("; its id line is that of 4471/op20 r1: export it again")


def test_an_edit_that_was_taken_in_and_released_still_carries_the_id_it_was_made_of(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    assert shop.collect(checkin="4471/op10", reason="less burr").undecided == ()
    assert decisions(shop.collect(dry_run=True)) == (
        f"{MAIN}: for a prove-out only: prove it, or take it off.",
    )
    assert "id line" not in on_stick(shop)[1].message
    shop.prove("4471/op10", by="kp")
    shop.release("4471")
    report, found = on_stick(shop)
    assert (found.verdict, found.revision) == ("same-code", "r2")
    assert WORDS in decisions(report)
    assert told(shop, shop.files[MAIN]).why == "its id line is that of 4471/op10 r1: export it again"
    shop.export()
    assert decisions(shop.collect(dry_run=True)) == ()
    assert told(shop, shop.files[MAIN]).may_run


def test_one_program_of_a_dump_carries_the_id_of_another(shop):
    both = [shop.files.pop(path) for path in (MAIN, OTHER)]
    first = with_line(renumbered_with_line(both[0]), line_of(both[1]))
    shop.files["MILL2/ALL.NC"] = first[: first.rindex(b"%")] + both[1][both[1].index(b"O1003") :]
    report = shop.collect(dry_run=True)
    dump = next(one for one in report.files if one.file == "MILL2/ALL.NC")
    assert [one.aside for one in dump.parts] == ["id", ""]
    assert decisions(report)[0].startswith("MILL2/ALL.NC#O1001: its id line is of another text")


def renumbered_with_line(data: bytes) -> bytes:
    """As a control may write it, its id line kept."""
    line = line_of(data)
    head, _, rest = renumbered(data).partition(b"\r\nN")
    return head + b"\r\n" + line + b"\r\nN" + rest
