"""The tools of a section proof: as the programs name them, and which come later.

A proof of some tools' sections is worth something for those sections alone. Later tools that cut the same feature lie
on top of what was changed, so the person is asked about them.
"""

from collections.abc import Iterable, Mapping, Sequence

from tracker.errors import BadCall
from tracker.nc.compare_tools import tool_changes
from tracker.nc.scan import canonical
from tracker.policy.steps import tool_key
from tracker.records.problems import nearest_fix
from tracker.records.shop import Shop
from tracker.services.desk import Desk
from tracker.services.difference import is_lathe
from tracker.services.revision_text import RevisionText, revision_text
from tracker.services.target import Target


def split_tools(text: str | None) -> tuple[str, ...]:
    """``5,6`` and ``T5 T6`` as a list."""
    return tuple(one for one in (text or "").replace(",", " ").split() if one)


def usual_tools(desk: Desk, found: Target, tools: Sequence[str]) -> tuple[str, ...]:
    """The tools as the programs name them, in the order they cut; raises BadCall (``unknown-tool``)."""
    if not tools:
        return ()
    known = tools_of(found.shop, revision_text(desk.repo, found.stored))
    chosen = {_known_as(tool, known) for tool in tools}
    return tuple(name for name in known if name in chosen)


def later_tools(desk: Desk, found: Target, tools: Iterable[str]) -> tuple[str, ...]:
    """Tools that cut after the first of ``tools`` and are none of them."""
    known = list(tools_of(found.shop, revision_text(desk.repo, found.stored)))
    named = {tool_key(tool) for tool in tools}
    places = [place for place, tool in enumerate(known) if tool_key(tool) in named]
    after = known[min(places) + 1 :] if places else []
    return tuple(tool for tool in after if tool_key(tool) not in named)


def tools_of(shop: Shop, text: RevisionText) -> Mapping[str, tuple[str, ...]]:
    """Tools in the order they are changed to, the main program's first, then those only the sheet names.

    Each with the numbers a person may mean by it: of a turret's ``0101`` also ``1``, since the last two figures are the
    offset (common practice, no source).
    """
    lathe = text.operation is not None and is_lathe(shop, text.operation)
    found: dict[str, tuple[str, ...]] = {}
    for program in text.programs:
        for change in tool_changes(canonical(program.data)):
            if change.tool is not None and tool_key(change.tool) not in map(tool_key, found):
                station = (tool_key(change.tool[:-2]),) if lathe and len(change.tool) > 2 else ()
                found[change.tool] = (tool_key(change.tool), *station)
    meant = {number for numbers in found.values() for number in numbers}
    for tool in text.operation.tools if text.operation else ():
        if str(tool.number) not in meant:
            found[str(tool.number)] = (str(tool.number),)
    return found


def _known_as(tool: str, known: Mapping[str, tuple[str, ...]]) -> str:
    key = tool_key(tool)
    for place in range(2):  # its own number first, then the station it is on
        for name, numbers in known.items():
            if key in numbers[place : place + 1]:
                return name
    raise BadCall(
        "unknown-tool",
        f"there is no tool {tool!r} in this operation",
        fix=nearest_fix(tool, known, "tools"),
    )
