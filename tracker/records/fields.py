"""Every key of ``shop.toml`` and ``job.toml``: what it is, what it may hold, what it means. Data only.

Reading, the JSON Schemas and the commented templates are all made from these tables, so a key is described once.
``default`` is what counts when the key is absent; None means "not stated". Lengths are in the units of the machine or
operation.
"""

from tracker.records import value_rules as rules
from tracker.records.field import Field, Kind, Table
from tracker.records.job import Job, Offset, Operation, Stock, Tool, Waiver
from tracker.records.shop import (
    CARRY,
    REPROVE,
    REVIEW,
    Axes,
    Checks,
    Machine,
    Person,
    Policy,
    Shop,
    Stick,
    Travel,
)

_FORMAT = Field(
    key="format",
    kind=Kind.WHOLE,
    default=1,
    low=1,
    high=1,
    example="1",
    doc="Form of this file; this version reads 1.",
)

AXES = Table(
    heading="rapid",
    doc="Rapid rate per axis, per minute.",
    builds=Axes,
    fields=(
        Field(key="x", kind=Kind.FIGURE, above=0, doc="Rapid rate of X per minute."),
        Field(key="y", kind=Kind.FIGURE, above=0, doc="Rapid rate of Y per minute."),
        Field(key="z", kind=Kind.FIGURE, above=0, doc="Rapid rate of Z per minute."),
    ),
)

TRAVEL = Table(
    heading="travel",
    doc="Lowest and highest machine coordinate per axis.",
    builds=Travel,
    fields=(
        Field(key="x", kind=Kind.RANGE, doc="Travel of X; of a lathe as a diameter."),
        Field(key="y", kind=Kind.RANGE, doc="Travel of Y."),
        Field(key="z", kind=Kind.RANGE, doc="Travel of Z."),
    ),
)

SHOP_TABLE = Table(
    heading="[shop]",
    doc="The shop itself.",
    builds=dict,
    fields=(
        Field(key="name", kind=Kind.TEXT, default="", example='"Our shop"', doc="Name printed on sheets."),
        Field(
            key="timezone",
            kind=Kind.TEXT,
            default="UTC",
            rule=rules.timezone,
            example='"Europe/London"',
            doc="Time zone of screens and of dates without a time; records hold UTC.",
        ),
        Field(
            key="paper",
            kind=Kind.TEXT,
            default="a4",
            choices=("a4", "letter"),
            example='"a4"',
            doc="Paper of printed sheets.",
        ),
    ),
)

POLICY = Table(
    heading="[policy]",
    doc="How strict the shop is. Kinds of change may be moved to a stricter list only.",
    builds=Policy,
    fields=(
        Field(
            key="carry",
            kind=Kind.TEXTS,
            default=CARRY,
            example='["numbering", "wording", "format"]',
            doc="Kinds of change a proof carries over by itself.",
        ),
        Field(
            key="review",
            kind=Kind.TEXTS,
            default=REVIEW,
            example='["precall", "coolant", "dwell", "stop", "slower", "drawing", "sheet-text"]',
            doc="Kinds of change a proof carries over after a desk review.",
        ),
        Field(
            key="slower_percent",
            kind=Kind.FIGURE,
            default=20,
            low=0,
            high=99,
            example="20",
            doc="How much lower a feed or speed may be, in percent of the proven one, and still read as slower.",
        ),
        Field(
            key="reprove",
            kind=Kind.TEXTS,
            default=REPROVE,
            example='["motion", "feed", "speed", "tool", "offset", "stop-removed", "sheet-tool", "sheet-offset"]',
            doc="Kinds of change a proof carries over when the changed tools are proved again.",
        ),
        Field(
            key="max_carries",
            kind=Kind.WHOLE,
            default=3,
            low=0,
            high=99,
            example="3",
            doc="How many changed texts may follow each other before a full proof is asked.",
        ),
        Field(
            key="machines",
            kind=Kind.TEXT,
            default="any",
            choices=("any", "all"),
            example='"any"',
            doc="A release needs proof on any or on all of an operation's machines.",
        ),
        Field(
            key="two_person",
            kind=Kind.YES_NO,
            default=True,
            example="true",
            doc="Who wrote a revision does not stand alone behind its proof.",
        ),
        Field(
            key="lapse_months",
            kind=Kind.WHOLE,
            default=24,
            low=0,
            high=1200,
            example="24",
            doc="Months after the last run or proof on a machine when a proof lapses; 0 = never.",
        ),
        Field(
            key="signatures",
            kind=Kind.TEXT,
            default="optional",
            choices=("optional", "required"),
            example='"optional"',
            doc="Whether records and release tags must be signed with a key that stands in this file.",
        ),
        Field(
            key="deviation_hours",
            kind=Kind.WHOLE,
            default=24,
            low=0,
            high=8760,
            example="24",
            doc="Longest time a text may run in an emergency; 0 = never.",
        ),
        Field(
            key="prior_until",
            kind=Kind.DATE,
            example="2026-12-31",
            doc="Last day on which proofs kept on paper are taken in and count; absent: none are.",
        ),
        Field(
            key="post_stamp",
            kind=Kind.TEXTS,
            default=(),
            rule=rules.post_stamp,
            example="['POST (?P<name>\\S+) (?P<version>\\S+)']",
            doc="How a post-processor signs a header comment: patterns with the groups name and version.",
        ),
        Field(
            key="group_first_piece",
            kind=Kind.YES_NO,
            default=True,
            example="true",
            doc="The first run on a machine that counts by its group asks a first piece.",
        ),
        Field(
            key="sticks",
            kind=Kind.TEXT,
            default="any",
            choices=("any", "owned"),
            example='"any"',
            doc="Media an export may go to: any, or only those with an owner below [[sticks]].",
        ),
    ),
)

CHECKS = Table(
    heading="[checks]",
    doc="Margins of the checks; lengths in mm whatever the units of machine or program.",
    builds=Checks,
    fields=(
        Field(
            key="rapid_gap",
            kind=Kind.FIGURE,
            default=1,
            low=0,
            high=1000,
            example="1",
            doc="How far above the top of the stock a rapid down must end, mm.",
        ),
        Field(
            key="points_percent",
            kind=Kind.FIGURE,
            default=95,
            above=50,
            high=100,
            example="95",
            doc="Share of lengths with a decimal point from which one without is a slip.",
        ),
        Field(
            key="call_depth",
            kind=Kind.WHOLE,
            default=4,
            low=1,
            high=100,
            example="4",
            doc="How deep called programs may lie.",
        ),
        Field(
            key="stick_out_gap",
            kind=Kind.FIGURE,
            default=2,
            low=0,
            high=1000,
            example="2",
            doc="How much longer than the depth a tool must stand out, mm.",
        ),
        Field(
            key="travel_gap",
            kind=Kind.FIGURE,
            default=10,
            low=0,
            high=1000,
            example="10",
            doc="What is to be left of the travel, mm.",
        ),
        Field(
            key="jaw_gap",
            kind=Kind.FIGURE,
            default=3,
            low=0,
            high=1000,
            example="3",
            doc="How near to the jaws of a lathe a move may go, mm.",
        ),
        Field(
            key="units_ratio",
            kind=Kind.RANGE,
            default=(20, 30),
            example="[20, 30]",
            doc="So many times as wide as the stock, or so many times narrower, means inch taken for mm: 25.4.",
        ),
        Field(
            key="leap",
            kind=Kind.FIGURE,
            default=5,
            above=1,
            high=1000,
            example="5",
            doc="How many times an F or S may rise or fall against the text proven last.",
        ),
    ),
)

PERSON = Table(
    heading="[[people]]",
    doc="Somebody the shop lets act.",
    builds=Person,
    fields=(
        Field(
            key="initials",
            kind=Kind.ID,
            required=True,
            example='"np"',
            doc="Never renamed, never used again.",
        ),
        Field(key="name", kind=Kind.TEXT, required=True, example='"Nora Pencil"', doc="Full name."),
        Field(
            key="email",
            kind=Kind.TEXT,
            required=True,
            pattern=rules.EMAIL_PATTERN,
            rule=rules.email,
            example='"np@shop.example"',
            doc="Address git knows the person by.",
        ),
        Field(
            key="roles",
            kind=Kind.TEXTS,
            required=True,
            choices=("programmer", "setup", "quality"),
            example='["programmer"]',
            doc="What the person may do.",
        ),
        Field(
            key="keys",
            kind=Kind.TEXTS,
            default=(),
            rule=rules.signing_key,
            example='["ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIJYGn7vZhH0A2ZuEG1pStkbmoM2YoBJi7Pjd3hfLf9IO"]',
            doc="Public keys the person signs with: the line of the .pub file.",
        ),
        Field(key="since", kind=Kind.DATE, example="2025-01-07", doc="First day."),
        Field(key="left", kind=Kind.DATE, example="2027-01-31", doc="Last day."),
    ),
)

MACHINE = Table(
    heading="[[machines]]",
    doc="A machine, as the checks need to know it. What is left out is not computed, never guessed.",
    builds=Machine,
    fields=(
        Field(
            key="id",
            kind=Kind.ID,
            required=True,
            example='"MILL2"',
            doc="Name of the machine; never renamed, never used again.",
        ),
        Field(
            key="type",
            kind=Kind.TEXT,
            required=True,
            choices=("mill", "lathe"),
            example='"mill"',
            doc="Kind of machine.",
        ),
        Field(
            key="changer",
            kind=Kind.TEXT,
            choices=("side-mount", "umbrella", "turret", "manual"),
            example='"side-mount"',
            doc="Tool changer: side-mount wants pre-calls, umbrella does not.",
        ),
        Field(key="pockets", kind=Kind.WHOLE, low=1, high=9999, example="20", doc="Pockets or stations."),
        Field(
            key="large_tool_over",
            kind=Kind.FIGURE,
            above=0,
            example="3.15",
            doc="Diameter from which neighbours stay empty.",
        ),
        Field(
            key="codes",
            kind=Kind.TEXTS,
            default=(),
            rule=rules.codes,
            example='["G0-G3", "G54.1", "M6"]',
            doc="The G and M codes this machine has; a program that uses another is refused. Absent: not looked at.",
        ),
        Field(
            key="max_tool_length",
            kind=Kind.FIGURE,
            above=0,
            example="12.0",
            doc="Longest tool the changer takes, from the spindle nose.",
        ),
        Field(
            key="max_tool_weight",
            kind=Kind.FIGURE,
            above=0,
            example="12.0",
            doc="Heaviest tool the changer takes: lb where units are inch, kg where mm.",
        ),
        Field(
            key="units",
            kind=Kind.TEXT,
            required=True,
            choices=("inch", "mm"),
            example='"inch"',
            doc="Units of the figures here.",
        ),
        Field(key="max_rpm", kind=Kind.FIGURE, above=0, example="8000", doc="Highest spindle speed."),
        Field(
            key="chuck_max_rpm",
            kind=Kind.FIGURE,
            above=0,
            example="3500",
            doc="Highest speed of the chuck (lathe).",
        ),
        Field(
            key="rapid",
            kind=Kind.TABLE,
            table=AXES,
            example="{ x = 900, y = 900, z = 700 }",
            doc="Rapid rates per minute.",
        ),
        Field(
            key="travel",
            kind=Kind.TABLE,
            table=TRAVEL,
            example="{ x = [-30.0, 0.0], y = [-16.0, 0.0], z = [-20.0, 0.0] }",
            doc="Machine coordinates reached; lathe X is a diameter.",
        ),
        Field(
            key="decimal",
            kind=Kind.TEXT,
            choices=("calculator", "increment"),
            example='"calculator"',
            doc="How the control reads X1 without a point: calculator 1 unit, increment the smallest step.",
        ),
        Field(
            key="group",
            kind=Kind.TEXT,
            example='"MILLS"',
            doc="A proof counts for every machine that has been in the group with it without a break.",
        ),
        Field(
            key="resident",
            kind=Kind.WHOLES,
            default=(),
            low=0,
            high=99999999,
            example="[9001]",
            doc="O numbers living in the control; calls to them are outside the proof.",
        ),
        Field(
            key="file_name",
            kind=Kind.TEXT,
            default="{name}",
            rule=rules.file_name,
            example='"O{number:04}.NC"',
            doc="File name on the stick, from {number} or {name}.",
        ),
        Field(
            key="line_end",
            kind=Kind.TEXT,
            default="crlf",
            choices=("crlf", "lf"),
            example='"crlf"',
            doc="Line ends it wants.",
        ),
        Field(
            key="percent",
            kind=Kind.TEXT,
            choices=("as-is", "both"),
            example='"both"',
            doc="Whether a % line is put at both ends where none stands; absent: as it is.",
        ),
        Field(
            key="characters",
            kind=Kind.TEXT,
            default="any",
            choices=("any", "ascii", "ascii-upper"),
            example='"ascii-upper"',
            doc="Characters it reads.",
        ),
        Field(
            key="max_line",
            kind=Kind.WHOLE,
            default=0,
            low=0,
            high=100000,
            example="0",
            doc="Longest line; 0 = no limit.",
        ),
        Field(
            key="names_8_3", kind=Kind.YES_NO, default=False, example="false", doc="Only short file names."
        ),
        Field(
            key="folder",
            kind=Kind.TEXT,
            rule=rules.folder,
            example='"MILL2"',
            doc="Folder on the stick; absent: the id.",
        ),
    ),
)

STICK = Table(
    heading="[[sticks]]",
    doc="A medium programs travel on.",
    builds=Stick,
    fields=(
        Field(key="name", kind=Kind.ID, required=True, example='"BLUE-1"', doc="Name written on it."),
        Field(key="owner", kind=Kind.ID, required=True, example='"kp"', doc="Initials of its owner."),
        Field(
            key="label",
            kind=Kind.TEXT,
            example='"BLUE-1"',
            doc="Name the medium itself carries, by which it is found; absent: the name.",
        ),
        Field(
            key="path",
            kind=Kind.TEXT,
            example="'E:\\'",
            doc="Its folder, where it is always at one place; absent: found by its label.",
        ),
        Field(
            key="lost",
            kind=Kind.DATE,
            example="2026-03-01",
            doc="Day it was given up, lost or broken: nothing is exported to it, and it is not called in any more.",
        ),
    ),
)

SHOP_FILE = Table(
    heading="shop.toml",
    doc="People, machines and policy of a shop.",
    builds=Shop,
    fields=(
        _FORMAT,
        Field(key="shop", kind=Kind.TABLE, table=SHOP_TABLE, doc="The shop itself."),
        Field(key="policy", kind=Kind.TABLE, table=POLICY, doc="How strict the shop is."),
        Field(key="checks", kind=Kind.TABLE, table=CHECKS, doc="Margins of the checks."),
        Field(key="people", kind=Kind.TABLES, table=PERSON, default=(), doc="Who may act."),
        Field(key="machines", kind=Kind.TABLES, table=MACHINE, default=(), doc="The machines."),
        Field(key="sticks", kind=Kind.TABLES, table=STICK, default=(), doc="Media programs travel on."),
    ),
)

JOB_TABLE = Table(
    heading="[job]",
    doc="The part this job makes.",
    builds=dict,
    fields=(
        Field(
            key="number",
            kind=Kind.ID,
            required=True,
            example='"4471"',
            doc="Never renamed, never used again.",
        ),
        Field(key="part", kind=Kind.TEXT, example='"4471-PLATE"', doc="Part number."),
        Field(key="name", kind=Kind.TEXT, example='"Pivot plate"', doc="What it is."),
        Field(key="drawing", kind=Kind.TEXT, example='"4471"', doc="Drawing number."),
        Field(key="drawing_revision", kind=Kind.TEXT, example='"C"', doc="Revision of the drawing."),
        Field(key="material", kind=Kind.TEXT, example='"6061-T6"', doc="Material and blank."),
    ),
)

STOCK = Table(
    heading="stock",
    doc="Stock beyond the finished part, and bar work.",
    builds=Stock,
    fields=(
        Field(key="top", kind=Kind.FIGURE, low=0, doc="Stock above the finished top."),
        Field(key="out_of_jaws", kind=Kind.FIGURE, low=0, doc="Bar out of the jaws."),
        Field(key="bar_past_spindle", kind=Kind.FIGURE, low=0, doc="Bar standing out behind the spindle."),
        Field(key="supported", kind=Kind.YES_NO, doc="Whether the bar behind the spindle is held."),
        Field(key="diameter", kind=Kind.FIGURE, above=0, doc="Diameter of the bar or blank (lathe)."),
        Field(
            key="steadied",
            kind=Kind.YES_NO,
            doc="Whether a centre or a steady rest holds it in front (lathe).",
        ),
        Field(key="bottom", kind=Kind.FIGURE, doc="Z of the underside of the stock, as programmed."),
        Field(key="x", kind=Kind.RANGE, doc="Lowest and highest X of the stock, as programmed (mill)."),
        Field(key="y", kind=Kind.RANGE, doc="Lowest and highest Y of the stock, as programmed (mill)."),
    ),
)

OFFSET = Table(
    heading="[[operations.offsets]]",
    doc="A work offset.",
    builds=Offset,
    fields=(
        Field(
            key="code",
            kind=Kind.TEXT,
            required=True,
            pattern=rules.OFFSET_PATTERN,
            rule=rules.offset_code,
            example='"G54"',
            doc="G54 to G59, G59.1 to G59.3, G54.1 P1 to G54.1 P300, or G154 P1 to G154 P99.",
        ),
        Field(
            key="origin",
            kind=Kind.TEXT,
            example='"X Y lower left corner of the finished part, Z finished top"',
            doc="Where its zero lies on the part.",
        ),
    ),
)

TOOL = Table(
    heading="[[operations.tools]]",
    doc="A tool of the setup sheet.",
    builds=Tool,
    fields=(
        Field(
            key="number",
            kind=Kind.WHOLE,
            required=True,
            low=1,
            high=99999999,
            example="3",
            doc="Tool number.",
        ),
        Field(key="description", kind=Kind.TEXT, example='"1/2 4FL END MILL"', doc="What it is."),
        Field(key="diameter", kind=Kind.FIGURE, above=0, example="0.5", doc="Diameter."),
        Field(key="stick_out", kind=Kind.FIGURE, above=0, example="1.25", doc="Length out of the holder."),
        Field(
            key="h",
            kind=Kind.WHOLE,
            low=0,
            high=9999,
            example="3",
            doc="Length offset; absent: the tool number.",
        ),
        Field(
            key="d",
            kind=Kind.WHOLE,
            low=0,
            high=9999,
            example="3",
            doc="Diameter offset; absent: the tool number.",
        ),
        Field(
            key="offset",
            kind=Kind.WHOLE,
            low=0,
            high=9999,
            example="3",
            doc="Lathe offset; absent: the tool number.",
        ),
        Field(key="nose_radius", kind=Kind.FIGURE, low=0, example="0.8", doc="Nose radius (lathe)."),
        Field(key="insert", kind=Kind.TEXT, example='"CNMG 120408"', doc="Insert."),
        Field(key="large", kind=Kind.YES_NO, default=False, example="false", doc="Needs empty neighbours."),
        Field(
            key="through_coolant",
            kind=Kind.YES_NO,
            default=False,
            example="false",
            doc="Coolant through the tool.",
        ),
        Field(
            key="flute_length", kind=Kind.FIGURE, above=0, example="1.0", doc="Length of its cutting edges."
        ),
        Field(
            key="length",
            kind=Kind.FIGURE,
            above=0,
            example="4.5",
            doc="Length from the spindle nose to the tip, holder included.",
        ),
        Field(
            key="weight",
            kind=Kind.FIGURE,
            above=0,
            example="6.0",
            doc="Weight with its holder: lb where units are inch, kg where mm.",
        ),
        Field(
            key="lowest_z",
            kind=Kind.FIGURE,
            example="-0.85",
            doc="Lowest Z the program may bring it to, as programmed.",
        ),
    ),
)

WAIVER = Table(
    heading="[[operations.waivers]]",
    doc="A finding somebody lets stand: one rule, with a tool or the text of a line.",
    builds=Waiver,
    fields=(
        Field(
            key="rule",
            kind=Kind.TEXT,
            required=True,
            rule=rules.rule_name,
            example='"stick-out"',
            doc="Rule.",
        ),
        Field(key="tool", kind=Kind.WHOLE, low=1, high=99999999, example="3", doc="The tool it is about."),
        Field(key="line", kind=Kind.TEXT, example='"G0Z-0.1"', doc="Or the text of the line."),
        Field(key="reason", kind=Kind.TEXT, required=True, example='"holder turned down"', doc="Why."),
        Field(
            key="by",
            kind=Kind.ID,
            required=True,
            example='"np"',
            doc="Initials of a programmer or quality person.",
        ),
    ),
)

OPERATION = Table(
    heading="[[operations]]",
    doc="One setup: its main program and its setup sheet.",
    builds=Operation,
    fields=(
        Field(
            key="id",
            kind=Kind.ID,
            default="op10",
            example='"op10"',
            doc="Never renamed, never used again; may be left out where there is one operation.",
        ),
        Field(
            key="program",
            kind=Kind.TEXT,
            required=True,
            rule=rules.program_path,
            example='"op10/O1001.nc"',
            doc="Main program: path from this file's folder.",
        ),
        Field(
            key="machines", kind=Kind.IDS, default=(), example='["MILL2"]', doc="Machines it is meant for."
        ),
        Field(
            key="units", kind=Kind.TEXT, choices=("inch", "mm"), example='"inch"', doc="Units of the program."
        ),
        Field(key="fixture", kind=Kind.TEXT, example='"6 in vise"', doc="How the part is held."),
        Field(key="clearance_z", kind=Kind.FIGURE, example="0.5", doc="Lowest Z for rapids in X and Y."),
        Field(
            key="stock",
            kind=Kind.TABLE,
            table=STOCK,
            example="{ top = 0.05 }",
            doc="Stock beyond the finished part: top, out_of_jaws, bar_past_spindle, supported, diameter, steadied, bottom.",
        ),
        Field(
            key="max_rpm", kind=Kind.FIGURE, above=0, example="2500", doc="Highest speed this setup may turn."
        ),
        Field(
            key="continuous",
            kind=Kind.YES_NO,
            example="false",
            doc="M99 may end the main program (bar work).",
        ),
        Field(
            key="alternative_to",
            kind=Kind.ID,
            example='"op10"',
            doc="The same operation for another machine; takes over what it does not state.",
        ),
        Field(key="offsets", kind=Kind.TABLES, table=OFFSET, default=(), doc="Work offsets."),
        Field(key="tools", kind=Kind.TABLES, table=TOOL, default=(), doc="Tools."),
        Field(key="waivers", kind=Kind.TABLES, table=WAIVER, default=(), doc="Findings somebody lets stand."),
    ),
)

JOB_FILE = Table(
    heading="job.toml",
    doc="A job and its setup sheets.",
    builds=Job,
    fields=(
        _FORMAT,
        Field(key="job", kind=Kind.TABLE, table=JOB_TABLE, required=True, doc="The part this job makes."),
        Field(key="operations", kind=Kind.TABLES, table=OPERATION, default=(), doc="The setups."),
    ),
)
