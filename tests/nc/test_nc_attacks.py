"""Pairs found by trying to get one fingerprint for two programs on which a control could act differently.

Each row says why the two must differ. Both engines read every pair, as it stands, with other line ends, in lower case
and inside a scope of its own.
"""

import pytest

from tests.fakes.programs import around
from tracker.nc import scan
from tracker.nc.calls import calls, needs_strict, program_numbers

DIFFERENT = [
    # a whole value may be written with a point (NISTIR 6556 section 3.3.2.1): M0. stops like M0
    ("M0. (FLIP PART)", "M0. (LEAVE PART)"),
    ("M00.0 (FLIP PART)", "M00.0 (LEAVE PART)"),
    ("M60. (TURN)", "M60. (DO NOT TURN)"),
    ("M+1 (CHECK)", "M+1 (GO ON)"),
    # and G10. opens data like G10
    ("G10. L50\nN1815 R1\nG11.", "G10. L50\nN1816 R1\nG11."),
    ("G10.0 L50\nN1815 R1", "G10.0 L50\nN1816 R1"),
    # M98. calls, M99. goes back to a line of another program, M97. jumps
    ("M98. P2 Q10\nM30\nO2\nN10 X1.\nM99", "M98. P2 Q10\nM30\nO2\nN20 X1.\nM99"),
    ("N10 X1.\nM98 P2\nM30\nO2\nM99. P10", "N20 X1.\nM98 P2\nM30\nO2\nM99. P10"),
    ("M97. P10\nM30\nN10 X1.\nN20 X2.", "M97. P10\nM30\nN20 X1.\nN10 X2."),
    # the modal call of the other kind (common practice, no source) takes Q and H too
    ("G66.1 P2 H10\nM30\nO2\nN10 X1.\nM99", "G66.1 P2 H10\nM30\nO2\nN20 X1.\nM99"),
    # a block skip is one only as the first character (NISTIR 6556 section 3.3)
    ("(A)/X1.", "/X1."),
    ("(A)/2 X1.", "/2 X1."),
    ("N10 (A) /X1.", "N10 /X1."),
    # a comment that may be a statement elsewhere may be a jump, and what it jumps to is an N (from memory)
    ("(GOTO N10)\nN10 X1.\nN20 X2.", "(GOTO N10)\nN20 X1.\nN10 X2."),
    ("(IF P1 EQ 0 GOTO N10)\nN10 X1.\nN20 X2.", "(IF P1 EQ 0 GOTO N10)\nN20 X1.\nN10 X2."),
    ("(RPT N10,N20)\nN10 X1.\nN20 X2.", "(RPT N10,N20)\nN20 X1.\nN10 X2."),
    ("(CALL 10)\nN10 X1.\nN20 X2.", "(CALL 10)\nN20 X1.\nN10 X2."),
    ("M0 (GOTO 10)\nN10 X1.\nN20 X2.", "M0 (GOTO 10)\nN20 X1.\nN10 X2."),
    # where ; ends a block, the words behind it are a block with jumps of its own
    ("G0 X1.;GOTO 10\nN10 X1.\nN20 X2.", "G0 X1.;GOTO 10\nN20 X1.\nN10 X2."),
    ("G0 X1.;M97 P10\nN10 X1.\nN20 X2.", "G0 X1.;M97 P10\nN20 X1.\nN10 X2."),
    ("G0 X1.;G71 P10 Q20\nN10 X1.\nN20 X2.", "G0 X1.;G71 P10 Q20\nN20 X1.\nN10 X2."),
    ("N10 X1.\nM30\nO2\nG0 X1.;M99 P10", "N20 X1.\nM30\nO2\nG0 X1.;M99 P10"),
    ("N10 X1.\nG0 X1.;M99 P#1", "N20 X1.\nG0 X1.;M99 P#1"),
    ("GOTO 10\nG0 X1.;N10 Y5.\nN10 X2.", "GOTO 20\nG0 X1.;N10 Y5.\nN20 X2."),
    # and there may be more blocks than one
    ("X1.;Z-5.;", "X1."),
    ("X1.;G0 Z-5. ; move", "X1."),
    ("X1.;;Z-5.", "X1."),
    ("X1.; plunge;Z-5.", "X1."),
    # a comment that shows the line number (common practice, no source)
    ("(DEBUG,#4114)\nN10 X1.", "(DEBUG,#4114)\nN20 X1."),
]

SAME = [
    # a statement without a number names no line
    ("(IF NEEDED)\nN10 X1.", "(IF NEEDED)\nN20 X1."),
    ("(RETRACT 5)\nN10 X1.", "(RETRACT 5)\nN20 X1."),
    ("X1. ; drill 5 mm; slowly", "X1."),
    ("X1. ; 1st; 2nd op", "X1."),
    ("G0 X1.;Z-5.\nN10 X1.", "G0 X1.;Z-5.\nN20 X1."),
    ("X1. (A) Y1.", "X1. Y1."),
    ("/X1. (A)", "/X1."),
]


def dressed(lines):
    data = around(lines)
    yield data
    yield data.replace(b"\n", b"\r\n")
    yield data.lower()
    yield b"O1\nN10 G0 X1.\nGOTO 10\nM30\n" + data


@pytest.fixture(params=[True, False], ids=["plain", "as built"])
def _engine(request):
    scan.use(plain=request.param)
    yield
    scan.use(plain=False)


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_these_are_not_the_same_code(one, other):
    for left, right in zip(dressed(one), dressed(other), strict=True):
        assert scan.identity(left).fingerprint != scan.identity(right).fingerprint
        assert scan.identity(left, strict=True).fingerprint != scan.identity(right, strict=True).fingerprint


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(("one", "other"), SAME)
def test_these_still_are(one, other):
    for left, right in zip(dressed(one), dressed(other), strict=True):
        assert scan.identity(left).fingerprint == scan.identity(right).fingerprint


FOLLOWED = [
    # a whole value with a point or a plus, in code and number (NISTIR 6556 section 3.3.2.1)
    ("M98. P1002", "M98", [1002]),
    ("M98.0 P1002.", "M98", [1002]),
    ("M+98 P+1002", "M98", [1002]),
    ("G65. P9010.0 A1.", "G65", [9010]),
    # the modal call of the other kind (common practice, no source)
    ("G66.1 P9010 A1.", "G66.1", [9010]),
    # no blanks to the control (NISTIR 6556 section 3.3), a slip in the same line
    ("M9 8 P10 02", "M98", [1002, 10]),
    ("GO X0. M98 P1002", "M98", [1002]),
    ("GO M98 P#1 P1002", "M98", [1002]),
    ("GO M98 P7 M98 P1002", "M98", [7, 1002]),
    # where ; ends a block, and where parentheses hold statements (from memory)
    ("X1.;M98 P1002", "M98", [1002]),
    ("X1.;Z5.;m98p1002", "M98", [1002]),
    ("(CALL 1002)", "call", [1002]),
    ("(exec p1002)", "call", [1002]),
]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(("line", "word", "numbers"), FOLLOWED, ids=[row[0] for row in FOLLOWED])
def test_no_call_is_missed(line, word, numbers):
    found = calls(around(line))
    assert {call.word for call in found} == {word}
    assert [call.readings[0][0] for call in found] == numbers
    assert all(call.doubtful == (";" in line or line[0] == "(") for call in found)


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(
    "line",
    [
        "M99. P10",
        "M+99 P10",
        "GO M99 P10",
        "M9 9 P10 .",
        "X1.;M99 P10",
        "G71. A30.",
        "G66.1 P1 H2",
        "M98. P1 Q2",
    ],
)
def test_no_line_named_from_another_program_is_missed(line):
    assert needs_strict(around(line))


def test_a_short_program_with_a_slip_is_another_language_and_still_calls():
    data = b"O1001\nGO X0.\nM98 P1002\nM99 P10\nM30\n"
    assert scan.identity(data).dialect == "verbatim"
    assert [call.readings for call in calls(data)] == [((1002, 1),)]
    assert needs_strict(data)
    assert program_numbers(data) == (1001,)


def test_what_other_languages_name_call_is_one_only_where_a_program_is_called():
    data = b"BEGIN PGM 7 MM\nTOOL CALL 1 Z S2000\nL X+5 M98\nCYCL CALL\nCALL LBL 1\nCALL PGM SUB.H\nEND PGM\n"
    assert [(call.text, call.variable) for call in calls(data)] == [("CALL PGM SUB.H", True)]


def test_a_binary_calls_nothing():
    assert calls(b"G1\x00X1\nM98 P7\n") == ()
