"""Programs that are hard to read, for comparing the compiled scanner with the reference."""

from hypothesis import strategies as st

_WORDS = (
    "G0 G00 G1 G01 G00.1 G.1 G2 G3 G4 G10 G11 G17 G21 G25 G28 G40 G41 G43 G43.4 G49 G5.1 G5.10 G5.0 G52 G54 G54.1 "
    "G54.10 G65 G66 G67 G68 G70 G71 G72 G73 G76 G80 G81 G83 G84 G90 G90.1 G91 G92 G92.1 G96 G99 G100 G101 G999 G+1 "
    "G-1 G G#1 G[1+2] M0 M00 M1 M01 M2 M3 M5 M6 M06 M8 M9 M19 M30 M48 M60 M88 M96 M97 M98 M99 M198 M100 M.1 M#2 M-3 "
    "T1 T01 T001 T0101 T101 T1.1 T1.10 T-1 T+1 T T#3 X1 X1. X1.0 X01 X01. X001.500 X.5 X0.5 X-.5 X-0. X+0 X-0 X+1.5 "
    "X-1.50 X10 X100 X00 X. X- X+ X1.5.5 X1..5 XX1 X#1 X[#1+2.50] X-#1 Y-0.0345 Z25. Z-0.2604 A-0. A0. B+1. C90. U1.0 "
    "V0 W00 I1. J-.0 K+0.0 R5. R05 R-1.0 P1 P10 P20 P010 P1.0 P10. P#1 P=1 Q10 Q20 Q.5 Q30 H1 H01 H10 D2 D.5 E1. F600. "
    "F0600 F600 F.10 S800 S0800 S1.0 L1 L2 L02 L0123 L20 L10 L0.50 O1 O0001 O1234 O10. O-1 O100 O<sub> O100sub O100call O#1 :1 "
    ":0100 ,C5. ,R.50 ,A30 ,X1 N1 N10 N20 N30 N0010 N10.5 N-1 N+1 N N#1 N999999999 N1234567890 N=1"
)
WORDS = tuple(_WORDS.split())
STATEMENTS = (
    "GOTO10", "GOTO 20", "GOTO#1", "GOTO[#1+10]", "GOTO 10.", "GO TO 10", "goto10", "IF[#1EQ1]GOTO10", "THEN#1=2",
    "IF[#1GT2]THEN#3=4", "WHILE[#1LT5]DO1", "END1", "ELSE", "ENDIF", "#1=2", "#1=#2+1.50", "#100=[#1*2]", "#3000=1",
    "#3006=1(CHANGE TOOL)", "#<depth>=1", "#[#1]=2", "#4114", "#1=#4114", "#1=SIN[30.0]", "DPRNT[X#1[44]]", "POPEN",
    "BPRNT[A]", "SETVN", "$1", "!L10", "@5", "&X", '"text (not)"', "'a;b'", "<name>", "G65P9010A1.", "M98P1000",
    "M98P1000Q10", "M97P20", "M99P10", "M99", "G71P10Q20U.5W.1F.2", "G70P10Q20", "G10L2P1X1.", "G10L20P1", "G10L50",
    "G10P1R5", "G11", "N10R5", "N5P1R0",
)  # fmt: skip
COMMENTS = (
    "(ROUGH)", "(rough)", "()", "( )", "(5)", "(10%)", "(A(B)C)", "(A)B)", "(OPEN", "(MSG,HELLO)", "(M S G x)", "(msgx)",
    "(DEBUG,#1)", "(PRINT,1)", "(LOGO)", "(LOGOPEN,a)", "(PROBE)", "(PROBEOPEN f)", "(PROBECLOSE)", "(ABORT,x)",
    "(ABOUT)", "(AXIS,hide)", "(PY,1)", "(PYRAMID)", "(GOTO 10)", "(GO TO THE LEFT)", "(IF NEEDED)", "(I F)", "(CALL ME)",
    "(PCALL)", "(MCALL X)", "(RPT)", "(RET)", "(RETURN)", "(EXEC)", "(ERROR 5)", "(P10=A)", "(P 1 0 = A)", "(P10 A)",
    "(PRESS)", "(TOOL\t1)", "(F\xc4\xdfE \xff)", "(\x07BELL)", "(A;B)", ";COMMENT", "; G0 X1.", ";(A)", ";", ";py,1",
    ";(OPEN", "; rough, then finish", "(A) (B)", "(A)(MSG,X)(B)", "(DEBU)", "(MS)", "(P)", "(X%)", "(\xa0)",
)  # fmt: skip
ODDITIES = (
    "%", " %", "% ", "%%", "%O1234(NAME)", "% NAME", "/", "/1", "/2 ", "N10/", "/N10", "/N10/", "\x00", "\x7f", "\x11",
    "\x13", "\x1a", "\x0b", "\x0c", "\x85", "\xa0", "\xe9", "\xb5", "\ufeff".encode().decode("latin-1"), "\xff\xfe", "*",
    "=", "[", "]", "#", ",", ".", "-", "+", "5", "IF", "\t", "  ", "\r", "\r\r", "^", "_", "\\", "`", "{", "~", "|",
)  # fmt: skip
ENDS = ("\n", "\n", "\n", "\r\n", "\n\n", "\r\n\r\n", "\r", "\n\r", "\r\r\n", "\r\n\n", "", " \n", "\t\r\n")


def _joined(parts: list[str]) -> bytes:
    return "".join(parts).encode("latin-1")


fragments = st.sampled_from([*WORDS, *STATEMENTS, *COMMENTS, *ODDITIES])
gaps = st.sampled_from(["", "", "", " ", "  ", "\t"])
numbers = st.one_of(
    st.just(""), st.integers(0, 40).map(lambda n: f"N{n} "), st.integers(0, 40).map(lambda n: f"n0{n}")
)
nasty_line = st.lists(st.tuples(gaps, fragments), max_size=5).map(lambda p: "".join(a + b for a, b in p))
tame_word = st.one_of(
    st.sampled_from([word for word in WORDS if word[0] not in "NO:"]),
    st.tuples(
        st.sampled_from("XYZABCIJKRFS"), st.sampled_from(["", "-", "+"]), st.decimals(0, 999, places=3)
    ).map(lambda t: f"{t[0]}{t[1]}{t[2]}"),
)
tame_line = st.tuples(
    numbers,
    st.lists(st.tuples(gaps, tame_word), max_size=5).map(lambda p: "".join(a + b for a, b in p)),
    st.sampled_from(["", "", "", " ", *COMMENTS[:4], "(FINISH PASS)", " (TOOL 5)"]),
).map("".join)
lowered = st.booleans()


def _program(lines: list[tuple[str, str]], lower: bool) -> bytes:
    text = "".join(line + end for line, end in lines)
    return (text.lower() if lower else text).encode("latin-1", "replace")


uniform = st.sampled_from(["\n", "\r\n"])
nasty_programs = st.builds(
    _program,
    st.lists(st.tuples(st.one_of(nasty_line, tame_line), st.sampled_from(ENDS)), max_size=12),
    lowered,
)
tame_programs = st.builds(
    lambda lines, end, head, tail, lower: _program([(line, end) for line in [*head, *lines, *tail]], lower),
    st.lists(st.one_of(tame_line, tame_line, tame_line, nasty_line), max_size=14),
    uniform,
    st.sampled_from([[], ["%"], ["%", "O1234 (PART)"], ["O1"], ["", " "], ["% "], ["(HEAD)", "%"]]),
    st.sampled_from(
        [[], ["M30", "%"], ["%"], ["%", ""], ["%", "G0X1."], ["O2", "N10 G1 X1.", "GOTO10", "M99"]]
    ),
    lowered,
)
raw_bytes = st.one_of(
    st.binary(max_size=120),
    st.text(alphabet="GXYNMOTPQ0123456789.-+ ()%;/#[]=\r\n\t\x00\x1a", max_size=120).map(
        lambda t: t.encode("latin-1")
    ),
)
EVERY_FRAGMENT = [*WORDS, *STATEMENTS, *COMMENTS, *ODDITIES]
