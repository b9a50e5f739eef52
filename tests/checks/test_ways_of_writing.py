"""Rules find the same on the same line, whatever line ends a text has and whatever a tape or an editor put around it.

The ways of writing are common practice, no source; that they change nothing is the rule of `tracker.nc.source`.
"""

import pytest

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import INCREMENT, MILLING, edited
from tracker.checks.spans import lines_of, parts_of

WAYS = {
    "CR LF": lambda text: text.replace("\n", "\r\n"),
    "CR alone": lambda text: text.replace("\n", "\r"),
    "LF CR CR": lambda text: text.replace("\n", "\n\r\r"),
    "CR CR LF": lambda text: text.replace("\n", "\r\r\n"),
    "1A at the end": lambda text: text + "\x1a",
    "CR alone and 1A": lambda text: text.replace("\n", "\r") + "\x1a\x1a",
    "leader of a tape": lambda text: "\0" * 40 + text + "\0" * 40,
    "byte-order mark": lambda text: "\xef\xbb\xbf" + text,
    "DC1 and DC3": lambda text: "\x11" + text + "\x13",
}
TEXTS = {
    "as it should be": MILLING,
    "code behind the end": edited(("M30\n", "M30\nG1 X1.\n")),
    "a number without a point": edited(("X2.", "X2")),
    "a tool that is not on the sheet": edited(("T2 M6", "T7 M6")),
}


def findings(text: str) -> list[tuple[object, ...]]:
    return [
        (one.rule, one.line, one.tool, one.message)
        for one in check(subject(text, machine=INCREMENT)).findings
    ]


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_the_same_is_found(way, text):
    assert findings(way(text)) == findings(text)


def test_there_is_something_to_find():
    assert all(findings(text) for name, text in TEXTS.items() if name != "as it should be")


@pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)
def test_the_programs_of_a_file_have_the_same_lines(way):
    found = [(one.number, one.first, one.ends, one.code) for one in parts_of(MILLING.encode("latin-1"))]
    assert [
        (one.number, one.first, one.ends, one.code) for one in parts_of(way(MILLING).encode("latin-1"))
    ] == found


def test_a_leader_with_lines_of_its_own_counts_them():
    lines = lines_of(b"\x11\r\n\x00\r\n%\r\nO1\r\nM30\r\n%\r\n\x13\r\n\x1a")
    assert lines == ["", "", "%", "O1", "M30", "%"]


def test_a_cr_within_a_line_parts_no_lines():
    assert lines_of(b"%\nG1\rX1.\nM30\n") == ["%", "G1\rX1.", "M30"]
