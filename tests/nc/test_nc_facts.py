"""Facts of language standards and control manuals, each with its source.

Sources, quoted for facts only:

* NISTIR 6556: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, 17 Aug 2000
* LinuxCNC: docs/src/gcode and tests/interp, 22 Aug 2026
* ISO 6983-1: ISO 6983-1:2009, data format for positioning, line motion and contouring (contents from memory)
* B-63684EN: operator manual B-63684EN/01, page 129, table 13.2(a)
* 99M/2000M: operation manual 99M/2000M, page 10
* 96-8000: mill operator manual 96-8000 (1999), pages 115, 118, 217
* M700V: programming manual M700V, pages 28 and 29
* 8065: programming manual 8065, page 45
* DIN 66025 as printed in a controller's online help
"""

import pytest

from tests.fakes.programs import blocks_of, print_of, reading_of
from tracker.nc.canonical import read
from tracker.nc.fingerprint import fingerprint_of, head_of, identity

AGREE = [
    ("NISTIR 6556 3.3: blanks carry no meaning", "g0 x+0.1234 y7", "g0x+0.1234y7"),
    ("NISTIR 6556 3.3: case carries no meaning", "g1 x3", "G1 X3"),
    ("NISTIR 6556 3.3: blank lines are ignored", "G1 X3\n\nX4", "G1 X3\nX4"),
    ("NISTIR 6556 3.3: skip, then line number", "/N10 G0 X0", "/G0 X0"),
    ("NISTIR 6556 3.3.1: numbers in any order", "N99999 G0 X1\nN20 X2", "N20 G0 X1\nN99999 X2"),
    ("NISTIR 6556 3.3.1: numbers repeated", "N20 G0 X1\nN20 X2", "N10 G0 X1\nN20 X2"),
    ("ISO 6983-1: more than five digits, by control", "N100000 G0", "G0"),
    ("LinuxCNC overview: a fraction after N", "N4567.789 S1200", "S1200"),
    ("NISTIR 6556 3.3.2.1: .5 0.5 00.500 +.5 are one number", "X.5", "X0.5"),
    ("NISTIR 6556 3.3.2.1: .5 0.5 00.500 +.5 are one number", "X00.500", "X+.5"),
    ("NISTIR 6556 3.3.2.1: 5. and 5.0", "X5.", "X5.0"),
    ("NISTIR 6556 3.3.2.1: leading zeros", "G01", "G1"),
    ("NISTIR 6556 3.3.2.1: leading zeros", "M03", "M3"),
    ("NISTIR 6556 3.3.2.1: leading zeros", "G0", "G00"),
    ("NISTIR 6556 3.3.2.1: leading zeros", "T01", "T1"),
    ("NISTIR 6556 C.3: minus zero of an arc word", "g2 x1. i1. j-0 k-0", "G2 X1. I1. J0 K0"),
    ("LinuxCNC comments: to the end of the line", "G1 X1 ; to the end", "G1 X1"),
    ("LinuxCNC comments: semicolon inside does not start one", "(a ; b) G1", "G1"),
    ("LinuxCNC comments: between words", "S100(x)F200", "S100F200"),
    ("99M/2000M: skip switch 1, then N12345", "/1N12345G1X0Y0", "/1 G1 X0 Y0"),
    ("LinuxCNC o-words: blanks", "o100 call [1] [2]", "O100 CALL [1] [2]"),
    ("96-8000: label and local call renumbered together", "M97 P1000 L5\nN1000", "M97 P10 L5\nN10"),
    ("96-8000: jump without a blank", "IF [#100 LT 10] GOTO10\nN10", "IF[#100LT10]GOTO 30\nN30"),
    (
        "turning cycle, labels renumbered together",
        "G71 P10 Q20 U1.\nN10 X1.\nN20 X2.",
        "G71P1Q2U1.\nN1X1.\nN2X2.",
    ),
    ("turning cycle, first block: no labels", "G71 U2. R1.\nN2 X5.", "G71 U2. R1.\nN3 X5."),
    ("peck drilling: P and Q no labels", "G83 Z-1. P500 Q.1\nN500 X1.", "G83 Z-1. P500 Q.1\nN501 X1."),
    ("offset: P no label", "G10 L2 P1 X0.\nN1 X1.", "G10 L2 P1 X0.\nN2 X1."),
    ("dwell: P no label", "G4 P10\nN10 X1.", "G4 P10\nN20 X1."),
    ("#3001 is a timer: plain comment", "#3001=0 (RESET TIMER)", "#3001=0"),
]

PART = [
    ("NISTIR 6556 3.3: blanks inside a number (stricter here)", "g0x +0. 12 34y 7", "g0 x+0.1234 y7"),
    ("NISTIR 6556 3.3.2.1: G01.0 is G1 (stricter here)", "G01.0", "G1"),
    ("NISTIR 6556 3.3.6: order of words (stricter here)", "X1 G1 F5 M5", "M5 F5 G1 X1"),
    ("NISTIR 6556 3.3.2.1: zeros before the point of T (stricter here)", "T0101", "T101"),
    ("NISTIR 6556 3.3.2.1: X-0 is X0 (stricter here on rotary words)", "A-0", "A0"),
    ("NISTIR 6556 3.3: a skip is the first character", "N10/ G0 X0", "/N10 G0 X0"),
    ("NISTIR 6556 3.3.1: no sign in a line number", "N-5 G0", "G0"),
    ("NISTIR 6556 table 3: E and comma are no words there", "E5 X1.", "X1."),
    ("NISTIR 6556 3.3.2.1: a digit is needed", "X.", "X0."),
    ("NISTIR 6556 3.3.2.1: a digit is needed", "X-", "X-0"),
    ("NISTIR 6556 3.3.2.1: no exponent, E is a letter", "X1E3", "X1000"),
    ("NISTIR 6556 3.3.2.1: decimals of G codes", "G59.1", "G59"),
    ("NISTIR 6556 3.3.2.1: decimals of G codes", "G43.4", "G43"),
    ("NISTIR 6556 3.3.2.2: #1+2 is [#1]+2", "#5=#1+2", "#5=#[1+2]"),
    ("NISTIR 6556 3.3.2.2: ##2 is another variable", "#5=##2", "#5=#2"),
    ("NISTIR 6556 3.3.2.3: order of operations", "X[2.0/3*1.5-5.5/11.0]", "X[2.0/[3*1.5]-5.5/11.0]"),
    ("NISTIR 6556 C.2: two signs", "X[1--3]", "X[1-3]"),
    ("NISTIR 6556 3.3.3: settings act at once on some controls", "#3=6 G1 X#3", "G1 X#3 #3=6"),
    ("NISTIR 6556 3.3.4: first end closes", "(a (b) c)", "(a (b))"),
    ("NISTIR 6556 3.3.4: message, spaced out", "( m s g , stop and check)", "( m s g , check)"),
    ("NISTIR 6556 3.3.4: message", "(MSG, A)", "(MSG, B)"),
    ("NISTIR 6556 3.3.5: only the last comment acts", "(debug,#1)(foo)", "(debug,#1)"),
    ("LinuxCNC comments: not between letter and number", "S(x)100F(y)200", "S100F200"),
    ("NISTIR 6556 3.3.5: a word twice", "X1 X2", "X2"),
    ("NISTIR 6556 3.1: text after the second per cent sign", "M30\n%\nG0 X1.", "M30\n%"),
    ("NISTIR 6556 3.5.4 and controls with ms: G4 P1. and P1", "G4 P1.", "G4 P1"),
    ("NISTIR 6556 3.5.18: G92", "G92 X7", "G92 X9"),
    ("NISTIR 6556 3.6.3: T that only stages", "T2", "T3"),
    ("LinuxCNC: per cent sign does not reset like M2", "M2", "%"),
    ("ISO 6983-1: trailing zeros left out", "X1", "X10"),
    ("ISO 6983-1: leading zeros count where trailing ones are left out", "X01", "X1"),
    ("ISO 6983-1: alignment", ":1234", "O1234"),
    ("M700V: adding the point", "X12345", "X12345."),
    ("M700V: an operator makes it whole units", "X[123]", "X[123+0]"),
    ("96-8000: argument without a point", "G65 P300 B101. S20", "G65 P300 B101 S20"),
    (
        "arguments I J K go by order",
        "G65 P1000 A1.0 B2.0 I-3.0 I4.0 D5.0",
        "G65 P1000 A1.0 B2.0 I4.0 I-3.0 D5.0",
    ),
    ("block skip is always a change", "/G1 X1.", "G1 X1."),
    ("NISTIR 6556 3.6.1: M0 and M1", "M0", "M1"),
    ("NISTIR 6556 3.6.1: M2 and M30", "M2", "M30"),
    ("NISTIR 6556 3.6.1: M99 and M30", "M99", "M30"),
    ("NISTIR 6556 3.5.3.2: no rounding in comparison", "X1.0001", "X1.0"),
    ("LinuxCNC: chip break and peck", "G73 Z-1. R1. Q.1", "G83 Z-1. R1. Q.1"),
    ("96-8000: label left behind", "M97 P1000 L5\nN1000 X1.\nN10 X2.", "M97 P1000 L5\nN10 X1.\nN1000 X2."),
    ("96-8000: M99 P", "M99 P10\nN10 X1.", "M99 P10\nN20 X1."),
    ("computed jump", "GOTO #1\nN10 X1.", "GOTO #1\nN20 X1."),
    ("computed jump", "GOTO [#2+5]\nN10 X1.", "GOTO [#2+5]\nN20 X1."),
    ("a label twice and a jump", "GOTO10\nN10 X1.\nN10 X2.", "GOTO20\nN20 X1.\nN20 X2."),
    ("label also skipped", "GOTO10\n/N10 X1.", "GOTO10\nN10 X1."),
    ("96-8000: alarm text", "#3000=1(text)", "#3000=1(other)"),
    ("alarm, spaced", "#3000 = 100 (OFFSET TOO BIG)", "#3000 = 100 (OFFSET TOO SMALL)"),
    ("alarm after THEN", "IF [#1 EQ #0] THEN #3000=101(A)", "IF [#1 EQ #0] THEN #3000=101(B)"),
    ("stop with message", "#3006=1(FLIP PART AND PRESS CYCLE START)", "#3006=1(PRESS CYCLE START)"),
    ("96-8000: code received as a comment", "(G1 X1.0)", "G1 X1.0"),
    ("8065: opening comment without its end", "G1 X1.\n(text", "G1 X1."),
    ("99M/2000M: header", "%O1234(PROGRAM NAME)", "%O1235(PROGRAM NAME)"),
    ("DIN 66025: name after a per cent sign", "% MyProgram", "% MyOther"),
    ("DIN 66025: E word", "E-200", "E-100"),
]


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in AGREE], ids=[row[0] for row in AGREE])
def test_these_agree(one, other):
    assert print_of(one) == print_of(other)


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in PART], ids=[row[0] for row in PART])
def test_these_differ(one, other):
    assert print_of(one) != print_of(other)


def test_seventeen_digits_are_kept():
    # NISTIR 6556 section 3.3.2.1: 17 significant digits
    assert blocks_of("X0.12345678901234567") == ["X0.12345678901234567"]


def test_a_blank_line_moves_physical_line_numbers():
    # NISTIR 6556 section 3.3 ignores blank lines; LinuxCNC, best practices: errors name the line of the file
    assert list(read(b"G0 X1.\n\n\nG1 X2.\n").lines) == [1, 4]


@pytest.mark.parametrize(
    "word", ["MSG", "DEBUG", "PRINT", "LOG", "LOGOPEN", "LOGAPPEND", "ABORT", "AXIS", "PROBEOPEN"]
)
def test_active_comments_keep_their_full_text(word):
    # LinuxCNC, G-code overview, comments that act
    assert blocks_of(f"({word},a B  c)") == [f"({word},a B  c)"]


@pytest.mark.parametrize("text", ["(LOGCLOSE)", "(PROBECLOSE)", "(probeopen results.txt)"])
def test_active_comments_without_a_comma_do_too(text):
    # LinuxCNC, G-code overview, comments that act
    assert blocks_of(text) == [text]


def test_an_unclosed_comment_is_noted_and_swallows_nothing():
    # NISTIR 6556 section 3.3.4: the end must stand on the same line
    reading = reading_of("G0 X1 (open\nG1 X2.")
    assert "line 7: unclosed comment kept as code" in reading.notes
    assert b"\nG1X2.\n" in reading.code


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r", b"\n\r\r"])
def test_lines_end_in_every_way_tape_codes_know(end):
    # EIA-244 and ISO 840 from memory; B-63684EN: EOB is LF in ISO code, CR in EIA code
    assert read(end.join([b"%", b"O1", b"G1 X5.", b"M30", b"%", b""])).code == b"O1\nG1X5.\nM30\n"


def test_a_lone_per_cent_sign_is_no_header_with_a_name():
    # DIN 66025 as printed in a controller's online help
    wrapped = read(b"%\nG1 X5.\n%\n")
    named = read(b"% MyProgram\nG1 X5.\n%\n")
    assert wrapped.code == b"G1X5.\n"
    assert named.code == b"% MyProgram\nG1X5.\n%\n"


HEADERS = ["%", "%O1234(NAME)", "% MyProgram", "O1234 (NAME)", "O0001(NAME)", ":1234"]


@pytest.mark.parametrize("header", HEADERS)
def test_every_form_of_header_reads_as_words(header):
    # 99M/2000M; DIN 66025; ISO 6983-1 from memory
    assert read(f"{header}\nG1 X5.\nM30\n".encode()).notes == ()


SHA256 = [
    ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    ("a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


@pytest.mark.parametrize(("message", "digest"), SHA256, ids=["empty", "abc", "56 bytes", "a million a"])
def test_raw_hashes_are_sha256(message, digest):
    # FIPS 180-4 and its published example messages
    assert identity(message.encode()).raw_sha256 == digest


def test_a_fingerprint_is_sha256_over_rule_version_dialect_and_code():
    # FIPS 180-4; digests worked out with an independent sha256sum
    assert head_of("word-address") == b"proveout canonical 1 word-address\n"
    assert fingerprint_of(b"G1X5.\nM30\n", "word-address") == EXAMPLE
    assert identity(b"%\r\nn10 g01 x5.0 (FINE)\r\nM30\r\n%").fingerprint == EXAMPLE
    assert fingerprint_of(b"G1X5.\nM30\n", "verbatim") != EXAMPLE


EXAMPLE = "7565b72b0ae902cd953abc0f8d37e6ce34b3c7377db12b9b3e0a5d4d2b3747d3"
