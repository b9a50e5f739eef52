"""What changed in what the machine does, beside the text: the two summaries of every program whose code differs."""

from collections.abc import Mapping

from tracker.frozen import dataclass, replace
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary, ToolSummary
from tracker.nc import kinds as k
from tracker.nc.compare_change import Change, Comparison


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """A program by its file's name, and what it did and does."""

    file: str
    old: Summary
    new: Summary

    @property
    def differs(self) -> bool:
        """Whether a figure is another one; where the tools stand in the text does not count."""
        return figures(self.old) != figures(self.new)


def effect(file: str, old: bytes, new: bytes, before: Setting, after: Setting) -> Effect:
    """The effect of one program's change; the settings hold what it calls on either side."""
    return Effect(file=file, old=summarise(old, before), new=summarise(new, after))


def plain_effect(
    file: str,
    old: bytes,
    new: bytes,
    *,
    lathe: bool | None = None,
    called: tuple[Mapping[int, bytes], Mapping[int, bytes]] = ({}, {}),
) -> Effect:
    """The same where no machine is known."""
    before, after = (Setting(lathe=lathe, called=one.get) for one in called)
    return effect(file, old, new, before, after)


def guarded(
    comparison: Comparison,
    old: bytes,
    new: bytes,
    *,
    called: tuple[Mapping[int, bytes], Mapping[int, bytes]] = ({}, {}),
) -> Comparison:
    """The comparison with ``other``, where its kinds say that the machine does the same and it does not.

    Asked of comparisons whose kinds say so; of all others the kinds explain the effect.
    """
    if not plain_effect("", old, new, lathe=comparison.lathe, called=called).differs:
        return comparison
    change = Change(kind=k.OTHER, tool=None, old=None, new=None)
    kinds = tuple(sorted({*comparison.kinds, k.OTHER}))
    return replace(comparison, kinds=kinds, changes=(change, *comparison.changes))


def figures(summary: Summary) -> tuple[object, ...]:
    """What of a summary says what the machine does, to six digits behind the point."""
    return (
        summary.units,
        tuple(_tool(tool) for tool in summary.tools),
        summary.order,
        _even(summary.dwell_minutes),
    )


def _tool(tool: ToolSummary) -> tuple[object, ...]:
    spans = [None if span is None else tuple(map(_even, span)) for span in (tool.x, tool.y, tool.z)]
    figures = (tool.cutting_length, tool.rapid_length, tool.cutting_minutes, tool.lowest_rapid)
    speeds = (tool.rpm_min, tool.rpm_max, tool.feed_min, tool.feed_max, tool.feed_mode)
    return (tool.tool, tool.h, tool.d, tool.offsets, *spans, *map(_even, figures), *speeds, tool.holes)


def _even(figure: float | None) -> float | None:
    return None if figure is None else round(figure, 6)
