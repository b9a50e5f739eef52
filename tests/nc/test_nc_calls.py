import pytest

from tests.fakes.programs import around
from tracker.nc.calls import calls, header_comments, needs_strict, program_numbers

ONE = [
    ("M98 P1002", "M98", ((1002, 1),)),
    ("N10 m98 p01002 l3", "M98", ((1002, 3),)),
    ("M98 P51002", "M98", ((51002, 1), (1002, 5))),
    ("M98 P00051002", "M98", ((51002, 1), (1002, 5))),
    ("M98 P51002 L2", "M98", ((51002, 2),)),
    ("M98 P50000", "M98", ((50000, 1),)),
    ("M198 P31002", "M198", ((31002, 1), (1002, 3))),
    ("M97 P1000 L5", "M97", ((1000, 5),)),
    ("M97 P51000", "M97", ((51000, 1),)),
    ("G65 P9010 A1. L2", "G65", ((9010, 2),)),
    ("G66 P19010", "G66", ((19010, 1),)),
    ("X1. G0 M98 P7", "M98", ((7, 1),)),
    ("/M98 P7", "M98", ((7, 1),)),
    ("IF[#1EQ0]THEN M98 P7", "M98", ((7, 1),)),
    ("o100 call [1.] [#2]", "call", ((100, 1),)),
    ("M98 P7 (SUB FOR HOLES)", "M98", ((7, 1),)),
    ("M98 P7 X.", "M98", ((7, 1),)),
    ("M98 P51002 X.", "M98", ((51002, 1), (1002, 5))),
]

BLIND = [
    ("M98 P#100", "M98"),
    ("M98 P[#1+1000]", "M98"),
    ("G65 P#1 A1.", "G65"),
    ("M98 <O100.NC>", "M98"),
    ('M98 P"SUB"', "M98"),
    ("M98", "M98"),
    ("M98 P1000 P1001", "M98"),
    ("o<sub> call", "call"),
    ("o#1 call", "call"),
    ("M97 300", "M97"),
    ("CALL SUB1", "call"),
    ("M98 P" + "9" * 20, "M98"),
]


@pytest.mark.parametrize(("line", "word", "readings"), ONE, ids=[row[0] for row in ONE])
def test_a_call_is_read_every_way_it_may_be_read(line, word, readings):
    (call,) = calls(around(line))
    assert (call.line, call.text, call.word, call.readings) == (7, line, word, readings)
    assert not call.variable


@pytest.mark.parametrize(("line", "word"), BLIND, ids=[row[0] for row in BLIND])
def test_a_call_that_cannot_be_followed_says_so(line, word):
    (call,) = calls(around(line))
    assert (call.word, call.readings, call.variable) == (word, (), True)


@pytest.mark.parametrize(
    "line", ["(M98 P1002)", "M9 P8", "G54.1 P7", "M99", "G4 P98", "G1 X98.", "; M98 P7 for holes", "M980 P1"]
)
def test_what_is_no_call(line):
    assert calls(around(line)) == ()


def test_two_calls_on_a_line_and_calls_in_order():
    found = calls(around("M98 P1\nG65 P2 M98\nM98 P3"))
    assert [(call.line, call.word) for call in found] == [(7, "M98"), (8, "G65"), (8, "M98"), (9, "M98")]


def test_physical_lines_count_blank_ones_and_leader():
    assert [call.line for call in calls(b"\0\n\n%\r\n\r\nM98 P7\r\nM30\r\n%")] == [5]


@pytest.mark.parametrize(
    ("data", "numbers"),
    [
        (b"O1001 (A)\nG0\nM30\n", (1001,)),
        (b"%\nO0007\nM30\nO8 M98 P7\nM99\n:9\nM99\n%\n", (7, 8, 9)),
        (b"O02002\nM99\nO2002\nM99\n", (2002, 2002)),
        (b"%O1234(NAME)\nG0 X1.\n", (1234,)),
        (b"% MyProgram\nG0 X1.\n", ()),
        (b"N5 O6\nG0\n", (6,)),
        (b"o100 sub\nG0\no100 endsub\nM2\n", ()),
        (b"(O5)\nG0 X1.\n", ()),
        (b"G0 X1.\n", ()),
        (b"BEGIN PGM 7 MM\nTOOL CALL 1\n", ()),
        (b"O" + b"9" * 30 + b"\nG0\n", ()),
        (b"", ()),
    ],
)
def test_program_numbers(data, numbers):
    assert program_numbers(data) == numbers


STRICT = ["M99 P10", "N5 M99 P#1", "M98 P1000 Q20", "M98 H20", "M198 P1 Q2", "G65 P9010 H11", "G66 P1 Q2."]
STRICT += [
    "G71 P1 Q2 A30.",
    "G73 A1.",
    "M99 P10 X.",
    "M98 P1000 Q20 X.",
    "m 99 p10",
    "M97 P10 H2",
    "M96 P10 Q20",
]
LOOSE = [
    "M99",
    "M98 P1000 L2",
    "G83 Q1. P5",
    "G43 H1",
    "G71 P1 Q2 U1.",
    "G65 P9010 A1.",
    "G76 A60. P1",
    "(M99 P10)",
]


@pytest.mark.parametrize("line", STRICT)
def test_lines_named_from_another_program_ask_for_the_strict_form(line):
    assert needs_strict(around(line))


@pytest.mark.parametrize("line", LOOSE)
def test_other_lines_do_not(line):
    assert not needs_strict(around(line))


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"%\nO1 (A)\n(B)\n(POST X 1.0)\nN10 G20\n(C)\n", ("A", "B", "POST X 1.0")),
        (b"(A)\n%\nO1\n; b\nG0 (C)\n", ("A", " b")),
        (b"%O12(A)\n(B)\nG0 X1.\n", ("A", "B")),
        (b"O1 (A\n(B)\nG0\n", ("A", "B")),
        (b"(MSG,A)\n(B) (C)\n#1=2 (D)\n", ("MSG,A", "B", "C")),
        (b"N1 (A)\nN2 (B)\nX1. (C)\n", ("A", "B")),
        (b"G0 X1. (A)\n", ()),
        (b"", ()),
    ],
)
def test_header_comments_end_with_the_first_block(data, found):
    assert header_comments(data) == found
