"""The people's files of an invented shop, small: one mill, one lathe, four people, a job of three operations."""

SHOP = """\
# Threepenny Bench Works: an invented shop
format = 1
[shop]
name = "Threepenny Bench Works"
timezone = "Europe/London"
paper = "a4"
[policy]
carry = ["numbering", "wording", "format"]
review = ["precall", "coolant", "dwell", "stop", "slower", "drawing", "sheet-text"]
slower_percent = 20
reprove = ["motion", "feed", "speed", "tool", "offset", "stop-removed", "sheet-tool", "sheet-offset"]
max_carries = 3
machines = "any"
two_person = true
lapse_months = 24
signatures = "optional"
deviation_hours = 24
post_stamp = ['POST (?P<name>[A-Z-]+) (?P<version>[0-9.]+)']
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@threepenny.example"
roles = ["programmer"]
[[people]]
initials = "kp"
name = "Kit Parallel"
email = "kp@threepenny.example"
roles = ["setup"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@threepenny.example"
roles = ["setup"]
since = 2025-01-07
left = 2027-01-31
keys = ["ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3BxUa"]
[[people]]
initials = "dg"
name = "Dell Gauge"
email = "dg@threepenny.example"
roles = ["quality"]
[[machines]]
id = "MILL2"
type = "mill"
changer = "side-mount"
pockets = 20
large_tool_over = 3.15
units = "inch"
max_rpm = 8000
rapid = { x = 900, y = 900, z = 700 }
travel = { x = [-30.0, 0.0], y = [-16.0, 0.0], z = [-20.0, 0.0] }
decimal = "calculator"
group = "MILLS"
resident = [9001]
file_name = "O{number:04}.NC"
line_end = "crlf"
characters = "ascii-upper"
max_line = 0
names_8_3 = false
folder = "MILL2"
[[machines]]
id = "LATHE1"
type = "lathe"
changer = "turret"
pockets = 12
units = "mm"
max_rpm = 4000
chuck_max_rpm = 3500
travel = { x = [-20.0, 260.0], z = [-400.0, 150.0] }
rapid = { x = 12000, z = 15000 }
[[sticks]]
name = "BLUE-1"
owner = "kp"
"""

JOB = """\
format = 1
[job]
number = "4471"
part = "4471-PLATE"
name = "Pivot plate"
drawing = "4471"
drawing_revision = "C"
material = "6061-T6, sawn blank 4.25 x 3.25 x 1.10 in"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
fixture = "6 in vise"
clearance_z = 0.5
stock = { top = 0.05 }
max_rpm = 2500
continuous = false
[[operations.offsets]]
code = "G54"
origin = "X Y lower left corner of the finished part, Z finished top"
[[operations.tools]]
number = 3
description = "1/2 4FL END MILL"
diameter = 0.5
stick_out = 1.25
h = 3
d = 3
offset = 3
nose_radius = 0.0
insert = "none"
large = false
through_coolant = false
[[operations.tools]]
number = 5
diameter = 0.201
stick_out = 1.75
[[operations.waivers]]
rule = "stick-out"
tool = 3
reason = "holder turned down"
by = "np"
[[operations]]
id = "op10-m3"
program = "op10-m3/O1001.nc"
alternative_to = "op10"
[[operations]]
id = "op20"
program = "../../common/O1003.nc"
machines = ["MILL2"]
units = "inch"
"""
