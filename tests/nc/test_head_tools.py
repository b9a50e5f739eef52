"""The tool list at the head of a program, in the ways posts write it (common practice, no source)."""

import pytest

from tracker.nc.head_tools import head_tools


@pytest.mark.parametrize(
    ("comment", "found"),
    [
        ("T1 1/2 END MILL H1 D1", {1: "1/2 END MILL"}),
        ("T3 .257 DRILL H3", {3: ".257 DRILL"}),
        ("T03 - 3/8 SPOT DRILL - H03", {3: "3/8 SPOT DRILL"}),
        ("TOOL #12: FACE MILL 2.0", {12: "FACE MILL 2.0"}),
        ("tool 4 | no. 7 drill | H4 | D4", {4: "no. 7 drill"}),
        ("T5 1/4-20 TAP H=5", {5: "1/4-20 TAP"}),
        ("T8 D.5 BALL", {8: "D.5 BALL"}),
        # nothing of a tool's words
        ("T5 M6", {}),
        ("T5", {}),
        ("TAPPED HOLES T5 DRILL", {}),
        ("TOOLING: VISE", {}),
        ("BASE PLATE", {}),
        ("T1.5 THICK PLATE", {}),
    ],
)
def test_one_comment(comment, found):
    assert head_tools([comment]) == found


def test_two_that_differ_say_nothing():
    assert head_tools(["T1 1/2 END MILL", "T2 DRILL", "T1 3/8 END MILL"]) == {2: "DRILL"}
    assert head_tools(["T1 DRILL H1", "T1 DRILL"]) == {1: "DRILL"}
