"""What changed in what the machine does, tool by tool: was and is, and only what is another figure."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tracker.reports.summary import between, figure, minutes, reach, summary_json
from tracker.reports.table import say, visible, wrapped

if TYPE_CHECKING:
    from tracker.machining.summary import Summary, ToolSummary
    from tracker.reports.screen import Screen
    from tracker.services.effect import Effect

Rows = Iterator[tuple[str, str]]
_MOST = 30  # a long list of offsets is no reason to push every other figure aside
NO_EFFECT = "No difference found"
LOOKED_AT = "extents, depths, speeds, feeds, lengths, minutes"
NOT_WHOLE = "Not everything could be followed: lengths and minutes are at least those shown."


def effect_json(effect: "Effect") -> dict[str, object]:
    """``file`` and the two summaries."""
    return {"file": effect.file, "old": summary_json(effect.old), "new": summary_json(effect.new)}


def print_effect(effect: "Effect", console: "Screen") -> None:
    """The rows that differ; a sentence where none does."""
    rows = changed_figures(effect)
    if rows:
        units = {effect.old.units, effect.new.units}
        lengths = f", lengths in {units.pop()}" if len(units) == 1 and None not in units else ""
        say(console, f"What {visible(effect.file)} does{lengths}, was -> is:")
    else:
        wrapped(console, f"{NO_EFFECT} in what {effect.file} does: {LOOKED_AT}.")
    before, wide = None, max((len(visible(was)) for _, _, was, _ in rows), default=0)
    for title, name, was, now in rows:
        start = f"  {'' if title == before else title:<6}{name:<14}"
        say(console, f"{start}{visible(was):<{min(wide, _MOST)}} -> {visible(now)}")
        before = title
    if effect.old.not_followed or effect.new.not_followed:
        wrapped(console, NOT_WHOLE, "  ")


def changed_figures(effect: "Effect") -> list[tuple[str, str, str, str]]:
    """Tool or ``whole``, figure, was, is; only what is another figure."""
    return [
        (title, name, was, now)
        for title, old, new in _sides(effect.old, effect.new)
        for name, was, now in _both(old, new)
        if was != now
    ]


def _sides(old: "Summary", new: "Summary") -> Iterator[tuple[str, dict[str, str], dict[str, str]]]:
    """Every tool of either side, then the whole."""
    before = {tool.tool: tool for tool in old.tools}
    after = {tool.tool: tool for tool in new.tools}
    for tool in dict.fromkeys((*after, *before)):
        title = f"T{tool}" if tool else "none"
        one, other = before.get(tool), after.get(tool)
        yield title, dict(_rows(one, old)) if one else {}, dict(_rows(other, new)) if other else {}
    yield "whole", dict(_whole(old)), dict(_whole(new))


def _both(old: dict[str, str], new: dict[str, str]) -> Iterator[tuple[str, str, str]]:
    if not old or not new:
        yield "tool", "in use" if old else "not used", "in use" if new else "not used"
        return
    for name in dict.fromkeys((*new, *old)):
        yield name, old.get(name, "-"), new.get(name, "-")


def _rows(tool: "ToolSummary", summary: "Summary") -> Rows:
    units = summary.units
    for axis, span in (("X", tool.x), ("Y", tool.y), ("Z", tool.z)):
        yield axis, "-" if span is None else reach(span, units)
    yield "deepest cut", figure(tool.deepest_cut, units)
    yield "lowest rapid", figure(tool.lowest_rapid, units)
    yield "speed", between(tool.rpm_min, tool.rpm_max, digits=0)
    yield "feed", between(tool.feed_min, tool.feed_max, digits=4)
    yield "cut", figure(tool.cutting_length, units)
    yield "rapid", figure(tool.rapid_length, units)
    yield "minutes", minutes(tool.cutting_minutes)
    yield "holes", str(tool.holes)
    yield "offsets", " ".join(tool.offsets) or "-"
    yield "H", " ".join(map(str, tool.h)) or "-"
    yield "D", " ".join(map(str, tool.d)) or "-"


def _whole(summary: "Summary") -> Rows:
    yield "units", summary.units or "not stated"
    yield "tools", " ".join(f"T{tool}" for tool in summary.order) or "-"
    yield "cut", figure(summary.cutting_length, summary.units)
    yield "rapid", figure(summary.rapid_length, summary.units)
    yield "minutes", minutes(summary.cutting_minutes)
    yield "waiting", minutes(summary.dwell_minutes)
