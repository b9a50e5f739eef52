"""What is told of a program: judgements, units, offsets, what cannot be followed."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fakes.run_log import summed
from tracker.machining.setting import Setting
from tracker.machining.summarise import MILL_GUESS, summarise
from tracker.machining.sums import Sums


def test_an_empty_text():
    summary = summed("")
    assert (summary.tools, summary.cutting_minutes, summary.cutting_length, summary.blocks) == (
        (),
        None,
        0,
        0,
    )


def test_a_binary():
    summary = summed(b"\x00\x01\xff" * 50, lathe=None)
    assert summary.tools == ()
    assert summary.not_followed != ()


def test_a_program_without_tools():
    (tool,) = summed("G21 G90 G0 X0 Y0 Z1\nG1 Z-1 F100\nM30").tools
    assert (tool.tool, tool.line, tool.deepest_cut, tool.cutting_minutes) == (None, 0, -1, 0.02)


def test_mill_or_lathe_is_stated_where_nothing_says_so():
    assert MILL_GUESS in summed("G21 G90 G0 X0\nM30", lathe=None).guesses
    assert MILL_GUESS not in summed("T1 M6\nG43 H1 Z1.\nM30", lathe=None).guesses


def test_a_tool_that_comes_twice_is_one_row():
    summary = summed("G20 G90\nT1 M6 (DRILL)\nG0 X0 Y0 Z1\nG1 Z0 F9\nT2 M6\nG0 Z1\nT1 M6\nG0 Z2\nG1 Z-1\nM30")
    assert [(one.tool, one.sections) for one in summary.tools] == [("1", 2), ("2", 1)]
    assert summary.order == ("1", "2", "1")
    assert summary.tools[0].description == "DRILL"
    assert summary.tools[0].cutting_length == 4


def test_the_length_of_the_tool_before_is_not_this_tools():
    text = "G20 G90\nT1 M6\nG43 H1 G0 Z1.\nT2 M6\nG0 X1\nG43 H2 Z1.\nG41 D5 G1 X2 F9\nM30"
    assert [(one.h, one.d) for one in summed(text).tools] == [((1,), ()), ((2,), (5,))]
    earlier = text.replace("G43 H2", "G43 H2 D5").replace("G41 D5", "G41")
    assert [one.d for one in summed(earlier).tools] == [(), (5,)]


def test_moves_of_a_called_program_belong_to_the_tool_in_the_spindle():
    called = {10: b"O10\nG1 Z-0.5\nG0 Z1\nM99\n"}.get
    text = "G20 G90\nT1 M6\nG0 X0 Y0 Z1\nF9\nM98 P10\nT2 M6\nG0 Z1\nM98 P10\nM30"
    assert [one.deepest_cut for one in summed(text, called=called).tools] == [-0.5, -0.5]


def test_what_is_not_in_hand_makes_totals_least_ones():
    summary = summed("G20 G90\nT1 M6\nM98 P77\nM30")
    assert [text for text in summary.not_followed if "P77" in text] != []


def test_programs_write_offsets():
    summary = summed("G20 G90\nG10 L2 P1 X3.5 Y17.2\nG52 X1\nG92 X0\nM30")
    assert summary.offsets_written == ((2, "G10 L2 P1 X3.5 Y17.2"), (3, "G52 X1"), (4, "G92 X0"))


def test_the_same_thing_in_a_loop_is_named_once():
    called = {5: b"O5\nG150 P1\nM99\n"}.get
    summary = summed("G20 G90\nM98 P5 L50\nM30", called=called)
    assert len([text for text in summary.not_followed if "G150" in text]) == 1


def test_speed_and_feed_of_a_maker_of_carbide():
    # 12 V / (pi D): 450 feet a minute at 0.375 gives 4584 rpm, four teeth at 0.004 feed 73.3 inches a minute
    # (a carbide maker's catalogue of 2011, worked example)
    rpm = 12 * 450 / (3.141592653589793 * 0.375)
    assert rpm == pytest.approx(4584, abs=0.5)
    text = f"G20 G90\nT1 M6\nS{rpm:.0f} M3\nG0 X0 Y0 Z0\nG1 X7.33 F{4 * 0.004 * rpm:.1f}\nM30"
    (tool,) = summed(text).tools
    assert tool.rpm_max == 4584
    assert tool.feed_max == pytest.approx(73.3, abs=0.05)
    assert tool.cutting_minutes == pytest.approx(0.1, abs=1e-4)


def test_speed_and_feed_of_a_tool_maker():
    # 1000 V / (pi d): 25 metres a minute at 12 mm gives 663 rpm; 0.065 x 2 teeth feed 86 mm a minute (worked example)
    rpm = 1000 * 25 / (3.141592653589793 * 12)
    text = f"G21 G90\nT1 M6\nS{rpm:.0f} M3\nG0 X0 Y0 Z0\nG1 X86.19 F{2 * 0.065 * rpm:.2f}\nM30"
    (tool,) = summed(text).tools
    assert tool.rpm_max == 663
    assert tool.feed_max == pytest.approx(86, abs=0.5)
    assert tool.cutting_minutes == pytest.approx(1, abs=0.001)


def test_sums_taken_apart_come_together():
    one, other = Sums(tool="1"), Sums(tool="1")
    for sums, z in ((one, -1.0), (other, -2.0)):
        sums.reach(2, z)
        sums.cutting, sums.minutes, sums.timed = 3.0, 0.5, True
        sums.offsets["G54"] = None
    one.merge(other)
    told = one.told()
    assert (told.deepest_cut, told.cutting_length, told.cutting_minutes, told.z) == (-2, 6, 1, (-2, -1))
    assert told.x is None


# Properties

places = st.tuples(*[st.integers(-5000, 5000).map(lambda one: one / 1000)] * 3)
paths = st.lists(places, min_size=2, max_size=12)


def along(path, shift=(0.0, 0.0, 0.0), units="G20", scale=1.0, numbers=None):
    rows = [f"{units} G90 G17 F{10 * scale:.4f}"]
    for at, point in enumerate(path):
        x, y, z = ((one + by) * scale for one, by in zip(point, shift, strict=True))
        rows.append(f"{'G0' if not at else 'G1'} X{x:.6f} Y{y:.6f} Z{z:.6f}")
    rows.append("M30")
    if numbers:
        rows = [f"N{numbers * (at + 1)} {row}" for at, row in enumerate(rows)]
    return "\n".join(rows) + "\n"


@given(paths)
def test_backwards_is_as_long(path):
    one, other = summed(along(path)), summed(along(path[::-1]))
    assert one.cutting_length == pytest.approx(other.cutting_length, abs=1e-9)
    assert one.tools[0].x == other.tools[0].x
    assert one.tools[0].z == other.tools[0].z


@given(paths, places)
def test_elsewhere_is_as_long_and_reaches_as_much_further(path, shift):
    one, other = summed(along(path)), summed(along(path, shift))
    assert one.cutting_length == pytest.approx(other.cutting_length, abs=1e-6)
    for before, after, by in zip(
        (one.tools[0].x, one.tools[0].y, one.tools[0].z),
        (other.tools[0].x, other.tools[0].y, other.tools[0].z),
        shift,
        strict=True,
    ):
        assert after == pytest.approx((before[0] + by, before[1] + by), abs=1e-5)


@given(paths)
def test_inches_and_millimetres_agree(path):
    inch, mm = summed(along(path)), summed(along(path, units="G21", scale=25.4))
    assert mm.units == "mm"
    assert mm.cutting_length == pytest.approx(inch.cutting_length * 25.4, abs=1e-3)
    assert mm.cutting_minutes == pytest.approx(inch.cutting_minutes, abs=1e-5)


@given(paths, st.integers(1, 50))
def test_line_numbers_change_nothing(path, step):
    one, other = summed(along(path)), summed(along(path, numbers=step))
    assert one == other


@given(paths)
def test_incremental_words_lead_the_same_way(path):
    steps = [tuple(b - a for a, b in zip(one, two, strict=True)) for one, two in pairwise(path)]
    start = "X{:.6f} Y{:.6f} Z{:.6f}".format(*path[0])
    rows = ["X{:.6f} Y{:.6f} Z{:.6f}".format(*step) for step in steps]
    text = f"G20 G90 G17 F10 G0 {start}\nG91 G1 " + "\n".join(rows) + "\nM30\n"
    one, other = summed(along(path)), summed(text)
    assert one.cutting_length == pytest.approx(other.cutting_length, abs=1e-5)
    assert one.tools[0].x == pytest.approx(other.tools[0].x, abs=1e-4)


@settings(max_examples=100)
@given(st.binary(max_size=400))
def test_any_bytes_give_an_answer(data):
    summarise(data, Setting(most_blocks=2000))


LETTERS = "GMXYZABCIJKRPQLFSTHDUVWN,#[]=/()%O \n\n"
pieces = st.text(alphabet=LETTERS + "0123456789.-+", max_size=300)


@settings(max_examples=100)
@given(pieces, st.sampled_from([None, True, False]))
def test_anything_like_a_program_gives_an_answer(text, lathe):
    summarise(text.encode("latin-1"), Setting(lathe=lathe, most_blocks=2000))


WORDS = (
    "G0 G1 G2 G3 G17 G18 G19 G20 G21 G28 G30 G40 G41 G43 G49 G52 G53 G54 G55 G68 G69 G73 G76 G80 G81 G83 G84 G87 G90 "
    "G91 G92 G92.1 G93 G94 G95 G96 G97 G98 G99 G10 G4 M3 M6 M30 M99 M98 X1. Y-2. Z0.5 Z-1 R0.1 R-2 I1. J-1. K0.3 Q0.2 "
    "P2 L3 F10. S100 T1 T0101 H1 D1 A90. U1. W-1. G50 G71 G70 G76 G32"
)


@settings(max_examples=100)
@given(st.lists(st.lists(st.sampled_from(WORDS.split()), max_size=6), max_size=20), st.booleans())
def test_any_words_give_an_answer(blocks, lathe):
    text = "\n".join(" ".join(block) for block in blocks)
    summary = summarise(text.encode(), Setting(lathe=lathe, most_blocks=2000))
    assert summary.cutting_length >= 0
    assert summary.rapid_length >= 0


def test_without_any_m6_a_t_changes_the_tool():
    summary = summed("G20 G90\nT1 (DRILL)\nG0 X0 Y0 Z1\nG1 Z-1 F9\nT2\nG0 Z1\nM30")
    assert [(one.tool, one.description) for one in summary.tools] == [("1", "DRILL"), ("2", None)]
    assert any("no M6" in text for text in summary.guesses)
    assert summed("G20 T1\nM6\nT2\nM30").order == ("1",)


def test_going_home_before_the_first_tool_is_no_row():
    assert [one.tool for one in summed("G91 G28 Z0\nG90\nT1 M6\nG0 X1\nM30").tools] == ["1"]


def test_a_tool_changed_in_a_called_program_has_its_comment():
    called = {5: b"O5\n(REAMER)\nT7 M6\nM99\n"}.get
    (tool,) = summed("G20 G90\n(NOT THIS)\nM98 P5 (NOR THIS)\nG0 X1\nM30", called=called).tools
    assert (tool.tool, tool.description, tool.line) == ("7", "REAMER", 3)


def test_what_is_called_is_named_with_its_number():
    called = {5: b"O5\nG150 P1\nM99\n"}.get
    assert summed("G20 G90\nM98 P5\nM30", called=called).not_followed == ("G150 at line 2 of O5",)
