"""Kinds of change: their names, their order, and one sentence each.

The order is the order of judgement: inside a changed block the first kind that fits a word is its kind. The first
three never touch the code, so that the fingerprint stays. Kinds are kept raw in records (``feed`` and ``speed``);
``slower`` is read into them only on screens and where standing is judged.
"""

from collections.abc import Mapping
from types import MappingProxyType

NUMBERING = "numbering"
WORDING = "wording"
FORMAT = "format"
FLOW = "flow"
PROGRAM_NUMBER = "program-number"
STOP_REMOVED = "stop-removed"
STOP = "stop"
TOOL = "tool"
PRECALL = "precall"
OFFSET = "offset"
FEED = "feed"
SPEED = "speed"
SLOWER = "slower"
MODE = "mode"
COOLANT = "coolant"
DWELL = "dwell"
MOTION = "motion"
OTHER = "other"
PROGRAM_ADDED = "program-added"
PROGRAM_REMOVED = "program-removed"
POST = "post"
SHEET_TOOL = "sheet-tool"
SHEET_OFFSET = "sheet-offset"
DRAWING = "drawing"
SHEET_TEXT = "sheet-text"

SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        NUMBERING: "Line numbers changed, and nothing jumps to one that changed its meaning.",
        WORDING: "Comments changed that no control acts on.",
        FORMAT: "Only the way the same code is written changed: blanks, case, zeros, line ends, % signs.",
        FLOW: "What runs, how often or in what order changed: jumps, calls, loops, variables, block skip, the end.",
        PROGRAM_NUMBER: "The number or name the program is stored under in the control changed.",
        STOP_REMOVED: "A stop the operator relied on is gone or became optional, or its instruction changed.",
        STOP: "A stop was added, or an optional stop added or taken away.",
        TOOL: "A tool that is changed to, a length or radius offset number, or tool data changed.",
        PRECALL: "A T word that only gets the next tool ready changed; no tool change takes another tool by it.",
        OFFSET: "Where the program's zero lies changed: work offset, shift, rotation, scaling, home return.",
        FEED: "A feed changed.",
        SPEED: "Spindle speed, direction or the way speed is held changed.",
        SLOWER: "Every changed feed and speed is lower, within the shop's percentage, outside tapping and threading.",
        MODE: "How words are read changed: plane, units, absolute or incremental, feed mode, path mode, retract.",
        COOLANT: "Coolant was switched at another place or in another way.",
        DWELL: "A waiting time changed.",
        MOTION: "Where the tool goes changed: axis, arc and cycle words.",
        OTHER: "Something changed that fits no other kind, or whose effect the other kinds do not explain.",
        PROGRAM_ADDED: "A program was added to what the operation runs.",
        PROGRAM_REMOVED: "A program was taken from what the operation runs.",
        POST: "Another post-processor, or another version of it, wrote the program.",
        SHEET_TOOL: "A tool's figures on the setup sheet changed.",
        SHEET_OFFSET: "Fixture, clearance, units, stock, speed limit or work offsets on the setup sheet changed.",
        DRAWING: "The drawing or its revision changed.",
        SHEET_TEXT: "A tool's description or insert on the setup sheet changed.",
    }
)
"""Kind -> what it says, for a person."""

KINDS: tuple[str, ...] = tuple(SENTENCES)
"""Every kind, in the order of judgement."""

TEXT_ONLY: frozenset[str] = frozenset({NUMBERING, WORDING, FORMAT})
"""Kinds that leave the fingerprint alone."""

CODE: frozenset[str] = frozenset(
    {
        FLOW,
        PROGRAM_NUMBER,
        STOP_REMOVED,
        STOP,
        TOOL,
        PRECALL,
        OFFSET,
        FEED,
        SPEED,
        MODE,
        COOLANT,
        DWELL,
        MOTION,
        OTHER,
    }
)
"""Kinds a comparison of two texts can give for a changed block."""

SHEET: frozenset[str] = frozenset({SHEET_TOOL, SHEET_OFFSET, DRAWING, SHEET_TEXT})
"""Kinds of change of the setup sheet; found where the sheet is read, not here."""

FULL_PROOF: frozenset[str] = frozenset(
    {FLOW, MODE, PROGRAM_NUMBER, PROGRAM_ADDED, PROGRAM_REMOVED, POST, OTHER}
)
"""Kinds over which nothing carries: the whole program is proved again."""

_PLACE: Mapping[str, int] = MappingProxyType({kind: place for place, kind in enumerate(KINDS)})


def in_order(kinds: frozenset[str] | set[str]) -> tuple[str, ...]:
    """Kinds in the order of judgement; unknown ones (of a newer version) last, by name."""
    return tuple(sorted(kinds, key=lambda kind: (_PLACE.get(kind, len(KINDS)), kind)))
