"""Comments that are wording, and comments that are code."""

import pytest

from tests.fakes.programs import around, blocks_of, print_of, reading_of
from tracker.nc.canonical import canonical, read

WORDING = [
    ("three letters and a comma after a semicolon", "G1 X5. ; top, then side", "G1 X5. ; end, then side"),
    ("changed", "G1 X5. (FINE)", "G1 X5. (COARSE)"),
    ("taken out", "G1 X5. (FINE)", "G1 X5."),
    ("a line of its own", "(FINE)\nG1 X5.", "G1 X5."),
    ("after a semicolon", "G1 X5. ; fine", "G1 X5."),
    ("between words", "G1 (FINE) X5.", "G1 X5."),
    ("code after a comment", "(FINE) G1 X5.", "G1 X5."),
    ("two with code between", "(A) G1 (B) X5. (C)", "G1 X5."),
    ("semicolon inside a comment", "G1 (A; B) X5.", "G1 X5."),
    ("text that looks like code", "(G1 X5.)\nG0 X1.", "G0 X1."),
    ("glued to the line number", "N181500(SO)", "N181500"),
    ("with umlauts", "G1 X5. (F\xe4sen)", "G1 X5."),
    ("title of a program", "O7 (A)", "O7 (B)"),
    ("timer, not the operator", "#3001=0 (RESET TIMER)", "#3001=0 (TIMER)"),
    ("quotes inside a comment", 'G1 X5. (1/2" MILL)', "G1 X5."),
    ("no word of its own that acts", "(PRINTED 3.4.2026)", "(PRINTED 4.4.2026)"),
    ("no statement either", "(RETRACT FAST)", "(RETRACT SLOWLY)"),
    ("nor this", "(CALLOUT 1)\n(PYRAMID)\n(AXES)", ""),
    ("before an active one", "(A)(MSG,B) G1", "(MSG,B) G1"),
]

CODE = [
    ("MSG", "(MSG, A)", "(MSG, B)"),
    ("MSG spaced out and lower case", "( m s g , stop and check)", "( m s g , go on)"),
    ("DEBUG", "(DEBUG,#1)", "(DEBUG,#2)"),
    ("PRINT", "(PRINT,A)", "(PRINT,B)"),
    ("LOG", "(LOG,A)", "(LOG,B)"),
    ("LOGOPEN", "(LOGOPEN,a.txt)", "(LOGOPEN,b.txt)"),
    ("LOGAPPEND", "(LOGAPPEND,a.txt)", "(LOGAPPEND,b.txt)"),
    ("LOGCLOSE", "(LOGCLOSE)", "(LOG CLOSED)"),
    ("PROBEOPEN", "(PROBEOPEN a.txt)", "(PROBEOPEN b.txt)"),
    ("PROBECLOSE", "(PROBECLOSE)", ""),
    ("ABORT", "(ABORT,A)", "(ABORT,B)"),
    ("AXIS", "(AXIS,hide)", "(AXIS,show)"),
    ("MSG after a semicolon", "; MSG, A", "; MSG, B"),
    ("a comment after an active one", "(DEBUG,#1)(FOO)", "(DEBUG,#1)"),
    ("a semicolon comment after an active one", "(DEBUG,#1) ; foo", "(DEBUG,#1)"),
    ("with M0", "M0 (TURN PART)", "M0 (CLEAN CHIPS)"),
    ("with M00", "M00 (TURN PART)", "M00"),
    ("with M1", "N5 M01 (CHECK 20.0)", "N5 M01 (CHECK 21.0)"),
    ("with M60", "M60 ; turn", "M60 ; do not turn"),
    ("before M0", "(TURN PART) M0", "(LEAVE PART) M0"),
    ("with a computed M", "M#1 (TURN)", "M#1"),
    ("alarm", "#3000=1(TOO DEEP)", "#3000=1(TOO SHALLOW)"),
    ("alarm spaced out", "#3000 = 100 (OFFSET TOO BIG)", "#3000 = 100 (OFFSET TOO SMALL)"),
    ("alarm after THEN", "IF[#1EQ0]THEN#3000=1(A)", "IF[#1EQ0]THEN#3000=1(B)"),
    ("stop with message", "#3006=1(TURN PART)", "#3006=1(LEAVE PART)"),
    ("named variable", "#<_m>=1 (A)", "#<_m>=1 (B)"),
    ("computed variable", "#[#1]=1 (A)", "#[#1]=1 (B)"),
    ("variable of a variable", "##1=1 (A)", "##1=1 (B)"),
    ("engraved text", "G47 P0 X1. (PART A)", "G47 P0 X1. (PART B)"),
    ("engraved text by a cycle", "L9201 R1. (PART A)", "L9201 R1. (PART B)"),
    ("engraved text on the next line", "L9201. R1.\n(PART A)", "L9201. R1.\n(PART B)"),
    ("question to the operator", "M109 P501 (GO ON?)", "M109 P501 (STOP?)"),
    ("picture shown", "M130 (CLAMP.PNG)", "M130 (FLIP.PNG)"),
    ("picture by another code", "M132 (CLAMP.PNG)", "M132 (FLIP.PNG)"),
    ("computed code", "M#1 (A)", "M#1 (B)"),
    ("program called by name", "M98 (A.NC) L2", "M98 (B.NC) L2"),
    ("program without an ending", "M98 (SUBA)", "M98 (SUBB)"),
    ("program before its number", "M98 (SUBA) P1 Q2", "M98 (SUBB) P1 Q2"),
    ("program behind its number", "M98 P1 (A.NC)", "M98 P1 (B.NC)"),
    ("program in a folder", "M98 P1 (JOBS/A)", "M98 P1 (JOBS/B)"),
    ("macro by name", "G65 (A) X1.", "G65 (B) X1."),
    ("subroutine", "(SUB 1)", "(SUB 2)"),
    ("argument of an L (from memory)", "L10(R1)", "L10(R2)"),
    ("argument of an L with a blank", "N5 L10 (R1)", "N5 L10 (R2)"),
    ("probing", "(PROBE 1,X5)", "(PROBE 1,X6)"),
    ("opened program", "(OPEN P10)", "(OPEN P11)"),
    ("written block", "(WRITE G1 X5.)", "(WRITE G1 X6.)"),
    ("end of a modal call", "(MDOFF)", ""),
    ("single block held off", "(DSTBLK)", "(ESTBLK)"),
    ("offset assigned", "(TOR1=5)", "(TOR1=6)"),
    ("datum assigned", "(ORGX54 = 10)", "(ORGX54 = 11)"),
    ("override assigned", "(FRO=50)", "(FRO=60)"),
    ("no letter: parameter list", "L10(5)", "L10(6)"),
    ("no letter after a semicolon", "G1 X5. ; 12", "G1 X5. ; 13"),
    ("opening inside", "G1 X5. (A (B)", "G1 X5. (A (C)"),
    ("opening after a semicolon", "G1 X5. ; a (b)", "G1 X5. ; a (c)"),
    ("per cent sign inside", "(50% A)", "(50% B)"),
    ("GOTO", "(GOTO N10)", "(GOTO N20)"),
    ("IF", "(IF P1 EQ 1 GOTO N10)", "(IF P1 EQ 2 GOTO N10)"),
    ("CALL", "(CALL 10)", "(CALL 11)"),
    ("PCALL", "(PCALL 10,A1)", "(PCALL 10,A2)"),
    ("MCALL", "(MCALL 10,A1)", "(MCALL 10,A2)"),
    ("RPT", "(RPT N10,N20)", "(RPT N10,N30)"),
    ("RET", "(RET)", ""),
    ("RET spaced out", "( r e t )", ""),
    ("IF in words", "(IF NEEDED)", "(IF NOT NEEDED)"),
    ("IF without blanks", "(IFP1EQ2GOTON10)", "(IFP1EQ3GOTON10)"),
    ("RPT without blanks", "(RPTN10,N20)", "(RPTN10,N30)"),
    # codes of three letters in parentheses, from memory
    ("origin by three letters", "(UAO,1)", "(UAO,2)"),
    ("turned by three letters", "(ROT,45)", "(ROT,30)"),
    ("turning taken back", "(ROT)", ""),
    ("mirrored by three letters", "( m i r , X)", "( m i r , Y)"),
    ("mirror taken back", "(MIR)", ""),
    ("jump by three letters", "(GTO,START)", "(GTO,END)"),
    ("end of what is repeated", "(ERP)", ""),
    ("three letters and a line number", "(BNC,N10)\nN10 X1.\nN20 X2.", "(BNC,N10)\nN20 X1.\nN10 X2."),
    ("EXEC and ERROR", "(EXEC P10)", "(ERROR 10)"),
    ("log in words", "(LOG A)", "(LOG B)"),
    ("print without a comma", "(print a)", "(print b)"),
    ("parameter", "(P10=5 A)", "(P10=6 A)"),
    ("words after a semicolon", "G0X1.;Z-5.", "G0X1."),
    ("other words after a semicolon", "G0X1.;Z-5.", "G0X1.;Z-6."),
    ("blanks in them", "G0X1. ; Z-5 .0", "G0X1. ; Z-6 .0"),
    ("assignment after a semicolon", "G0X1.;#1=5", "G0X1.;#1=6"),
    ("jump after a semicolon", "G0X1.;GOTO5", "G0X1."),
    ("skip after a semicolon", "G0X1.;/X5.", "G0X1."),
    ("O after a semicolon", "G0X1.;O5", "G0X1."),
    ("output after a semicolon", "G0X1.;DPRNT[A]", "G0X1."),
    ("waiting mark after a semicolon", "G0X1.;!L10", "G0X1."),
    ("line end inside", "G1 X5. (A\rG0 Z-5.)", "G1 X5. (A)"),
    ("on an O line with a keyword", "o100 sub (A)", "o100 sub (B)"),
    ("inside a number", "X1(A)5.", "X15."),
    ("inside a word", "S(x)100F(y)200", "S100F200"),
    ("that parts a division", "#1=#2(A)/2", "#1=#2/2"),
    ("that parts a keyword", "GO(A)TO5\nN5", "GOTO5\nN5"),
    ("that parts an O word from its keyword", "O100(A)IF[1]", "O100IF[1]"),
    ("nested, code after the first end", "(A (B) X5.", "(A (B)"),
]


ORDINARY = [
    "M98 P1000 (DRILL SUB)", "M98 P1000 L3 (DRILL SUB)", "G65 P9810 Z1. (PROBE)", "M99 (END OF SUB)", "G67 (END)",
    "(SUB PLATE)", "(PROBE TOOL)", "(OPEN VISE)", "(TOOL=5)", "(TOOL 1 = D10)", "(TOLERANCE H7)", "(KEYWAY)",
    "M51 (AIR ON)", "M68 (CLAMP/UNCLAMP)", "M31 (CONV. ON)", "L920 R1. (A)", "(ORIGIN = LEFT EDGE)", "(FROM OP10)",
    "(END)", "(TAP M8)", "(DRILL, REAM)", "(ROTATE)", "(ROT TABLE)",
]  # fmt: skip


@pytest.mark.parametrize("line", ORDINARY)
def test_ordinary_wording_stays_wording(line):
    assert print_of(line) == print_of(line.replace("(", "(ANOTHER "))


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in WORDING], ids=[row[0] for row in WORDING])
def test_wording_leaves_the_code_alone(one, other):
    assert print_of(one) == print_of(other)


@pytest.mark.parametrize(("one", "other"), [row[1:] for row in CODE], ids=[row[0] for row in CODE])
def test_a_comment_that_may_act_is_code(one, other):
    assert print_of(one) != print_of(other)


def test_a_semicolon_inside_starts_nothing_nor_a_parenthesis_after_one():
    assert blocks_of("(A ; B) G1 X5.") == ["G1X5."]
    assert reading_of("G1 X5. ; a) b").code == reading_of("G1 X5.").code


def test_what_follows_the_first_end_is_code():
    assert blocks_of("(A) G1 (B) X5.") == ["G1X5."]
    assert blocks_of("(a (b) c)") == ["(a (b) c)"]


OPEN = "G1 X5. (OPEN\n(FIRST)\nX6. (SECOND)"


def test_after_an_unclosed_comment_every_comment_is_code():
    assert blocks_of(OPEN) == ["G1X5.(OPEN", "(FIRST)", "X6.(SECOND)"]
    assert print_of(OPEN) != print_of(OPEN.replace("SECOND", "OTHER"))
    assert print_of("(A)\n" + OPEN) == print_of("(B)\n" + OPEN)
    assert "line 7: unclosed comment kept as code" in reading_of(OPEN).notes


def test_an_unclosed_comment_does_not_swallow_the_next_line():
    assert blocks_of("G0 X1 (open\nG1 X2.") == ["G0X1(open", "G1X2."]


@pytest.mark.parametrize("line", ["G1 X5. ; a (b", 'M98 P"A(B"', "DPRNT[(]"])
def test_a_parenthesis_open_in_any_reading_counts_as_unclosed(line):
    assert print_of(line + "\n(A)") != print_of(line + "\n(B)")


def test_comments_before_the_unclosed_one_on_its_line_are_code_too():
    assert print_of("(A) G1 X5. (OPEN") != print_of("(B) G1 X5. (OPEN")


def test_wording_is_handed_out_beside_its_block():
    reading = read(around("(A)\n(B)\nG1 X5. (C)\n(D)"))
    wording = reading.wording.split(b"\n")
    assert wording[6].split(b"\x1e") == [b"(A)", b"(B)", b"(C)"]
    assert wording[7] == b"(D)"
    assert len(wording) - 1 == reading.code.count(b"\n") + 1


def test_a_line_with_comments_only_is_no_block_and_changes_no_dialect():
    notes = b"".join(b"(LINE %d, NOT CODE)\n" % n for n in range(1, 200))
    program = around("G1 X5.")
    assert canonical(notes + program) == canonical(program)
