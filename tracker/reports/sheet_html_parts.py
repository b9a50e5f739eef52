"""The parts of the printed setup sheet, each a piece of HTML. Everything from outside goes through `text`."""

from html import escape
from typing import TYPE_CHECKING

from tracker.reports import sheet_findings
from tracker.reports import sheet_words as words
from tracker.reports.summary import figure
from tracker.reports.table import visible

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tracker.services.sheet import SheetReport
    from tracker.services.sheet_steps import SheetStep
    from tracker.services.sheet_tools import Figure, SheetTool

_NARROW = 32
"""A fact of more characters than this takes a whole line."""
_MOST_BIG_T, _MOST_BIG_LATHE, _MOST_BIG_H = 3, 5, 2
_MOST_MID = 5
"""Characters the columns of the tool table take at their full size, in the widest of the usual faces."""
BOX = '<span class="box"></span>'


def text(value: object) -> str:
    """As text of a page: on one line, without control characters, ``<`` ``>`` ``&`` and quotes written out."""
    return escape(visible(str(value)))


def table(kind: str, headers: "Iterable[str]", rows: "Iterable[str]") -> str:
    """A table whose head stands again on every page; headers and rows are HTML already.

    A header that opens with ``>`` stands to the right, over figures.
    """
    head = "".join(
        f'<th class="num">{one[1:]}</th>' if one[:1] == ">" else f"<th>{one}</th>" for one in headers
    )
    return f'<table class="grid {kind}"><thead><tr>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table>'


def row(*cells: str) -> str:
    """A row; a cell that does not open with ``<td`` is put into one."""
    return f"<tr>{''.join(one if one.startswith('<td') else f'<td>{one}</td>' for one in cells)}</tr>"


def cell(kind: str, inside: str) -> str:
    """A cell of a class."""
    return f'<td class="{kind}">{inside}</td>'


def strip(report: "SheetReport") -> str:
    """What stands at the head of every page."""
    parts = (f"{report.name} {report.label}", report.machine.id, f"id {report.display_id}")
    return f'<div class="strip">{"".join(f"<span>{text(part)}</span>" for part in parts)}</div>'


def head(report: "SheetReport") -> str:
    """Job and operation, big, and the id to be read back."""
    part = ", ".join(one for one in (report.job.name, report.job.part) if one)
    title = f"{text(report.name)} {text(report.label)} on {text(report.machine.id)}"
    under = f"<small>Setup sheet{': ' if part else ''}{text(part)}</small>"
    ident = f"<span>id to be read back on the control</span><b>{text(report.display_id)}</b>"
    return f'<div class="head"><h1>{title}{under}</h1><div class="id">{ident}</div></div>'


def standing(report: "SheetReport") -> str:
    """How it stands there, in a frame: a double one where it may not be run for production."""
    production = report.standing.usable and report.release is not None
    lines = [words.standing_line(report)]
    lines += [f"To clear it: {command}" for command in report.standing.clears]
    said = "".join(f"<p>{text(line)}</p>" for line in lines)
    kind = "standing" if production else "standing stop"
    title = f"{report.standing.state.upper()} on {report.machine.id}. {words.release_line(report)}"
    return f'<div class="{kind}"><b>{text(title)}</b>{said}</div>'


def facts(report: "SheetReport") -> str:
    """Part, drawing, material, machine, holding, stock, clearance, speed, revision."""
    pairs = [*words.facts(report), ("revision", words.revision_words(report))]
    return f'<dl class="facts">{"".join(_fact(what, value) for what, value in pairs)}</dl>'


def _fact(what: str, value: str) -> str:
    kind = ' class="wide"' if len(value) > _NARROW else ""
    return f"<div{kind}><dt>{text(what)}</dt><dd>{text(value)}</dd></div>"


def programs(report: "SheetReport") -> str:
    """File name, O number, id; a box to tick once it is in the control."""
    rows = (
        row(
            BOX,
            cell("mid mono", text(words.o_number(file.number))),
            cell("name", text(file.name)),
            cell("mid mono", text(file.fingerprint[:8].upper())),
        )
        for file in report.files
    )
    return table("programs", ("loaded", "O number", "program", "its own id"), rows)


def offsets(report: "SheetReport") -> str:
    """Work offsets with their origin, and blanks for what was measured."""
    axes = ("X", "Z") if report.machine.type == "lathe" else ("X", "Y", "Z")
    fill = [cell("fill", "") for _ in axes]
    rows = [
        row(cell("mid mono", text(one.code)), text(one.origin or words.NOT_STATED), *fill)
        for one in report.operation.offsets
    ]
    return table(
        "offsets", ("offset", "origin", *axes), rows or [row("-", "no work offset is stated", *fill)]
    )


def tools(report: "SheetReport") -> str:
    """The tools, a row each, and what the columns mean."""
    lathe = report.machine.type == "lathe"
    entered = (">offset",) if lathe else (">H", ">D")
    units = text(report.operation.units or "units not stated")
    headers = ("in", "T", *entered, f"tool ({units})", ">dia", ">stick-out", "measured", ">deepest Z")
    rows = (_tool(tool, report.operation.units, lathe=lathe) for tool in report.tools)
    found = table("tools lathe" if lathe else "tools mill", headers if lathe else (*headers, ">left"), rows)
    said = [words.figures_words(report), *words.restart_caution(report)]
    return f'{found}<div class="small">{text(" ".join(said))}</div>'


def _tool(tool: "SheetTool", units: str | None, *, lathe: bool) -> str:
    entered = (tool.offset,) if lathe else (tool.h, tool.d)
    numbers = [_number("-" if one is None else str(one), _MOST_BIG_H, "num") for one in entered]
    left = [] if lathe else [_figure(tool.left, units)]
    return row(
        BOX,
        _number(tool.name, _MOST_BIG_LATHE if lathe else _MOST_BIG_T),
        *numbers,
        _described(tool),
        _length(figure(tool.diameter, units)),
        _length(figure(tool.stick_out, units), bold=True),
        cell("fill", ""),
        _figure(tool.deepest, units),
        *left,
    )


def _number(said: str, most: int, more: str = "") -> str:
    """A number as big as its column allows: it is never broken and never runs into the next one."""
    size = "" if len(said) <= most else " longer" if len(said) == most + 1 else " longest"
    return cell(f"big{size} {more}".strip(), text(said))


def _length(said: str, bound: str = "", *, bold: bool = False) -> str:
    """A length, smaller where it has many digits; ``at least`` stands above it."""
    above = f'<span class="bound">{text(bound)}</span>' if bound else ""
    shown = f"<b>{text(said)}</b>" if bold else text(said)
    return cell(f"mid num{' long' if len(said) > _MOST_MID else ''}", above + shown)


def _figure(found: "Figure", units: str | None) -> str:
    return _length("-") if found.value is None else _length(figure(found.value, units), found.bound)


def _described(tool: "SheetTool") -> str:
    loud = [f'<span class="loud">{text(one)}</span>' for one in words.warnings(tool)]
    calm = [*words.marks(tool), *words.unknowns(tool), words.restart(tool)]
    small = [text(one) for one in calm if one]
    lines = [f"<b>{text(tool.description or '')}</b>", *loud]
    below = f'<div class="small">{"; ".join(small)}</div>' if small else ""
    return cell("what", "<br>".join(lines) + below)


def since(report: "SheetReport") -> str:
    """What changed since the last full proof there, kinds in words."""
    first, *values = words.since_words(report)
    more = [*words.kind_words(report), *values]
    listed = f"<ul>{''.join(f'<li>{text(one)}</li>' for one in more)}</ul>" if more else ""
    return f"<h2>Changed since the last proof here</h2><div>{text(first)}</div>{listed}"


def found(report: "SheetReport") -> str:
    """What the checks said when the revision was checked in; what stands is in bold."""
    first, *more = sheet_findings.lines(report)
    rows = "".join(f"<li>{_marked(line)}</li>" for line in more)
    said = f'<div class="small">{text(first[:1].upper() + first[1:])}.</div>'
    return f"{said}<ul>{rows}</ul>" if rows else said


def _marked(line: str) -> str:
    mark, colon, rest = line.partition(":")
    return f"<b>{text(mark.upper())}</b>{colon}{text(rest)}" if mark in ("refuse", "warn") else text(line)


def remarks(report: "SheetReport") -> str:
    """Limits, calls outside, what was not followed, notes."""
    found = "".join(f"<li>{text(one)}</li>" for one in words.remarks(report))
    return f"<h2>To know</h2><ul>{found}</ul>" if found else ""


def steps(report: "SheetReport") -> str:
    """The steps with their boxes and blanks."""
    title = f"<h2>{text(report.steps.title)}</h2>"
    if not report.steps.steps:
        return title
    rows = (_step(one) for one in report.steps.steps)
    return title + table("steps", ("done", "step", "what is done", "figure", "initials"), rows)


def _step(step: "SheetStep") -> str:
    asked = "" if step.required else " (not required)"
    ticks = "".join(f'<span class="tick">{BOX}{text(tool)}</span>' for tool in step.tools)
    blank = f'<span class="blank"></span><div class="small">{text(step.figure)}</div>' if step.figure else ""
    what = f"<b>{text(step.title)}</b>{asked}. {text(step.what)}{f'<div>{ticks}</div>' if ticks else ''}"
    return row(BOX, cell("key", text(step.key)), what, cell("answer", blank), cell("initials", ""))


def cautions(report: "SheetReport") -> str:
    """What is said wherever motion may follow, in a frame; other cautions stand where they belong."""
    return f'<div class="cautions">{"".join(f"<p>{text(one)}</p>" for one in words.motion_cautions(report))}</div>'


def traveller() -> str:
    """Space for the order and for who signs."""
    lines = (
        ("order or lot", "quantity", "serials from - to", "stick"),
        ("set up by, initials", "date, time", "started by, initials", "date, time"),
        ("proved by, initials", "date, time", "second person, initials", "date, time"),
    )
    rows = "".join(row(*(text(one) for one in line)) for line in lines)
    return f'<table class="traveller"><tbody>{rows}</tbody></table>'
