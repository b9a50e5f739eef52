"""The tool path on a report: the figures a script draws from, what is said beside them, and the views it fills."""

import json
from typing import TYPE_CHECKING

from tracker.reports.sheet_html_parts import text
from tracker.reports.summary import reach

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tracker.machining.path import ToolPath
    from tracker.machining.path_thin import Point
    from tracker.services.report_path import Drawing

CAUTION = "Drawn from the text: no tool, holder, fixture, stock or machine is in it; it shows no collision."
_MILL = (("top", "Top, X Y"), ("front", "Front, X Z"), ("side", "Side, Y Z"), ("turn", "Turnable"))
_LATHE = (("turning", "Z X, X is a diameter"),)
_DIGITS = {"mm": 3}
_TURNS = (("left", "0.26 0"), ("right", "-0.26 0"), ("up", "0 -0.2"), ("down", "0 0.2"))


def drawing_part(name: str, drawings: "Sequence[Drawing]") -> str:
    """The part of one operation; a sentence where nothing can be drawn."""
    shown = [one for one in drawings if one.path is not None]
    why = "".join(
        f"<p>{text(_side(one))}: not drawn, {text(one.why)}.</p>" for one in drawings if one.path is None
    )
    if not shown:
        return f"<h3>Tool path</h3>{why or '<p>There is nothing to draw.</p>'}"
    paths = [one.path for one in shown if one.path is not None]
    tools = list(dict.fromkeys(tool.tool or "" for path in paths for tool in path.tools))
    data = {
        "box": _box(paths),
        "sides": [_side_data(path) for path in paths],
    }
    figures = "".join(_views(place, one) for place, one in enumerate(shown))
    return (
        f'<h3>Tool path</h3><p class="note">{text(CAUTION)}</p>{why}'
        f'<div class="paths" data-operation="{text(name)}">'
        f'<script type="application/json">{_json(data)}</script>{_controls(name, tools, lathe=paths[0].lathe)}'
        f"{figures}<noscript><p>The drawings need the script of this page to run.</p></noscript></div>"
    )


def _controls(name: str, tools: "Iterable[str]", *, lathe: bool) -> str:
    options = "".join(f'<option value="{text(tool)}">T{text(tool)}</option>' for tool in tools if tool)
    ids = f"tool-{text(name).replace('/', '-')}"
    ways = () if lathe else _TURNS
    turns = "".join(f'<button type="button" data-turn="{by}">Turn {way}</button>' for way, by in ways)
    key = (
        '<span class="key"><svg viewBox="0 0 50 10" aria-hidden="true"><path class="feed" d="M0 5H50"/></svg> feed '
        '<svg viewBox="0 0 50 10" aria-hidden="true"><path class="rapid" d="M0 5H50"/></svg> rapid '
        '<svg viewBox="0 0 50 10" aria-hidden="true"><path class="feed changed" d="M0 5H50"/></svg> changed (thick)</span>'
    )
    return (
        f'<div class="tools"><label for="{ids}">Tool</label><select id="{ids}"><option value="">all</option>{options}'
        f"</select>{turns}{key}</div>"
    )


def _views(place: int, drawing: "Drawing") -> str:
    path = drawing.path
    if path is None:
        return ""
    side = _side(drawing)
    figures = "".join(
        f'<figure><svg viewBox="0 0 420 320" role="img" aria-label="{text(f"{side}: {title}. {_extents(drawing)}")}" '
        f'data-view="{view}" data-side="{place}"></svg><figcaption>{text(side)}: {text(title)}</figcaption></figure>'
        for view, title in (_LATHE if path.lathe else _MILL)
    )
    beside = "".join(f"<p>{text(line)}</p>" for line in _beside(path))
    return f'<p>{text(f"{side}, {drawing.file}: {_extents(drawing)}")}</p>{beside}<div class="views">{figures}</div>'


def _beside(path: "ToolPath") -> "Iterable[str]":
    """What is not in the drawing."""
    left = path.rapids_left + path.feeds_left
    if left:
        yield f"{left} of {path.rapids + path.feeds} moves are not drawn: a place is not known."
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


def _side(drawing: "Drawing") -> str:
    return "After" if drawing.side == "after" else "Before"


def _box(paths: "Sequence[ToolPath]") -> list[float]:
    points = [point for path in paths for strand in path.strands for point in strand.points]
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
