"""How the changes of a comparison are laid out; the lines were written by hand."""

import pytest

from tracker.reports.compare_lines import WIDE, change_lines
from tracker.services.comparing import PlainFile, compare_files
from tracker.services.comparing_files import CompareReport, ShownChange, ToolName

OLD = "O1\nT4 M6 (5/16 DRILL)\nG0 X1. S900 M3\nG1 Z-1. F9.\nM30\n"


def lines(old, new, width=WIDE, *, unified=False, **names):
    report = compare_files(
        PlainFile(name="a.nc", data=old.encode()), PlainFile(name=names.get("new", "b.nc"), data=new.encode())
    )
    return [*change_lines(report, report.changes, width, unified=unified)]


def test_side_by_side():
    assert lines(OLD, OLD.replace("Z-1.", "Z-2.").replace("M30", "M0\nM30")) == [
        "b.nc",
        f"{'                      line  was: a.nc':<71}  line  is: b.nc",
        "  T4  5/16 DRILL",
        f"{'    motion               4  G1 Z-1. F9.':<71}     4  G1 Z-2. F9.",
        f"{'    stop                    (nothing)':<71}     5  M0",
    ]


def test_kinds_of_one_block_are_named_together():
    new = OLD.replace("G1 Z-1. F9.", "G1 Z-2. F11.")
    assert lines(OLD, new, unified=True) == [
        "b.nc",
        "  T4  5/16 DRILL",
        "    feed, motion   was  G1 Z-1. F9.   (line 4)",
        "                   is   G1 Z-2. F11.   (line 4)",
    ]
    newer = OLD.replace("G0 X1. S900 M3", "G90 G0 X2. S800 M3 M8")
    shown = lines(OLD, newer, unified=True)
    assert shown[2].startswith("    ")
    assert shown[2].count(",") >= 2
    assert shown[3:] == [
        "                   was  G0 X1. S900 M3   (line 3)",
        "                   is   G90 G0 X2. S800 M3 M8   (line 3)",
    ]


@pytest.mark.parametrize("width", [WIDE, 137, 160, 240])
def test_a_long_block_is_folded_and_loses_nothing(width):
    long = "G1 " + " ".join(f"X{n}.{n} Y-{n}.5" for n in range(20)) + " F9."
    shown = lines(OLD.replace("G1 Z-1. F9.", long), OLD.replace("G1 Z-1. F9.", long + " Z-0.123456"), width)
    assert max(map(len, shown)) <= width
    words = " ".join(shown).split()
    assert all(words.count(word) >= 2 for word in long.split())
    assert "Z-0.123456" in words
    unbroken = "G1" + "X1.2345" * 60
    shown = lines(OLD.replace("G1 Z-1. F9.", unbroken), OLD, width)
    assert max(map(len, shown)) <= width


def test_narrow_screens_and_unified_have_one_below_the_other():
    new = OLD.replace("Z-1.", "Z-2.")
    assert lines(OLD, new, WIDE - 1) == lines(OLD, new, WIDE, unified=True)
    assert lines(OLD, new, WIDE - 1) != lines(OLD, new, WIDE)


@pytest.mark.parametrize("width", [60, 80, 100])
def test_one_below_the_other_nothing_runs_over_the_edge(width):
    block = "N520 G98 G83 X0.625 Y0.625 Z-1.16 R0.1 Q0.15 F15."
    shown = lines(OLD.replace("G1 Z-1. F9.", block), OLD.replace("G1 Z-1. F9.", block + " M8"), width)
    assert max(map(len, shown)) <= width
    assert " ".join(" ".join(shown).split()).count("(line 4)") == 2  # whole, never cut in two
    assert " ".join(shown).split().count("F15.") == 2


def test_what_has_no_line_is_words_and_long_kinds_keep_their_distance():
    report = CompareReport(
        old="a",
        new="b",
        same_code=False,
        same_bytes=False,
        kinds=("program-removed", "sheet-tool"),
        changes=(
            ShownChange(kind="program-removed", file="O2.nc", words="b holds no op20"),
            ShownChange(kind="sheet-tool", file="job.toml", tool="4", words="T4 stick out: was 2.5, is 2.75"),
        ),
        tool_names=(ToolName(file="job.toml", tool="4", name="5/16 [DRILL]\x1b"),),
    )
    for width in (80, 160):
        assert [*change_lines(report, report.changes, width, unified=False)] == [
            "O2.nc",
            "  before the first tool, or of the whole file",
            "    program-removed b holds no op20",
            "job.toml",
            "  T4  5/16 [DRILL]?",
            "    sheet-tool     T4 stick out: was 2.5, is 2.75",
        ]


def test_a_lathe_s_tool_is_found_without_its_offset():
    from tracker.records.job import Operation, Tool
    from tracker.services.tool_names import names_by_sheet

    sheet = Operation(id="op10", program="O1.nc", tools=(Tool(number=1, description="CNMG"),))
    changes = [ShownChange(kind="feed", file="O1.nc", tool="0101")]
    assert names_by_sheet(changes, (sheet,), lathe=True) == (
        ToolName(file="O1.nc", tool="0101", name="CNMG"),
    )
    assert names_by_sheet(changes, (sheet, None), lathe=False) == ()
    mill = [ShownChange(kind="feed", file="O1.nc", tool="101"), ShownChange(kind="feed", file="O1.nc")]
    assert names_by_sheet(mill, (sheet,), lathe=False) == ()
