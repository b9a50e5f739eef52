"""Macro programs and comments of every kind, the compiled scanner and the plain quick way against line by line."""

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.nc.test_scan import agree
from tracker.nc import canonical, wording
from tracker.nc.reader import careful_line

_PIECES = (
    "# ## #1 #01 #1. #.5 #100 #3000 #3006 #3001 #4114 #04114 #4114. #41140 #4115 #<a> #[ [ ] = + - * / ** MOD AND OR XOR EQ "
    "NE GT GE LT LE eq mod SIN COS[ ATAN[ atan ]/[ SQRT ROUND[ FIX LN[ EXISTS[ PRM[ , . 0 00 1 01 1. 1.0 .5 .50 10 2.50 "
    "IF WHILE DO DO1 END END1 END01 THEN ELSE ENDIF GOTO GOTO10 goto DPRNT POPEN X Y Z- F R P L G M T N10 N O1 O X1. Y.5 "
    "G1 M3 M0 L9201 X#1 Y-#2 Z[#1+2.0] F+#9 /"
)
_SOUND = (
    "#1=#2 #101=#2+1.50 #1=[#2*.5]/2. #5=SIN[#1] #5=ATAN[#1]/[#2] X#1 Y[#24*COS[#1]] Z-#3 IF[#1EQ0] IF[#1GT5.0]THEN "
    "WHILE[#1LT5]DO1 END1 ELSE ENDIF G1 G0X1.5 F#9 #3=#2MOD3 R[[#1+2]-[#3]] T#20 P#1 S[#3*1000]"
)
_WORDING = (
    "(A) (TOOL 5) (TO DO) (5) (TOOL=1) (PROBE) (PROBE 1) (10% A) (MSG,A) (REMARK) (REPOS) (EDGE) (1/2 MILL) (A;B) (p 1 = 5) "
    ";REMARK ;END ;END5 ;FINISH ;X1. ;ELSEWHERE ;DO5 ;DOWEL ;A(B) ;A;B ;A[1] ;MSG ;SUB1 ;POCKET (;) ;) (A (PY,1) (#<_line>)"
).replace(" ;", "\n;").replace(" (", "\n(").split("\n")  # fmt: skip

pieces = st.sampled_from((_PIECES + " " + _SOUND).split())
gaps = st.sampled_from(["", "", "", " ", "\t"])
code = st.lists(st.tuples(gaps, pieces), max_size=7).map(lambda parts: "".join(a + b for a, b in parts))
sound = st.lists(st.sampled_from(_SOUND.split()), min_size=1, max_size=3).flatmap(
    lambda words: st.sampled_from(["", " "]).map(lambda gap: gap.join(words))
)
remarks = st.lists(st.sampled_from([*_WORDING, "M0", "M01", " M60 "]), max_size=2).map("".join)
lines = st.tuples(
    st.sampled_from(["", "", "N10", "n20 ", "/"]), remarks, st.one_of(code, sound, sound), gaps, remarks
).map("".join)
programs = st.tuples(st.lists(lines, max_size=10), st.booleans(), st.sampled_from(["\n", "\r\n"])).map(
    lambda made: "".join((line.lower() if made[1] else line) + made[2] for line in made[0]).encode("latin-1")
)


@settings(max_examples=400, deadline=None)
@given(programs, st.integers(1, 60))
@example(b"#1=#2(A)/2\nX1.\n#1=#2/2\n", 7)
@example(b"O1IF[1]\nO1#1=5\nX#4114\n#3000=1(A)\n", 7)
@example(b"#1=5X1.(A)\n(A)#1=5\n#1=5;REMARK\n", 7)
def test_macro_lines_are_read_alike(data, size):
    agree(data + b"G1 X1.\n" * 40, size)


def line_by_line(data, monkey):
    plain = wording.left_out
    wording.left_out = lambda text: text
    try:
        return monkey(data)
    finally:
        wording.left_out = plain


@settings(max_examples=400, deadline=None)
@given(data=programs, strict=st.booleans())
@example(data=b"(A (B) C)\n(TOOL 1)\nX1. (A)\n", strict=False)
@example(data=b"X1. (A)\nM0 (A)\nL9201\n(A)\n", strict=False)
@example(data=b"X1. (A)\n(OPEN\nX2. (B)\n", strict=True)
@example(data=b"(A)N10(B)G1(C)X1.;REMARK\nN20(A)(B)\n", strict=False)
def test_wording_left_out_at_once_is_the_wording_of_every_line(data, strict):
    data += b"G1 X1.\n" * 40
    for way in (
        lambda text: canonical.read(text, strict=strict),
        lambda text: canonical.canonical(text, strict=strict),
    ):
        assert way(data) == line_by_line(data, way)


@settings(max_examples=300, deadline=None)
@given(sound)
def test_sound_macro_lines_are_words(line):
    assert careful_line(line).reads
