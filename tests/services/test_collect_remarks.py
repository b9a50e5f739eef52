"""By how much a word went, as a person is told it beside both blocks."""

import pytest

from tracker.nc.compare import compare
from tracker.services.collect_remarks import change_words

HEAD = b"%\nO1001\nG0 G54 X0. Y0.\nG43 H4 Z1.\n"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("G1 Z-0.5 F10.", "G1 Z-0.55 F10.", " (Z -0.05)"),
        ("G1 X1. Y2.", "G1 X1.0005 Y1.5", " (X +0.0005, Y -0.5)"),
        ("G1 X0.1", "G1 X0.3", " (X +0.2)"),
        ("G1 X1.", "G1 X1", ""),
        ("G1 X15", "G1 X16", ""),
        ("G1 X1.", "G1 Y1.", ""),
    ],
)
def test_a_place_that_moved_is_told_with_its_distance(old, new, said):
    """0.3 less 0.1 is 0.2 (arithmetic in decimals); a figure without a point is read otherwise by each machine."""
    found = compare(HEAD + old.encode() + b"\nM30\n%\n", HEAD + new.encode() + b"\nM30\n%\n")
    (change,) = [one for one in found.changes if one.kind == "motion"]
    assert change_words(change) == f"motion: {old} -> {new}{said}"
