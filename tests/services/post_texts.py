"""Programs in the manner of different posts and controls, as shops have them lying about; written for these tests.

What a survey of public programs met (line ends, marks, numbering, comments, slips, other languages under the same
endings) has at least one text each. Beside each stands what a person who reads it would say of it.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class PostText:
    """``numbers``, ``tools`` ((T, H or offset, D, words), ...), ``units`` and ``offsets`` as read by eye."""

    name: str
    text: bytes
    numbers: tuple[int, ...] = ()
    tools: tuple[tuple, ...] = ()
    units: str | None = None
    offsets: tuple[str, ...] = ()
    dialect: str = "word-address"
    lathe: bool = False
    note: str | None = None
    head: dict | None = None
    code: bool = True


ONE = b"T1 M6\nG0 G90 G54 X0. Y0. S1000 M3\nG43 H1 Z1.\nG1 Z-.5 F10.\nX1.\nG0 Z1.\nM30\n"
ONE_TOOL = ((1, (1,), (), None),)


def lines(text: str, end: str = "\n") -> bytes:
    return text.strip("\n").replace("\n", end).encode("latin-1") + end.encode()


PLAIN = """
%
O4711 (BRACKET OP1)
(DWG NO. 88-1204 REV D)
(MATERIAL: 6061-T6)
N10 G20 G17 G40 G49 G80 G90
N20 T7 M6 (1/2 END MILL)
N30 G0 G90 G54 X1. Y1. S4000 M3
N40 G43 H7 Z1. M8
N50 G1 Z-.25 F20.
N60 G41 D7 X2. F30.
N70 G40 X3.
N80 G0 Z1. M9
N90 G91 G28 Z0.
N100 M30
%
"""
PLAIN_SAYS = {
    "numbers": (4711,),
    "tools": ((7, (7,), (7,), "1/2 END MILL"),),
    "units": "inch",
    "offsets": ("G54",),
    "head": {"drawing": "88-1204", "drawing_revision": "D", "material": "6061-T6", "title": "BRACKET OP1"},
}

TEXTS: tuple[PostText, ...] = (
    PostText(name="crlf.nc", text=lines(PLAIN, "\r\n"), **PLAIN_SAYS),
    PostText(name="mixed-ends.nc", text=lines(PLAIN, "\r\n").replace(b"N40 ", b"N40").replace(b"M8\r\n", b"M8\n"), **PLAIN_SAYS),
    PostText(name="cr-cr-lf.nc", text=lines(PLAIN, "\r\r\n"), **PLAIN_SAYS),
    PostText(name="no-last-end.nc", text=lines(PLAIN).rstrip(b"%\n"), **PLAIN_SAYS),
    PostText(name="mark-before.nc", text=b"\xef\xbb\xbf" + lines(PLAIN), **PLAIN_SAYS),
    PostText(name="words-after-end.nc", text=lines(PLAIN) + b"SAVED BY THE OFFICE\n", **PLAIN_SAYS),
    PostText(name="no-percent.nc", text=lines(PLAIN).replace(b"%\n", b""), **PLAIN_SAYS),
    PostText(name="tabs.nc", text=lines(PLAIN).replace(b" T7", b"\tT7").replace(b" G43", b"\tG43"), **PLAIN_SAYS),
    PostText(
        name="lower.nc",
        text=lines(PLAIN.replace("N", "n").replace("G", "g").replace("X", "x").replace("T7", "t7").replace("H7", "h7")),
        **{**PLAIN_SAYS, "tools": ((7, (7,), (7,), "1/2 EnD MILL"),), "head": None},
    ),
    PostText(name="plus-signs.nc", text=lines(PLAIN.replace("X1.", "X+1.").replace("Y1.", "Y+1.")), **PLAIN_SAYS),
    PostText(name="blanks-in-words.nc", text=lines(PLAIN.replace("X1.", "X 1.").replace("T7 M6", "T 7 M 6").replace("H7", "H 7")), **PLAIN_SAYS),
    PostText(name="not-utf8.nc", text=lines(PLAIN).replace(b"(1/2 END MILL)", b"(\xd86 FR\xc4SER)"), **{**PLAIN_SAYS, "tools": ((7, (7,), (7,), "\u00d86 FR\u00c4SER"),)}),
    PostText(name="all-n0.nc", text=b"O11\nN0 G21\nN0 " + ONE, numbers=(11,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="falling-n.nc", text=b"O12\nG21\n" + b"".join(b"N%d %s\n" % (90 - 10 * at, line) for at, line in enumerate(ONE.splitlines())), numbers=(12,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="n000010.nc", text=b"O13\nG21\n" + b"".join(b"N%06d %s\n" % (10 * at, line) for at, line in enumerate(ONE.splitlines())), numbers=(13,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="n-glued.nc", text=b"O14\nG21\nN181500(START OF TOOL)\n" + ONE, numbers=(14,), tools=((1, (1,), (), "START OF TOOL"),), units="mm", offsets=("G54",)),
    PostText(name="O0099.NC", text=b"%\nO15\nG21\n" + ONE + b"%\n", numbers=(15,), tools=ONE_TOOL, units="mm", offsets=("G54",), note="the file is called O0099.NC, the program in it O0015"),
    PostText(name="o-twice.nc", text=b"%\nO16\nG21\nO16\n" + ONE + b"%\n", numbers=(16,), units="mm", note="O0016 stands in it 2 times"),
    PostText(name="two-programs.nc", text=b"%\nO17\nG21\n" + ONE + b"O18\nG91 G28 Z0.\nM99\n%\n", numbers=(17, 18), tools=ONE_TOOL, units="mm", offsets=("G54",), note="several O numbers in it: O0017, O0018"),
    PostText(name="no-number.nc", text=b"G21\n" + ONE, tools=ONE_TOOL, units="mm", offsets=("G54",), note="no O number in it"),
    PostText(name="colon.nc", text=b"%\n:1234\nG21\n" + ONE + b"%\n", numbers=(1234,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="unclosed.nc", text=b"O20 (PART\nG21\n" + ONE, numbers=(20,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="semicolons.nc", text=b"O21 ; (PLATE)\nG21\n" + ONE.replace(b"T1 M6", b"T1 M6 (TOOL ; ONE)"), numbers=(21,), tools=((1, (1,), (), "TOOL ; ONE"),), units="mm", offsets=("G54",)),
    PostText(name="m6-before-t.nc", text=b"O22\nG20\nM6 T1 (DRILL)\nG0 G55 X0. S1000 M3\nG43 Z1. H1\nG1 Z-1. F5.\nM30\n", numbers=(22,), tools=((1, (1,), (), "DRILL"),), units="inch", offsets=("G55",)),
    PostText(name="precalls.nc", text=b"O23\nG20\n(DRILL)\nT1 M6\nT2\nG0 G54 X0. S1000 M3\nG43 H1 Z1.\nG1 Z-1. F5.\nG0 Z1.\n(TAP)\nM6 T2\nT1\nG0 G54 X0. S300 M3\nG43 H12 Z1.\nG1 Z-1. F5.\nM30\n", numbers=(23,), tools=((1, (1,), (), "DRILL"), (2, (12,), (), "TAP")), units="inch", offsets=("G54",)),
    PostText(name="two-offsets.nc", text=b"O24\nG21\nT1 M6\nG0 G54.1 P12 X0. Y0. S900 M3\nG43 H1 Z5.\nG1 Z-1. F50.\nG0 Z5.\nG59 X0. Y0.\nG1 Z-1.\nM30\n", numbers=(24,), tools=ONE_TOOL, units="mm", offsets=("G54.1 P12", "G59")),
    PostText(name="two-lengths.nc", text=b"O25\nG21\nT1 M6\nG0 G54 X0. Y0. S900 M3\nG43 H1 Z5.\nG1 Z-1. F50.\nG0 Z5.\nG43 H31\nG1 Z-2.\nM30\n", numbers=(25,), tools=((1, (1, 31), (), None),), units="mm", offsets=("G54",)),
    PostText(name="units-twice.nc", text=b"O26\nG21\nG20\n" + ONE, numbers=(26,), tools=ONE_TOOL, offsets=("G54",), note="G20 and G21 both stand in it"),
    PostText(name="macro-tool.nc", text=b"O27\nG21\nT#500 M6\nG0 G54 X0. S900 M3\nG43 H#500 Z5.\nM30\n", numbers=(27,), units="mm"),
    PostText(name="lathe.nc", text=b"%\nO28 (PIN)\nG21 G18 G99\nG50 S2500\nT0101 (ROUGHING)\nG96 S180 M3\nG0 X42. Z2.\nG71 U2. R1.\nG71 P100 Q120 U.4 W.1 F.25\nN100 G0 X20.\nG1 Z-30. F.15\nN120 X42.\nG0 X100. Z100.\nT0303 (FINISHING)\nG0 X42. Z2.\nG70 P100 Q120\nM30\n%\n", numbers=(28,), tools=((1, (1,), (), "ROUGHING"), (3, (3,), (), "FINISHING")), units="mm", lathe=True),
    PostText(name="jump.nc", text=b"O29\nG21\n#100=0\nN5\nG0 G54 X#100\n#100=#100+1\nIF [#100 LT 3] GOTO5\n" + ONE, numbers=(29,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="local-sub.nc", text=b"O30\nG21\nM97 P250\n" + ONE.replace(b"M30\n", b"M30\nN250 G91\nG90\nM99\n"), numbers=(30,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="slips.nc", text=b"O31\nG21\nGO X0.\nG0X-4.5.Z0.\nTO303\nZ,15\n...\nN10 21 G40\n" + ONE.replace(b"M30\n", b"X2.\nX3.\n" * 40 + b"M30\n"), numbers=(31,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="skipped.nc", text=b"O32\nG21\n/N10 G0 X0.\nN10 / G0 Y0.\n" + ONE, numbers=(32,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="nul-leader.nc", text=b"\0" * 40 + b"%\nO33\nG21\n" + ONE + b"%\n" + b"\0" * 40, numbers=(33,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="long-line.nc", text=b"O34\nG21\n(" + b"A" * 300 + b")\n" + ONE, numbers=(34,), tools=((1, (1,), (), "A" * 300),), units="mm", offsets=("G54",)),
    PostText(name="O02002.nc", text=b"O2002\nG21\n" + ONE, numbers=(2002,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="words-before.nc", text=b"PROGRAM FROM THE OFFICE\n" + lines(PLAIN), dialect="?"),
    PostText(name="labels-again.nc", text=b"O40\nG21\n" + b"".join(b"N1 (CYCLE)\nGOTO2\nN2 G90\n" for _ in range(2)) + ONE, numbers=(40,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="fractional-n.nc", text=b"O41\nG21\nN10.5 G90\n" + ONE, numbers=(41,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="nested.nc", text=b"O42 (PLATE (OLD) ONE)\nG21\n" + ONE, dialect="?"),
    PostText(name="swallows-a-move.nc", text=b"O43\nG21\n" + ONE.replace(b"X1.\n", b"(TO THE EDGE X1.\n"), numbers=(43,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="bracket-after-semicolon.nc", text=b"O44\nG21 ; METRIC (AS DRAWN)\nG90\n" + ONE, numbers=(44,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="looks-like-code.nc", text=b"O45\nG21\n(T9 M6 G43 H9)\n" + ONE.replace(b"T1 M6", b"(G20)T1 M6"), numbers=(45,), tools=((1, (1,), (), "G20"),), units="mm", offsets=("G54",)),
    PostText(name="code-after-comment.nc", text=b"O46\nG21\n" + ONE.replace(b"T1 M6", b"(CHANGE)T1 M6(NOW)"), numbers=(46,), tools=((1, (1,), (), "NOW"),), units="mm", offsets=("G54",)),
    PostText(name="if-then.nc", text=b"O47\nG21\n#1=2\nIF [#1 EQ 0] THEN #3000=1(WRONG PART)\nGOTO 100\nN100\n" + ONE, numbers=(47,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="jump-to-a-variable.nc", text=b"O48\nG21\n#1=9\nGOTO#1\nN9 (HERE)\n" + ONE, dialect="?"),
    PostText(name="m97-without-p.nc", text=b"O49\nG21\n" + ONE.replace(b"M30\n", b"M97 300\nM30\n"), numbers=(49,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="lower-lathe.nc", text=b"%\no50 (pin)\ng21 g18 g99\ng50 s2500\nt0101 (roughing)\ng96 s180 m3\ng0 x42. z2.\ng71 u2. r1.\ng71 p45 q49 u.4 w.1 f.25\nn45 g0 x20.\ng1 z-30. f.15\nn49 x42.\ng0 x100. z100.\nm30\n%\n", numbers=(50,), tools=((1, (1,), (), "roughing"),), units="mm", lathe=True),
    PostText(name="q-label-missing.nc", text=b"%\nO51\nG21 G18 G99\nT0101\nG96 S180 M3\nG0 X42. Z2.\nG71 U2. R1.\nG71 P100 Q130 U.4 W.1 F.25\nN100 G0 X20.\nG1 Z-30. F.15\nM30\n%\n", dialect="?"),
    PostText(name="no-labels.nc", text=b"O52\nG21\nG10 L2 P1 X0. Y0.\nG4 P600\n" + ONE.replace(b"X1.\n", b"G83 X1. Z-1. R1. P500 Q2.\nG80\n"), numbers=(52,), tools=ONE_TOOL, units="mm", offsets=("G54",)),
    PostText(name="keyword.mpf", text=b'N10 G54 G17\nN20 T="MILL_10"\nN30 M6\nN40 GOTOF ENDE\nN50 R3=-.023\nN60 Y=12+10\nN120 ENDE: M30\n', dialect="?"),
    PostText(name="dialog.h", text=b"0 BEGIN PGM 400 MM\n1 TOOL CALL 5 Z S2000\n2 L X+10 Y+10 R0 FMAX M3\n3 CYCL DEF 1.0 PECKING ~\n4 END PGM 400 MM\n", dialect="verbatim", note="another language than word-address, or no text: kept to the letter, nothing could be read from it"),
    PostText(name="wire.nc", text=b"// WIRE PROGRAM\nE001=0020\nH001=+0.15\nG90\nC001\nG1 X5.\nM2\n", dialect="?"),
    PostText(name="noise.nc", text=bytes(range(256)) * 16, dialect="verbatim", note="another language than word-address, or no text: kept to the letter, nothing could be read from it"),
    PostText(name="empty.nc", text=b"", code=False),
    PostText(name="words-only.nc", text=b"%\n(NOTHING YET)\n%\n", code=False, head={"title": "NOTHING YET"}),
)  # fmt: skip
