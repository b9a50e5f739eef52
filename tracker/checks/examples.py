"""The smallest whole programs the examples of rules are made from, with their sheet and machine."""

from dataclasses import replace

from tracker.records.job import Offset, Operation, Stock, Tool
from tracker.records.shop import Axes, Machine, Travel

MILL = Machine(
    id="MILL2",
    type="mill",
    units="inch",
    changer="side-mount",
    pockets=20,
    large_tool_over=3.15,
    max_rpm=8000,
    rapid=Axes(x=900, y=900, z=700),
    travel=Travel(x=(-30.0, 0.0), y=(-16.0, 0.0), z=(-20.0, 0.0)),
    decimal="calculator",
    codes=("G0-G100", "G38.2", "G43.4", "G54.1", "G154", "M0-M30", "M88-M89", "M97-M99"),
    max_tool_length=12.0,
    max_tool_weight=15.0,
)
UMBRELLA = replace(MILL, id="MILL3", changer="umbrella")
INCREMENT = replace(MILL, decimal="increment")

SHEET = Operation(
    id="op10",
    program="op10/O1001.nc",
    machines=("MILL2",),
    units="inch",
    clearance_z=0.5,
    stock=Stock(top=0.05, bottom=-1.0, x=(-2.0, 4.0), y=(-1.0, 3.0)),
    max_rpm=6000,
    offsets=(Offset(code="G54"),),
    tools=(
        Tool(
            number=1,
            description="1/2 END MILL",
            diameter=0.5,
            stick_out=1.25,
            flute_length=1.0,
            length=4.5,
            weight=5.0,
            lowest_z=-1.25,
        ),
        Tool(
            number=2,
            description="NO. 7 DRILL",
            diameter=0.201,
            stick_out=1.75,
            flute_length=1.5,
            length=5.0,
            weight=4.0,
            lowest_z=-1.25,
        ),
    ),
)

MILLING = """\
%
O1001 (TWO TOOLS)
G20
G0 G17 G40 G49 G80 G90
(1/2 END MILL)
T1 M6
T2
G0 G17 G40 G80 G90 G54 X-1. Y1. S3000 M3
G43 H1 Z1. M8
Z0.15
G1 Z-0.1 F20.
G41 D1 X0. F40.
X2.
Y2.
G40 X3.
G0 Z1. M9
M5
G91 G28 Z0.
G90
(NO. 7 DRILL)
T2 M6
T1
G0 G17 G40 G80 G90 G54 X1. Y1. S4000 M3
G43 H2 Z1. M8
G98 G81 X1. Y1. Z-0.5 R0.1 F12.
X2.
G80
G0 Z1. M9
M5
G91 G28 Z0.
G28 Y0.
G90
M30
%
"""

# what MILLING calls where an example needs a called program
CALLED = """\
%
O1002 (ONE PASS)
G1 X2. F40.
M99
%
"""


def edited(*changes: tuple[str, str], text: str = MILLING) -> str:
    """A text with passages replaced, each at its first place; raises ValueError for one that is not in it."""
    for old, new in changes:
        if old not in text:
            raise ValueError(f"{old!r} is not in the example")
        text = text.replace(old, new, 1)
    return text
