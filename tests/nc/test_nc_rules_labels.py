"""Line numbers: those that go, those that are labels, and those that stay whatever happens."""

import pytest

from tests.fakes.programs import around, print_of, reading_of
from tracker.nc.canonical import canonical, read

GO = [
    ("changed", "N10 G1 X5.", "N20 G1 X5."),
    ("taken out", "N10 G1 X5.", "G1 X5."),
    ("a fraction", "N56.78 G1 X5.", "G1 X5."),
    ("zeros before it", "N000123 G1 X5.", "N123 G1 X5."),
    ("behind a skip", "/N10 G1 X5.", "/G1 X5."),
    ("behind a numbered skip", "/1N12345G1X0Y0", "/1G1X0Y0"),
    ("before a skip", "N10/G1 X5.", "N20/G1 X5."),
    ("nothing else on the line", "N10\nG1 X5.", "G1 X5."),
    ("only a comment on the line", "N10 (A)\nG1 X5.", "G1 X5."),
    ("repeated without a jump", "N10 G1 X5.\nN10 X6.", "N10 G1 X5.\nN20 X6."),
    ("before an O number", "N5 O9", "O9"),
    ("of the block before an offset", "N10 G10 L2 P1 X5.\nN20 X6.", "N30 G10 L2 P1 X5.\nN40 X6."),
]

RENAMED = [
    ("GOTO", "GOTO10\nN10 G1", "GOTO 20\nN20 G1"),
    ("GOTO upwards", "N10 G1\nGOTO10", "N5 G1\nGOTO5"),
    ("after a condition", "IF[#1EQ0]GOTO10\nN10 G1", "IF [#1 EQ 0] GOTO 0020\nN0020 G1"),
    ("after THEN", "IF[#1EQ0]THEN GOTO10\nN10", "IF[#1EQ0]THEN GOTO20\nN20"),
    ("M97", "M97 P10 L3\nN10 G1", "M97 P20 L3\nN20 G1"),
    ("contour", "G71 P10 Q20 U.5\nN10 X1.\nN20 X2.", "G71 P30 Q40 U.5\nN30 X1.\nN40 X2."),
    ("contour, lower case, no blanks", "g70p10q20\nn10x1.\nn20x2.", "G70P5Q6\nN5X1.\nN6X2."),
    ("two cycles, one contour", "G71P1Q2\nN1X1.\nN2X2.\nG70P1Q2", "G71P7Q8\nN7X1.\nN8X2.\nG70P7Q8"),
    ("label behind a skip", "GOTO10\n/N10 G1", "GOTO20\n/N20 G1"),
    ("label before a skip", "GOTO10\nN10/G1", "GOTO20\nN20/G1"),
    ("label alone on its line", "GOTO10\nN10\nG1", "GOTO20\nN20\nG1"),
    ("label with a comment only", "GOTO10\nN10 (A)\nG1", "GOTO20\nN20 (B)\nG1"),
    ("with other lines renumbered", "N1 GOTO10\nN2 X1.\nN10 G1", "N7 GOTO9\nX1.\nN9 G1"),
]

BROKEN = [
    ("jump left behind", "GOTO10\nN10 G1\nN20 X2.", "GOTO10\nN20 G1\nN10 X2."),
    ("labels swapped", "GOTO10\nGOTO20\nN10 G1\nN20 X2.", "GOTO10\nGOTO20\nN20 G1\nN10 X2."),
    ("jumps swapped", "GOTO10\nGOTO20\nN10 G1\nN20 X2.", "GOTO20\nGOTO10\nN10 G1\nN20 X2."),
    ("label gone", "GOTO10\nN10 G1", "GOTO10\nG1"),
    ("contour cut short", "G71 P10 Q30\nN10 X1.\nN20 X2.\nN30 X3.", "G71 P10 Q20\nN10 X1.\nN20 X2.\nN30 X3."),
    ("label moved", "M97 P10\nN10 G1\nX2.", "M97 P10\nG1\nN10 X2."),
    ("N before a skip and behind it", "N10/G1 X5.", "/N10 G1 X5."),
    ("label before a skip and behind it", "GOTO10\nN10/G1", "GOTO10\n/N10 G1"),
    ("label put on a line of its own", "GOTO10\nN10 G1\nX1.", "GOTO10\nN10\nG1\nX1."),
]

POSSIBLE = [
    ("M98 P", "M98 P100"),
    ("M98 L", "M98 P1000 L100"),
    ("M98 Q", "M98 P1000 Q100"),
    ("M99 P", "M99 P100"),
    ("M99 P with a zero before", "M99 P0100"),
    ("M96 P and Q", "M96 P100 Q7"),
    ("beside M97", "M97 P5 L100\nN5"),
    ("G65 argument", "G65 P9010 A100"),
    ("G65 H80 P", "G65 H80 P100"),
    ("G66 D", "G66 P9010 D100"),
    ("G73 of a mill", "G73 X1. Y2. Z-5. R1. Q100"),
    ("contour with X", "G71 P100 Q200 X1."),
    ("contour whose other label is missing", "G71 P100 Q201"),
    ("G76", "G76 P100 Q10"),
    ("G75 D", "G75 D100"),
    ("G25", "G25 P100 Q200"),
    ("G72 with a decimal", "G72.1 P100 L5"),
    ("a custom G code", "G185 B100"),
    ("a custom M code", "M131 H100"),
    ("M198", "M198 P100"),
]

PLAIN = [
    ("dwell", "G4 P100"),
    ("offset", "G10 L2 P100 X1."),
    ("drilling", "G83 Z-5. R1. Q100 P100"),
    ("length offset", "G43 H100"),
    ("radius", "G41 D100"),
    ("speed", "S100 M3"),
    ("program number", "O100"),
    ("variable", "#1=100"),
    ("jump elsewhere", "GOTO7\nN7"),
]


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in GO], ids=[row[0] for row in GO])
def test_a_number_nothing_jumps_to_goes(one, other):
    assert print_of(one) == print_of(other)


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in RENAMED], ids=[row[0] for row in RENAMED])
def test_renumbering_label_and_jump_together_is_the_same_code(one, other):
    assert print_of(one) == print_of(other)
    assert print_of(one, strict=True) != print_of(other, strict=True)
    assert b"N=1" in reading_of(one).code


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in BROKEN], ids=[row[0] for row in BROKEN])
def test_a_broken_or_swapped_jump_is_other_code(one, other):
    assert print_of(one) != print_of(other)


@pytest.mark.parametrize("line", [row[1] for row in POSSIBLE], ids=[row[0] for row in POSSIBLE])
def test_a_possible_label_stays_as_it_is(line):
    assert print_of(f"{line}\nN100 X1.\nN200 X2.") != print_of(f"{line}\nN101 X1.\nN200 X2.")
    assert b"\nN100X1.\n" in reading_of(f"{line}\nN100 X1.\nN200 X2.").code


@pytest.mark.parametrize("line", [row[1] for row in POSSIBLE if "Q200" not in row[1]])
def test_other_numbers_beside_a_possible_label_go(line):
    assert print_of(f"{line}\nN100 X1.\nN300 X2.") == print_of(f"{line}\nN100 X1.\nN400 X2.")


@pytest.mark.parametrize("line", [row[1] for row in PLAIN], ids=[row[0] for row in PLAIN])
def test_numbers_that_are_no_labels_keep_nothing(line):
    assert print_of(f"{line}\nN100 X1.") == print_of(f"{line}\nN101 X1.")


def test_possible_beats_sure():
    one = "GOTO100\nG65 P9010 A100\nN100 X1.\nGOTO20\nN20 X2."
    assert print_of(one) != print_of(one.replace("100", "101"))
    assert print_of(one) == print_of(one.replace("20", "30"))
    assert b"GOTO100\nG65P9010A100\nN100X1.\nGOTO=1\nN=1X2.\n" in reading_of(one).code


ALL_STAY = [
    ("label twice", "GOTO10\nN10 G1\nN10 X2.", "N10 stands more than once"),
    ("label twice, once behind a skip", "GOTO10\nN10 G1\n/N10 X2.", "N10 stands more than once"),
    ("label twice in other digits", "GOTO10\nN10 G1\nN010 X2.", "N10 stands more than once"),
    ("label missing", "GOTO10\nN11 G1", "no N10 to jump to"),
    ("label a fraction", "GOTO10\nN10.5 G1", "N10 is a fraction"),
    ("label on a data line", "G10 L50\nN10 R1\nG11\nGOTO10", "N10 is a fraction or a data line"),
    ("GOTO variable", "GOTO#1", "computed jump"),
    ("GOTO expression", "GOTO[#1+10]", "computed jump"),
    ("GOTO with a point", "GOTO 100.\nN100", "computed jump"),
    ("GOTO minus", "GOTO -5\nN5", "computed jump"),
    ("GOTO plus", "GOTO +5\nN5", "computed jump"),
    ("M99 P variable", "M99 P#1", "computed jump"),
    ("M97 P variable", "M97 P#1", "computed jump"),
    ("G71 P variable", "G71 P#1 Q20", "computed jump"),
    ("G70 Q expression", "G70 P10 Q[#1]\nN10", "computed jump"),
    ("N not first", "G1 N20 X1.", "not first in its block"),
    ("two N", "N10 N20 X1.", "not first in its block"),
    ("N behind a comment that is code", "(MSG,A) N10 X1.", "not first in its block"),
    ("N behind an O", "O9 N10", "not first in its block"),
    ("computed N", "N#1 X1.", "not first in its block"),
    ("#4114", "#1=#4114", "reads the line number"),
    ("#4314", "#1=#4314", "reads the line number"),
    ("#4514 in a print", "DPRNT[#4514[50]]", "reads the line number"),
    ("computed index", "#1=#[#2+1]", "computed index"),
    ("variable of a variable", "#1=##2", "computed index"),
    ("named line number", "#1=#<_line_no>", "reads the line number"),
    ("unknown keyword", "REPEAT LB", "does not read as words"),
    ("a line with a slip", "GO X0.", "does not read as words"),
    ("dollar line", "$2", "line with $ ! @ or &"),
    ("exclamation mark line", "!2L10", "line with $ ! @ or &"),
    ("computed code", "G#1 P10", "computed G or M code"),
    ("a call after every block, one of an N alone too", "G66.1 P9000", "macro call after every block"),
]


@pytest.mark.parametrize(("line", "why"), [row[1:] for row in ALL_STAY], ids=[row[0] for row in ALL_STAY])
def test_where_a_jump_cannot_be_read_every_number_stays_and_a_note_says_why(line, why):
    one, other = f"{line}\nN700 X1.", f"{line}\nN800 X1."
    assert print_of(one) != print_of(other)
    assert b"\nN700X1.\n" in reading_of(one).code
    assert any(why in note for note in reading_of(one).notes)


TWO = "O1\nGOTO10\nN10 X1.\nM30\nO2\nGOTO10\nN10 X2.\nN20 M99"


def test_labels_belong_to_their_program():
    assert canonical(TWO.encode()).count(b"N=1") == 2
    assert print_of(TWO) == print_of("O1\nGOTO30\nN30 X1.\nM30\nO2\nGOTO7\nN7 X2.\nM99")
    assert print_of(TWO) == print_of(TWO.replace("O1", "O0001"))
    assert canonical(TWO.replace("O2", ":2").encode()).count(b"N=1") == 2
    assert read(around(TWO.replace("O2", "%O2(A)"))).code.count(b"N=1") == 2


def test_an_o_line_with_a_keyword_or_behind_a_skip_opens_no_program():
    assert b"N=" not in canonical(TWO.replace("O2", "O2 SUB").encode())
    assert b"N=" not in canonical(TWO.replace("O2", "/O2").encode())


def test_a_reason_holds_for_its_program_only():
    one = "O1\nGOTO#1\nN10 X1.\nM30\nO2\nN20 X2."
    assert print_of(one) == print_of(one.replace("N20", "N30"))
    assert print_of(one) != print_of(one.replace("N10", "N11"))


@pytest.mark.parametrize(
    "sub", ["M99 P20", "M99 P#1", "M98 P1 Q20", "M98 P1 H20", "G65 P1 H20", "GOTO20", "M99 P20 X."]
)
def test_what_names_a_line_of_another_program_keeps_it(sub):
    one = f"O1\nM98 P2\nN20 X1.\nM30\nO2\nX2.\n{sub}"
    assert print_of(one) != print_of(one.replace("N20", "N21"))


DATA = "G10 L50\nN1815 R1\nN20\n(A)\nN1816 P1 R2 (B)\nG11\nN30 X1."


def test_data_lines_are_kept_whole():
    code = reading_of(DATA).code
    assert b"\nG10L50\nN1815 R1\nN20\nN1816 P1 R2 (B)\nG11\nX1.\n" in code
    for old, new in [("N1815", "N1820"), ("R1", "R01"), ("(B)", "(C)"), ("N20", "N21")]:
        assert print_of(DATA) != print_of(DATA.replace(old, new))
    assert print_of(DATA) == print_of(DATA.replace("N30", "N40"))
    assert print_of(DATA) == print_of(DATA.replace("(A)", ""))


def test_data_without_an_end_goes_on_to_the_end_of_the_file():
    one = DATA.replace("G11\n", "")
    assert print_of(one) != print_of(one.replace("N30", "N40"))
    skipped = DATA.replace("G11", "/G11")
    assert print_of(skipped) != print_of(skipped.replace("N30", "N40"))


@pytest.mark.parametrize("open_block", ["G10 L2 P1", "G10 P1 X5.", "G10 L3", "G10 L2 L20 P1 X5.", "G10"])
def test_a_g10_that_is_no_offset_in_one_block_opens_data(open_block):
    assert print_of(f"{open_block}\nN30 X1.") != print_of(f"{open_block}\nN40 X1.")


def test_where_a_g11_follows_even_an_offset_block_opens_data():
    one = "G10 L2 P1 X5.\nN30 X1.\nG11"
    assert print_of(one) != print_of(one.replace("N30", "N40"))


@pytest.mark.parametrize("line", ["N10 G1 X5.", "N0010 G1 X5.", "N10", "/N10 G1", "N10/G1", "N56.78 X1."])
def test_the_strict_form_keeps_every_number_to_the_letter(line):
    assert print_of(line, strict=True) != print_of(line.replace("N", "N1"), strict=True)
    assert print_of(line, strict=True) != print_of(line.replace("N", "N0"), strict=True)
    assert print_of(line, strict=True) != print_of(line)
