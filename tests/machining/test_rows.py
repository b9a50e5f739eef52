"""Long rows of cutting blocks, taken at one stroke, against the same program read block by block."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.machining.program import Program
from tracker.machining.run import SHORTEST, rows
from tracker.machining.sections import ALL, changed_sections

CUTS = (
    "X1.",
    "X2. Y1.",
    "Z-1.",
    "X3. Z-.5",
    "G1 X1.",
    "G0 X2.",
    "G2 X1. Y1. R2.",
    "F8.",
    "G1 Y2. F7.",
    "Y-3.",
)
BEFORE = ("G90 G17", "G90", "G91", "G1 F5.", "G0", "G81 Z-1. R.1 F4.", "G80", "M8", "G55", "S400 M3", "G18")


def lines(blocks):
    return "".join(block + "\n" for block in blocks).encode()


def test_rows_are_whole_blocks_of_cutting_words():
    row = ["X1.Y2."] * SHORTEST
    assert list(rows(lines(["G90", *row, "M8", *row, "G1X1.F2."]))) == [
        (1, 1 + SHORTEST),
        (2 + SHORTEST, 3 + 2 * SHORTEST),
    ]
    assert list(rows(lines(row[1:]))) == []
    for stops in (
        "G81X1.",
        "X#1",
        "X1.2.3",
        "X",
        "N5X1.",
        "G1.1X1.",
        "G10L2P1X1.",
        "/X1.",
        "T1",
        "S5",
        "(MSG,A)",
        "G28X1.",
    ):
        assert list(rows(lines([*row[1:], stops]))) == []


cuts = st.lists(st.sampled_from(CUTS), min_size=1, max_size=6)
before = st.lists(st.sampled_from(BEFORE), max_size=3)


@given(before, cuts, st.integers(0, 90), st.sampled_from(CUTS), before, cuts)
@settings(max_examples=60, deadline=None)
def test_rows_say_no_less_than_their_blocks(first, row, place, edit, second, more):
    long = (row * 2 * SHORTEST)[: SHORTEST + 30]
    tail = ["T2 M6", *second, *(more * 2 * SHORTEST)[: SHORTEST + 5], "T3 M6", *more, "M30"]
    old = lines(["O1", "G90 G17 G94", "T1 M6", *first, *long, *tail])
    long[place] = edit
    new = lines(["O1", "G90 G17 G94", "T1 M6", *first, *long, *tail])
    quick = changed_sections(old, new)
    rows_off = property(lambda _: {})
    kept = Program.rows
    try:
        Program.rows = rows_off
        careful = changed_sections(old, new)
    finally:
        Program.rows = kept
    assert quick == ALL or set(careful) <= set(quick)
    assert careful != ALL or quick == ALL


def test_rows_under_absolute_words_leave_what_their_last_words_say():
    row = [f"X{number}. Y1." for number in range(SHORTEST + 10)]

    def text(feed):
        head = ("O1", "G90 G17 G40 G94", "T1 M6", "G0 X0. Y0.", "G43 H1 Z1.")
        rest = ("T2 M6", "G0 G90 X5. Y5.", "G43 H2 Z1.", "G1 Z-1. {}", "M30")
        return lines(
            [*head, "G1 Z-1. F9.", *row, "G0 Z1.", "G91 G28 Z0.", *(block.format(feed) for block in rest)]
        )

    old = text("F5.")
    assert changed_sections(old, old.replace(b"X7. Y1.", b"X7.5 Y1.")) == ("1",)
    assert changed_sections(old, old.replace(b"Z-1. F9.", b"Z-1. F8.")) == ("1",)
    left = text("")
    assert changed_sections(left, left.replace(b"Z-1. F9.", b"Z-1. F8.")) == ("1", "2")
