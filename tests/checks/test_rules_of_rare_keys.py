"""Edges of the rules that rest on keys most shops leave out, and on what the head of a program says."""

from dataclasses import replace

import pytest

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.examples_turning import LATHE, TURNING, TURNING_SHEET
from tracker.checks.registry import rule_named
from tracker.records.job import Operation, Stock
from tracker.records.shop import Machine


def found(text: str, rule: str, sheet: Operation = SHEET, machine: Machine | None = MILL) -> list[str]:
    result = check(subject(text, sheet=sheet, machine=machine))
    return [one.message for one in result.findings if one.rule == rule]


def untold(text: str, rule: str, sheet: Operation = SHEET, machine: Machine | None = MILL) -> list[str]:
    result = check(subject(text, sheet=sheet, machine=machine))
    return [one.why for one in result.not_computed if one.rule == rule]


def first(**changes: object) -> Operation:
    return replace(SHEET, tools=(replace(SHEET.tools[0], **changes), SHEET.tools[1]))


@pytest.mark.parametrize(
    ("comment", "wanted"),
    [
        ("DRAWING 4471 REV C", []),
        ("DWG NO. 4471, REV. C", []),
        ("ZEICHNUNG 04471", []),
        ("DRAWING 4471 REV D", ["drawing revision D in the head, C in job.toml"]),
        ("DRAWING 4472 REV C", ["drawing 4472 in the head, 4471 in job.toml"]),
        ("REV D", []),
        ("SEE DRAWING FOR DEBURRING", []),
        ("DRAWINGS 9", []),
    ],
)
def test_the_drawing_in_the_head(comment, wanted):
    assert found(edited(("TWO TOOLS", comment)), "head-drawing") == wanted


@pytest.mark.parametrize(
    ("comment", "trips"),
    [
        ("MATERIAL: 6061", False),
        ("MATL 6061-T651", False),  # a grade that begins like the other is let pass
        ("MATERIAL 4140", True),
        ("MATERIAL 1.4301", True),
        ("MATERIAL ALUMINIUM", False),
        ("MATERIAL .55 THICK", False),
    ],
)
def test_the_material_in_the_head(comment, trips):
    assert bool(found(edited(("TWO TOOLS", comment)), "head-material")) is trips


def test_what_stands_behind_the_first_block_is_not_the_head():
    assert found(edited(("(1/2 END MILL)", "(DRAWING 1 REV A)")), "head-drawing") == []


@pytest.mark.parametrize(
    ("stock", "wanted", "why"),
    [
        (Stock(out_of_jaws=120.0, diameter=40.0), 0, 0),
        (Stock(out_of_jaws=120.1, diameter=40.0), 1, 0),
        (Stock(out_of_jaws=300.0, diameter=40.0, steadied=True), 0, 0),
        (Stock(out_of_jaws=120.1), 0, 1),
        (Stock(diameter=40.0), 0, 1),
        (None, 0, 1),
    ],
)
def test_three_diameters_out_of_the_jaws(stock, wanted, why):
    sheet = replace(TURNING_SHEET, stock=stock)
    assert len(found(TURNING, "stock-unsteadied", sheet, LATHE)) == wanted
    assert len(untold(TURNING, "stock-unsteadied", sheet, LATHE)) == why


def test_cutting_edges_against_the_pass():
    assert found(MILLING, "flute-short", first(flute_length=0.15)) == []
    assert found(MILLING, "flute-short", first(flute_length=0.14)) == [
        "T1: cuts from Z0.05 to Z-0.1 in one pass with cutting edges of 0.14, needed 0.15, 0.01 short"
    ]
    two = edited(("G1 Z-0.1 F20.", "G1 Z-0.03 F20.\nG0 Z0.15\nG1 Z-0.1"))
    assert found(two, "flute-short", first(flute_length=0.1)) == []
    ramp = edited(("G1 Z-0.1 F20.", "G1 Z0. F20.\nZ-0.05\nX-0.9\nZ-0.1"))
    assert found(ramp, "flute-short", first(flute_length=0.08)) == []
    assert "passes" in untold(ramp, "flute-short", first(flute_length=0.08))[0]


def test_the_lowest_z_noted_in_the_head():
    note = edited(("TWO TOOLS", "T1 D=0.5 CR=0. - ZMIN=-0.09 - END MILL"))
    assert found(note, "lowest-z", first(lowest_z=None)) == [
        "T1: to Z-0.1, lowest Z-0.09 by the head of the program, 0.01 too deep"
    ]
    assert found(note.replace("-0.09", "-0.1"), "lowest-z", first(lowest_z=None)) == []
    assert found(note, "lowest-z") == []  # the sheet's own figure counts before it


def test_a_changer_in_other_units():
    metric = replace(
        MILL, units="mm", max_tool_length=114.0, max_tool_weight=2.2, travel=None, large_tool_over=80
    )
    assert found(MILLING, "tool-too-long", machine=metric)[0].startswith("T1: is 114.3 long")
    assert found(MILLING, "tool-too-heavy", machine=metric) == [
        "T1: weighs 2.268, the changer takes 2.2, 0.068 too much"
    ]


def test_a_tool_longer_out_of_its_holder_than_the_changer_takes():
    sheet = first(length=None, stick_out=12.5)
    assert found(MILLING, "tool-too-long", sheet)[0].startswith("T1: stands out of its holder 12.5 long")
    assert untold(MILLING, "tool-too-long", first(length=None)) == [
        "length of T1 is not stated on the setup sheet"
    ]


def test_tools_of_very_different_lengths_take_travel():
    sheet = replace(SHEET, tools=(replace(SHEET.tools[0], length=1.0), replace(SHEET.tools[1], length=11.9)))
    long = edited(("H2 Z1.", "H2 Z9."))
    assert "tools of several lengths" in found(long, "travel-z-short", sheet)[0]
    assert found(long, "travel-z-short") == []
    assert untold(long, "travel-z-short", machine=replace(MILL, travel=None)) == [
        "travel of MILL2 in Z is not stated"
    ]


def test_a_hole_through_the_stock_may_be_tapped_to_its_end():
    rule = rule_named("tap-near-bottom")
    assert rule is not None
    one = rule.example
    through = replace(one.sheet, stock=Stock(top=0.05, bottom=-0.3))
    unstated = replace(one.sheet, stock=Stock(top=0.05))
    assert found(one.trips, rule.name, one.sheet) != []
    assert found(one.trips, rule.name, through) == []
    assert found(one.trips, rule.name, unstated) == []
    assert "bottom of the stock" in untold(one.trips, rule.name, unstated)[0]


def test_a_probe_whose_spindle_was_stopped_again():
    rule = rule_named("probe-turning")
    assert rule is not None
    text = rule.example.trips
    assert found(text, rule.name, rule.example.sheet) != []
    assert found(text.replace("S500 M3\n", "S500 M3\nM5\n"), rule.name, rule.example.sheet) == []
    assert found(text.replace("S500 M3\n", "S500 M3\nM19\n"), rule.name, rule.example.sheet) == []
