"""The smallest whole lathe program the examples of lathe rules are made from, with its sheet and machine."""

from tracker.records.job import Offset, Operation, Stock, Tool
from tracker.records.shop import Axes, Machine, Travel

LATHE = Machine(
    id="LATHE1",
    type="lathe",
    units="mm",
    changer="turret",
    pockets=12,
    max_rpm=4000,
    chuck_max_rpm=3500,
    decimal="calculator",
    rapid=Axes(x=12000, z=15000),
    travel=Travel(x=(-20.0, 260.0), z=(-400.0, 150.0)),
    codes=("G0-G99", "M0-M30", "M97-M99"),
)

TURNING_SHEET = Operation(
    id="op10",
    program="op10/O1001.nc",
    machines=("LATHE1",),
    units="mm",
    clearance_z=2.0,
    stock=Stock(top=1.0, out_of_jaws=80.0, bar_past_spindle=0.0, supported=True, diameter=40.0),
    max_rpm=2500,
    offsets=(Offset(code="G54"),),
    tools=(
        Tool(number=1, description="ROUGHING R0.8", nose_radius=0.8, stick_out=30.0),
        Tool(number=2, description="FINISHING R0.4", nose_radius=0.4, stick_out=30.0),
    ),
)

TURNING = """\
%
O1001 (ONE PIN)
G21
G0 G18 G40 G80 G99
(ROUGHING R0.8)
T0101
G0 G18 G40 G80 G99 G54 X150. Z100.
G50 S2500
G96 S180 M3
G0 X46. Z5. M8
G1 Z0.1 F0.5
X-1.6 F0.2
G0 Z2.
X42.
G71 U2. R0.5
G71 P9001 Q9002 U0.5 W0.1 F0.25
N9001 G0 X18.
G1 X24. Z-1. F0.12
Z-20.
N9002 X42.
G0 X150. Z100. M9
M5
(FINISHING R0.4)
T0202
G0 G18 G40 G80 G99 G54 X150. Z100.
G50 S2500
G96 S220 M3
G0 X46. Z5. M8
G1 Z0. F0.5
X-0.8 F0.12
G0 Z2.
X42.
G70 P9001 Q9002
G0 X150. Z100. M9
M5
M30
%
"""
