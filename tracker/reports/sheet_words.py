"""What a setup sheet says, in words: the same on the screen and on paper."""

from typing import TYPE_CHECKING

from tracker.nc.kinds import SENTENCES
from tracker.policy.states import standing_words
from tracker.reports.cautions import MOTION, PRINTED, RESTART
from tracker.reports.summary import figure
from tracker.reports.times import day, moment, zone
from tracker.services.prove_words import proving_words
from tracker.services.sheet_steps import NONE, PROVE_OUT
from tracker.services.sheet_tools import ON_LATHE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tracker.records.job import Stock
    from tracker.records.shop import Machine
    from tracker.services.sheet import SheetReport
    from tracker.services.sheet_since import Since
    from tracker.services.sheet_steps import SheetStep
    from tracker.services.sheet_tools import Figure, SheetTool

NOT_STATED = "not stated"
MOST_NAMED = 6


def facts(report: "SheetReport") -> list[tuple[str, str]]:
    """(what, value) of the job and the setup; what is not stated says so where a setup needs it."""
    job, operation, units = report.job, report.operation, report.operation.units
    drawing = f"{job.drawing or NOT_STATED} rev {job.drawing_revision or NOT_STATED}"
    clearance = (
        f"Z{figure(operation.clearance_z, units)}{_of(units)}"
        if operation.clearance_z is not None
        else NOT_STATED
    )
    found = [
        ("part", ", ".join(text for text in (job.part, job.name) if text) or NOT_STATED),
        ("drawing", drawing),
        ("material", job.material or NOT_STATED),
        ("machine", machine_words(report.machine)),
        ("fixture", operation.fixture or NOT_STATED),
        ("stock", stock_words(operation.stock, units, lathe=report.machine.type == "lathe")),
        (
            "clearance",
            f"{clearance}, lowest Z for rapids across" if operation.clearance_z is not None else clearance,
        ),
        ("top speed", speed_words(report)),
    ]
    if operation.continuous:
        found.append(("run", "continuous: M99 ends the main program"))
    return found


def _of(units: str | None) -> str:
    return f" {units}" if units else ""


def machine_words(machine: "Machine") -> str:
    """``MILL2: mill, inch, side-mount changer, 20 pockets``."""
    changer = {"manual": "tools changed by hand", "turret": "turret"}.get(
        machine.changer or "", f"{machine.changer} changer" if machine.changer else ""
    )
    pockets = "stations" if machine.type == "lathe" else "pockets"
    parts = [machine.type, machine.units, changer, f"{machine.pockets} {pockets}" if machine.pockets else ""]
    return f"{machine.id}: {', '.join(part for part in parts if part)}"


def stock_words(stock: "Stock | None", units: str | None, *, lathe: bool = False) -> str:
    """What stands beyond the finished part, and bar work."""
    if stock is None:
        return NOT_STATED
    parts = []
    if stock.top is not None:
        parts.append(
            f"{figure(stock.top, units)}{_of(units)} {'proud of the finished face' if lathe else 'above the finished top'}"
        )
    if stock.bottom is not None:
        parts.append(f"underside at Z{figure(stock.bottom, units)}")
    for axis, ends in (("X", stock.x), ("Y", stock.y)):
        if ends is not None:
            parts.append(f"{axis} {figure(ends[0], units)} to {figure(ends[1], units)}{_of(units)}")
    if stock.diameter is not None:
        parts.append(f"diameter {figure(stock.diameter, units)}{_of(units)}")
    if stock.out_of_jaws is not None:
        parts.append(f"{figure(stock.out_of_jaws, units)}{_of(units)} out of the jaws")
    if stock.bar_past_spindle is not None:
        parts.append(f"bar {figure(stock.bar_past_spindle, units)}{_of(units)} past the spindle")
    if stock.supported is not None:
        parts.append("supported" if stock.supported else "NOT SUPPORTED")
    if stock.steadied is not None:
        parts.append("steadied in front" if stock.steadied else "not steadied in front")
    return "; ".join(parts) or NOT_STATED


def speed_words(report: "SheetReport") -> str:
    """Of the sheet, and what the machine and its chuck take."""
    machine, own = report.machine, report.operation.max_rpm
    parts = [f"{own:g} rpm" if own is not None else "not stated for this setup"]
    if machine.max_rpm is not None:
        parts.append(f"machine {machine.max_rpm:g}")
    if machine.chuck_max_rpm is not None:
        parts.append(f"chuck {machine.chuck_max_rpm:g}")
    return "; ".join(parts)


def revision_words(report: "SheetReport") -> str:
    """``r5 by np, 18 Feb 2026: the office's numbering``."""
    record = report.record
    reason = f": {record.reason}" if record.reason else ""
    return f"{report.label} by {record.by}, {day(record.at, zone(report.timezone))}{reason}"


def standing_line(report: "SheetReport") -> str:
    """The standing with its reason."""
    return standing_words(report.standing.state, report.standing.reason)


def release_line(report: "SheetReport") -> str:
    """Whether it may be taken for production."""
    if report.steps.kind == NONE:
        return f"DO NOT RUN: it is {report.standing.state}."
    if not report.standing.usable:
        return "NOT FOR PRODUCTION: for the prove-out only."
    if report.release is None:
        return "NOT FOR PRODUCTION: no release that counts holds this revision."
    return f"In release {report.release} of {report.job.number}."


def length(found: "Figure", units: str | None) -> str:
    """``at least -0.8``, ``-0.8``, or ``not computed: why``."""
    if found.value is None:
        return f"not computed: {found.why}"
    return f"{found.bound} {figure(found.value, units)}".strip()


def short_length(found: "Figure", units: str | None) -> str:
    """The same for a narrow column: a dash where it was not computed (`unknowns` say why)."""
    return "-" if found.value is None else length(found, units)


def warnings(tool: "SheetTool") -> list[str]:
    """What must be seen about a tool at a glance, in capitals."""
    short = tool.left.value is not None and tool.left.value < 0
    found = ["STICK-OUT SHORTER THAN THE CUT IS DEEP"] if short else []
    found += tool.disagreements
    return [*found, "LARGE: neighbours empty"] if tool.large else found


def marks(tool: "SheetTool") -> list[str]:
    """What else belongs to a tool."""
    found = [] if tool.called else [tool.deepest.why or ""]
    if tool.through_coolant:
        found.append("coolant through the tool")
    if tool.insert:
        found.append(f"insert {tool.insert}")
    if tool.nose_radius is not None:
        found.append(f"nose radius {tool.nose_radius:g}")
    for words, value in (
        ("cutting edges", tool.flute_length),
        ("length with holder", tool.length),
        ("weight", tool.weight),
        ("no lower than Z", tool.lowest_z),
    ):
        if value is not None:
            found.append(f"{words}{'' if words.endswith('Z') else ' '}{value:g}")
    return found


def unknowns(tool: "SheetTool") -> list[str]:
    """Which figures of a tool were not computed, and why; what a remark says already is left out."""
    if not tool.called:
        return []
    reasons: dict[str, list[str]] = {}
    for what, found in (("deepest Z", tool.deepest), ("left", tool.left)):
        if found.why not in (None, ON_LATHE):
            reasons.setdefault(found.why or "", []).append(what)
    return [f"{' and '.join(what)} not computed: {why}" for why, what in reasons.items()]


def restart(tool: "SheetTool") -> str:
    """``restart: line 39 (N310)``, every tool change of it."""
    places = [f"line {line}" + (f" ({number})" if number else "") for line, number in tool.restarts]
    if places:
        return f"restart: {', '.join(places)}"
    return "restart: its tool change is in a called program" if tool.called else ""


def figures_words(report: "SheetReport") -> str:
    """What the columns deepest Z and left mean."""
    deepest = "deepest Z: lowest Z of a cut, in work coordinates."
    if report.machine.type == "lathe":
        return f"{deepest} What a stick-out leaves is not computed on a lathe: Z runs along the bar."
    top = report.operation.stock.top if report.operation.stock else None
    measured = "the top of the stock" if top is not None else "the work zero (no stock top is stated)"
    return f"{deepest} left: stick-out less the way down to it from {measured}. It knows no holder."


def o_number(number: int | None) -> str:
    """``O1001``, or a dash."""
    return "-" if number is None else f"O{number:04}"


def step_words(step: "SheetStep") -> str:
    """``dry run (not required): Above the part ...``."""
    asked = "" if step.required else " (not required)"
    return f"{step.title}{asked}: {step.what}"


def since_words(report: "SheetReport") -> list[str]:
    """What changed since the last full proof there, a sentence a line."""
    since = report.since
    if since is None:
        return [f"Never proved in full on {report.machine.id}."]
    proved = (
        f"{since.revision}, proved {day(since.at, zone(report.timezone))} on {since.machine} by {since.by}"
    )
    if since.itself:
        return [f"Nothing: this is {proved}."]
    if since.why is not None:
        return [f"From {proved}: not computed, {since.why}."]
    return [f"From {proved}: {_changed(since)}.", *since.words]


def _changed(since: "Since") -> str:
    if not since.kinds:
        return "no difference found"
    tools = since.tools
    where = "all tools" if tools is None else ", ".join(f"T{tool}" for tool in tools)
    return f"{', '.join(since.kinds)}" + (f"; {where}" if where else "")


def kind_words(report: "SheetReport") -> list[str]:
    """What each kind of change means."""
    kinds = report.since.kinds if report.since else ()
    return [f"{kind}: {SENTENCES[kind]}" for kind in kinds if kind in SENTENCES]


def remarks(report: "SheetReport") -> "Iterator[str]":
    """Limits, a first piece asked for, calls outside, what was not followed, and what else is to be known."""
    for limit in report.standing.limits:
        yield f"Limited to: {limit}"
    if report.standing.first_piece:
        yield f"First piece: {report.standing.first_piece}"
    for call in report.outside:
        yield f"Outside this record: {call.file} line {call.line}: {call.text} - {call.why}"
    named = report.summary.not_followed
    for text in named[:MOST_NAMED]:
        yield f"Not followed: {text}"
    if len(named) > MOST_NAMED:
        yield f"... and {len(named) - MOST_NAMED} more not followed: proveout summary {report.name}"
    yield from report.summary.guesses
    yield from report.standing.notes
    yield from report.notes


def motion_cautions(report: "SheetReport") -> list[str]:
    """What is said before anything moves."""
    proving = proving_words(report.machine.id, report.label, report.standing.state)
    return [*([proving] if report.steps.kind == PROVE_OUT else []), MOTION]


def restart_caution(report: "SheetReport") -> list[str]:
    """What goes with a line to start again from, where one is shown."""
    return [RESTART] if any(tool.restarts for tool in report.tools) else []


def cautions(report: "SheetReport") -> list[str]:
    """All sentences of caution that belong on this sheet."""
    return [*motion_cautions(report), *restart_caution(report), PRINTED]


def printed(report: "SheetReport") -> str:
    """``printed 20 Mar 2026 13:00 +00:00``."""
    by_hand = " (the clock was set by hand)" if report.clock_set else ""
    return f"printed {moment(report.at, zone(report.timezone))}{by_hand}"
