"""Tools that are no cutters of the usual kind, by the words the sheet and the program have for them.

A probe is driven into the work with the spindle standing and no coolant; a broach is pushed through while the spindle
is held. The words are common practice, no source.
"""

import re

from tracker.machining.watch import Block
from tracker.records.job import Tool

_PROBE = re.compile(
    r"\bPROBE\b|TASTER\b|\bEDGE ?FINDER\b|\bTOUCH ?(?:OFF|PROBE)\b|\bINDICATOR\b", re.IGNORECASE
)
_BROACH = re.compile(r"(?<!ROTARY )\bBROACH(?:ING)?\b", re.IGNORECASE)


def is_probe(tool: Tool | None, change: Block | None) -> bool:
    """Whether the sheet's description, or a comment on the line of its change, calls it a probe."""
    return _called(_PROBE, tool, change)


def is_broach(tool: Tool | None, change: Block | None) -> bool:
    """The same for a broach that does not turn."""
    return _called(_BROACH, tool, change)


def _called(pattern: re.Pattern[str], tool: Tool | None, change: Block | None) -> bool:
    """The sheet's word counts before the program's."""
    if tool is not None and tool.description:
        return bool(pattern.search(tool.description))
    return change is not None and any(pattern.search(comment) for comment in change.comments)
