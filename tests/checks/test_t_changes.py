"""Mill programs without any M6: T is taken as changing the tool, and nothing is guessed about calling it early."""

import re

import pytest

from tests.checks.subjects import subject
from tracker.checks.check import check
from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.frozen import replace

BY_T = re.sub(r"(T[12]) M6\nT[12]\n", r"\1\n", MILLING)
BY_HAND = replace(MILL, changer="manual")
STAGING = {"no-precall", "precall-wrong", "two-precalls"}


def said(text: str, machine=BY_HAND, called=None) -> tuple[list[str], set[str]]:
    result = check(subject(text, machine=machine, called=called))
    return sorted(one.rule for one in result.findings), {one.rule for one in result.not_computed}


def test_the_program_is_without_m6():
    assert "M6" not in BY_T
    assert BY_T.count("\nT") == 2


def test_it_is_checked_tool_by_tool():
    assert said(BY_T) == ([], set())


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("G43 H2", "G43 H1", "h-not-tool"),
        ("G41 D1", "G41 D2", "d-not-tool"),
        ("G43 H2 Z1. M8", "Z1. M8", "no-length-offset"),
        ("G0 Z1. M9", "G0 Z1.", "coolant-left-on"),
        ("T2\n", "T3\n", "tool-not-on-sheet"),
        ("Z-0.5 R0.1", "Z-2.5 R0.1", "stick-out-short"),
        ("\nT2\n", "\n/T2\n", "skip-on-line"),
        ("G40 X3.", "X3.", "comp-left-on"),
        ("G40 X3.\nG0 Z1. M9\nM5\nG91 G28 Z0.\nG90", "X3.\nM9\nM5", "comp-left-on"),
        ("X2.\nG80\nG0 Z1. M9\nM5\n", "X2.\nM9\nM5\nT1\n", "cycle-not-cancelled"),
    ],
)
def test_a_slip_is_found_at_its_tool(old, new, rule):
    found, _ = said(edited((old, new), text=BY_T))
    assert rule in found


@pytest.mark.parametrize(
    ("changer", "untold"), [("side-mount", STAGING), ("umbrella", {"precall-on-umbrella"})]
)
def test_on_a_changer_it_is_told_that_calls_cannot_be_judged(changer, untold):
    assert said(BY_T, replace(MILL, changer=changer)) == ([], untold)


def test_an_m6_in_a_comment_is_none():
    assert said(edited(("(1/2 END MILL)", "(NO M6 HERE) (1/2 END MILL) ; M6"), text=BY_T)) == ([], set())


def test_an_m6_in_a_called_program_is_one():
    text = edited(("G90\nM30", "G90\nM98 P1002\nM30"), text=BY_T)
    _, untold = said(text, called={1002: "%\nO1002\nM6\nM99\n%\n"})
    assert "h-not-tool" in untold


def test_where_a_call_is_not_in_hand_t_is_not_taken_so():
    """The program that is called may be the one that changes the tool."""
    _, untold = said(BY_T.replace("T1\n", "T1\nM98 P9006\n"))
    assert "h-not-tool" in untold


def test_a_lathe_is_not_asked():
    assert subject(BY_T, machine=replace(MILL, type="lathe")).setting().t_changes is False


def test_without_any_t_nothing_changes_the_tool():
    assert (
        subject(re.sub(r"(?m)^T[12]\n", "", BY_T), machine=BY_HAND, sheet=SHEET).setting().t_changes is False
    )
