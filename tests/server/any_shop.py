"""Texts and people of a shop in which anything may happen (`tests.server.any_year`)."""

SHOP = """format = 1
[shop]
name = "Any shop"
timezone = "Europe/London"
[policy]
{policy}
{people}
[[machines]]
id = "MILL1"
type = "mill"
units = "inch"
{group}file_name = "O{{number:04}}.NC"
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
{group}file_name = "O{{number:04}}.NC"
[[sticks]]
name = "BLUE-1"
owner = "ss"
"""
PEOPLE = {
    "np": ("programmer",),
    "pp": ("programmer", "setup"),
    "ss": ("setup",),
    "st": ("setup",),
    "dg": ("quality",),
    "dq": ("quality", "setup"),
    "dg2": ("quality",),
}
JOB = """format = 1
[job]
number = "{job}"
drawing_revision = "{drawing}"
{operations}"""
OPERATION = """[[operations]]
id = "{op}"
program = "{op}/O{number}.nc"
machines = [{machines}]
units = "inch"
[[operations.tools]]
number = 4
stick_out = {stick_out}
[[operations.tools]]
number = 7
stick_out = 1.5
"""
PROGRAM = (
    "%\nO{number} (PART)\nN10 G20\nN20 G0 G17 G40 G80 G90\nN30 T4 M6\nN40 G54 G0 X1. Y1. S{speed} M3\nN50 G43 H4 Z1. M{cool}\n"
    "N60 G98 G83 X1. Y1. Z-1.16 R0.1 Q0.15 F{feed}.\nN70 G80\nN80 G0 Z1. M9\n{call}"
    "N200 T7 M6\nN210 G54 G0 X2. Y1. S2500 M3\nN220 G43 H7 Z1. M8\nN230 G1 Z-0.1 F9.\nN240 X{reach}. F{feed2}.\nN250 G0 Z1. M9\nN260 M30\n%\n"
)
COMMON = "%\nO8001 (HOME)\nN10 G91 G28 Z0. (LIFT {words})\nN20 G90{more}\nN30 M99\n%\n"
AT = {"a": ("np", "ss", "dg", "dq"), "b": ("pp", "st", "dg2")}
"""Who works at which clone: nobody is at both in one second, which is what tells records of one kind apart."""
POLICIES = (
    "two_person = true",
    "two_person = false\nmax_carries = 1",
    "lapse_months = 2\ngroup_first_piece = false",
    'machines = "all"\ndeviation_hours = 48',
    "prior_until = 2026-12-31",
    'reprove = ["motion", "feed", "speed", "tool", "offset", "stop-removed", "sheet-tool", "sheet-offset", "precall"]\nreview = ["coolant", "dwell", "stop", "slower", "drawing", "sheet-text"]',
)
MACHINES = ("MILL1", "MILL2")
