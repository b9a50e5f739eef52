"""Programs that can tell where they are: by the physical line, or by the line number last met."""

import pytest

from tests.fakes.programs import AFTER, BEFORE, around, blocks_of, print_of
from tracker.nc import scan
from tracker.nc.calls import needs_strict
from tracker.nc.canonical import canonical, read

SEES_LINES = [
    ("as documented", "#1=#<_line>"),
    ("upper case, blanks", "#1 = # < _L I N E >"),
    ("a tab in the name", "#1=#<_li\tne>"),
    ("a comment in the name", "#1=#<_l(a)ine>"),
    ("in an expression", "X[#<_line>*0.1]"),
    ("asked for", "#1=EXISTS[#<_line>]"),
    ("assigned to", "#<_line>=1"),
    ("in a comment that acts", "(DEBUG,line #<_line>)"),
    ("in one spread by blanks", "( p r i n t , # <_ line> )"),
    ("in a comment at a stop", "M0 (LINE #<_line>)"),
    ("behind a comment that acts", "(MSG,A) (#<_line>)"),
    ("behind a semicolon", "X1.;#1=#<_line>"),
    ("in an output", "DPRNT[#<_line>]"),
    ("on a line with a slip", "GO X#<_line>"),
    ("behind a per cent sign", "% #<_line>"),
    ("Python in a comment", "(py,print(1))"),
    ("Python behind a semicolon", ";py,print(1)"),
    ("Python in a file (from memory)", "(PYRUN,a.py)"),
    ("Python loaded anew (from memory)", "(pyreload)"),
    ("Python spread by blanks", "( P Y , x=1)"),
]

MOVED = [
    ("a blank line more", lambda text: text.replace(b"\n", b"\n\n", 1)),
    ("a line of wording more", lambda text: text.replace(b"\n", b"\n(A)\n", 1)),
    ("a blank line at the head", lambda text: b"\n" + text),
    ("line ends of the other kind and a blank line at the head", lambda text: b"\r\n" + text.replace(b"\n", b"\r\n")),
    ("a number on a line of its own", lambda text: text.replace(b"\n", b"\nN10\n", 1)),
    ("a number", lambda text: text.replace(b"\nG21", b"\nN10G21", 1)),
]  # fmt: skip


@pytest.fixture(params=[True, False], ids=["plain", "as built"])
def _engine(request):
    scan.use(plain=request.param)
    yield
    scan.use(plain=False)


def whole(data, *, strict=False):
    identity = scan.identity(data, strict=strict)
    assert identity.blocks == scan.canonical(data, strict=strict).count(b"\n")
    assert scan.read(data, strict=strict) == read(data, strict=strict)
    return identity.fingerprint


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize("strict", [False, True])
@pytest.mark.parametrize("change", [row[1] for row in MOVED], ids=[row[0] for row in MOVED])
@pytest.mark.parametrize("line", [row[1] for row in SEES_LINES], ids=[row[0] for row in SEES_LINES])
def test_where_the_physical_line_can_be_read_no_line_may_move(line, change, strict):
    data = around(line)
    assert change(data) != data
    assert whole(data, strict=strict) != whole(change(data), strict=strict)
    assert "reads the number of the line" in read(data).notes[0]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize("line", [row[1] for row in SEES_LINES], ids=[row[0] for row in SEES_LINES])
def test_line_ends_and_blanks_behind_a_line_still_say_nothing(line):
    data = around(line)
    assert whole(data) == whole(data.replace(b"\n", b"\r\n")) == whole(data.replace(b"\n", b" \n") + b"\n\n")
    assert canonical(b"\n\n" + data) == b"\n\n" + data
    assert read(b"\n\n" + data).lines[:4].tolist() == [1, 2, 3, 4]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(
    "line",
    [
        "#1=#<line>",
        "#1=#<_line_width>",
        "#1=#<spline>",
        "X1. (AT #<_line>)",
        "(PYRAMID)",
        "X1. ; pyramid",
        "#<_liner>=1",
    ],
)
def test_other_names_and_wording_leave_lines_free(line):
    data = around(line)
    assert read(data).dialect == "word-address"
    assert whole(data) == whole(data.replace(b"\n", b"\n\n(A)\n"))


READS_NUMBERS = [
    "#1=#4114",
    "#1=#04114",
    "X#4314",
    "IF[#4514EQ10]GOTO5\nN5",
    "#1=#[4100+14]",
    "#1=##2",
    "#[#4114]=1",
    "#[#[1]]=1",
    "###1=5",
    "#1=#<_line_no>",
    "(DEBUG,#4114)",
    "DPRNT[# 4 1 1 4]",
    "GO X#4114",
    "GO X[#_BUFN]",
    "#1=[#_BUFN]",
]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize("line", READS_NUMBERS)
def test_who_reads_the_last_line_number_may_read_that_of_a_caller(line):
    called = BEFORE + b"N10 X1.\nM98 P2\n" + AFTER + b"O2\n" + line.encode() + b"\nM99\n"
    assert whole(called) != whole(called.replace(b"N10 X1.", b"N20 X1."))
    own = around(line + "\nN10 X1.")
    assert whole(own) != whole(own.replace(b"N10 X1.", b"N20 X1."))
    assert needs_strict(called)
    assert needs_strict(around(line))


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(
    "line", ["#[#1]=5", "#[#1+100]=#2", "##1=5", "#[100]=SIN[#3]", "#1=#4115", "#1=#5041"]
)
def test_what_is_only_assigned_to_and_other_variables_keep_no_number(line):
    called = BEFORE + b"N10 X1.\nM98 P2\n" + AFTER + b"O2\n" + line.encode() + b"\nN20 X1.\nM99\n"
    assert whole(called) == whole(
        called.replace(b"N10 X1.", b"N20 X1.").replace(b"N20 X1.\nM99", b"X1.\nM99")
    )
    assert not needs_strict(called)


BESIDE_A_LABEL = [
    ("N10(5) X1.", "N20(5) X1."),
    ("N10 (5)(6)", "N20 (5)(6)"),
    ("L10(5)\nN5 X1.\nN6 X2.", "L10(5)\nN6 X1.\nN5 X2."),
    ("L10(A=1)(5)\nN5 X1.\nN6 X2.", "L10(A=1)(5)\nN6 X1.\nN5 X2."),
    ("L10 ( 1, 05 )\nN5 X1.\nN6 X2.", "L10 ( 1, 05 )\nN6 X1.\nN5 X2."),
    ("M97 P1(0)\nN1 X1.\nN10 X2.", "M97 P1(0)\nN1 X1.\nN11 X2."),
    ("GOTO1(0)\nN1 X1.\nN10 X2.", "GOTO1(0)\nN1 X1.\nN11 X2."),
    ("GOTO(1)0\nN10 X2.", "GOTO(1)0\nN11 X2."),
    ("GOTO(A)10\nN10 X2.", "GOTO(A)20\nN20 X2."),
    ("GOTO1(A)0\nN10 X2.", "GOTO2(A)0\nN20 X2."),
    ("M98 P(10)20\nN20 X2.", "M98 P(10)20\nN21 X2."),
    ("M97 P(10)\nN10 X2.", "M97 P(10)\nN11 X2."),
    ("M97 (A) P10\nN10 X2.\nN20 X1.", "M97 (A) P10\nN20 X2.\nN10 X1."),
    ("N(A)10 X1.", "N(A)11 X1."),
    ("N(5)10 X1.", "N(5)11 X1."),
    ("N1(A)0 X1.", "N1(A)1 X1."),
    ("G71 P1(0) Q2(0)\nN1 X1.\nN2 X2.\nN20 X3.", "G71 P1(0) Q2(0)\nN1 X1.\nN2 X2.\nN30 X3."),
]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(("one", "other"), BESIDE_A_LABEL)
def test_a_comment_in_or_behind_a_label_keeps_it(one, other):
    assert print_of(one) != print_of(other)
    assert whole(around(one)) != whole(around(other))


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(
    "line", ["(2026)", "(-----)", "X1. (----)", "(1)(2)", "X1. (7)", "M97 P5 (----)\nN5"]
)
def test_numbers_in_parentheses_that_are_no_label_of_the_program_keep_none(line):
    assert print_of(f"{line}\nN100 X1.") == print_of(f"{line}\nN101 X1.")


COMPUTED = [
    "M98 P#1",
    "M98 P[#1+100]",
    "M198 P#1",
    "M46 Q1 P#1",
    "G65 H81 P#1 Q#2 R#3",
    "G25 L#1",
    "G27 L#1",
    "M131 P-#1",
]


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize("line", COMPUTED)
def test_a_computed_number_that_may_be_a_label_keeps_every_number(line):
    assert print_of(f"{line}\nN100 X1.") != print_of(f"{line}\nN101 X1.")


@pytest.mark.usefixtures("_engine")
@pytest.mark.parametrize(
    "line", ["G65 P9010 A#1 Z[#2+1.]", "G4 P#1", "G66 P9010 L#3", "G83 Z#1 Q#2 P#3", "G54 P#1"]
)
def test_a_computed_number_elsewhere_keeps_none(line):
    assert print_of(f"{line}\nN100 X1.") == print_of(f"{line}\nN101 X1.")


def test_a_training_machine_jumps_with_g27():
    assert print_of("G27 L10\nN10 X1.\nN20 X2.") != print_of("G27 L10\nN20 X1.\nN10 X2.")
    assert blocks_of("G27 X0. Y0.\nN10 X1.") == ["G27X0.Y0.", "X1."]
