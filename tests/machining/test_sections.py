from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.machining.sections import ALL, changed_sections, sections
from tracker.nc.canonical import read
from tracker.nc.compare import compare

TEXTS = Path(__file__).parent.parent / "nc" / "compare_texts"
R1, R2, R3, R4, R5 = ((TEXTS / f"O1001-r{number}.nc").read_bytes() for number in range(1, 6))
CONTOUR = (TEXTS / "O1002.nc").read_bytes()
PIN = (TEXTS / "O2101.nc").read_bytes()


def lines(*blocks):
    return "".join(block + "\n" for block in blocks).encode("latin-1")


def edited(text, old, new):
    assert text.count(old.encode()) == 1, old
    return text.replace(old.encode(), new.encode())


# Sections.


def test_sections_of_a_mill_program():
    assert [(s.tool, s.line, s.number, s.description) for s in sections(read(R5))] == [
        ("1", 9, "N30", "2.0 FACE MILL"),
        ("2", 23, "N160", "1/2 SPOT DRILL 90 DEG"),
        ("3", 39, "N310", "1/2 4FL END MILL"),
        ("4", 57, "N480", "5/16 DRILL"),
        ("5", 71, "N610", "NO. 7 DRILL 0.201"),
        ("6", 83, "N720", "1/4-20 TAP"),
    ]


def test_sections_follow_one_another_to_the_last_block():
    found = sections(read(R5))
    assert [s.first for s in found[1:]] == [s.last + 1 for s in found[:-1]]
    assert found[-1].last == len(read(R5).lines) - 1


def test_sections_of_a_lathe_program():
    assert [(s.tool, s.number) for s in sections(read(PIN))] == [
        ("0101", "N30"),
        ("0202", "N260"),
        ("0303", "N380"),
    ]


@pytest.mark.parametrize(
    ("blocks", "told"),
    [
        (["T1 M6 (DRILL)"], ("1", 1, None, "DRILL")),
        (["T1 M6", "(DRILL)"], ("1", 1, None, "DRILL")),
        (["(JOB 5)", "(DRILL)", "T1 M6 ;NEW", "(ROUGH)"], ("1", 3, None, "NEW")),
        (["(JOB 5)", "(DRILL)", "n5 T1 M6"], ("1", 3, "N5", "DRILL")),
        (["T1", "M6", "X1."], ("1", 2, None, None)),
        (["M6", "X1."], (None, 1, None, None)),
        (["N10 T01 M06 ( )", "GOTO 10"], ("1", 1, "N10", None)),
    ],
)
def test_tool_line_number_and_nearest_comment(blocks, told):
    (only,) = sections(read(lines(*blocks)))
    assert (only.tool, only.line, only.number, only.description) == told


def test_strict_reading_has_the_same_sections():
    assert [s.number for s in sections(read(R5, strict=True))] == [s.number for s in sections(read(R5))]


def test_no_sections_where_there_is_no_tool_change():
    assert sections(read(b"G1 X1.\n")) == ()
    assert sections(read(b"")) == ()
    assert sections(read(b"BEGIN PGM 1 MM\nTOOL CALL 1 Z S500\nL X+1 Y+2 R0 FMAX\n")) == ()


# Changed sections of the five revisions.


@pytest.mark.parametrize(
    ("old", "new", "tools"),
    [
        (R1, R2, ("4",)),
        (R2, R3, ("4",)),
        (R3, R4, ()),
        (R4, R5, ("5",)),
        (R1, R5, ("4", "5")),
        (R5, R5, ()),
    ],
)
def test_revisions(old, new, tools):
    assert changed_sections(old, new) == tools
    assert changed_sections(old, new, compare(old, new)) == tools
    assert changed_sections(old, new, called={1002: CONTOUR}) == tools


def test_a_changed_subprogram_belongs_to_every_section_that_calls_it():
    other = edited(CONTOUR, "N30 G2 X0.25 Y3. I0.25 J0.", "N30 G2 X0.25 Y3. R0.25")
    assert changed_sections(R5, R5, called={1002: other}, called_before={1002: CONTOUR}) == ("3",)
    assert changed_sections(R4, R5, called={1002: other}, called_before={1002: CONTOUR}) == ("3", "5")
    renumbered = CONTOUR.replace(b"N", b"N1")
    assert changed_sections(R5, R5, called={1002: renumbered}, called_before={1002: CONTOUR}) == ()
    assert changed_sections(R5, R5, called={1002: CONTOUR}, called_before={}) == ("3", "4", "5", "6")


@pytest.mark.parametrize("behind", [b"M0\n", b"(END)\nM0\n", b"O1005\nM99\n"])
def test_code_behind_the_last_percent_sign_is_no_section_of_a_tool(behind):
    assert R5.rstrip().endswith(b"%")
    assert changed_sections(R5, R5.rstrip() + b"\n" + behind) == "all"


def test_a_subprogram_in_the_same_file():
    def text(depth):
        main = (
            "O1",
            "G90",
            "T1 M6",
            "G0 X1.",
            "T2 M6",
            "G0 X1.",
            "M98 P2",
            "T3 M6",
            "G0 X1.",
            "M98 P2",
            "M30",
        )
        return lines(*main, "O2", f"G1 Z{depth} F9.", "M99")

    assert changed_sections(text("-1."), text("-2.")) == ("2", "3")


# What an edit leaves in force. T1 and T2 are cut whole; each row edits T1 and says what T2 does first.

START = ("O1", "G20", "G0 G17 G40 G49 G80 G90 G54 G94 G98 M9")
FIRST = (
    "T1 M6",
    "G0 X0. Y0. S900 M3",
    "G43 H1 Z1. M8",
    "G1 Z-1. F9.",
    "X5.",
    "G0 Z1. M9",
    "M5",
    "G91 G28 Z0.",
    "G90",
)
SAFE = ("G0 G17 G40 G80 G90 G54 X1. Y1. S800 M3", "G43 H2 Z1. M8", "G1 Z-1. F5.", "X2.", "G0 Z1.", "M30")


def program(first=FIRST, second=SAFE, start=START):
    return lines(*start, *first, "T2 M6", *second)


def without(blocks, block):
    return tuple(other for other in blocks if other != block)


def with_(blocks, block, instead):
    assert block in blocks
    return tuple(instead if other == block else other for other in blocks)


LEAKS = [
    # the edit in T1 | T2 that sets it | T2 that uses it
    pytest.param(
        with_(FIRST, "G1 Z-1. F9.", "G1 Z-1. F8."), SAFE, with_(SAFE, "G1 Z-1. F5.", "G1 Z-1."), id="F"
    ),
    pytest.param(
        with_(FIRST, "G0 X0. Y0. S900 M3", "G0 X0. Y0. S850 M3"),
        SAFE,
        with_(SAFE, SAFE[0], "G0 G17 G40 G80 G90 G54 X1. Y1. M3"),
        id="S",
    ),
    pytest.param(without(FIRST, "M5"), SAFE, with_(SAFE, SAFE[0], "G0 G90 G54 X1. Y1. S800"), id="spindle"),
    pytest.param(
        with_(FIRST, "G90", "G91"), SAFE, with_(SAFE, SAFE[0], "G0 G17 G40 G80 G54 X1. Y1. S800 M3"), id="G91"
    ),
    pytest.param(
        with_(FIRST, "X5.", "G55 X5."),
        SAFE,
        with_(SAFE, SAFE[0], "G0 G17 G40 G80 G90 X1. Y1. S800 M3"),
        id="G55",
    ),
    pytest.param(
        with_(FIRST, "X5.", "G54.1 P3 X5."),
        SAFE,
        with_(SAFE, SAFE[0], "G0 G17 G40 G80 G90 X1. Y1. S800 M3"),
        id="G54.1",
    ),
    pytest.param(
        with_(FIRST, "X5.", "G41 D1 X5."),
        SAFE,
        with_(SAFE, SAFE[0], "G0 G17 G80 G90 G54 X1. Y1. S800 M3"),
        id="G41",
    ),
    pytest.param(
        with_(FIRST, "G43 H1 Z1. M8", "G43 H9 Z1. M8"), SAFE, with_(SAFE, SAFE[1], "Z1. M8"), id="H"
    ),
    pytest.param(
        with_(FIRST, "G0 Z1. M9", "G0 Z1."),
        with_(SAFE, "M30", "M9"),
        with_(SAFE, SAFE[1], "G43 H2 Z1."),
        id="M9",
    ),
    pytest.param(
        without(FIRST, "G91 G28 Z0."),
        ("G0 G90 X1. Y1. Z1.", *SAFE[1:]),
        ("G0 G90 G17 X1. Y1.", *SAFE[1:]),
        id="Z",
    ),
    pytest.param(with_(FIRST, "X5.", "X6."), SAFE, ("G0 G90 G54 X1. S800 M3", *SAFE[1:]), id="not X"),
    pytest.param(with_(FIRST, "X5.", "Y5."), SAFE, ("G0 G90 G54 X1. S800 M3", *SAFE[1:]), id="Y"),
    pytest.param(with_(FIRST, "X5.", "G95 X5."), with_(SAFE, SAFE[2], "G94 G1 Z-1. F5."), SAFE, id="G95"),
    pytest.param(with_(FIRST, "X5.", "G64 X5."), with_(SAFE, SAFE[2], "G61 G1 Z-1. F5."), SAFE, id="G64"),
    pytest.param(
        with_(FIRST, "X5.", "G18 X5."),
        SAFE,
        ("G0 G40 G80 G90 G54 X1. Y1. S800 M3", "G43 H2 Z1. M8", "G2 X2. Y1. I.5 F5.", "M30"),
        id="G18",
    ),
    pytest.param(
        with_(FIRST, "X5.", "G99 G81 X5. Z-1. R1. F9."),
        (SAFE[0], SAFE[1], "G98 G81 X1. Y1. Z-1. R1. F5.", "G80", "M30"),
        (SAFE[0], SAFE[1], "G81 X1. Y1. Z-1. R1. F5.", "G80", "M30"),
        id="G99",
    ),
    pytest.param(with_(FIRST, "G0 Z1. M9", "M9"), SAFE, ("X1. Y1. S800 M3", *SAFE[1:]), id="G0"),
]


@pytest.mark.parametrize(("first", "sets", "uses"), [row for row in LEAKS if row.id != "not X"])
def test_a_later_section_counts_if_it_uses_what_was_left_otherwise(first, sets, uses):
    assert changed_sections(program(second=sets), program(first, sets)) == ("1",)
    assert changed_sections(program(second=uses), program(first, uses)) == ("1", "2")
    assert changed_sections(program(first, uses), program(second=uses)) == ("1", "2")


def test_an_axis_that_is_named_at_once_is_not_used():
    moved = with_(FIRST, "X5.", "X6.")
    assert changed_sections(program(), program(moved)) == ("1",)
    only_x = ("G0 G90 G54 X1. S800 M3", *SAFE[1:])
    assert changed_sections(program(second=only_x), program(moved, only_x)) == ("1",)


def test_what_is_left_can_pass_a_section_that_does_not_use_it():
    third = ("T3 M6", "G0 G90 G54 X3. Y3. S700 M3", "G43 H3 Z1.", "G1 Z-2.", "M30")
    idle = ("G0 G90 X1. Y1. S800 M3", "G43 H2 Z1.")
    slower = with_(FIRST, "G1 Z-1. F9.", "G1 Z-1. F8.")
    assert changed_sections(program(second=(*idle, *third)), program(slower, (*idle, *third))) == ("1", "3")
    cuts = (*idle, "G1 Z-1. F5.")
    assert changed_sections(program(second=(*cuts, *third)), program(slower, (*cuts, *third))) == ("1",)


def test_words_of_a_cycle_end_with_g80():
    drill = (
        "G0 G90 X0. Y0. S900 M3",
        "G43 H1 Z1.",
        "G81 Z-1. R.1 F9.",
        "X5.",
        "{}",
        "G0 Z1.",
        "G91 G28 Z0.",
        "G90",
    )
    rest = ("X1. Y1. S800 M3", "G43 H2 Z1.", "G1 Z-1. F5.", "M30")

    def text(depth, end):
        blocks = (block.format(end).replace("Z-1.", f"Z{depth}") for block in drill)
        return program(("T1 M6", *blocks), ("G0 " + rest[0], *rest[1:]))

    assert changed_sections(text("-1.", "G80"), text("-2.", "G80")) == ("1",)
    going_on = ("G99", "X1. Y1. S800 M3", "M30")
    old = program(("T1 M6", *drill[:4]), going_on)
    assert changed_sections(old, old.replace(b"Z-1. R.1", b"Z-2. R.1")) == ("1", "2")


def test_an_unknown_code_may_use_and_set_anything():
    slower = with_(FIRST, "G1 Z-1. F9.", "G1 Z-1. F8.")
    unknown = ("M77", *SAFE)
    assert changed_sections(program(second=unknown), program(slower, unknown)) == ("1", "2")
    assert changed_sections(program(), program(with_(FIRST, "M5", "M77"))) == ("1", "2")


def test_a_call_that_is_not_in_hand_may_use_what_was_left_otherwise():
    slower = with_(FIRST, "G1 Z-1. F9.", "G1 Z-1. F8.")
    calls = (SAFE[0], SAFE[1], "M98 P7", "G1 F5. X2.", "M30")
    old, new = program(second=calls), program(slower, calls)
    assert changed_sections(old, new) == ("1", "2")
    assert changed_sections(old, new, called={7: lines("O7", "G1 Z-1.", "M99")}) == ("1", "2")
    assert changed_sections(old, new, called={7: lines("O7", "G1 Z-1. F4.", "M99")}) == ("1",)
    assert changed_sections(old, new, called={7: lines("O7", "T5 M6", "M99")}) == ALL


def test_a_block_that_can_be_skipped_does_not_surely_set():
    slower = with_(FIRST, "G1 Z-1. F9.", "G1 Z-1. F8.")
    skip = (SAFE[0], SAFE[1], "/F5.", "G1 Z-1.", "M30")
    assert changed_sections(program(second=skip), program(slower, skip)) == ("1", "2")


# What cannot be told.


@pytest.mark.parametrize(
    "block",
    [
        "#1=5",
        "G1 X#1",
        "X[1+2]",
        "GOTO 5",
        "IF [#1 EQ 1] THEN #2=1",
        "WHILE [#1 LT 5] DO1",
        "M97 P5",
        "M99 P5",
        "G66 P9001",
        "M198 P5",
        "o100 call",
        "NO WORDS HERE",
        "G52 X1.",
        "G68 X0. Y0. R45.",
        "G51 X1. P2.",
        "G10 L2 P1 X1.",
        "G92 X1.",
        "G16",
    ],
)
def test_not_computable_is_all(block):
    text = program(second=(block, *SAFE))
    assert changed_sections(text, text.replace(b"X5.", b"X6.")) == ALL


@pytest.mark.parametrize("block", ["G69", "G50", "G15", "G50.1 X0."])
def test_an_end_of_a_shift_that_comes_or_goes_is_all(block):
    there = program(with_(FIRST, "X5.", f"{block}\nX5."))
    assert changed_sections(program(), there) == ALL
    assert changed_sections(there, program()) == ALL
    assert changed_sections(there, edited(there, "X5.", "X6.")) == ("1",)


def test_a_shift_before_the_first_change_is_the_same_for_both():
    text = program(start=(*START, "G10 L2 P1 X1.", "G52 X0."))
    assert changed_sections(text, edited(text, "X5.", "X6.")) == ("1",)


def test_blocks_before_the_first_tool_change_belong_to_all():
    assert changed_sections(program(), program(start=(*START, "G61"))) == ALL


def test_bar_work_that_starts_over_is_all():
    text = program().replace(b"M30", b"M99")
    assert changed_sections(text, edited(text, "X5.", "X6.")) == ALL


def test_what_never_runs_is_all():
    assert changed_sections(program(), program() + b"G1 X9.\n") == ALL


def test_verbatim_files_are_all():
    text = b"BEGIN PGM 1 MM\nL X+1 Y+2 R0 FMAX\nEND PGM 1 MM\n"
    assert changed_sections(text, text.replace(b"X+1", b"X+2")) == ALL


# Tool changes themselves.


def test_another_tool():
    assert changed_sections(program(), program(with_(FIRST, "T1 M6", "T11 M6"))) == ("11",)


def test_a_section_put_in():
    drill = ("T5 M6", "G0 G90 G54 X3. Y3. S700 M3", "G43 H5 Z1. M8", "G81 Z-2. R.1 F4.", "G80", "G0 Z1. M9")
    home = ("M5", "G91 G28 Z0.", "G90")
    assert changed_sections(program(), program((*FIRST, *drill, *home))) == ("5",)
    # Left at another height the next tool starts elsewhere.
    assert changed_sections(program(), program((*FIRST, *drill, "M5"))) == ("5", "2")


def test_a_section_taken_out_is_all():
    drill = (
        "T5 M6",
        "G0 G90 G54 X3. Y3. S700 M3",
        "G43 H5 Z1.",
        "G81 Z-2. R.1 F4.",
        "G80",
        "G91 G28 Z0.",
        "G90",
    )
    assert changed_sections(program((*FIRST, *drill)), program()) == ALL


def test_a_tool_that_cannot_be_told_is_all():
    text = program(with_(FIRST, "T1 M6", "M6"))
    assert changed_sections(text, edited(text, "X5.", "X6.")) == ALL


def test_staged_tool_taken_by_a_bare_change():
    text = lines(*START, *FIRST, "T2", "M6", *SAFE)
    assert changed_sections(text, edited(text, "T2\nM6", "T4\nM6")) == ("1", "4")
    assert changed_sections(text, edited(text, "X2.", "X3.")) == ("2",)


def test_a_block_that_comes_under_another_tool_counts_for_both():
    old = program((*FIRST, "T5 M6", "G0 X1."))
    new = program((*FIRST[:-3], "T5 M6", *FIRST[-3:], "G0 X1."))
    assert changed_sections(old, new) == ("1", "5")
    assert changed_sections(new, old) == ("1", "5")


# Lathe.


@pytest.mark.parametrize(
    ("old", "new", "tools"),
    [
        ("N320 X-0.8 F0.12", "N320 X-0.9 F0.12", ("0202",)),
        ("N440 G1 X-0.4 F0.06", "N440 G1 X-0.5 F0.06", ("0303",)),
        ("N90 X-1.6 F0.2", "N90 X-1.7 F0.2", ("0101",)),
        # The finishing cycle runs the blocks of the contour again.
        ("N210 X38. Z-46.", "N210 X38. Z-47.", ("0101", "0202")),
        ("N150 G1 X24. Z-1. F0.12", "N150 G1 X24. Z-1. F0.1", ("0101", "0202")),
        ("N10 G21", "N10 G20", ALL),
    ],
)
def test_lathe(old, new, tools):
    assert changed_sections(PIN, edited(PIN, old, new), lathe=True) == tools
    text = edited(PIN, old, new)
    assert changed_sections(PIN, text, compare(PIN, text)) == tools
    assert changed_sections(PIN, text, lathe=True, strict=True) == tools


def test_a_contour_whose_label_is_missing_is_all():
    text = PIN.replace(b"N230 X42.", b"X42.")
    assert changed_sections(text, edited(text, "N90 X-1.6", "N90 X-1.7"), lathe=True) == ALL


# Whatever the edit.

CUTS = st.lists(
    st.sampled_from(
        [
            "G0 X1.",
            "G1 X2. F9.",
            "G1 Z-1.",
            "F8.",
            "S500 M3",
            "M8",
            "M9",
            "G90",
            "G91",
            "G55",
            "G80",
            "G81 Z-1. R1.",
            "Y2.",
        ]
    ),
    max_size=5,
)


@given(st.lists(CUTS, min_size=1, max_size=4), st.lists(CUTS, min_size=1, max_size=4))
@settings(max_examples=300)
def test_every_changed_section_is_named(old, new):
    def text(cuts):
        return lines(
            "O1", *(line for number, cut in enumerate(cuts, 1) for line in (f"T{number} M6", *cut)), "M30"
        )

    named = changed_sections(text(old), text(new))
    if named == ALL:
        assert len(old) > len(new)
        return
    for number, (one, other) in enumerate(zip(old, new, strict=False), 1):
        if one != other:
            assert str(number) in named
    assert named == () or old != new
