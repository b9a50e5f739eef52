"""Every word the list of kinds names, with a change of it. A dash is a block that is not there.

What G and M codes mean on a mill: NISTIR 6556 (2000) sections 3.5 and 3.6. Lathe meanings and codes that report does
not have: common practice, from memory.
"""

import pytest

from tracker.nc import kinds as k
from tracker.nc.compare import compare

MILL = """
flow            | GOTO10            | GOTO20
flow            | IF [#1 EQ 0] THEN #2=1 | IF [#1 EQ 1] THEN #2=1
flow            | WHILE [#1 LT 5] DO1 | WHILE [#1 LT 6] DO1
flow            | #100=5            | #100=6
flow            | G1 X#100 F10.     | G1 X#101 F10.
flow            | G1 X[1+2] F10.    | G1 X[1+3] F10.
flow            | M97 P1000         | M97 P1000 L2
flow            | M98 P1002         | M98 P1003
flow            | M98 P1002         | M98 P1002 L3
flow            | M98 P1002         | -
flow            | M99               | -
flow            | M198 P5           | M198 P6
flow            | G65 P9001 A1.     | G65 P9001 A2.
flow            | G66 P9001 A1.     | -
flow            | G67               | -
flow            | o100 call [1]     | o100 call [2]
flow            | o100 call         | o101 call
flow            | /G1 X1.           | G1 X1.
flow            | /2 G1 X1.         | /3 G1 X1.
flow            | M2                | -
flow            | M30               | M2
flow            | M99               | M30
program-number  | O0100             | O0101
program-number  | :100              | :101
program-number  | % PLATE           | % COVER
stop-removed    | M0                | -
stop-removed    | M0                | M1
stop-removed    | M60               | -
stop-removed    | M0 (TURN PART)    | M0 (TURN PART OVER)
stop-removed    | M1 (TURN PART)    | M1
stop            | M1                | -
stop            | -                 | M1
stop            | -                 | M0
stop            | M1                | M0
stop            | -                 | M0 (TURN PART)
other           | -                 | M60
tool            | T4 M6             | T5 M6
tool            | M6                | -
tool            | G43 H4 Z1.        | G43 H5 Z1.
tool            | G43 H4 Z1.        | G44 H4 Z1.
tool            | G49               | -
tool            | G41 D3 X1.        | G41 D4 X1.
tool            | G41 D3 X1.        | G42 D3 X1.
tool            | G40               | -
tool            | G10 L10 P1 R5.    | G10 L10 P1 R6.
tool            | G10 L12 P1 R5.    | G10 L12 P2 R5.
offset          | G54               | G55
offset          | G54.1 P3          | G54.1 P4
offset          | G59.1             | G59.2
offset          | G52 X1.           | G52 X2.
offset          | G53               | -
offset          | G10 L2 P1 X1.     | G10 L2 P1 X2.
offset          | G10 L20 P1 X1.    | G10 L20 P2 X1.
offset          | G92 X1.           | G92 X2.
offset          | G92               | -
offset          | G68 X0. Y0. R45.  | G68 X0. Y0. R46.
offset          | G69               | -
offset          | G51 X1. P2.       | G51 X1. P3.
offset          | G50               | -
offset          | G51.1 X0.         | G51.1 Y0.
offset          | G50.1 X0.         | G50.1 Y0.
offset          | G28               | -
offset          | G28               | G30
feed            | G1 X1. F10.       | G1 X1. F12.
feed            | G1 X1. F10.       | G1 X1.
feed            | G1 X1. E10.       | G1 X1. E11.
speed           | S500 M3           | S600 M3
speed           | S500 M3           | S500 M4
speed           | M5                | -
speed           | M19               | -
speed           | M29 S500          | M29 S600
speed           | G97               | G96
mode            | G15               | G16
mode            | G17               | G18
mode            | G20               | G21
mode            | G61               | G64
mode            | G61.1             | G62
mode            | G63               | -
mode            | G64 P0.01         | G64 P0.02
mode            | G90               | G91
mode            | G93               | G94
mode            | G95               | G94
mode            | G98               | G99
mode            | G5.1 Q1           | G5.1 Q0
mode            | M48               | M49
coolant         | M7                | -
coolant         | M8                | M7
coolant         | M9                | -
coolant         | M88               | M89
dwell           | G4 P500           | G4 P600
dwell           | G4 X1.            | G4 X2.
dwell           | G4 U1.            | -
motion          | X1.               | X1.1
motion          | X1.               | X1
motion          | A90.              | A-90.
motion          | G0 X1.            | G1 X1.
motion          | G2 X1. I1.        | G3 X1. I1.
motion          | G2 X1. R1.        | G2 X1. R-1.
motion          | G2 X1. I1. J1. K1.| G2 X1. I1. J1. K2.
motion          | G33 Z-1. K1.      | G33 Z-1. K2.
motion          | G83 Z-1. R.1 Q.3  | G83 Z-1. R.1 Q.2
motion          | G82 Z-1. R.1 P500 | G82 Z-1. R.1 P600
motion          | G81 Z-1. R.1 L2   | G81 Z-1. R.1 L3
motion          | G81 Z-1. R.1 K2   | G81 Z-1. R.1 K3
motion          | G81 Z-1. R.1      | G82 Z-1. R.1
motion          | G80               | -
motion          | G1 X1. ,C1.       | G1 X1. ,C2.
motion          | X1. Y2.           | Y2. X1.
other           | M10               | M11
other           | G187 P1           | G187 P2
other           | G10 L50           | G10 L52
other           | (MSG, GO ON)      | (MSG, STOP)
other           | THIS IS NO CODE   | THIS IS NO CODE AT ALL
"""

LATHE = """
tool            | T0101             | T0102
tool            | T0101             | T0201
motion          | G90 X20. Z-5. F.2 | G90 X19. Z-5. F.2
motion          | G90 X20. Z-5.     | X20. Z-5.
motion          | G94 X20. Z-5.     | X20. Z-5.
motion          | G92 X20. Z-5. F1. | G92 X19. Z-5. F1.
motion          | G92 X20. Z-5.     | X20. Z-5.
feed            | G92 X20. F1.5     | G92 X20. F1.75
offset          | G50 X100. Z100.   | G50 X101. Z100.
speed           | G50 S2500         | G50 S2400
speed           | G50 S2500         | -
speed           | G92 S2500         | G92 S2400
speed           | G96 S180          | G96 S170
mode            | G98               | G99
mode            | G90               | -
motion          | G32 Z-5. F1.      | G32 Z-6. F1.
motion          | G71 U2. R.5       | G71 U1. R.5
motion          | G76 P010060 Q100  | G76 P020060 Q100
motion          | G71 D2. F.2       | G71 D3. F.2
"""


def rows(table):
    cells = [[cell.strip() for cell in line.split("|")] for line in table.strip().splitlines()]
    return [pytest.param(kind, old, new, id=f"{old} -> {new}") for kind, old, new in cells]


def around(block):
    between = () if block == "-" else (block,)
    return "\n".join(("O1", "M5", *between, "Y9.", "M11")).encode()


@pytest.mark.parametrize(("kind", "old", "new"), rows(MILL))
def test_mill(kind, old, new):
    assert compare(around(old), around(new), lathe=False).kinds == (kind,)


@pytest.mark.parametrize(("kind", "old", "new"), rows(LATHE))
def test_lathe(kind, old, new):
    assert compare(around(old), around(new), lathe=True).kinds == (kind,)


@pytest.mark.parametrize(
    ("old", "new", "kinds"),
    [
        ("N10 GOTO10", "GOTO10", ("flow", "numbering")),
        ("G1 X1. F10.", "G1 X2. F12.", ("feed", "motion")),
        ("T4 M6 S500", "T5 M6 S600", ("speed", "tool")),
        ("G0 G54 X1. S500 M8", "G0 G55 X2. S600 M9", ("coolant", "motion", "offset", "speed")),
        ("G28 Z0.", "-", ("motion", "offset")),
        ("G53 G0 Y0.", "-", ("motion", "offset")),
        ("M0 G1 X1.", "G1 X1. M0", ("motion", "stop-removed")),
        ("M19 R90.", "M19 R80.", ("speed",)),
        ("G10 L2 P1 X1. F5.", "G10 L2 P1 X1. F6.", ("offset",)),
        ("G41 D1 H2", "G41 D2 H3", ("tool",)),
        ("P5", "P6", ("other",)),
        ("M60", "M0", ("stop-removed",)),
    ],
)
def test_a_block_has_the_kinds_of_all_its_changed_words(old, new, kinds):
    assert compare(around(old), around(new), lathe=False).kinds == kinds


def test_lines_between_g10_and_g11_are_data_whole():
    data = b"O1\nG10L50\nN3411R%d\nG11\nG1X1.F5.\nM30\n"
    assert "other" in compare(data % 1, data % 2).kinds
    after = b"O1\nG10L50\nN3411R1\nG11\nG1X%d.F5.\nM30\n"
    assert compare(after % 1, after % 2).kinds == ("motion",)


def test_every_kind_has_a_sentence_and_a_place():
    assert set(k.KINDS) == set(k.SENTENCES)
    assert all(sentence.endswith(".") for sentence in k.SENTENCES.values())
    assert k.KINDS[:3] == ("numbering", "wording", "format")
    assert k.in_order({"other", "motion", "flow", "wording"}) == ("wording", "flow", "motion", "other")
    assert k.in_order({"zz-of-a-newer-version", "other"}) == ("other", "zz-of-a-newer-version")


def test_kinds_fall_into_groups_that_do_not_overlap_where_they_must_not():
    assert not k.TEXT_ONLY & k.CODE
    assert not k.SHEET & k.CODE
    assert {
        "flow",
        "mode",
        "program-number",
        "program-added",
        "program-removed",
        "post",
        "other",
    } == k.FULL_PROOF
