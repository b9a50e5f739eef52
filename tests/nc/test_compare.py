from pathlib import Path

import pytest

from tracker.nc.compare import Change, Side, compare, slower_applies, with_slower
from tracker.nc.compare_post import post_changed, post_of

TEXTS = Path(__file__).parent / "compare_texts"
R1, R2, R3, R4, R5 = ((TEXTS / f"O1001-r{number}.nc").read_bytes() for number in range(1, 6))
CONTOUR = {1002: (TEXTS / "O1002.nc").read_bytes()}


def lines(*blocks):
    return "".join(block + "\n" for block in blocks).encode("latin-1")


def told(comparison):
    return [
        (change.kind, change.tool, change.old and change.old.text, change.new and change.new.text)
        for change in comparison.changes
    ]


# The five revisions of a program, as its history tells them.


@pytest.mark.parametrize(
    ("old", "new", "kinds", "shown", "slower", "tools"),
    [
        (R1, R2, ("motion",), ("motion",), None, {"4"}),
        (
            R2,
            R3,
            ("feed", "format", "numbering", "wording"),
            ("format", "numbering", "slower", "wording"),
            0.8333,
            {"4"},
        ),
        (R3, R4, ("format", "numbering", "wording"), ("format", "numbering", "wording"), None, set()),
        (R4, R5, ("motion",), ("motion",), None, {"5"}),
        (R2, R4, ("feed",), ("slower",), 0.8333, {"4"}),
        (R1, R5, ("feed", "motion"), ("motion", "slower"), 0.8333, {"4", "5"}),
    ],
)
def test_revisions(old, new, kinds, shown, slower, tools):
    comparison = compare(old, new)
    assert comparison.kinds == kinds
    assert comparison.slower == slower
    assert comparison.same_code == (set(kinds) <= {"format", "numbering", "wording"})
    assert {change.tool for change in comparison.changes if change.old} == tools
    assert with_slower(comparison).kinds == shown
    assert comparison.notes == ()


def test_a_change_names_lines_as_written():
    assert compare(R2, R3).changes == (
        Change(
            kind="feed",
            tool="4",
            old=Side(line=61, text="N520 G98 G83 X0.625 Y0.625 Z-1.16 R0.1 Q0.15 F15."),
            new=Side(line=54, text="N52 G98 G83 X0.625 Y0.625 Z-1.16 R0.1 Q0.15 F12.5"),
        ),
        Change(kind="numbering", tool=None, old=None, new=None),
        Change(kind="wording", tool=None, old=None, new=None),
        Change(kind="format", tool=None, old=None, new=None),
    )


def test_equal_bytes_have_no_change():
    comparison = compare(R5, R5)
    assert comparison.same_code
    assert (comparison.kinds, comparison.changes, comparison.slower, comparison.stretches) == (
        (),
        (),
        None,
        (),
    )


# Pre-calls.

CHANGER = ("O1", "T1 M6", "{1}", "G1 X1. F9.", "{2}", "T2 M6", "{3}", "G1 X2. F9.", "M30")


def changer(first="T2", between="M9", last="T1", blocks=CHANGER):
    return lines(
        *(
            block.format("", first, between, last)
            for block in blocks
            if block.format("", first, between, last)
        )
    )


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        (changer(), changer(first=""), "precall"),
        (changer(), changer(last=""), "precall"),
        (changer(), changer(first="T3"), "precall"),
        (changer(first="M8 T2"), changer(first="M8"), "precall"),
        (changer(between="T7"), changer(first="", between="T7"), "tool"),
        (changer(between="N5 GOTO 5"), changer(first="", between="N5 GOTO 5"), "tool"),
        (changer(between="M97 P8"), changer(first="", between="M97 P8"), "tool"),
        (changer(between="M98 P7"), changer(first="", between="M98 P7"), "tool"),
        (changer(between="G65 P7"), changer(first="", between="G65 P7"), "tool"),
        (changer(first="T0202"), changer(first="T0303"), "tool"),
        (changer(first="T0203"), changer(first=""), "tool"),
        (lines("O1", "T1", "G1 X1. F9.", "M30"), lines("O1", "T2", "G1 X1. F9.", "M30"), "tool"),
        (lines("O1", "T1 M6", "T2", "M6", "M30"), lines("O1", "T1 M6", "T3", "M6", "M30"), "tool"),
        (lines("O1", "T1 M6", "T2", "/T3 M6", "M30"), lines("O1", "T1 M6", "T4", "/T3 M6", "M30"), "tool"),
        (lines("O1", "T1 M6", "T2 M6", "M30"), lines("O1", "T1 M6", "T3 M6", "M30"), "tool"),
    ],
)
def test_a_t_that_only_gets_a_tool_ready(old, new, kind):
    assert compare(old, new, lathe=False).kinds == (kind,)


@pytest.mark.parametrize(
    ("sub", "kind"),
    [
        (lines("O7", "G1 X1.", "M99"), "precall"),
        (lines("O7", "G1 X1.", "T9", "M99"), "tool"),
        (lines("O7", "M6", "M99"), "tool"),
        (lines("O7", "M98 P8", "M99"), "tool"),
        (lines("O7", "IF [#1 EQ 1] GOTO 5", "N5 G1 X1.", "M99"), "tool"),
        (lines("O7", "M99 P5"), "tool"),
    ],
)
def test_programs_called_between_are_looked_into(sub, kind):
    old, new = changer(between="M98 P7"), changer(first="", between="M98 P7")
    assert compare(old, new, called={7: sub}).kinds == (kind,)
    assert compare(old, new, called={8: sub}).kinds == ("tool",)


def test_a_repeat_count_in_front_of_the_number_is_understood():
    old, new = changer(between="M98 P30007"), changer(first="", between="M98 P30007")
    assert compare(old, new, called={7: lines("O7", "G1 X1.", "M99")}).kinds == ("precall",)


def test_a_program_of_the_same_file_called_between():
    tail = ("O7", "G1 X1.", "M99")
    blocks = (*CHANGER, *tail)
    old, new = changer(between="M98 P7", blocks=blocks), changer(first="", between="M98 P7", blocks=blocks)
    assert compare(old, new).kinds == ("precall",)
    blocks = (*CHANGER, "O7", "T5", "M99")
    old, new = changer(between="M98 P7", blocks=blocks), changer(first="", between="M98 P7", blocks=blocks)
    assert compare(old, new).kinds == ("tool",)


def test_a_text_without_pre_calls_for_another_changer():
    other = (TEXTS / "O1001-m3.nc").read_bytes()
    comparison = compare(R5, other, called=CONTOUR)
    assert comparison.kinds == ("precall",)
    assert [line for _, _, line, _ in told(comparison)] == [
        "N40 T2",
        "N170 T3",
        "N320 T4",
        "N490 T5",
        "N620 T6",
        "N730 T1",
    ]
    # Without the contour nobody can say whether it changes a tool.
    assert compare(R5, other).kinds == ("precall", "tool")


# Slower.


def cut(*blocks):
    return lines("O1", "T1 M6", "G54 X0. M3 S900", *blocks, "M30")


@pytest.mark.parametrize(
    ("old", "new", "slower", "shown"),
    [
        (["G1 X1. F100."], ["G1 X1. F80."], 0.8, ("slower",)),
        (["G1 X1. F100."], ["G1 X1. F79.99"], 0.7999, ("feed",)),
        (["G1 X1. F100."], ["G1 X1. F79.99999"], 0.7999, ("feed",)),
        (["G1 X1. F100"], ["G1 X1. F90"], 0.9, ("slower",)),
        (["G1 X1. F100."], ["G1 X1. F101."], None, ("feed",)),
        (["G1 X1. F100."], ["G1 X1. F90"], None, ("feed",)),
        (["G1 X1. F100."], ["G1 X1."], None, ("feed",)),
        (["G1 X1."], ["G1 X1. F90."], None, ("feed",)),
        (["G1 X1. F#1"], ["G1 X1. F#2"], None, ("flow",)),
        (["G1 X1. F100.", "Y1. F50."], ["G1 X1. F90.", "Y1. F45."], 0.9, ("slower",)),
        (["G1 X1. F100.", "Y1. F50."], ["G1 X1. F90.", "Y1. F41."], 0.82, ("slower",)),
        (["G1 X1. F100.", "Y1. F50."], ["G1 X1. F90.", "Y1. F51."], None, ("feed",)),
        (["G1 X1. F100."], ["G1 X2. F90."], 0.9, ("motion", "slower")),
        (["S500 M3"], ["S450 M3"], 0.9, ("slower",)),
        (["S500 M3"], ["S450 M4"], None, ("speed",)),
        (["G1 X1. F100. S500"], ["G1 X1. F90. S450"], 0.9, ("slower",)),
        (["G1 X1. F100. S500"], ["G1 X1. F90. S510"], None, ("feed", "speed")),
        (["G1 X1. F0."], ["G1 X1. F0.0001"], None, ("feed",)),
    ],
)
def test_slower(old, new, slower, shown):
    comparison = compare(cut(*old), cut(*new))
    assert comparison.slower == slower
    assert with_slower(comparison).kinds == shown
    assert "slower" not in comparison.kinds


@pytest.mark.parametrize(
    ("blocks", "counts"),
    [
        (["{}"], True),
        (["G84 Z-1. R.1 F50.", "G80", "G1 {}"], True),
        (["G84 Z-1. R.1 F50.", "G0 Z1.", "G1 {}"], True),
        (["G84 Z-1. R.1 {}", "G80"], False),
        (["G84 Z-1. R.1", "X1. {}", "G80"], False),
        (["G74 Z-1. R.1 {}", "G80"], False),
        (["G76 Z-1. {}"], False),
        (["G33 Z-1. K1. {}"], False),
        (["G63 Z-1. {}"], False),
        (["G63 Z-1.", "G1 {}"], False),
        (["G63 Z-1.", "G64", "G1 {}"], True),
        (["G84.2 Z-1. R.1 {}"], False),
        (["M29 S500", "{}", "G84 Z-1. R.1 F20."], False),
        (["{}", "G84 Z-1. R.1"], False),
        (["{}", "G1 X1. F50.", "G84 Z-1. R.1 F50."], True),
        (["{}", "M98 P7", "X1. F9."], False),
        (["{}", "X1. F9.", "M98 P7"], True),
        (["{}", "G65 P9001", "X1. F9."], False),
        (["IF [#1 EQ 1] GOTO 5", "{}", "X1. F9.", "N5 G84 Z-1. R.1 F50."], False),
    ],
)
def test_feeds_of_taps_and_threads_are_never_slower(blocks, counts):
    old, new = ([block.format(feed) for block in blocks] for feed in ("F100.", "F90."))
    assert (compare(cut(*old), cut(*new)).slower == 0.9) is counts


def test_speed_for_a_tap_is_set_before_it():
    tap = ["G84 Z-1. R.1 F50.", "G80"]
    assert compare(cut("S600 M3", *tap), cut("S500 M3", *tap)).slower is None
    assert (
        compare(cut("S600 M3", "G1 X1. F9.", "S600", *tap), cut("S500 M3", "G1 X1. F9.", "S600", *tap)).slower
        == 0.8333
    )


def test_lathe_threads():
    for block in ("G92 X20. Z-5. {}", "G32 Z-5. {}", "G76 X20. Z-5. P1 Q1 {}", "G88 Z-5. {}", "G78 Z-5. {}"):
        old, new = (lines("T0101", block.format(feed), "M30") for feed in ("F2.", "F1.9"))
        assert compare(old, new, lathe=True).slower is None, block
    old, new = (lines("T0101", f"G90 X20. Z-5. {feed}", "M30") for feed in ("F2.", "F1.9"))
    assert compare(old, new, lathe=True).slower == 0.95


def test_a_feed_left_to_the_caller_cannot_be_decided():
    old, new = lines("O7", "G1 X1. F60.", "M99"), lines("O7", "G1 X1. F50.", "M99")
    assert compare(old, new).slower is None
    old, new = lines("O7", "G1 X1. F60.", "Y1. F9.", "M99"), lines("O7", "G1 X1. F50.", "Y1. F9.", "M99")
    assert compare(old, new).slower == 0.8333


def test_a_feed_in_force_in_a_called_program_in_hand():
    main = ("G1 X1. {}", "M98 P7", "X2. F9.")
    old, new = (cut(*(block.format(feed) for block in main)) for feed in ("F100.", "F90."))
    assert compare(old, new).slower is None
    assert compare(old, new, called={7: lines("O7", "X1.", "M99")}).slower == 0.9
    assert compare(old, new, called={7: lines("O7", "G84 Z-1. R1.", "M99")}).slower is None


@pytest.mark.parametrize(
    ("ratio", "percent", "applies"),
    [
        (0.8, 20, True),
        (0.7999, 20, False),
        (0.9, 10, True),
        (0.8999, 10, False),
        (None, 20, False),
        (1.0, 0, True),
        (0.7, 30.0, True),
    ],
)
def test_the_percentage_itself_is_allowed(ratio, percent, applies):
    assert slower_applies(ratio, percent) is applies


def test_feed_and_speed_of_one_block_are_shown_as_one_slower():
    comparison = compare(cut("G1 X1. F100. S500"), cut("G1 X1. F90. S450"))
    assert [change.kind for change in comparison.changes] == ["feed", "speed"]
    assert [change.kind for change in with_slower(comparison).changes] == ["slower"]


# What was moved.


def test_moved_across_motion():
    comparison = compare(cut("M8", "G1 X1. F9.", "Y1.", "Y2."), cut("G1 X1. F9.", "Y1.", "Y2.", "M8"))
    assert told(comparison) == [("coolant", "1", "M8", "M8"), ("motion", "1", "M8", "M8")]


def test_moved_across_nothing_that_moves_or_rules():
    comparison = compare(cut("M8", "M1", "G4 P5"), cut("M1", "G4 P5", "M8"))
    assert comparison.kinds == ("coolant",)


def test_moved_stretch_has_the_kinds_of_all_its_words():
    stretch = ["G55", "M0", "S500 M3", "G1 Z-1. F9.", "G0 Z5. M9"]
    rest = [f"X{number}." for number in range(1, 20)]
    comparison = compare(cut(*stretch, *rest), cut(*rest, *stretch))
    assert comparison.kinds == ("coolant", "feed", "motion", "offset", "speed", "stop", "stop-removed")
    assert {(change.old.text, change.new.text) for change in comparison.changes} == {("G55", "G55")}
    assert comparison.slower is None


def test_moved_to_and_fro_has_the_same_kinds():
    one, other = cut("M8", "G4 P9", "X1.", "Y1."), cut("X1.", "Y1.", "M8", "G4 P9")
    assert compare(one, other).kinds == compare(other, one).kinds == ("coolant", "dwell", "motion")


# Numbering, wording, format beside a change of code.


def test_an_inserted_block_leaves_the_rest_alone():
    old = b"N10 G1  X1. (A)\r\nN20 y2.\r\n(B)\r\nN30 Z3.\r\n"
    new = b"N10 G1  X1. (A)\r\nN15 M8 (COOLANT)\r\nN20 y2.\r\n(B)\r\nN30 Z3.\r\n"
    assert compare(old, new).kinds == ("coolant",)
    assert compare(new, old).kinds == ("coolant",)


def test_a_block_put_between_a_comment_and_its_block():
    old, new = lines("X1.", "(FACE)", "Y1."), lines("X1.", "(FACE)", "M8", "Y1.")
    assert compare(old, new).kinds == ("coolant",)


@pytest.mark.parametrize(
    ("old", "new", "kinds"),
    [
        ("N10 G1 X1.\nN20 Y1.\n", "N1 G1 X2.\nN2 Y1.\n", ("motion", "numbering")),
        ("G1 X1. (A)\nY1.\n", "G1 X2. (B)\nY1.\n", ("motion", "wording")),
        ("G1 X1.\nY1. (A)\n", "G1 X2.\nY1. (B)\n", ("motion", "wording")),
        ("G1 X1.\nY1.\n", "G1 X2.\ny1.\n", ("format", "motion")),
        ("G1 X1.\nY1.\n", "G1 X2.\r\nY1.\r\n", ("format", "motion")),
        ("G1 X1.\nY1.\n", "g1 x2.\nY1.\n", ("motion",)),
        ("G1 X1.\nY1.\n(END)\n", "G1 X2.\nY1.\n(FINIS)\n", ("motion", "wording")),
        ("%\nG1 X1.\n%\n", "G1 X1.\n", ("format",)),
        ("%\nG1 X1.\n%\n", "%\nG1 X1.\n", ("format", "other")),
    ],
)
def test_text_beside_code(old, new, kinds):
    assert compare(old.encode(), new.encode()).kinds == kinds


def test_bytes_that_differ_in_nothing_kept_apart_differ_in_format():
    comparison = compare(b"G1X1.\n\x00", b"G1X1.\n")
    assert comparison.same_code
    assert comparison.kinds == ("format",)
    assert [change.kind for change in comparison.changes] == ["format"]


def test_many_stretches_at_once():
    old = lines("O1", *(f"N{number} X{number}. (A{number})" for number in range(200)))
    new = old.replace(b"7.", b"7.5")
    assert compare(old, new).kinds == ("motion",)
    assert len(compare(old, new).changes) == 20
    assert compare(old, new.replace(b"(A150)", b"(B)")).kinds == ("motion", "wording")


# Blocks, lines and tools.


def test_added_and_removed_blocks_have_one_side():
    comparison = compare(lines("T1 M6", "X1."), lines("T1 M6", "X1.", "G4 P5", "Y1. M8"))
    assert [(c.kind, c.old, c.new and (c.new.line, c.new.text)) for c in comparison.changes] == [
        ("dwell", None, (3, "G4 P5")),
        ("coolant", None, (4, "Y1. M8")),
        ("motion", None, (4, "Y1. M8")),
    ]
    back = compare(lines("T1 M6", "X1.", "G4 P5", "Y1. M8"), lines("T1 M6", "X1."))
    assert [(c.kind, c.new) for c in back.changes] == [("dwell", None), ("coolant", None), ("motion", None)]


def test_a_pair_is_found_beside_an_added_block():
    comparison = compare(cut("G1 Z-1. F100.", "X5."), cut("M8", "G1 Z-1. F90.", "X5."))
    assert comparison.kinds == ("coolant", "feed")
    assert comparison.slower == 0.9


def test_physical_lines_count_every_line_end():
    old = b"%\r\n\r\n(A)\r\nG1 X1.\r\n%\r\n"
    assert compare(old, old.replace(b"X1.", b"X2.")).changes[0].new == Side(line=4, text="G1 X2.")
    old = b"%\r\r(A)\rG1 X1.\r%\r"
    assert compare(old, old.replace(b"X1.", b"X2.")).changes[0].new == Side(line=4, text="G1 X2.")


def test_tools_of_a_turret():
    text = lines("T0101", "X1.", "T0100", "X2.", "T0202", "X3.", "T0", "X4.")
    for number, tool in ((1, "0101"), (2, "0101"), (3, "0202"), (4, "0202")):
        changed = text.replace(b"X%d." % number, b"X9.")
        assert compare(text, changed).changes[0].tool == tool


def test_tool_of_a_change_without_its_own_t():
    text = lines("T1 M6", "X1.", "T2", "M6", "X2.")
    assert compare(text, text.replace(b"X2.", b"X3.")).changes[0].tool == "2"
    assert compare(text, text.replace(b"X1.", b"X3.")).changes[0].tool == "1"


@pytest.mark.parametrize(
    ("blocks", "lathe", "noted"),
    [
        (["T1 M6", "X1."], False, False),
        (["G43 H1 Z1.", "X1."], False, False),
        (["T0101", "X1."], True, True),
        (["G96 S100", "X1."], True, True),
        (["G50 S100", "X1."], True, True),
        (["G71 P1 Q2 U1.", "N1 X1.", "N2 X2."], True, True),
        (["X1."], False, True),
    ],
)
def test_mill_or_lathe_is_said_when_it_was_guessed(blocks, lathe, noted):
    old = lines(*blocks)
    comparison = compare(old, old.replace(b"X1.", b"X5."))
    assert comparison.lathe is lathe
    assert bool(comparison.notes) is noted
    assert compare(old, old.replace(b"X1.", b"X5."), lathe=lathe).notes == ()


# Files that are not read as words, and strict reading.


def test_every_change_of_a_verbatim_file_is_other():
    old = b"BEGIN PGM 1 MM\nL X+1 Y+2 R0 FMAX\nL X+2 Y+3 R0 F100\nEND PGM 1 MM\n"
    comparison = compare(old, old.replace(b"F100", b"F90"))
    assert told(comparison) == [("other", None, "L X+2 Y+3 R0 F100", "L X+2 Y+3 R0 F90")]
    assert comparison.slower is None
    assert compare(old, old.replace(b"\n", b" \r\n")).kinds == ("format",)


def test_another_dialect_is_another_text():
    comparison = compare(b"BEGIN PGM 1 MM\nL X+1 Y+2 R0 FMAX\n", b"G1 X1.\n")
    assert not comparison.same_code
    assert comparison.kinds == ("other",)


def test_strict_reading_counts_every_line_number():
    old, new = b"N10 G1 X1.\nN20 X2.\n", b"N10 G1 X1.\nN21 X2.\n"
    assert compare(old, new).kinds == ("numbering",)
    assert compare(old, new, strict=True).kinds == ("flow",)


def test_a_broken_jump_is_flow_though_only_numbers_changed():
    old = b"N10 G1 X1.\nN20 X2.\nGOTO 10\n"
    renumbered = compare(old, b"N1 G1 X1.\nN2 X2.\nGOTO 1\n")
    assert renumbered.same_code
    assert "numbering" in renumbered.kinds
    assert "flow" in compare(old, b"N1 G1 X1.\nN2 X2.\nGOTO 2\n").kinds


def test_empty_texts():
    assert compare(b"", b"").kinds == ()
    assert compare(b"", b"M30\n").kinds == ("flow",)
    assert compare(b"M30\n", b"").kinds == ("flow",)


# The post-processor's stamp.

STAMP = (r"POST (?P<name>[A-Z-]+) (?P<version>[0-9.]+)",)


@pytest.mark.parametrize(
    ("comments", "stamp"),
    [
        (["4471 OP10", "POST PLUMB-MILL 1.2"], "PLUMB-MILL 1.2"),
        (["POST PLUMB-MILL 1.2 12 MAR 2026"], "PLUMB-MILL 1.2"),
        (["post plumb-mill 1.2"], "PLUMB-MILL 1.2"),
        (["POSTED BY NP"], None),
        ([], None),
    ],
)
def test_post_stamp(comments, stamp):
    assert post_of(comments, STAMP) == stamp


def test_post_stamp_without_a_version_and_wrong_patterns():
    assert post_of(["BY PLUMB"], [r"BY (?P<name>\w+)"]) == "PLUMB"
    with pytest.raises(IndexError):
        post_of(["BY PLUMB"], [r"BY (\w+)"])


def test_a_missing_stamp_is_looked_past():
    assert post_changed("PLUMB-MILL 1.2", "PLUMB-MILL 1.3")
    assert not post_changed("PLUMB-MILL 1.2", "PLUMB-MILL 1.2")
    assert not post_changed(None, "PLUMB-MILL 1.2")
    assert not post_changed("PLUMB-MILL 1.2", None)
