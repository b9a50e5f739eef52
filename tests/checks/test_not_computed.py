"""What cannot be told is said: figures of sheet and machine that are missing, macros, variables, other languages."""

from dataclasses import replace

import pytest

from tests.checks.subjects import JOB, subject
from tracker.checks.check import check
from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.lost import BLOCKS, MOVES, hidden_by
from tracker.checks.registry import RULES
from tracker.checks.subject import ProgramIn, Subject
from tracker.machining.watch import Block
from tracker.nc.word import words as read_words
from tracker.records.job import Stock
from tracker.records.shop import Checks

START = "G41 D1 X0. F40.\n"


def left(one: Subject) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for item in check(one).not_computed:
        found.setdefault(item.rule, []).append(item.why)
    return found


def rules(one: Subject) -> set[str]:
    return {finding.rule for finding in check(one).findings}


@pytest.mark.parametrize(
    ("sheet", "machine", "rule", "words"),
    [
        (replace(SHEET, clearance_z=None), MILL, "rapid-across-low", "clearance_z"),
        (replace(SHEET, clearance_z=None), MILL, "cycle-retract-low", "clearance_z"),
        (replace(SHEET, stock=None), MILL, "rapid-near-part", "top of the stock"),
        (replace(SHEET, stock=Stock()), MILL, "rapid-near-part", "top of the stock"),
        (replace(SHEET, offsets=()), MILL, "offset-not-on-sheet", "no work offset"),
        (replace(SHEET, units=None), MILL, "units-not-sheet", "units"),
        (SHEET, replace(MILL, max_rpm=None), "speed-over-limit", "max_rpm of MILL2"),
        (SHEET, None, "speed-over-limit", "no machine"),
        (SHEET, replace(MILL, changer=None), "no-precall", "changer of MILL2"),
        (SHEET, None, "precall-on-umbrella", "no machine"),
    ],
)
def test_a_missing_figure_is_named_and_brings_no_finding(sheet, machine, rule, words):
    one = subject(MILLING, sheet=sheet, machine=machine)
    assert words in " ".join(left(one)[rule])
    assert rules(one) == set()


def test_a_macro_leaves_all_that_rests_on_the_run_uncomputed():
    one = subject(edited((START, "G65 P9001 X1.\n" + START)), machine=replace(MILL, resident=(9001,)))
    said = left(one)
    assert set(said) == {rule.name for rule in RULES if rule.follows and rule.machines != "lathe"}
    assert "9001" in said["no-spindle"][0]
    assert rules(one) == {"uses-variables"}


def test_a_figure_that_is_not_known_leaves_only_moves_uncomputed():
    said = left(subject(edited(("Z-0.5 R0.1", "Z#3 R0.1"), ("G43 H2", "G43 H1"))))
    assert "#3" in " ".join(said["rapid-across-low"])
    assert "h-not-tool" not in said
    assert rules(subject(edited(("Z-0.5 R0.1", "Z#3 R0.1"), ("G43 H2", "G43 H1")))) == {
        "h-not-tool",
        "uses-variables",
    }


def block(*words: str) -> Block:
    held = tuple(word for text in words for word in read_words(text))
    return Block(line=4, number=None, program=None, depth=0, skip=None, words=held, comments=(), text="")


@pytest.mark.parametrize(
    ("why", "words", "hidden"),
    [
        ("minutes of feed moves without a known F, first at line 4", ["G1 X1."], None),
        ("how long G4 waits at line 4", ["G4 P#1"], None),
        ("G76 at line 4: the control sets spring passes, lengths are without them", ["G76 X1."], None),
        ("(MSG, OPEN THE DOOR) at line 4: a comment that some controls act on", [], None),
        ("(GOTO 5) at line 4: a comment that some controls act on", [], BLOCKS),
        ("G1 from where Z is not known at line 4", ["G1 X1."], MOVES),
        ("G68 at line 4", ["G68 X0. Y0. R30."], MOVES),
        ("Z#100 at line 4: #100 is not known", ["Z#100"], MOVES),
        ("G#1 at line 4: #1 is not known", ["G#1 X1."], BLOCKS),
        ("G200 at line 4", ["G200 X1."], BLOCKS),
        ("G65 P9001 at line 4", ["G65 P9001"], BLOCKS),
        ("M98 P5 at line 4", ["M98 P5"], BLOCKS),
        ("GOTO at line 4", ["GOTO#1"], BLOCKS),
        ("line 4 does not read as words", [], BLOCKS),
        ("left after 100 blocks at line 4: the rest is not run", ["X1."], BLOCKS),
        ("M99 at line 4: goes round for ever, not run on", ["X1."], BLOCKS),
    ],
)
def test_what_stays_hidden(why, words, hidden):
    assert hidden_by(why, block(*words)) == hidden


def test_behind_a_macro_nothing_is_found_missing():
    """The macro may have started the spindle; what is wrong in the text itself is found all the same."""
    text = edited(("S3000 M3", "M9"), ("G41 D1", "G41 D2"), ("G43 H1 Z1. M8\n", "G65 P9001\nG43 H1 Z1.\n"))
    found = rules(subject(text, machine=replace(MILL, resident=(9001,))))
    assert "no-spindle" not in found
    found = rules(subject(text.replace("G65 P9001\n", ""), machine=MILL))
    assert {"no-spindle", "d-not-tool"} <= found


def test_a_tool_change_ends_what_a_macro_hides():
    text = edited(("Z0.15\n", "G65 P9001\nZ0.15\n"), ("G43 H2 Z1.", "Z1."))
    assert "no-length-offset" in rules(subject(text, machine=replace(MILL, resident=(9001,))))


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (("G43 H2 Z1.", "G43 H#5 Z1."), "h-not-tool"),
        (("G41 D1", "G41 D#5"), "d-not-tool"),
        (("Z0.15\nG1 Z-0.1 F20.\nG41 D1", "D#5\nZ0.15\nG1 Z-0.1 F20.\nG41"), "d-not-tool"),
        (("X-1. Y1. S3000 M3", "X-1. Y1. S#1 M3"), "speed-over-limit"),
        (("T2\nG0", "T#2\nG0"), "no-precall"),
        (("Z-0.5 R0.1", "Z#3 R0.1"), "cycle-z-above-r"),
    ],
)
def test_a_word_by_variable_is_said(change, rule):
    one = subject(edited(change))
    assert rule in left(one)
    assert rule not in rules(one)


def test_an_oriented_spindle_stands_until_it_is_started_again():
    """M19 stops the spindle at an angle (common practice, from memory); a tool may be meant to be pushed then."""
    said = left(subject(edited(("Z0.15\n", "M19\nZ0.15\n"))))
    assert said["no-spindle"] == ["after M19 the spindle may be meant to stand"]
    assert "no-spindle" not in left(subject(edited(("Z0.15\n", "M19\nM3\nZ0.15\n"))))
    assert "no-spindle" not in left(subject(edited(("(NO. 7 DRILL)", "M19\n(NO. 7 DRILL)"))))


def test_a_shifted_zero_leaves_heights_uncomputed():
    one = subject(edited(("Z0.15\n", "G52 Z1.\nZ0.15\n")))
    said = left(one)
    assert "G52 or G92" in " ".join(said["rapid-near-part"])
    assert rules(one) == {"writes-offsets"}


def test_a_turned_system_is_said():
    said = left(subject(edited((START, "G68 X0. Y0. R30.\n" + START))))
    assert any("G68" in why for why in said["rapid-across-low"])


def test_another_language_computes_nothing_and_finds_nothing():
    main = ProgramIn(path="a.h", number=None, data=b"0 BEGIN PGM 1 MM\n1 TOOL CALL 3\n", readable=False)
    one = Subject(job=JOB, operation=SHEET, machine=MILL, programs=(main,), checks=Checks())
    result = check(one)
    assert result.findings == ()
    assert {item.rule for item in result.not_computed} == set(result.checks)
    assert result.done == ()
    assert len(result.checks) == sum(1 for rule in RULES if rule.machines != "lathe")


def test_a_called_program_in_another_language_is_not_run():
    programs = (
        ProgramIn(path="m.nc", number=1001, data=edited((START, "M98 P1002\n" + START)).encode()),
        ProgramIn(path="s.nc", number=1002, data=b"\x00\x01\x02", readable=False),
    )
    one = Subject(job=JOB, operation=SHEET, machine=MILL, programs=programs, checks=Checks())
    assert "1002" in " ".join(left(one)["no-spindle"])


def test_two_programs_with_one_number_are_not_run():
    twins = tuple(
        ProgramIn(path=f"{name}/O1002.nc", number=1002, data=b"O1002\nM99\n") for name in ("a", "b")
    )
    main = ProgramIn(path="m.nc", number=1001, data=edited((START, "M98 P1002\n" + START)).encode())
    one = Subject(job=JOB, operation=SHEET, machine=MILL, programs=(main, *twins), checks=Checks())
    assert "1002" in " ".join(left(one)["no-spindle"])


@pytest.mark.parametrize("data", [b"", b"%\n%\n", b"(NOTHING)\n", b"\x00" * 40, bytes(range(256)) * 4])
def test_odd_files_end_in_a_result(data):
    main = ProgramIn(path="m.nc", number=None, data=data)
    one = Subject(job=JOB, operation=SHEET, machine=MILL, programs=(main,), checks=Checks())
    result = check(one)
    assert result.checks


def test_many_reasons_are_cut_short():
    lines = "".join(f"G65 P{number}\n" for number in range(9001, 9020))
    said = left(subject(edited((START, lines + START))))
    assert len(said["no-spindle"]) == 6
    assert "places more" in said["no-spindle"][-1]
