"""The quick lanes, plain and compiled, give what the reference gives, to the last bit."""

from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.machining.quick_cases import ODD, RARE, programs, rows, settings_known
from tests.nc.scan_cases import nasty_programs, tame_programs
from tracker.machining import plain_lines, quick, thin
from tracker.machining.run_through import run
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.thin import Lines, found_rows
from tracker.nc import comments, scan

ROOT = Path(__file__).resolve().parents[2]
KNOWN = Setting(lathe=False, units="mm", decimal="calculator")
ENGINES = ["plain"] if scan.engine() == "plain" else ["plain", "compiled"]
HEAD = b"G90 G17 G21\nG0 X0. Y0. Z0.\nG1 F100.\n"


@contextmanager
def served_by(engine, shortest=1):
    """Rows of this many lines go the lane of this engine."""
    was = thin.SHORTEST
    scan.use(plain=engine == "plain")
    thin.SHORTEST = shortest
    try:
        yield
    finally:
        scan.use(plain=False)
        thin.SHORTEST = was


def reference(data, setting):
    return summarise(data, setting, scan.read(data))


def agree(data, setting=KNOWN):
    expected = reference(data, setting)
    for engine in ENGINES:
        for shortest in (1, 3):
            with served_by(engine, shortest):
                told = summarise(data, setting)
            assert told == expected
            assert repr(told) == repr(expected)
    return expected


def share_in_lane(data, setting=KNOWN):
    """Lines run in the lane, of all."""
    taken = []
    began = quick.TallyLane.go

    def counted(self, *given):
        at, lines = began(self, *given)
        taken.append(lines)
        return at, lines

    quick.TallyLane.go = counted
    try:
        summarise(data, setting)
        return sum(taken)
    finally:
        quick.TallyLane.go = began


def files(*folders):
    return sorted(
        path
        for folder in folders
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix.lower() in (".nc", ".ngc", ".min", ".tap", ".eia", ".mpf", ".txt")
    )


@pytest.mark.parametrize("folder", ["tests/corpus", "sample_repo", "tests/oracle/programs"])
def test_all_programs_at_hand(folder):
    found = files(folder)
    assert len(found) > 5
    for path in found:
        for lathe, decimal in ((None, "calculator"), (False, None), (False, "increment")):
            agree(path.read_bytes(), Setting(lathe=lathe, decimal=decimal, units="inch"))


@given(programs(), settings_known())
@settings(max_examples=200)
@example(HEAD + b"G2 X1. Y1. R1.\nX2. Y0. R-1.\nG3 I1.\n", KNOWN)
@example(b"G91 G21 G18\nG0 X0 Y0 Z0\nG1 F5\nG2 X2. I1. Y1.\n", KNOWN)
def test_programs_made_up(data, setting):
    agree(data, setting)


@given(rows(), st.sampled_from((None, "calculator", "increment")), st.sampled_from(("inch", "mm", None)))
@settings(max_examples=200)
def test_rows_made_up(data, decimal, units):
    agree(data, replace(KNOWN, decimal=decimal, units=units))


@given(st.one_of(nasty_programs, tame_programs), st.booleans())
def test_programs_of_the_scanner(data, lathe):
    agree(data, replace(KNOWN, lathe=lathe, most_blocks=2000))


@pytest.mark.parametrize("figure", RARE)
@pytest.mark.parametrize("letter", ["X", "Z", "F", "I", "R"])
def test_numbers_of_many_digits(letter, figure):
    way = b"G3 " if letter == "I" else b"G2 X1. Y1. " if letter == "R" else b""
    line = way + letter.encode() + figure.encode()
    agree(HEAD + b"X1. Y1. Z1.\n" * 3 + line + b"\n" + line + b" Y2.\nX0.5\n")


@given(st.integers(0, 2**53), st.integers(0, 23), st.sampled_from(["", "-", "+"]))
def test_numbers_are_read_as_python_reads_them(whole, decimals, sign):
    digits = str(whole).rjust(decimals + 1, "0")
    figure = sign + digits[: len(digits) - decimals] + "." + digits[len(digits) - decimals :]
    told = agree(HEAD + f"G91\nX{figure}\nY1.\n".encode())
    if abs(float(figure)) < 1e9:
        assert told.tools[0].x is not None
        assert float(figure) in told.tools[0].x


@pytest.mark.parametrize("line", ODD)
def test_odd_lines_between_plain_ones(line):
    row = "".join(f"X{n}. Y-{n}.5 Z{n % 3}.25\n" for n in range(5))
    arcs = "G91 G2 I1.\nG3 X2. I1.\nG1 G90\n"
    text = HEAD.decode() + row + arcs + line + "\n" + row + arcs + line + "\n" + row
    for decimal in (None, "calculator", "increment"):
        agree(text.encode("latin-1"), replace(KNOWN, decimal=decimal, most_blocks=500))


def test_a_surface_goes_the_lane_whole():
    row = "".join(f"N{n} X{n * 0.251:.4f} Y{n * 0.1:.4f} Z{n % 7 * 0.3:.4f}\n" for n in range(1, 200))
    text = HEAD + row.encode() + b"(PASS 2)\nG0 Z5.\nG1 Z0. F50.\n" + row.encode() + b"M30\n"
    agree(text)
    for engine in ENGINES:
        with served_by(engine, plain_lines.SHORTEST):
            assert share_in_lane(text) == 402
            assert len(thin.thin(text).text) < 200


def test_arcs_go_the_lane():
    row = b"G2 X1. Y1. R1.\nG3 X0. Y0. I-1. J0.\nG1 X2. F80.\nX0.\n" * 30
    text = HEAD + row + b"M30\n"
    agree(text)
    for engine in ENGINES:
        with served_by(engine, plain_lines.SHORTEST):
            assert share_in_lane(text) == 121


def test_called_programs_go_the_lane_as_often_as_they_are_called():
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(80))
    body = b"O5\nG91 G1\n" + row + b"G90\nM99\n"
    setting = replace(KNOWN, called={5: body}.get)
    text = HEAD + b"M98 P5 L3\nX1.\nM30\n"
    assert agree(text, setting).blocks == 3 + 3 * 84 + 3
    own = HEAD + b"M98 P5 L3\nM30\n" + body
    agree(own)
    for engine in ENGINES:
        with served_by(engine, plain_lines.SHORTEST):
            assert share_in_lane(text, setting) == share_in_lane(own) == 240


def test_loops_go_the_lane():
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(80))
    text = HEAD + b"#1=0\nWHILE [#1 LT 3] DO1\n#1=#1+1\n" + row + b"END1\nM30\n"
    agree(text)
    for engine in ENGINES:
        with served_by(engine, plain_lines.SHORTEST):
            assert share_in_lane(text) == 240


@pytest.mark.parametrize("jump", [b"GOTO 20", b"M97 P20", b"M99 P20"])
def test_a_label_in_a_row_is_found(jump):
    row = b"".join(b"N%d X%d.5 Y%d.\n" % (n, n, n % 5) for n in range(90))
    text = HEAD + jump + b"\nX100.\n" + row + b"M30\n" + (b"M99\n" if b"97" in jump else b"")
    told = agree(text)
    assert told.tools[0].x[1] < 100 or b"97" in jump
    with served_by("plain", plain_lines.SHORTEST):
        assert summarise(text, KNOWN) == told


@pytest.mark.parametrize("modal", [b"G66 P5", b"G66.1 P5"])
def test_a_modal_macro_is_called_in_a_row(modal):
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(70))
    text = HEAD + modal + b"\n" + row + b"G67\nM30\n"
    agree(text, replace(KNOWN, called={5: b"O5\nG91 Z1.\nZ-1.\nG90\nM99\n"}.get))


@pytest.mark.parametrize("most", [1, 3, 4, 40, 43, 66, 67, 68, 70, 71, 72])
def test_a_run_that_is_left_in_a_row_names_its_line(most):
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(67))
    agree(HEAD + row + b"M30\n", replace(KNOWN, most_blocks=most))
    agree(HEAD + row, replace(KNOWN, most_blocks=most))


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r", b"\n\r", b"\r\r\n", b"\n\n"])
def test_line_ends(end):
    row = b"".join(b"X%d.5 Y%d." % (n, n % 5) + end for n in range(70))
    text = HEAD.replace(b"\n", end) + row + b"T1 M6 (LAST)" + end + row + b"G999 X1."
    assert agree(text).not_followed == reference(text, KNOWN).not_followed != ()


def test_lines_are_named_by_their_physical_number():
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(70))
    told = agree(
        b"\x00\n\n" + HEAD + row + b"(END MILL)\nT1 M6\n" + row + b"G999\nM0\n" + row + b"X1. R5.\nT2 M6\n"
    )
    assert told.tools[1].line == 2 + 3 + 70 + 2
    assert told.tools[1].description == "END MILL"
    assert told.stops == ((2 + 3 + 70 + 2 + 70 + 2, "M0"),)


def test_few_lines_that_read_among_many_plain_ones():
    """Once its rows are put aside, most of the rest does not read as words: the whole file is looked at."""
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(500))
    text = HEAD + row + b"?!\n" * 20 + row + b"M30\n"
    told = agree(text)
    assert told.blocks > 1000
    with served_by("plain", plain_lines.SHORTEST):
        assert summarise(text, KNOWN) == told


def test_the_same_of_a_called_program():
    row = b"".join(b"X%d.5 Y%d.\n" % (n, n % 5) for n in range(500))
    body = b"O5\n" + row + b"?!\n" * 20 + row + b"M99\n"
    setting = replace(KNOWN, called={5: body}.get)
    text = HEAD + b"M98 P5\nM30\n"
    assert agree(text, setting).blocks > 1000
    for engine in ENGINES:
        with served_by(engine, plain_lines.SHORTEST):
            assert summarise(text, setting) == reference(text, setting)


@given(st.one_of(programs(), nasty_programs), st.integers(1, 4))
@example(b"N1G1 X1.\nG00 X1.\nG0 X1.\nG010 X1.\nG4 X1.\nN X1.\nX.\nX-\nX1..\nX1", 1)
@example(b"X1.\n(ROW 1)\n(RO,W)\n(IF 1)\n(R)\nX1.\n(RO\nX1.", 1)
def test_both_find_the_same_rows(data, shortest):
    with served_by("plain", shortest):
        plain, bare = found_rows(data), found_rows(data, coded=False)
    for engine in ENGINES:
        with served_by(engine, shortest):
            assert found_rows(data) == plain
            assert found_rows(data, coded=False) == bare
    for row in bare:
        assert not set(b"Gg(") & set(data[row.start : row.end])
    for start, end, line, lines in plain:
        assert data[end - 1 : end] == b"\n"
        assert data.count(b"\n", 0, start) == line - 1
        assert data.count(b"\n", start, end) == lines


@given(st.text(st.sampled_from("ABCDEFGHIJKLMNOPRSTUWXY0159 .,+/:*_-=#[]()%;"), max_size=12))
@example("GOTO 5")
@example("MSG, X")
@example("P1=5")
@example("TOOL 5")
@example("TO 5")
def test_what_is_taken_as_wording_is_wording(text):
    line = f"({text})\n".encode()
    data = b"X1.\n" + line + b"X1.\n"
    with served_by("plain"):
        found = found_rows(data)
    if len(found) == 1:
        assert not comments.is_code(f"({text})")
        assert not comments.is_statement(f"({text})")


def test_every_opening_of_a_comment_that_acts_is_known():
    from tracker.nc import wording

    openings = set(plain_lines.OPENINGS.split())
    assert {word[:2] for word in f"{wording._CODE} {wording._WORDS}".split()} <= openings


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(1, 5)), max_size=5))
def test_physical_numbers(gaps):
    rows, physical, taken = {}, 1, 0
    wanted = {}
    for before, lines in gaps:
        for _ in range(before):
            wanted[physical - taken] = physical
            physical += 1
        rows[physical - taken] = thin.Row(0, 0, physical, lines)
        wanted[physical - taken] = physical
        physical += lines
        taken += lines - 1
    wanted[physical - taken] = physical
    lines = Lines(rows)
    assert {line: lines.physical(line) for line in wanted} == wanted


def test_other_watchers_see_every_block():
    class Counting:
        def __init__(self):
            self.blocks = self.moves = 0

        def block(self, block, control):
            self.blocks += 1

        def move(self, block, move, control):
            self.moves += 1

        def event(self, block, event, control):
            pass

        def acted(self, block, control):
            pass

    watcher = Counting()
    run(HEAD + b"X1.\nX2.\n" * 100, KNOWN, (watcher,))
    assert (watcher.blocks, watcher.moves) == (203, 201)
