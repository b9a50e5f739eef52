"""Programs of motion lines mixed with odd ones, for the quick lane held against the reference."""

from hypothesis import strategies as st

from tracker.machining.setting import Setting

PLACES = ("0", "0.", ".5", "-.5", "+1.", "5", "12", "-3.25", "1.5", "-0.", "-0", "00.250", "+.125", "7.0001")
RARE = (
    "123456789012.5", "0.1234567890123456789", "999999999.9", "1000000000.", "0.00000000000000000000001", "9007199254740993.",
    "0.1000000000000000055511151231257827", "12345678.12345678", "-1234.56789012345", "1" + "0" * 310, "0." + "3" * 320,
    "4503599627370496.5", "0.3", "2.675", "1000000000", "562949953421312.1", "56294995342131.21",
)  # fmt: skip
ODD = (
    "G90", "G91", "G17", "G18", "G19", "G90.1", "G91.1", "G20", "G21", "G94", "G95", "G93", "M8", "S1000 M3", "T1 M6",
    "T2 M6 (DRILL)", "(PASS 1)", "(DEPTH 2)", "(MSG, LOOK)", "(IF 5)", "/X1. Y1.", "/2 G1 Z-1.", "", "  ", "N5", "%", "M0",
    "G4 P1.", "G28 Z0", "G28", "G54", "G55", "G43 H1 Z1.", "G43 H3", "G49", "G41 D1", "G40", "G41 D7 X1.", "A90.", "X1. A45.",
    "G1 A0.", "G81 Z-1. R0.1 F5.", "X3. Y3.", "G80", "G68 X0 Y0 R30.", "G69", "G10 L2 P1 X1.", "G92 X0", "G52 X1.", "F0", "F-5.",
    "G1 X1. R0.5", "G0 X1. R1.", "G2 X1. Y1.", "G2 R1.", "G3", "F#1", "X[1+1]", "#1=5", "G53 Z0", "X1 2", "XY", "G1.5 X1.",
    "G02 X1. Y1. R0.1", "G1 U1.", "X1.,R1.", "GOTO 10", "M99", "M98 P5", "M97 P10", "G65 P9", "G66 P9", "G67", "G01. X1.", "G00 X.1 S500",
    "M30", "O7", "G5.1 Q1", "G1 P5 X1.", "(A", "\x00", "X1.\r\rY1.", "\tX1.\tY2.", "G61", "G98", "x1.y1.", "g1x2.", "G16", "N10 G0 X0 Y0 Z0",
)  # fmt: skip
HEADS = (
    "G90 G17 G21 G94\nG0 X0. Y0. Z0.\nG1 F100.\n",
    "G91 G20 G18\nG0 X0 Y0 Z0\nF10\nG1\n",
    "G21 G19 G90\nT1 M6\nG54\nS800 M3\nG0 X1. Y1.\nG43 H1 Z5.\nG1 Z0. F250.\n",
    "G90 G21\nG0 X1. Y2.\n",
    "%\nO1 (PART)\nG0 X0. Y0. Z1.\n",
    "",
)


def figures():
    plain = st.sampled_from(PLACES)
    digits = st.integers(0, 99999).map(lambda n: f"{n / 1000:.3f}")
    return st.one_of(plain, digits, digits, digits.map("-{}".format), st.sampled_from(RARE))


@st.composite
def motions(draw):
    """A plain line: words in any order and dress."""
    letters = draw(st.lists(st.sampled_from("XYZXYZXYZF"), min_size=1, max_size=4))
    words = [letter + draw(figures()).replace("-", "" if letter == "F" else "-") for letter in letters]
    if draw(st.integers(0, 2)) == 0:
        words.insert(
            draw(st.integers(0, len(words))), draw(st.sampled_from(("G0", "G1", "G00", "G01", "G1")))
        )
    if draw(st.booleans()):
        words.insert(0, f"N{draw(st.integers(0, 30))}")
    return draw(dressed(words))


@st.composite
def arcs(draw):
    """An arc that closes, or nearly, or not at all."""
    way = draw(st.sampled_from(("G2", "G3", "G02", "G03", "")))
    size = draw(st.sampled_from(("1.", "0.5", "2.25", "10", "0.0001", ".3333", "12.0005")))
    minus = draw(st.sampled_from(("", "-", "+")))
    axis = draw(st.sampled_from("XYZ"))
    shapes = (
        [f"I{minus}{size}"], [f"J{minus}{size}"], [f"K{minus}{size}"], [f"I{size}", f"J{size}", f"K{size}"],
        [f"{axis}{float(size) * 2:.4f}", f"I{size}"], [f"{axis}{minus}{size}", f"R{minus}{size}"],
        [f"X{size}", f"Y{minus}{size}", f"R{float(size) * 1.5:.4f}"], [f"X{size}", f"Y{size}", f"I{size}", "J0."],
        [f"X{minus}{size}", f"Y{size}", f"Z{size}", f"R{size}"], [f"Z{size}", f"X{size}", "I0.", f"K{size}"],
        [f"X{size}", f"Z{minus}1.", f"R-{size}", "F80."],
    )  # fmt: skip
    return draw(dressed([word for word in (way, *draw(st.sampled_from(shapes))) if word]))


@st.composite
def dressed(draw, words):
    blank = draw(st.sampled_from((" ", " ", "", "  ", "\t")))
    text = blank.join(words)
    if draw(st.integers(0, 9)) == 0:
        text = text.lower()
    if draw(st.integers(0, 9)) == 0:
        text = text.replace("X", "X ").replace("Y", "Y\t")
    return draw(st.sampled_from(("", "", "", " ", "\t"))) + text + draw(st.sampled_from(("", "", "", " ")))


@st.composite
def programs(draw):
    line = st.one_of(motions(), motions(), motions(), arcs(), arcs(), st.sampled_from(ODD))
    lines = draw(st.lists(line, max_size=40))
    end = draw(st.sampled_from(("\n", "\n", "\r\n", "\r")))
    text = draw(st.sampled_from(HEADS)).replace("\n", end) + end.join(lines)
    return (text + draw(st.sampled_from(("", end, end + "M30" + end + "%" + end)))).encode("latin-1")


@st.composite
def rows(draw):
    """Hardly anything but plain lines, where all is known at the start."""
    line = st.one_of(motions(), motions(), motions(), arcs())
    lines = draw(st.lists(line, min_size=1, max_size=30))
    if draw(st.booleans()):
        lines.insert(draw(st.integers(0, len(lines))), draw(st.sampled_from(ODD)))
    return (draw(st.sampled_from(HEADS[:3])) + "\n".join(lines) + draw(st.sampled_from(("", "\n")))).encode(
        "latin-1"
    )


def settings_known():
    return st.builds(
        Setting,
        lathe=st.sampled_from((None, False, False, False, True)),
        units=st.sampled_from((None, "inch", "mm")),
        decimal=st.sampled_from((None, "calculator", "increment")),
        start=st.sampled_from((None, (0.0, 0.0, 0.0), (-0.0, 1.5, 2.0))),
        max_rpm=st.sampled_from((None, 900)),
        most_blocks=st.sampled_from((10_000_000, 10_000_000, 3, 7, 20)),
        skip=st.booleans(),
    )
