"""Made-up NC texts for property tests: programs as data that can be written down in many ways, and wild text."""

from dataclasses import dataclass, field, replace

from hypothesis import strategies as st

LETTERS = "ABCDEFHIJKLPQRSUVWXYZ"
DECIMAL = set("XYZABCUVWIJKRPQFES")
UNSIGNED = set("XYZIJK")
G_CODES = [
    "0",
    "1",
    "2",
    "3",
    "17",
    "20",
    "21",
    "28",
    "40",
    "41",
    "43",
    "54",
    "80",
    "81",
    "90",
    "91",
    "94",
    "54.1",
]
M_CODES = ["3", "4", "5", "6", "8", "9", "30"]


@dataclass(frozen=True)
class Number:
    """A number as its digits: sign, whole part, and what follows the point, or no point."""

    sign: str
    whole: str
    rest: str | None


@dataclass(frozen=True)
class Block:
    """A block to be written down: skip, words, wording beside it; the label it carries and the label it jumps to."""

    words: tuple[tuple[str, Number], ...]
    skip: str = ""
    wording: str = ""
    label: int | None = None
    jump: int | None = None


@dataclass(frozen=True)
class Way:
    """A way of writing: what a style may choose freely without changing the code."""

    lower: bool = False
    zeros: int = 0
    blank: str = ""
    end: str = "\n"
    wrapped: bool = False
    wording: bool = False
    empty: str = ""
    leader: str = ""
    numbers: dict[int, int] = field(default_factory=dict)
    step: int = 0


NUMBERS = st.builds(
    Number,
    st.sampled_from(["", "", "-"]),
    st.integers(0, 99999).map(str),
    st.none() | st.just("") | st.integers(1, 9999).map(str).map(lambda t: t.rstrip("0")) | st.just("05"),
)
WORDS = st.one_of(
    st.tuples(st.just("G"), st.sampled_from(G_CODES).map(lambda t: Number("", t, None))),
    st.tuples(st.just("M"), st.sampled_from(M_CODES).map(lambda t: Number("", t, None))),
    st.tuples(st.sampled_from(LETTERS), NUMBERS),
)
WORDING = st.sampled_from(["", "", "(FINE)", "(1/2 MILL; long)", "; to the end", "(G1 X5.)", "(Gr\xf6\xdfe)"])
BLOCKS = st.builds(
    Block,
    st.lists(WORDS, min_size=1, max_size=6).map(tuple),
    st.sampled_from(["", "", "", "/", "/2"]),
    WORDING,
)
PROGRAMS = st.lists(BLOCKS, min_size=1, max_size=12)
WAYS = st.builds(
    Way,
    lower=st.booleans(),
    zeros=st.integers(0, 3),
    blank=st.sampled_from(["", " ", "\t", "  "]),
    end=st.sampled_from(["\n", "\r\n", "\r", "\r\r\n"]),
    wrapped=st.booleans(),
    wording=st.booleans(),
    empty=st.sampled_from(["", "", " ", "\t "]),
    leader=st.sampled_from(["", "\0\0", "\xef\xbb\xbf", "\x7f\x11"]),
    step=st.sampled_from([0, 0, 1, 5, 10]),
)


def _number(letter: str, number: Number, way: Way) -> str:
    """The digits, with zeros where they mean nothing."""
    whole, rest, zeros = number.whole, number.rest, "0" * way.zeros
    if rest is None:
        length = letter in DECIMAL - {"P", "S"}
        return number.sign + ("" if length or letter == "T" else zeros) + whole
    if letter in DECIMAL:
        rest += zeros
        whole = "" if whole == "0" and rest and way.zeros == 2 else zeros + whole
    sign = "+" if way.zeros == 3 and not number.sign and letter in UNSIGNED else number.sign
    return f"{sign}{whole}.{rest}"


def _line(block: Block, way: Way, count: int) -> str:
    # with its zeros an L by itself is the name of a program, called with what is written behind it (`tracker.nc.named_by_l`)
    named = {"L"} <= {letter for letter, _ in block.words} <= {"L", "P"}
    words = [
        letter
        + (way.blank if way.zeros == 1 else "")
        + _number(letter, n, replace(way, zeros=0) if named and letter == "L" else way)
        for letter, n in block.words
    ]
    if block.jump is not None:
        words.append(f"GOTO{way.blank}{way.numbers[block.jump]}")
    number = way.numbers[block.label] if block.label is not None else way.step * count
    head = [part for part in (block.skip, f"N{number}" if number else "") if part]
    text = way.blank.join(head + words)
    text = way.empty + (text.lower() if way.lower else text) + way.blank
    return text + (block.wording if way.wording and not named else "")


def written(program: list[Block], way: Way) -> bytes:
    """The program written down in this way."""
    lines = [_line(block, way, count + 1) for count, block in enumerate(program)]
    if way.empty:
        lines = [line for pair in zip(lines, [way.empty] * len(lines), strict=True) for line in pair]
    if way.wrapped:
        lines = ["%", *lines, "%"]
    return (way.leader + way.end.join(lines) + way.end).encode("latin-1")


PIECES = [
    *(
        "N10",
        "N20",
        "N020",
        "N5.5",
        "N",
        "G1",
        "G01",
        "G0",
        "G10",
        "G11",
        "G65",
        "G71",
        "G73",
        "M0",
        "M97",
        "M98",
        "M99",
    ),
    *(
        "X1.",
        "X1",
        "X01.50",
        "X-0.",
        "X+5",
        "A-0",
        "T0101",
        "T1",
        "P10",
        "Q20",
        "P20",
        "L2",
        "H10",
        "X",
        "Z,15",
        ",C5.0",
    ),
    *(
        "#1",
        "=",
        "#3000=1",
        "#<a>",
        "#[1]",
        "[",
        "]",
        "[1.0+2]",
        "EQ",
        "IF",
        "THEN",
        "GOTO10",
        "GOTO",
        "WHILE",
        "DO1",
    ),
    *(
        "O1",
        "O2",
        ":3",
        "%",
        "%O5",
        "/",
        "/2",
        "(",
        ")",
        "(A)",
        "(MSG,A)",
        "(5)",
        ";",
        "; a",
        ";X1",
        '"',
        "'a'",
        "<b>",
    ),
    *(
        " ",
        " ",
        "\t",
        "\n",
        "\n",
        "\n",
        "\r\n",
        "\r",
        "+",
        "-",
        ".",
        "0",
        "1",
        "5",
        "E3",
        "$1",
        "!2",
        "DPRNT[X#1]",
        "CALL",
    ),
    *("\xe4", "\x0b", "\0", "\x13", "o100 call", "SUB", "sin[30]", "N=1", "g1", "x5."),
]
WILD = st.lists(st.sampled_from(PIECES), max_size=40).map("".join).map(lambda text: text.encode("latin-1"))
CALM = [piece for piece in PIECES if not any(mark in piece for mark in "\0\x13\x0b\xe4\r=")] + [
    "G1X1.\n",
    "M5\n",
]
MOSTLY_WORDS = st.lists(
    st.sampled_from([*CALM, *["\nG1 X2.\n", "\nN7 Y3.\n", "\nM8\n"] * 8]), max_size=60
).map(lambda pieces: "".join(pieces).encode("latin-1"))
