import pytest

from tracker.checks.finding import Finding
from tracker.checks.waivers import line_words, speaks_for, unused, with_waivers
from tracker.records.job import Waiver

FOUND = Finding(
    rule="rapid-across-low",
    severity="refuse",
    message="T3: low",
    remedy="retract",
    operation="op10",
    file="O1.nc",
    line=12,
    text="N120 g0 x1. y2. (INSIDE THE POCKET)",
    tool="3",
)


def waiver(rule="rapid-across-low", **words) -> Waiver:
    return Waiver(rule=rule, reason="pocket is open there", by="np", **words)


@pytest.mark.parametrize(
    ("given", "speaks"),
    [
        (waiver(tool=3), True),
        (waiver(rule="RAPID-ACROSS-LOW", tool=3), True),
        (waiver(tool=4), False),
        (waiver(rule="rapid-near-part", tool=3), False),
        (waiver(line="G0 X1. Y2."), True),
        (waiver(line="N5 G00X1.Y2."), True),
        (waiver(line="G0 X1. Y2.1"), False),
        (waiver(line="G0 X1."), False),
        (waiver(line=""), False),
        (waiver(tool=3, line="G0 X1. Y2."), True),
        (waiver(tool=4, line="G0 X1. Y2."), False),
        (waiver(tool=3, line="G0 X9."), False),
        (waiver(), False),
    ],
)
def test_which_findings_a_waiver_speaks_for(given, speaks):
    assert speaks_for(given, FOUND) is speaks


def test_a_waived_finding_stops_nothing_and_stays_in_the_list():
    (plain,) = with_waivers([FOUND], [waiver(tool=4)])
    assert (plain.stops, plain.waived) == (True, None)
    (waived,) = with_waivers([FOUND], [waiver(tool=4), waiver(tool=3)])
    assert waived.stops is False
    assert waived.waived == waiver(tool=3)


def test_a_waiver_that_meets_nothing_is_told():
    assert unused([waiver(tool=3), waiver(tool=4)], [FOUND]) == (waiver(tool=4),)


def test_a_line_that_is_a_comment_is_compared_by_its_words():
    assert line_words("(g1  x2.)") == line_words("(G1 X2.)") != line_words("(G1 X3.)")
