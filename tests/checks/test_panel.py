"""How one run reaches the rules: hooks, rows of plain blocks, the trail."""

from dataclasses import replace

import pytest

from tests.checks.subjects import clean_of, subject
from tracker.checks.check import check
from tracker.checks.examples import CALLED, MILLING, edited
from tracker.checks.panel import Panel
from tracker.checks.registry import RULES, nearest_names, rule_named
from tracker.checks.rule import Rule
from tracker.checks.spans import parts_of
from tracker.checks.watch import Watch, converted, fig

ROW = "".join(f"X{at}. Z-0.{at} F{at}0.\n" for at in range(1, 10))
LONG = edited(("X2.\nY2.\n", ROW + "G0 Z0.6\nG1 Z-0.3\nY2.\n"))


def listener(plain: bool) -> tuple[Rule, list[tuple[object, ...]]]:
    heard: list[tuple[object, ...]] = []

    class Listening(Watch):
        def begin(self, control):
            heard.append(("begin",))

        def block(self, block, control):
            heard.append(("block", block.line))

        def move(self, block, move, control):
            heard.append(("move", block.line, move.code))

        def tool(self, block, control):
            heard.append(("tool", self.trail.tool))

        def stretch(self, stretch, control):
            heard.append(
                (
                    "stretch",
                    stretch.first.line,
                    stretch.last.line,
                    stretch.moves,
                    stretch.low,
                    stretch.lowest.line,
                )
            )

        def acted(self, block, control):
            heard.append(("acted", block.line))

        def end(self, control):
            heard.append(("end",))

    Listening.plain = plain
    return replace(RULES[0], name="listening", watch=Listening), heard


def test_a_row_of_plain_blocks_comes_as_one_stretch():
    rule, heard = listener(plain=False)
    check(subject(LONG), [rule])
    stretches = [one[1:] for one in heard if one[0] == "stretch"]
    assert stretches[0] == (13, 21, 9, (1.0, 1.0, -0.9), 21)
    assert not [one for one in heard if one[0] == "block" and 13 <= one[1] <= 21]
    assert heard[0] == ("begin",)
    assert heard[-1] == ("end",)
    assert [one[1] for one in heard if one[0] == "tool"] == [1, 2]


def test_a_rule_may_ask_for_every_block():
    rule, heard = listener(plain=True)
    check(subject(LONG), [rule])
    assert [one[1] for one in heard if one[0] == "block" and 13 <= one[1] <= 21] == list(range(13, 22))
    assert [one[1] for one in heard if one[0] == "acted" and 13 <= one[1] <= 21] == list(range(13, 22))
    assert len([one for one in heard if one[0] == "move" and 13 <= one[1] <= 21]) == 9
    assert not [one for one in heard if one[0] == "stretch"]


def test_a_block_of_a_cycle_is_not_plain():
    rule, heard = listener(plain=False)
    check(subject(MILLING), [rule])
    line = MILLING.splitlines().index("X2.", 20) + 1
    assert ("block", line) in heard


def test_findings_in_a_called_program_name_its_file():
    text = edited(("G41 D1 X0. F40.\n", "M98 P1002\nG41 D1 X0. F40.\n"))
    sub = CALLED.replace("G1 X2. F40.", "G21\nG20")
    (one,) = {
        (found.file, found.line)
        for found in check(subject(text, called={1002: sub})).findings
        if found.rule == "units-not-sheet"
    }
    assert one == ("sub/O1002.nc", 3)


def test_a_block_run_again_and_again_is_found_once():
    text = edited(("G41 D1 X0. F40.\n", "M98 P1002 L5\nG41 D1 X0. F40.\n"))
    sub = CALLED.replace("G1 X2. F40.", "S9000\nG1 X2. F40.")
    found = [
        one for one in check(subject(text, called={1002: sub})).findings if one.rule == "speed-over-limit"
    ]
    assert len(found) == 1


def test_findings_stand_in_the_order_of_the_text():
    text = edited(("G43 H2", "G43 H1"), ("G41 D1", "G41 D2"), ("G20\n", "G21\n"))
    result = check(subject(text))
    lines = [one.line for one in result.findings]
    assert lines == sorted(lines)


def test_checks_that_are_done_are_those_that_left_nothing_open():
    result = check(clean_of(RULES[0]))
    assert result.done == result.checks
    some = check(subject(MILLING, machine=None))
    assert set(some.done) == set(some.checks) - {one.rule for one in some.not_computed}


def test_a_panel_without_a_run_has_no_rules_yet():
    assert Panel(subject(MILLING), RULES).rules == ()


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (b"G1 X1.\nM30\n", [(None, 1, [(2, "30")])]),
        (b"%\nO1\nG1\nM30\nO2 (SUB)\nX1.\nM99\n%\n", [(1, 2, [(4, "30")]), (2, 5, [(7, "99")])]),
        (b"%O0005\r\nN10 m02\r\n", [(5, 1, [(2, "2")])]),
        (b":7\nG1\nM99\n", [(7, 1, [(3, "99")])]),
        (b"(M30)\nG1 ; M99\nM300\n", [(None, 1, [])]),
        (b"o100 sub\nG1 X1.\no100 endsub\nM2\n", [(None, 1, [(4, "2")])]),
    ],
)
def test_the_programs_of_a_file(text, wanted):
    assert [(part.number, part.first, part.ends) for part in parts_of(text)] == wanted


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.5, "0.5"),
        (-1.16, "-1.16"),
        (3000.0, "3000"),
        (0.00001, "0"),
        (-0.00001, "0"),
        (10.0, "10"),
        (0.03937, "0.0394"),
    ],
)
def test_figures_as_people_write_them(number, text):
    assert fig(number) == text


def test_lengths_in_other_units():
    assert converted(1.0, "inch", "mm") == 25.4
    assert converted(25.4, "mm", "inch") == 1.0
    assert converted(2.0, None, "mm") == converted(2.0, "mm", None) == 2.0


def test_rules_by_name():
    assert rule_named("h-not-tool") in RULES
    assert rule_named("h-not-a-tool") is None
    assert nearest_names("h-not-a-tool")[0] == "h-not-tool"
    assert nearest_names("call-mising", ("call-missing",))[0] == "call-missing"
