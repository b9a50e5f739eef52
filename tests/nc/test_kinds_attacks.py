"""Changes whose kind once let a proof carry though the machine could act differently; each row says why it may not."""

import pytest

from tracker.nc.compare import compare, with_slower

HEAD = "O1\nG21 G90\nT1 M6\nS1000 M3\nG0 X0 Y0\nG43 H1 Z5.\nG1 Z-1. F100\nX10.\n"
TAIL = "\nY10.\nG0 Z50.\nM9\nT2 M6\nG0 X1.\nM30\n"
CARRIES = {
    "numbering",
    "wording",
    "format",
    "precall",
    "coolant",
    "dwell",
    "stop",
    "slower",
}

STRONG = [
    # X is a time beside G4 and a way to go without it
    ("G4 X5.", "X5."),
    ("X5.", "G4 X5."),
    ("G4 U5.", "U5."),
    ("G1 G4 X5. F100", "G1 X5. F100"),
    # a motion in the block claims the axis word; of two words at most one is the time
    ("G4 G1 X5.", "G4 G1 X6."),
    ("G4 P1. X5.", "G4 P1. X6."),
    ("G4 G82 P1 X1.", "G4 G82 P2 X1."),
    # T as an argument of a code that may be a custom one
    ("T5 G100", "T6 G100"),
    ("G200 T5 X1.", "G200 T6 X1."),
    ("T5 M150", "T6 M150"),
    ("T5 G65 P1", "T6 G65 P1"),
    # what runs before the next tool change may read the T or change the tool
    ("T5\nM150", "T6\nM150"),
    ("T5\n#1=#4120", "T6\n#1=#4120"),
    ("T5\nX[#4120]", "T6\nX[#4120]"),
    ("T5\n#1=#[#2]", "T6\n#1=#[#2]"),
    ("T5\n#1=#<_selected_tool>", "T6\n#1=#<_selected_tool>"),
    ("T5\nM#1", "T6\nM#1"),
    ("T5\nG#1", "T6\nG#1"),
    ("T5\nFOO 7", "T6\nFOO 7"),
    # M6. is a tool change like M6 (NISTIR 6556 section 3.3.2.1)
    ("T5\nM6.", "T6\nM6."),
    ("T5 M06.0", "T6 M06.0"),
    ("T5\nM+6", "T6\nM+6"),
    # a tool change that may be skipped takes no tool for sure
    ("T5\n/M6 T7", "T6\n/M6 T7"),
    ("T5\nN10 /M6 T7", "T6\nN10 /M6 T7"),
    # a tool change with the T behind it takes the tool that waits on some machines (from memory)
    ("T5\nM6 T7", "T6\nM6 T7"),
    # where a control acts on one M of a block it is the last (common practice, no source)
    ("M3 S500", "M3 S500 M8"),
    ("M4\nM8", "M4 M8"),
    ("M5 M8", "M5"),
    ("M0", "M0 M9"),
    ("M60", "M60 M8"),
    ("M19", "M19 M1"),
    ("M30", "M30 M9"),
    # the next tool change of the text is another channel's
    ("T5\n$2", "T6\n$2"),
    # back in the caller, M6 may take the T
    ("T5\nM99", "T6\nM99"),
    # data between G10. and G11. are no tool words
    ("G10. L3\nP1\nT5\nG11.", "G10. L3\nP1\nT6\nG11."),
    # many a control reads no further than a % (common practice, no source), whatever else was changed
    ("M8\nG4 P500", "%\nM8\nG4 P600"),
    ("G1 X5. F100", "G1 X5. F90\n%"),
    ("%\nM8 X5.", "X5."),
    # S is an angle beside M19, S and F are arguments beside a custom code
    ("M19 S90", "M19 S85"),
    # they are seconds and turns of a dwell on some controls (from memory)
    ("G4 F2.", "G4 F1.8"),
    ("G4 S20", "G4 S18"),
    ("G4 F2.", "F2."),
    ("G4 F2.\nG1 X1. F100.", "F2.\nG1 X1. F90."),
    ("S20", "G4 S20"),
    ("G100 F100", "G100 F90"),
    ("G187 S100", "G187 S90"),
    # a code that may tap, a call or a variable has the feed or speed in force
    ("S500\nG184 Z-1. F625.\nG80", "S450\nG184 Z-1. F625.\nG80"),
    ("F625.\nX1.\nG184 Z-1.\nG80", "F600.\nX1.\nG184 Z-1.\nG80"),
    ("S500\nG331 Z-1. K1.25", "S450\nG331 Z-1. K1.25"),
    ("S500\nL840", "S450\nL840"),
    ("S500\nCYCLE84(1)", "S450\nCYCLE84(1)"),
    ("S500\n#1=#4119\nX#1", "S450\n#1=#4119\nX#1"),
    ("F90.\nX[#4109/10]", "F80.\nX[#4109/10]"),
    ("F90.\nX#[#1]", "F80.\nX#[#1]"),
]

WEAK = [
    ("T5", "T6", {"precall"}),
    ("T5\nM8\nM1\nM5", "T6\nM8\nM1\nM5", {"precall"}),
    ("G1 X1. T5 M8", "G1 X1. T6 M8", {"precall"}),
    ("G81 X1. Z-1. R1. T5", "G81 X1. Z-1. R1. T6", {"precall"}),
    ("G4 X5.", "G4 X6.", {"dwell"}),
    ("G4 P500 M8", "G4 P600 M8", {"dwell"}),
    ("M8 X5.", "X5.", {"coolant"}),
    ("M1 X5.", "X5.", {"stop"}),
    ("G81 X1. Z-1. R1. F100", "G81 X1. Z-1. R1. F90", {"slower"}),
    ("G96 S100 M3", "G96 S90 M3", {"slower"}),
    (
        "S500 M3\nG187 P1\nM0 (TURN THE PART)\nX#101",
        "S450 M3\nG187 P1\nM0 (TURN THE PART)\nX#101",
        {"slower"},
    ),
]


@pytest.mark.parametrize(("old", "new"), STRONG)
def test_no_proof_carries_over_these(old, new):
    shown = with_slower(compare((HEAD + old + TAIL).encode(), (HEAD + new + TAIL).encode()))
    assert not set(shown.kinds) <= CARRIES


@pytest.mark.parametrize(("old", "new", "kinds"), WEAK)
def test_the_everyday_ones_are_still_told_apart(old, new, kinds):
    shown = with_slower(compare((HEAD + old + TAIL).encode(), (HEAD + new + TAIL).encode()))
    assert set(shown.kinds) == kinds


def test_a_t_left_for_the_caller_is_a_tool():
    program = "O1\nT1 M6\nM98 P2\nM6\nX1.\nM30\nO2\nT1 M6\nX2.\nT{}\nM99\n"
    assert "tool" in compare(program.format(5).encode(), program.format(6).encode()).kinds


@pytest.mark.parametrize(
    ("sub", "kind"),
    [
        (b"O2\nX1.\nM99\n", "precall"),
        (b"O2\nX#4120\nM99\n", "tool"),
        (b"O2\nM6.\nM99\n", "tool"),
        (b"", "tool"),
    ],
)
def test_a_called_program_is_looked_into(sub, kind):
    program = "O1\nT1 M6\nX1.\nT{}\nM98 P2\nT7 M6\nM30\n"
    called = {2: sub} if sub else {}
    found = compare(program.format(5).encode(), program.format(6).encode(), called=called)
    assert found.kinds == (kind,)
