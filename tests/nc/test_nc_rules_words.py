"""The rules of the canonical form on words, numbers, blanks and case: pairs that agree and pairs that must differ."""

import pytest

from tests.fakes.programs import blocks_of, print_of, reading_of
from tracker.nc.canonical import canonical

SAME = [
    ("case", "g1 x5.", "G1 X5."),
    ("blanks between words", "G1X5.Y2.", "G1\tX5.   Y2."),
    ("blanks around the line", "G1 X5.", "  G1 X5. \t"),
    ("blank between letter and number", "G 1 X 5.", "G1 X5."),
    ("leading zero of G", "G01 X5.", "G1 X5."),
    ("leading zeros of M", "M08", "M8"),
    ("leading zeros of H", "G43 H01", "G43 H1"),
    ("leading zeros of an L that counts", "G81 X1. L03", "G81 X1. L3"),
    ("leading zeros of an L beside an axis", "X1. L03", "X1. L3"),
    ("leading zeros of S and P", "G4 P0600", "G4 P600"),
    ("trailing zeros after the point", "X1.500", "X1.5"),
    ("missing zero before the point", "X.5", "X0.5"),
    ("several zeros before the point", "X-00.500", "X-.5"),
    ("point and nothing after it", "X1.", "X1.0"),
    ("zero with a point", "X0.", "X.0"),
    ("zero without a point", "X00", "X0"),
    ("program number", "O1", "O0001"),
    ("colon number", ":1", ":0001"),
    ("one digit of T", "T01", "T1"),
    ("plus", "X+5. I+2.", "X5. I2."),
    ("plus zero", "Y+0", "Y0"),
    ("minus zero", "Z-0.", "Z0."),
    ("minus zero of an arc word", "G2 X1. K-0", "G2 X1. K0"),
    ("chamfer", "X1. ,C5.0", "X1.,C5."),
    ("corner and angle", "X1. , R.50 , A030.0", "X1.,R0.5,A30."),
    ("trailing zeros of feed", "F120.0", "F120."),
    ("trailing zeros of U W", "U1.50 W.20", "U1.5W0.2"),
    ("trailing zeros of a rotary word", "A90.000", "A90."),
    ("zeros inside brackets", "X[01.50+#1]", "X[1.5+#1]"),
    ("blanks inside brackets", "IF [ #1 EQ 0 ] GOTO 5\nN5", "IF[#1EQ0]GOTO5\nN5"),
    ("zeros of a variable's number", "#0101=5", "#101=5"),
    ("zeros of a loop number", "WHILE[#1LT5]DO01\nEND01", "WHILE[#1LT5]DO1\nEND1"),
    ("case of keywords and functions", "#1=sin[30]*[#2 mod 4]", "#1=SIN[30]*[#2MOD4]"),
    ("blanks of an O call", "o100 call [1] [2]", "O100CALL[1][2]"),
    ("lower case n", "n10 g1 x5.", "N20 G1 X5."),
]

DIFFERENT = [
    ("adding a point", "X1", "X1."),
    ("a zero at the end", "X10", "X1"),
    ("a zero at the end of a feed", "F100", "F10"),
    ("offset with a decimal", "G54.1", "G54"),
    ("trailing zero of a G", "G54.10", "G54.1"),
    ("point of a G (stricter than NISTIR 6556 section 3.3.2.1)", "G01.0", "G1"),
    ("missing zero before the point of a G", "G00.1", "G.1"),
    ("trailing zero of a T", "T1.1", "T1.10"),
    ("leading zero of a long T", "T0101", "T101"),
    ("leading zeros of a three digit T", "T001", "T1"),
    ("leading zero of an L that may be a name (from memory)", "L0123", "L123"),
    ("leading zero of an L with repeats", "N10 L012 P3", "N10 L12 P3"),
    ("leading zero of an L that may be skipped", "/L01", "/L1"),
    ("leading zero of a length without a point", "X01", "X1"),
    ("leading zero of a feed without a point", "F010", "F10"),
    ("minus zero of a rotary word", "A-0.", "A0."),
    ("minus zero of B", "B-0", "B0"),
    ("plus of a rotary word", "C+90.", "C90."),
    ("plus of U", "U+5.", "U5."),
    ("minus zero of R", "R-0.", "R0."),
    ("number missing", "X.", "X0."),
    ("letter O for a zero", "GO X0.", "G0 X0."),
    ("letter O in a tool", "TO303", "T0303"),
    ("comma without letter", "Z,15", "Z.15"),
    ("blank inside a number (stricter than NISTIR 6556 section 3.3)", "X1 .5", "X1.5"),
    ("blank between digits", "X1 5", "X15"),
    ("blank after a sign", "X- 5.", "X-5."),
    ("blank inside a line number", "N10 21 G40", "N1021 G40"),
    ("blank inside a keyword", "GO TO 10\nN10", "GOTO10\nN10"),
    ("two points", "G0X-4.5.Z0.", "G0X-4.5Z0."),
    ("sign inside brackets", "X[+5]", "X[5]"),
    ("plus before a variable", "X+#1", "X#1"),
    ("trailing zeros outside brackets", "#1=5.0", "#1=5."),
    ("point of an assignment", "#1=5", "#1=5."),
    ("word order", "G1 X1. Y2.", "G1 Y2. X1."),
    ("a word repeated", "X1. X1.", "X1."),
    ("block skip", "/G1 X5.", "G1 X5."),
    ("number of a block skip", "/G1 X5.", "/1 G1 X5."),
    ("other number of a block skip", "/2 G1 X5.", "/3 G1 X5."),
    ("blank after a skip", "/ 2 X5.", "/2 X5."),
    ("skip in the middle", "X5. /Y2.", "X5. Y2."),
    ("colon and O", ":1", "O1"),
    ("M0 and M1", "M0", "M1"),
    ("M2 and M30", "M2", "M30"),
    ("variable", "X#1", "X#2"),
    ("expression", "X[#1+#2]", "X[#2+#1]"),
    ("condition", "IF[#1EQ0]GOTO5\nN5", "IF[#1NE0]GOTO5\nN5"),
    ("two lines and one", "G0 X1.\nZ-5.", "G0 X1. Z-5."),
    ("two lines and a semicolon", "G0X1.\nZ-5.", "G0X1.;Z-5."),
    ("one line and a semicolon", "G0X1.Z-5.", "G0X1.;Z-5."),
    ("case in quotes", 'M98 P"SUB"', 'M98 P"sub"'),
    ("blank in quotes", "M98 <A B>", "M98 <AB>"),
    ("case of a name", "#<depth>=1", "#<Depth>=1"),
    ("case in an output statement", "DPRNT[X#1[42]]", "dprnt[x#1[42]]"),
    ("blank in an output statement", "DPRNT[X #1[42]]", "DPRNT[X#1[42]]"),
    ("comment in an output statement", "POPEN (A)", "POPEN (B)"),
    ("case of an unknown name", "PROG abc", "PROG ABC"),
    ("blank of an unknown name", "PROG abc", "PROGabc"),
    ("dollar line", "$1", "$2"),
    ("blank on an exclamation mark line", "!2 L10", "!2L10"),
    ("at line", "@5. ^30.", "@5. ^31."),
    ("ampersand line", "&1", "&2"),
    ("digit beyond any float", "X0.12345678901234567891", "X0.12345678901234567892"),
    ("fourth place", "X1.0001", "X1."),
    ("byte above 7F", "G1 X5.\xa0", "G1 X5."),
    ("next line character", "G1 X5.\x85", "G1 X5."),
    ("form feed", "G1\x0cX5.", "G1 X5."),
    ("vertical tab", "G1\x0bX5.", "G1 X5."),
]


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in SAME], ids=[row[0] for row in SAME])
def test_these_are_the_same_code(one, other):
    assert print_of(one) == print_of(other)


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in DIFFERENT], ids=[row[0] for row in DIFFERENT])
def test_these_are_different_code(one, other):
    assert print_of(one) != print_of(other)


SPELLED = [
    ("N10 g01 x1.500 y+.5 z-0. f0120.0", ["G1X1.5Y0.5Z0.F120."]),
    ("T0101", ["T0101"]),
    ("/2 N30 G1 A-0.0", ["/2G1A-0."]),
    ("if [ #1 lt 010 ] then #3 = 1.50", ["IF[#1LT10]THEN#3=1.50"]),
    ("O0007 (NAME)", ["O7"]),
    ("X[-[1.0+.50]*#[01]]", ["X[-[1.+0.5]*#[1]]"]),
    ("X#1 Y-#2 Z[#3]", ["X#1Y-#2Z[#3]"]),
    ("X SIN[30] R ATAN[1.]/[2.]", ["XSIN[30]RATAN[1.]/[2.]"]),
    ("o<my sub> call [1.50]", ["O<my sub>CALL[1.5]"]),
    ("#3=6 G1 X#3", ["#3=6G1X#3"]),
    ("  % MyProgram", ["  % MyProgram"]),
]


@pytest.mark.parametrize(("line", "blocks"), SPELLED, ids=[row[0] for row in SPELLED])
def test_a_line_is_spelled_so(line, blocks):
    assert blocks_of(line) == blocks


SLIPS = ["GO X0.", "G0X-4.5.Z0.", "TO303", "Z,15", "PLATE", "...", "N10 21 G40", "X.", "M97 300", "S(x)100"]


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_survives_to_the_byte_and_is_noted(slip):
    reading = reading_of("  " + slip + " (so) ")
    assert ("\n  " + slip + " (so) \n").encode() in reading.code
    assert "line 7: does not read as words, kept to the letter" in reading.notes


def test_a_line_kept_to_the_letter_keeps_its_number_and_comment():
    assert print_of("N10 X.(A)") != print_of("N20 X.(A)")
    assert print_of("N10 X.(A)") != print_of("N10 X.(B)")


def test_brackets_deeper_than_any_control_goes_are_kept_and_do_not_break():
    deep = "X" + "[" * 5000 + "1" + "]" * 5000
    assert blocks_of(deep) == [deep]
    assert blocks_of("X" + "#" * 5000 + "1") == ["X" + "#" * 5000 + "1"]


def test_a_number_of_ten_thousand_digits_is_kept_digit_by_digit():
    assert blocks_of("X1." + "12" * 5000) == ["X1." + "12" * 5000]
    digits = "1" * 10_000
    assert b"N=1G1" in canonical(f"GOTO{digits}\nN{digits} G1\nG0\n".encode())
