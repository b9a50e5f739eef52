"""The tool path on a report: the figures a script draws from, what is said beside them, and the views it fills."""

import json
from typing import TYPE_CHECKING

from tracker.reports.sheet_html_parts import text
from tracker.reports.summary import reach

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tracker.machining.path import ToolPath
    from tracker.machining.path_thin import Point
    from tracker.services.report import OperationReport
    from tracker.services.report_path import Drawing

CAUTION = "Drawn from the text: no tool, holder, fixture, stock or machine is in it; it shows no collision."
MARKED = (
    "Thick is what a changed line does. A word that stays in force, as F or a work offset, changes the moves after "
    "its line too."
)
_MILL = (("top", "top, X Y"), ("front", "front, X Z"), ("side", "side, Y Z"), ("turn", "turnable"))
_LATHE = (("turning", "Z X, X is a diameter"),)
_DIGITS = {"mm": 3}
_TURNS = (("left", "0.26 0"), ("right", "-0.26 0"), ("up", "0 -0.2"), ("down", "0 0.2"))
_FITS = (("all", "everything"), ("cuts", "close up on the cuts"), ("change", "close up on the picked change"))
_KEYS = (
    ("feed", '<path class="feed" d="M0 5H50"/>'),
    ("rapid", '<path class="rapid" d="M0 5H50"/>'),
    ("changed", '<path class="feed changed" d="M0 5H50"/>'),
    ("hole", '<circle class="hole" cx="25" cy="5" r="4"/>'),
    ("zero of the work offset", '<path class="zero" d="M18 5H32M25 0V10"/>'),
)

Side = tuple[str, "Drawing", "ToolPath"]
"""What it is called, and the drawing with the path it has."""


def drawing_part(part: "OperationReport") -> str:
    """The part of one operation; a sentence where nothing can be drawn."""
    named = _named(part)
    why = "".join(
        f"<p>{text(name)}: not drawn, {text(one.why)}.</p>" for name, one in named if one.path is None
    )
    sides: list[Side] = [(name, one, one.path) for name, one in named if one.path is not None]
    if not sides:
        return f"<h3>Tool path</h3>{why or '<p>There is nothing to draw.</p>'}"
    beside = "".join(f"<p>{text(line)}</p>" for line in _beside(sides))
    marked = f'<p class="soft">{text(MARKED)}</p>' if part.compared is not None else ""
    return (
        f'<h3>Tool path</h3><p class="note">{text(CAUTION)}</p>{why}{beside}'
        f'<div class="paths" data-operation="{text(part.name)}">'
        f'<script type="application/json">{_json(_figures(sides))}</script>{_controls(part.name, sides)}{marked}'
        f'<p class="said" aria-live="polite"></p>{_views(sides)}'
        "<noscript><p>The drawings need the script of this page to run.</p></noscript></div>"
    )


def _named(part: "OperationReport") -> "list[tuple[str, Drawing]]":
    """Drawings with what they are called: ``Before, r2`` and ``After, r5``; a revision alone is neither."""
    if len(part.drawings) == 1 or part.against is None:
        return [(part.revision or "", one) for one in part.drawings]
    return [
        (f"Before, {part.against.label}" if one.side == "before" else f"After, {part.revision}", one)
        for one in part.drawings
    ]


def _figures(sides: "Sequence[Side]") -> dict[str, object]:
    paths = [path for _, _, path in sides]
    return {
        "units": next((path.units for path in paths if path.units), ""),
        "box": _box(paths, rapids=True),
        "cuts": _box(paths, rapids=False),
        "sides": [_side_data(path) for path in paths],
    }


def _controls(name: str, sides: "Sequence[Side]") -> str:
    lathe = sides[0][2].lathe
    tools = dict.fromkeys(tool.tool for _, _, path in sides for tool in path.tools if tool.tool)
    end = text(name).replace("/", "-")
    views = "" if lathe else _choice(f"view-{end}", "View", "view", [("", "all"), *_MILL])
    ways = () if lathe else _TURNS
    turns = "".join(f'<button type="button" data-turn="{by}">Turn {way}</button>' for way, by in ways)
    keys = "".join(
        f'<li><svg viewBox="0 0 50 10" aria-hidden="true">{shape}</svg> {word}</li>'
        for word, shape in _KEYS
        if word != "changed" or len(sides) > 1
    )
    return (
        f'<div class="tools">{_choice(f"tool-{end}", "Tool", "tool", [("", "all"), *((one, f"T{one}") for one in tools)])}'
        f"{views}{_choice(f'fit-{end}', 'Show', 'fit', _FITS)}{turns}</div>"
        f'<ul class="key">{keys}</ul>'
    )


def _choice(anchor: str, label: str, what: str, options: "Iterable[tuple[str, str]]") -> str:
    listed = "".join(f'<option value="{text(value)}">{text(word)}</option>' for value, word in options)
    return (
        f'<span><label for="{anchor}">{label}</label> '
        f'<select id="{anchor}" data-choice="{what}">{listed}</select></span>'
    )


def _views(sides: "Sequence[Side]") -> str:
    """View by view, so that before and after of one stand beside each other."""
    figures = "".join(
        f'<figure><svg viewBox="0 0 420 320" role="img" '
        f'aria-label="{text(f"{name}: {title}. {_extents(drawing)}")}" data-view="{view}" data-side="{place}"></svg>'
        f"<figcaption>{text(name)}: {text(title)}</figcaption></figure>"
        for view, title in (_LATHE if sides[0][2].lathe else _MILL)
        for place, (name, drawing, _) in enumerate(sides)
    )
    return f'<div class="views of-{len(sides)}">{figures}</div>'


def _beside(sides: "Sequence[Side]") -> "Iterable[str]":
    """How far each side reaches and what is not in its drawing; once where it is the same of both."""
    for name, drawing, _ in sides:
        yield f"{name}, {drawing.file}: {_extents(drawing)}."
    told = [tuple(_left_out(path)) for _, _, path in sides]
    if len(set(told)) == 1:
        yield from told[0]
        return
    for (name, _, _), lines in zip(sides, told, strict=True):
        yield from (f"{name}: {line}" for line in lines)


def _left_out(path: "ToolPath") -> "Iterable[str]":
    for left, met, kind in (
        (path.feeds_left, path.feeds, "feed moves"),
        (path.rapids_left, path.rapids, "rapids"),
    ):
        if left:
            yield f"{left} of {met} {kind} are not drawn: where they begin or end is not known from the text."
    if path.machine_moves:
        yield f"{path.machine_moves} moves in machine coordinates are not drawn."
    if path.turns:
        yield "A rotary axis turns; that is not drawn."
    if len(path.offsets) > 1:
        yield f"Moves in {', '.join(path.offsets)} are drawn one over the other, each from its own zero."
    for line in path.not_followed[:6]:
        yield f"Not followed: {line}."
    if len(path.not_followed) > 6:
        yield f"And {len(path.not_followed) - 6} more that are not followed."


def _extents(drawing: "Drawing") -> str:
    """How far feed moves reach, from the summary."""
    summary = drawing.summary
    if summary is None:
        return ""
    parts = []
    for axis in ("x", "y", "z"):
        spans = [span for tool in summary.tools if (span := getattr(tool, axis)) is not None]
        if spans and not (summary.lathe and axis == "y"):
            span = min(low for low, _ in spans), max(high for _, high in spans)
            parts.append(f"{axis.upper()} {reach(span, summary.units)}")
    units = f" {summary.units}" if summary.units else ""
    return f"feed moves reach {', '.join(parts)}{units}" if parts else "no feed move"


def _box(paths: "Sequence[ToolPath]", *, rapids: bool) -> list[float]:
    """Lowest X Y Z, then highest, of all sides; without rapids of what feeds reach, if anything does."""
    strands = [one for path in paths for one in path.strands]
    feeds = [one for one in strands if not one.rapid]
    points = [point for one in (strands if rapids or not feeds else feeds) for point in one.points]
    points += [hole[2] for path in paths for hole in path.holes]
    xs, ys, zs = zip(*points, strict=True)
    return [min(xs), min(ys), min(zs), max(xs), max(ys), max(zs)]


def _side_data(path: "ToolPath") -> dict[str, object]:
    digits = _DIGITS.get(path.units or "", 4)

    def flat(points: "Iterable[Point]") -> list[float]:
        return [round(figure, digits) for point in points for figure in point]

    return {
        "strands": [[one.section, int(one.rapid), one.mark, flat(one.points)] for one in path.strands],
        "tools": [tool.tool or "" for tool in path.tools],
        "holes": [[section, mark, *flat((point,))] for section, mark, point in path.holes],
    }


def _json(data: object) -> str:
    """JSON that cannot end the element it stands in."""
    return json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
