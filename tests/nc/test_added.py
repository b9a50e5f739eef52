"""Lines of wording put into a text: where their keeping the code is told without reading the text again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.nc import added, ends, fingerprint, scan

STAMP = b"(ID 7F3A09C2 4471 OP10 R5 REL 2 MILL2)\r\n"
CUT = b"N10 G0 X1. Y2.\nG01 X3. F100.\nG10 L2 P1 X0.\n#101=5.\nM98 P1002\nGOTO 10\nM30\n"


def put_in(old: bytes, at: int, stamp: bytes = STAMP) -> tuple[bytes, int]:
    """A text with CR LF and a stamp at a place of the old one; and that place in it."""
    before = old[:at].replace(b"\n", b"\r\n")
    after = old[at:].replace(b"\n", b"\r\n")
    return before + stamp + after, len(before)


def code_of(data: bytes, *, strict: bool) -> str:
    return fingerprint.identity(data, strict=strict).fingerprint


@pytest.mark.parametrize(
    "head",
    [
        b"",
        b"%\n",
        b"%\nO1001\n",
        b"%\nO1001 (PLATE)\n",
        b"\n  \n%\n(DATE: 2026-03-01, POST PLUMB-MILL 1.2)\n O0001(A/B) \n",
    ],
)
@pytest.mark.parametrize("stamp", [STAMP, b"(UNPROVEN - FOR PROVE-OUT ONLY)\r\n" + STAMP, b"(ID 1A2B3C4D)\n"])
def test_a_usual_text_need_not_be_read_again(head, stamp):
    old = head + CUT + b"%\n"
    new, at = put_in(old, len(head), stamp)
    assert added.keeps_code(old, new, at, len(stamp))
    assert code_of(old, strict=False) == code_of(new, strict=False)
    assert code_of(old, strict=True) == code_of(new, strict=True)


@pytest.mark.parametrize(
    ("old", "at"),
    [
        (b"%\nO1001 (PLATE\nG0 X1. (A)\nM30\n%\n", 15),  # comments are code from here on
        (b"%\nO1001\nG10 L50\nN1 R5\nG11\nM30\n%\n", 16),  # lines of a G10 are data
        (b"%\nO1001\nG0 X1.\nM30\n%\n", 15),  # behind code: not looked into
        (b"%\nO1001 <NAME>\nM30\n%\n", 15),
        (b"%\nO1001 (PLATE) (A(B)\nM30\n%\n", 22),
        (b"%\nO1001 ; PLATE\nM30\n%\n", 16),
    ],
)
def test_behind_anything_that_may_stay_open_it_is_read(old, at):
    assert old[at - 1 : at] == b"\n"
    new, place = put_in(old, at)
    assert not added.keeps_code(old, new, place, len(STAMP))


@pytest.mark.parametrize(
    "stamp",
    [
        b"(MSG, LOOK)\r\n",
        b"(MSG LOOK)\r\n",
        b"(PRINT 1)\r\n",
        b"(DEBUG X)\r\n",
        b"(GOTO 10)\r\n",
        b"(PY 1)\r\n",
        b"(ID 7F3A09C2 (B)\r\n",
        b"(ID 7F3A09C2 50%)\r\n",
        b"(ID 7F3A09C2\r\n",
        b"(ID 7F3A09C2) G0 X9.\r\n",
        b"(ID 7F3A09C2)",
        b"(1234)\r\n",
        b"G0 X9.\r\n",
        b"\r\n",
        b"",
    ],
)
def test_what_is_more_than_wording_is_read(stamp):
    old = b"%\nO1001\nG0 X1.\nM30\n%\n"
    new, at = put_in(old, 8, stamp)
    assert not added.keeps_code(old, new, at, len(stamp))


@pytest.mark.parametrize(
    ("was", "is_"),
    [
        (b"X1.", b"X2."),
        (b"X1.", b"x1."),
        (b"G0 X1.\r\n", b"G0 X1.\r\nY1.\r\n"),
        (b"G0 X1.\r\n", b""),
        (b"G0 X1.\r\n", b"G0 X1.\r\r\n"),
        (b"G0 X1.\r\n", b"G0\rX1.\r\n"),
        (b"G0 X1.\r\n", b"G0 X1.\r"),
        (b"%\r\nO1001", b"O1001"),
        (b"M30", b"M30\x00"),
        (b"M30\r\n%\r\n", b"M30\r\n%"),
    ],
)
def test_any_other_difference_is_read(was, is_):
    old = b"%\nO1001\nG0 X1.\nM30\n%\n"
    new, at = put_in(old, 8)
    changed = new.replace(was, is_, 1)
    assert changed != new
    moved = at + (len(is_) - len(was) if new.index(was) < at else 0)
    assert not added.keeps_code(old, changed, moved, len(STAMP))


@pytest.mark.parametrize(
    "old",
    [
        b"%\rO1001\rG0 X1.\rM30\r%\r",
        b"%\nO1001\nG0 X1.\rY1.\nM30\n%\n",
        b"%\nO1001\nG0 X1.\r\r\nM30\n%\n",
        b"%\nO1001\nG0 X1. (\xe4)\nM30\n%\n",
        b"\x00%\nO1001\nG0 X1.\nM30\n%\n",
        b"%\nO1001\nG0 X1.\nM30\n%\n\x1a",
        b"\xef\xbb\xbf%\nO1001\nG0 X1.\nM30\n%\n",
        b"%\nO1001\nG0 X1.\nM30\r",
    ],
)
def test_a_text_with_odd_line_ends_or_letters_is_read(old):
    at = old.replace(b"\r", b"\n").index(b"G0")
    new, place = put_in(old, at)
    assert not added.keeps_code(old, new, place, len(STAMP))


LINES = st.lists(
    st.sampled_from(
        [
            b"%",
            b"%1",
            b"O1001",
            b"O1001 (PLATE)",
            b"O1 (A",
            b":12",
            b"",
            b" \t",
            b"(PLATE)",
            b"(MSG, LOOK)",
            b"(open",
            b"(A (B)",
            b"(50%)",
            b"(12)",
            b"; REMARK",
            b";G0 X1.",
            b"G10 L2 P1 X0.",
            b"G10 L50",
            b"G11",
            b"N10 G0 X1.",
            b"N20",
            b"g1 x2. f10.",
            b"M0 (TURN IT)",
            b"GOTO 10",
            b"M99 P10",
            b"#<_line>=1",
            b"#3000=1 (ALARM)",
            b"o100 sub",
            b"M30",
            b"NO WORDS AT ALL ~",
            b"G0\rX1.",
            b"(\xe4)",
            b"\x1a",
        ]
    ),
    max_size=9,
)
STAMPS = st.sampled_from(
    [
        STAMP,
        b"(ID 1A2B3C4D)\n",
        b"(DEVIATION - NOT RELEASED)\r\n" + STAMP,
        b"(MSG X)\n",
        b"(GOTO 10)\r\n",
        b"(PY 1)\n",
    ]
)


@given(LINES, st.sampled_from([b"\n", b"\r\n"]), st.booleans(), STAMPS, st.data())
def test_where_it_is_sure_the_code_is_the_same(lines, end, closed, stamp, data):
    old = end.join(lines) + (end if closed else b"")
    starts = [0, *(place + 1 for place, byte in enumerate(old) if byte == 10)]
    start = data.draw(st.sampled_from(starts))
    new, at = put_in(old.replace(b"\r\n", b"\n"), start - old[:start].count(b"\r\n"), stamp)
    new = new if new.endswith(b"\n") else new + b"\r\n"
    before = fingerprint.identity(old)
    if before.dialect == "word-address" and added.keeps_code(old, new, at, len(stamp)):
        after = fingerprint.identity(new)
        assert (after.fingerprint, after.dialect) == (before.fingerprint, before.dialect)
        assert code_of(old, strict=True) == code_of(new, strict=True)
        assert scan.identity(new).fingerprint == before.fingerprint


BYTES = st.lists(st.sampled_from([b"\n", b"\r\n", b"\r", b"X1", b" ", b"\t", b"\x00", b"\xe4", b"~"])).map(
    b"".join
)


@given(BYTES, BYTES, BYTES, st.integers(-1, 30), st.integers(-1, 9))
def test_compiled_and_plain_say_the_same_of_line_ends_and_letters(old, more, other, at, size):
    new = old[: max(at, 0)] + more + old[max(at, 0) :]
    for text in (new, other, old + b"\n", new.replace(b"\n", b"\r\n")):
        for count in (size, len(more)):
            assert scan.same_but_ends(old, text, at, count) == ends.same_but_ends(old, text, at, count)
    assert scan.is_plain(old) == ends.is_plain(old)
    assert scan.with_crlf(other.replace(b"\r", b"")) == ends.with_crlf(other.replace(b"\r", b""))


@pytest.mark.parametrize("place", [0, 255, 256, 300, 511, 700])
def test_one_odd_byte_anywhere_in_a_long_text_is_seen(place):
    text = b"X" * 701
    assert scan.is_plain(text)
    for odd in (0, 8, 11, 31, 127, 128, 255):
        assert not scan.is_plain(text[:place] + bytes([odd]) + text[place + 1 :])


def test_both_ways_are_there_without_a_compiler(monkeypatch):
    old = b"%\nO1001\n" + CUT
    new, at = put_in(old, 8)
    monkeypatch.setattr(scan, "_plain", True)
    assert added.keeps_code(old, new, at, len(STAMP))
    assert scan.with_crlf(b"A\n") == b"A\r\n"
    assert not scan.is_plain(b"\xe4")
