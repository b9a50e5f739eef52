"""Figures that stand in textbooks, held against the rules that use them; and the edges of the later rules."""

from dataclasses import replace

import pytest

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import MILL, MILLING, SHEET, UMBRELLA, edited
from tracker.checks.examples_turning import LATHE, TURNING, TURNING_SHEET
from tracker.checks.rules.stick_out import point_length
from tracker.checks.rules.tapping import pitch_of
from tracker.records.job import Operation, Stock, Tool
from tracker.records.shop import Machine

ONE_T = edited(("T2\nG0 G17", "G0 G17"), ("T1\nG0 G17", "G0 G17"))


def found(
    text: str, rule: str, sheet: Operation = SHEET, machine: Machine | None = MILL, called=None
) -> list[str]:
    result = check(subject(text, sheet=sheet, machine=machine, called=called))
    return [one.message for one in result.findings if one.rule == rule]


def untold(text: str, rule: str, sheet: Operation = SHEET, machine: Machine | None = MILL) -> list[str]:
    return [
        one.why for one in check(subject(text, sheet=sheet, machine=machine)).not_computed if one.rule == rule
    ]


def with_second(**changes: object) -> Operation:
    return replace(SHEET, tools=(SHEET.tools[0], replace(SHEET.tools[1], **changes)))


def tapping(speed: str, cycle: str, feed: str, *, start: str = "", units: str = "G20") -> str:
    return edited(
        ("G20", units),
        ("S4000 M3", f"{speed} M3{start}"),
        ("G98 G81 X1. Y1. Z-0.5 R0.1 F12.", f"G98 {cycle} X1. Y1. Z-0.5 R0.1 {feed}"),
    )


# -- tapping: 1/4-20 at S500 feeds 25 in/min, M8x1.25 at S800 feeds 1000 mm/min; NIST: S300 and 2 threads a mm feed 150 ----


@pytest.mark.parametrize(
    ("description", "pitch"),
    [
        ("1/4-20 TAP", 1.27),
        ("TAP 1/4-20 UNC 2B", 1.27),
        ("#10-32 TAP", 25.4 / 32),
        ("NO. 8-32 TAP", 25.4 / 32),
        ("10-24 TAP", 25.4 / 24),
        (".250-20 SPIRAL POINT", 1.27),
        ("1/8-27 NPT", 25.4 / 27),
        ("3/8 - 11.5", 25.4 / 11.5),
        ("M8X1.25 TAP", 1.25),
        ("m8x1.25", 1.25),
        ("M10 X 1.5", 1.5),
        ("M3X.5 TAP", 0.5),
        ("M8 TAP", None),
        ("TAP", None),
        ("", None),
        ("1/4-20 OR M6X1", None),
        ("TAP 2-3 TEETH", None),
    ],
)
def test_the_pitch_in_a_description(description, pitch):
    said = pitch_of(description)
    assert said is None if pitch is None else said == pytest.approx(pitch, abs=1e-6)


@pytest.mark.parametrize(
    ("description", "text", "trips"),
    [
        ("1/4-20 TAP", tapping("S500", "G84", "F25."), False),
        ("1/4-20 TAP", tapping("S500", "G84", "F25.1"), True),
        ("1/4-20 TAP", tapping("S500", "G84", "F20."), True),
        (
            "1/4-20 TAP",
            tapping("S500", "G84", "F24.", start=""),
            False,
        ),  # a floating holder may take 95 to 100 %
        ("1/4-20 TAP", tapping("S500", "G84", "F24.", start="\nM29 S500"), True),  # a rigid one does not
        ("1/4-20 TAP", tapping("S500", "G74", "F30."), True),
        ("1/4-20 TAP", tapping("S500", "G95 G84", "F0.05"), False),
        ("1/4-20 TAP", tapping("S500", "G95 G84", "F0.0502"), True),
        ("M8X1.25 TAP", tapping("S800", "G84", "F39.37"), False),
        ("1/4-20 TAP", tapping("S500", "G81", "F12."), False),
    ],
)
def test_the_feed_of_a_tap(description, text, trips):
    assert bool(found(text, "tap-feed", with_second(description=description))) is trips


def test_metric_taps_and_the_message():
    metric = replace(with_second(description="M8X1.25 TAP", stick_out=60.0), units="mm")
    assert found(tapping("S800", "G84", "F1000.", units="G21"), "tap-feed", metric) == []
    (message,) = found(tapping("S800", "G84", "F900.", units="G21"), "tap-feed", metric)
    assert message == "T2: F900 with S800, needed F1000 for its pitch, 100 less"
    half = replace(with_second(description="TAP M3X0.5"), units="mm")  # two threads a mm
    assert found(tapping("S300", "G84", "F150.", units="G21"), "tap-feed", half) == []


def test_a_tap_that_cannot_be_told():
    assert untold(tapping("S500", "G84", "F25."), "tap-feed") == [
        "the pitch of T2 is not stated in its description"
    ]
    assert untold(tapping("S500", "G84", "F#1"), "tap-feed", with_second(description="1/4-20"))


# -- points of drills: 118 degrees 0.300 D, 135 degrees 0.207 D, 140 degrees 0.182 D, 90 degrees 0.5 D ---------------------


@pytest.mark.parametrize(("angle", "part"), [(118, 0.300), (135, 0.207), (140, 0.182), (90, 0.5)])
def test_the_point_of_a_drill(angle, part):
    assert point_length(1.0, angle) == pytest.approx(part, abs=5e-4)


@pytest.mark.parametrize(
    ("description", "words"),
    [
        ("NO. 7 DRILL", "; its point of 118 degrees takes 0.0604 of the depth"),
        ("7/32 DRILL 135 DEG", "; its point of 135 degrees takes 0.0416 of the depth"),
        ("1/4-20 TAP", " short"),
    ],
)
def test_a_short_tool_is_told_with_its_figures(description, words):
    (message,) = found(MILLING, "stick-out-short", with_second(description=description, stick_out=0.6))
    assert message.startswith(
        "T2: to Z-0.5 with 0.6 out of its holder, needed 0.6287 from the top of the stock at 0.05"
    )
    assert message.endswith(words) or (words == " short" and "point" not in message)


def test_stick_out_at_its_edge_and_where_it_cannot_be_told():
    edge = 0.55 + 2 / 25.4
    assert found(MILLING, "stick-out-short", with_second(stick_out=edge)) == []
    assert found(MILLING, "stick-out-short", with_second(stick_out=edge - 0.001))
    assert untold(MILLING, "stick-out-short", with_second(stick_out=None)) == [
        "stick_out of T2 is not stated"
    ]
    assert untold(MILLING, "stick-out-short", replace(SHEET, stock=None))
    two = edited(("X2.\nG80", "X2.\nG55 X3.\nG80"))
    assert "several work offsets" in untold(two, "stick-out-short")[0]
    deep = edited(("G1 Z-0.1 F20.", "G1 Z-0.1 F20.\nX0.5\nZ-1.5\nX0.6"))
    assert found(deep, "stick-out-short")[0].startswith("T1: to Z-1.5")


# -- feed ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "count"),
    [
        ("G1 Z-0.1 F20.", "F20.\nG1 Z-0.1", 0),
        ("G1 Z-0.1 F20.", "G1 Z-0.1 F0", 1),
        ("G1 Z-0.1 F20.", "G1 Z-0.1 F#1", 0),
        ("X0. F40.\nX2.", "X0. F40.\nG95\nX2.", 1),
        ("X0. F40.\nX2.", "X0. F40.\nG95 F0.01\nX2.", 0),
        ("X0. F40.\nX2.", "G94 X0. F40.\nG94\nX2.", 0),
    ],
)
def test_a_feed_is_stated(old, new, count):
    assert len(found(edited((old, new)), "no-feed")) == count


def test_the_fastest_axis_is_the_limit():
    assert found(edited(("X0. F40.", "X0. F900.")), "feed-over-limit") == []
    assert found(edited(("X2.\nY2.", "X2. F901.\nY2.")), "feed-over-limit") == [
        "T1: F901, the fastest rapid is 900, 1 too fast"
    ]
    assert untold(MILLING, "feed-over-limit", machine=replace(MILL, rapid=None)) == [
        "rapid of MILL2 is not stated"
    ]
    assert untold(TURNING.replace(" G99", ""), "feed-over-limit", TURNING_SHEET, LATHE)


@pytest.mark.parametrize(
    ("swaps", "said"),
    [
        ((), None),
        (
            (("G1 Z0.1 F0.5", "G1 Z0.1 F5."),),
            "T1: F5 a revolution with S3600 is 18000 a minute, the fastest rapid is 15000, 3000 too fast",
        ),
        (
            (("X-1.6 F0.2", "X-1.6 F20."),),
            "T1: F20 a revolution with S3600 is 72000 a minute, the fastest rapid is 15000, 57000 too fast",
        ),
        ((("G1 Z0.1 F0.5", "G1 Z0.1 F5."), ("S3600", "S2900")), None),
    ],
)
def test_a_feed_a_revolution_is_so_much_a_minute_as_it_turns(swaps, said):
    """Feed per minute is feed per revolution times revolutions per minute (common practice, no source)."""
    text = TURNING.replace("G96 S180 M3", "G97 S3600 M3")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    assert found(text, "feed-over-limit", TURNING_SHEET, LATHE) == ([said] if said else [])


def test_what_turns_under_a_surface_speed_hangs_on_the_diameter():
    text = TURNING.replace("G1 Z0.1 F0.5", "G1 Z0.1 F50.")
    assert found(text, "feed-over-limit", TURNING_SHEET, LATHE) == []


def test_a_row_of_plain_blocks_a_revolution_is_looked_at_too():
    rows = "".join(f"X{at / 100:.2f}\n" for at in range(40))
    text = edited(
        ("G1 Z-0.1 F20.", "G95 G1 Z-0.1 F0.02"), ("X0. F40.\nX2.", f"X0. F0.03\n{rows}X2. F0.31\n{rows}")
    )
    said, second = found(text, "feed-over-limit")  # G95 is left on, and the drill has F12.
    assert second.startswith("T2: F12 a revolution")
    assert said.startswith("T1: F0.31 a revolution with S3000 is 930 a minute, the fastest rapid is 900")


# -- sheet, magazine, travel ------------------------------------------------------------------------------------------------


def test_a_sheet_without_tools_cannot_tell():
    assert untold(MILLING, "tool-not-on-sheet", replace(SHEET, tools=())) == [
        "the setup sheet lists no tools"
    ]


def test_a_tool_behind_a_call_not_followed_may_be_there():
    spare = replace(SHEET, tools=(*SHEET.tools, Tool(number=7)))
    assert found(MILLING, "sheet-tool-unused", spare)
    assert found(edited(("M5\nG91", "M98 P1009\nM5\nG91")), "sheet-tool-unused", spare) == []


@pytest.mark.parametrize(
    ("tool", "others", "told"),
    [(1, (2,), True), (1, (16,), True), (1, (3, 15), False), (8, (7,), True), (8, (1,), False)],
)
def test_pockets_are_a_ring(tool, others, told):
    machine = replace(UMBRELLA, pockets=16)
    text = ONE_T.replace("T1 M6", f"T{tool} M6").replace("H1", f"H{tool}").replace("D1", f"D{tool}")
    tools = [Tool(number=tool, large=True), *(Tool(number=one) for one in others)]
    assert bool(found(text, "large-beside", replace(SHEET, tools=tuple(tools)), machine)) is told


def test_large_tools_by_the_machines_figure():
    wide = replace(SHEET, tools=(replace(SHEET.tools[0], diameter=3.2), SHEET.tools[1]))
    assert found(MILLING, "large-not-marked", wide) == [
        "T1: 3.2 wide, large above 3.15, by 0.05, and not marked large"
    ]
    marked = replace(SHEET, tools=(replace(SHEET.tools[0], diameter=3.2, large=True), SHEET.tools[1]))
    assert found(MILLING, "large-not-marked", marked) == []
    assert untold(MILLING, "large-beside", marked)
    assert untold(MILLING, "large-not-marked", machine=replace(MILL, large_tool_over=None))
    assert untold(ONE_T, "no-such-pocket", machine=replace(UMBRELLA, pockets=None))


def test_travel_is_of_each_offset_by_itself():
    assert found(edited(("X2.\nY2.", "X28.\nY2.")), "travel-short") == []
    (message,) = found(edited(("X2.\nY2.", "X29.\nY2.")), "travel-short")
    assert (
        message
        == "T2: X runs from -1 to 29 under G54, 30 in all, travel 30 with 0.3937 to spare, 0.3937 too far"
        or ("X runs from -1 to 29 under G54, 30 in all" in message)
    )
    assert untold(MILLING, "travel-short", machine=replace(MILL, travel=None))


# -- compensation, coolant, text ----------------------------------------------------------------------------------------------


def test_a_lead_in_on_a_plain_line_cannot_be_told():
    text = edited(("G41 D1 X0. F40.", "G41 D1\nX0. F40."))
    assert untold(text, "comp-lead-in-short") == ["the lead-in is one of a row of plain lines"]
    assert untold(MILLING, "comp-lead-in-short", replace(SHEET, tools=(Tool(number=1), SHEET.tools[1])))


@pytest.mark.parametrize(
    ("old", "new", "count"),
    [
        ("G40 X3.\nG0 Z1. M9", "G0 Z1. M9\nG40", 0),
        ("G91 G28 Z0.\nG90\n(NO", "G40 G91 G28 Z0.\nG90\n(NO", 0),
        ("G40 X3.", "X3.", 1),
    ],
)
def test_compensation_ends_in_time(old, new, count):
    assert len(found(edited((old, new)), "comp-left-on")) == count


def test_coolant_as_people_write_it():
    dry = with_second(description="NO. 7 DRILL DRY")
    text = edited(("G43 H2 Z1. M8", "G43 H2 Z1."))
    assert found(text, "no-coolant", dry) == []
    assert found(text, "no-coolant") == ["T2: cuts with neither M7 nor M8 since its change"]
    assert untold(edited(("G43 H2 Z1. M8", "G43 H2 Z1. M51")), "no-coolant")
    assert found(edited(("G43 H2 Z1. M8", "G43 H2 Z1. M7")), "no-coolant") == []
    assert found(edited(("S4000 M3", "S4000 M13"), ("G43 H2 Z1. M8", "G43 H2 Z1.")), "no-coolant") == []
    marked = replace(SHEET, tools=tuple(replace(one, through_coolant=True) for one in SHEET.tools))
    assert found(edited(("Z1. M8", "Z1. M88")), "through-coolant-unmarked", marked) == []


def test_what_a_control_reads():
    ascii_upper = replace(MILL, characters="ascii-upper")
    assert found(MILLING.lower(), "characters-not-read", machine=ascii_upper)
    assert found(MILLING.lower(), "characters-not-read", machine=replace(MILL, characters="ascii")) == []
    (message,) = found(MILLING, "line-too-long", machine=replace(MILL, max_line=20))
    assert "MILL2 takes 20" in message
    assert "too many, and" in message
    (message,) = found(edited(("G20\n", "G20\n#101=5\nG65 P9001 A#101\n")), "uses-variables")
    assert message.startswith("uses #101, G65")
    assert found(edited(("O1001 (TWO TOOLS)", "O9001 (TWO TOOLS)")), "o-number-kept")


def test_cuts_a_25th_of_the_stock_in_both_axes_are_inches_taken_for_mm():
    """The example cuts 4 by 1: a stock of 100 by 25 is 25 times as wide. One axis alone may be a slot."""
    stock = SHEET.stock or Stock()

    def said(x, y):
        return found(MILLING, "span-not-stock", sheet=replace(SHEET, stock=replace(stock, x=x, y=y)))

    (message,) = said((-30.0, 70.0), (0.0, 25.0))
    assert message.startswith("T2: the cuts run through 4 in X, the stock is 100: 25 times narrower")
    assert said((-30.0, 70.0), (0.0, 3.0)) == []
    assert said((-60.0, 70.0), (0.0, 60.0)) == []  # 32.5 and 60 times: another reason
    assert untold(MILLING, "span-not-stock", sheet=replace(SHEET, stock=replace(stock, x=None))) == [
        "x and y of the stock are not stated on the setup sheet"
    ]


def test_a_number_from_8000_on_is_kept_for_common_programs():
    for path, rules in (("common/O8001.nc", set()), ("op10/O8001.nc", {"o-number-kept"})):
        own = subject(edited(("O1001 (TWO TOOLS)", "O8001 (TWO TOOLS)")))
        own.programs = (replace(own.main, path=path),)
        assert {one.rule for one in check(own).findings} == rules


# -- turning ------------------------------------------------------------------------------------------------------------------


def test_an_offset_the_sheet_lists_is_right():
    listed = replace(
        TURNING_SHEET, tools=(TURNING_SHEET.tools[0], replace(TURNING_SHEET.tools[1], offset=12))
    )
    assert found(TURNING.replace("T0202", "T0212"), "turret-offset", listed, LATHE) == []
    assert found(TURNING, "turret-offset", listed, LATHE) == ["T2: offset 2, needed 12"]


def test_a_lathe_tool_does_not_cut_with_its_offset_taken_away():
    # common practice, no source: T0200 indexes, or takes the offset away on the way home; a cut wants T0202
    indexed = TURNING.replace("T0202", "T0200")
    assert found(indexed, "turret-offset", TURNING_SHEET, LATHE) == ["T2: cuts with offset 0, needed 2"]
    taken_up = indexed.replace(
        "G0 X46. Z5. M8\nG1 Z0. F0.5\nX-0.8", "G0 X46. Z5. M8 T0202\nG1 Z0. F0.5\nX-0.8"
    )
    assert taken_up != indexed
    assert found(taken_up, "turret-offset", TURNING_SHEET, LATHE) == []
    gone = TURNING.replace("M5\nM30", "M5\nT0200\nM30")
    assert gone != TURNING
    assert found(gone, "turret-offset", TURNING_SHEET, LATHE) == []
    listed = replace(TURNING_SHEET, tools=(TURNING_SHEET.tools[0], replace(TURNING_SHEET.tools[1], offset=0)))
    assert found(indexed, "turret-offset", listed, LATHE) == []


@pytest.mark.parametrize(
    ("machine", "sheet", "limit"),
    [(4000, 2500, 2500), (2000, 2500, 2000), (4000, None, 3500)],
)
def test_the_least_limit_counts(machine, sheet, limit):
    shown = found(
        TURNING.replace("S2500", f"S{limit + 1}"),
        "speed-limit-high",
        replace(TURNING_SHEET, max_rpm=sheet),
        replace(LATHE, max_rpm=machine),
    )
    assert [f"{limit} is allowed" in one for one in shown] == [True, True]
    assert (
        found(
            TURNING.replace("S2500", f"S{limit}"),
            "speed-limit-high",
            replace(TURNING_SHEET, max_rpm=sheet),
            replace(LATHE, max_rpm=machine),
        )
        == []
    )


def test_the_profile_stands_once_and_in_order():
    twice = TURNING.replace("Z-20.\n", "N9001 Z-20.\n")
    assert found(twice, "profile-missing", TURNING_SHEET, LATHE)[0] == "T1: N9001 stands 2 times, needed once"
    turned = TURNING.replace("P9001 Q9002", "P9002 Q9001")
    assert "stands below" in found(turned, "profile-missing", TURNING_SHEET, LATHE)[0]


def test_bar_and_jaws():
    def bar(**stock: object) -> Operation:
        return replace(TURNING_SHEET, stock=replace(TURNING_SHEET.stock, **stock))

    assert found(TURNING, "bar-unsupported", bar(bar_past_spindle=600.0, supported=True), LATHE) == []
    assert found(TURNING, "bar-unsupported", bar(bar_past_spindle=600.0, supported=None), LATHE)
    assert untold(TURNING, "bar-unsupported", replace(TURNING_SHEET, stock=Stock()), LATHE)
    assert found(TURNING.replace("Z-20.", "Z-76."), "tool-into-jaws", TURNING_SHEET, LATHE) == []
    assert found(TURNING.replace("Z-20.", "Z-76.1"), "tool-into-jaws", TURNING_SHEET, LATHE)
    assert untold(TURNING, "tool-into-jaws", replace(TURNING_SHEET, stock=Stock(top=1.0)), LATHE)
