"""Modal groups against NISTIR 6556 (2000) section 3.4 Table 4, and the codes open-source controls add to them."""

from itertools import combinations

import pytest

from tracker.machining.modal import LATHE, MILL, conflicts, group_of
from tracker.nc.word import words

TABLE_4 = {
    ("G", 1): "0 1 2 3 38.2 80 81 82 83 84 85 86 87 88 89",
    ("G", 2): "17 18 19",
    ("G", 3): "90 91",
    ("G", 5): "93 94",
    ("G", 6): "20 21",
    ("G", 7): "40 41 42",
    ("G", 8): "43 49",
    ("G", 10): "98 99",
    ("G", 12): "54 55 56 57 58 59 59.1 59.2 59.3",
    ("G", 13): "61 61.1 64",
    ("G", 0): "4 10 28 30 53 92 92.1 92.2 92.3",
    ("M", 4): "0 1 2 30 60",
    ("M", 6): "6",
    ("M", 7): "3 4 5",
    ("M", 8): "7 8 9",
    ("M", 9): "48 49",
}
ADDED = {
    ("G", 1): "33 73 76",
    ("G", 2): "17.1 18.1 19.1",
    ("G", 4): "90.1 91.1",
    ("G", 5): "95",
    ("G", 7): "41.1 42.1",
    ("G", 8): "43.1",
    ("G", 14): "96 97",
    ("G", 15): "7 8",
    ("G", 0): "52",
}
MEMBERS = [
    (letter, number, code)
    for table in (TABLE_4, ADDED)
    for (letter, number), codes in table.items()
    for code in codes.split()
]


@pytest.mark.parametrize(("letter", "number", "code"), MEMBERS)
def test_every_code_of_the_table_is_in_its_group(letter, number, code):
    group = group_of(letter, code)
    assert group is not None
    assert (group.letter, group.number) == (letter, number)


def test_two_of_one_group_conflict_and_two_of_different_groups_do_not():
    for (one_letter, one_group, one), (letter, group, code) in combinations(MEMBERS, 2):
        found = conflicts(words(f"{one_letter}{one}{letter}{code}"))
        same = (one_letter, one_group) == (letter, group) and one_group != 0
        both_coolants = {one, code} == {"7", "8"} and letter == "M" == one_letter
        assert bool(found) == (same and not both_coolants), (one_letter, one, letter, code)


@pytest.mark.parametrize(
    ("block", "groups"),
    [
        ("G0G1X1.", ["motion"]),
        ("M3M8G54G43H1Z1.", []),
        ("M7M8", []),
        ("M7M8M9", ["coolant"]),
        ("G17G18G90G91", ["plane", "distance"]),
        ("G4P5G4P6", []),
    ],
)
def test_conflicts(block, groups):
    assert [group.name for group, _ in conflicts(words(block))] == groups


@pytest.mark.parametrize(
    ("code", "mill", "lathe"),
    [
        ("90", "distance", "motion"),
        ("92", "non-modal", "motion"),
        ("94", "feed-mode", "motion"),
        ("98", "retract", "feed-mode"),
        ("99", "retract", "feed-mode"),
        ("32", None, "motion"),
        ("71", None, "non-modal"),
        ("54", "offset", "offset"),
        ("187", None, None),
    ],
)
def test_lathe_meanings_differ(code, mill, lathe):
    """Turning controls where G90, G92 and G94 are cycles: common practice, from memory."""
    for group, name in ((group_of("G", code), mill), (group_of("G", code, lathe=True), lathe)):
        assert (group.name if group else None) == name


@pytest.mark.parametrize("groups", [MILL, LATHE])
def test_no_code_is_in_two_groups(groups):
    codes = [(group.letter, code) for group in groups for code in group.codes]
    assert len(codes) == len(set(codes))
