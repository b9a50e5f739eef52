import io

import pytest
from rich.console import Console

from tracker.nc.compare_change import Side
from tracker.reports.collect import print_text as print_collect
from tracker.reports.compare import MOST_SHOWN, print_text
from tracker.reports.table import folded, print_table, table_lines, visible, wrapped
from tracker.services.collect_report import CollectReport, FileVerdict
from tracker.services.comparing import CompareReport, PlainFile, ShownChange, compare_files


def shown(function, *arguments, width=80, encoding="utf-8"):
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, errors="replace", newline="\n")
    console = Console(file=stream, width=width, markup=False, emoji=False, highlight=False, soft_wrap=True)
    function(*arguments[:1], console, *arguments[1:]) if arguments else function(console)
    stream.flush()
    return raw.getvalue().decode(encoding)


def table(headers, rows, width=80):
    raw = io.StringIO()
    print_table(Console(file=raw, width=width, markup=False), headers, rows)
    return raw.getvalue()


def test_columns_are_as_wide_as_needed_and_the_last_one_wraps():
    lines = table_lines(("a", "b", "what"), [("4471/op10", "x", "one two three four five six")], 36)
    assert lines == [
        "a          b  what",
        "4471/op10  x  one two three four",
        "              five six",
    ]
    assert all(len(line) <= 36 for line in lines)


def test_a_long_path_stands_by_itself_and_pushes_nothing_past_the_width():
    path = "MILL2/A-FOLDER-OF-SOMETHING/ANOTHER-ONE/O1001-COPY.NC"
    rows = [(path, "as-exported", "written by kp, release 2"), ("MILL2/O1002.NC", "MISSING", "was exported")]
    lines = table_lines(("file", "verdict", "what"), rows, 50, paths=True)
    assert lines == [
        "file            verdict      what",
        path,
        "                as-exported  written by kp,",
        "                             release 2",
        "MILL2/O1002.NC  MISSING      was exported",
    ]
    roomy = table_lines(("file", "verdict", "what"), rows, 120, paths=True)
    assert roomy == table_lines(("file", "verdict", "what"), rows, 120)
    assert roomy[1].startswith(f"{path}  as-exported  written by kp")


def test_a_stick_that_came_home_is_told_within_the_width():
    path = "MILL2/A-FOLDER-OF-SOMETHING/ANOTHER-ONE/O1001-COPY.NC"
    file = FileVerdict(file=path, verdict="unknown", message="no program of this shop, as far as it tells")
    text = shown(print_collect, CollectReport(stick="BLUE-1", files=(file,)), width=60)
    assert path in text.splitlines()
    assert [line for line in text.splitlines() if len(line) > 60] == []


def test_what_a_user_wrote_is_no_markup_and_obeys_no_terminal():
    text = table(("a", "b"), [("[red]#100=[#1+2][/red]", ":smile: \x1b[31mred\x07\ttab\r\n")])
    assert "[red]#100=[#1+2][/red]" in text
    assert ":smile: ?[31mred? tab" in text
    assert "\x1b" not in text


@pytest.mark.parametrize("mark", ["\x1b", "\x07", "\x08", "\x00", "\x9b", "\u202e", "\u2028"])
def test_marks_that_move_a_cursor_are_shown_as_such(mark):
    assert visible(f"a{mark}b") == "a?b"


def test_letters_of_any_language_stay():
    assert visible("Fräser (Ø12) 中") == "Fräser (Ø12) 中"


def test_a_sentence_is_folded():
    raw = io.StringIO()
    wrapped(Console(file=raw, width=50), "word " * 30, indent="  ")
    lines = raw.getvalue().splitlines()
    assert len(lines) > 2
    assert all(line.startswith("  word") and len(line) <= 50 for line in lines)


def compared(old, new):
    return compare_files(PlainFile(name="a.nc", data=old), PlainFile(name="b.nc", data=new))


def test_equal_is_only_called_identical_when_bytes_are():
    program = b"O1\nG0 X1.\nM30\n"
    same = shown(print_text, compared(program, program))
    assert same == (
        "No difference found in code. Only the text was compared. The two are identical to the last byte.\n"
    )
    renumbered = shown(print_text, compared(program, b"O1\nN1 G0 X1.\nM30\n"))
    assert renumbered == (
        "Changed besides, and no code: numbering.\nNo difference found in code. Only the text was compared.\n"
    )


def test_changes_stand_under_their_tool_with_was_and_is():
    old = b"O1\nT4 M6\nG0 X1. S900 M3\nG1 Z-1. F9.\nM30\n"
    out = shown(print_text, compared(old, old.replace(b"Z-1.", b"Z-2.").replace(b"M30", b"M0\nM30")))
    assert out.splitlines() == [
        "b.nc",
        "  T4",
        "    motion         was  G1 Z-1. F9.   (line 4)",
        "                   is   G1 Z-2. F9.   (line 4)",
        "    stop           was  (nothing)",
        "                   is   M0   (line 5)",
        "What b.nc does, was -> is:",
        "  T4    Z             -1 -> -2",
        "        deepest cut   -1 -> -2",
        "  Not everything could be followed: lengths and minutes are at least those",
        "  shown.",
        "Different code: stop, motion.",
    ]


def test_a_cp1252_console_shows_what_it_can():
    old = "O1\nM30 (Fräsen)\n".encode("latin-1")
    out = shown(print_text, compared(old, old.replace(b"M30", b"M2")), encoding="cp1252")
    assert "M2 (Fräsen)" in out


def test_many_changes_are_cut_and_the_rest_counted():
    changes = tuple(
        ShownChange(kind="motion", file="a.nc", tool="1", new=Side(line=n, text=f"G1 X{n}."))
        for n in range(MOST_SHOWN + 25)
    )
    report = CompareReport(
        old="a", new="b", same_code=False, same_bytes=False, kinds=("motion",), changes=changes
    )
    out = shown(print_text, report)
    assert "... and 25 more changes; --all shows them" in out
    assert f"G1 X{MOST_SHOWN + 24}." not in out


COMMAND = 'proveout checkin 4471/op10 -m "a reason that takes, with what stands before it, more than one line of a screen"'


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize(
    "before", ["next: ", "to clear it: ", "Put people and machines into shop.toml first, then: "]
)
def test_a_command_is_never_folded(width, before):
    lines = folded(before + COMMAND, width, indent="    ")
    assert lines[-1].endswith(COMMAND)
    assert " ".join(line.strip() for line in lines) == before + COMMAND


def test_a_sentence_that_goes_on_after_a_command_is_folded():
    lines = folded(
        "fix: proveout install, or ask the one who looks after this PC to put the hooks in place", 60
    )
    assert len(lines) == 2
