"""What a run that could not be followed somewhere leaves uncomputed.

Where a call, a jump or a line could not be followed, nobody knows what is in force behind it: every rule that rests on
the run is then not computed in full. Where only a figure is not known, moves are missing or have no ends; rules that
look at blocks alone (which H, which units) have seen all there is. What is missing from lengths and minutes alone
touches no rule.
"""

import re

from tracker.machining.doubts import CALLED_SO
from tracker.machining.watch import Block
from tracker.nc.codes import PLAIN_G, PLAIN_M, code_of

BLOCKS, MOVES = "blocks", "moves"

_LENGTHS_ONLY = re.compile(r"minutes of |how long |.*(?:lengths|rapids) are without (?:it|them)")
_SHOWN_ONLY = re.compile(
    r"\W*(?:MSG|LOG|PRINT|DEBUG|AXIS,).*: a comment that some controls act on", re.IGNORECASE
)
# what opens like a statement of some controls and goes on like a sentence: no comparison, no jump, no number to call
_SENTENCE = re.compile(
    r"\W*(?:IF\b(?!.*(?:\b(?:EQ|NE|GT|LT|GE|LE|GOTO|THEN|CALL|RPT|RET|EXEC)\b|[=<>\[#]))|CALL +[A-Z]{3})"
    r".*: a comment that some controls act on",
    re.IGNORECASE,
)
_RUN_ENDS = re.compile(r"left after |.*(?:for ever|an alarm ends the run|word-address form)")
_FIGURES = frozenset("ABCDEFHIJKLPQRSTUVWXYZ")


def hidden_by(why: str, block: Block) -> str | None:
    """What stays hidden by something that was not followed: `BLOCKS`, `MOVES`, or None: nothing a rule asks for.

    ``why`` as in a not-followed event at ``block``. In doubt it hides blocks.
    """
    if hides_nothing(why):
        return None
    if _RUN_ENDS.match(why) or why.endswith(CALLED_SO) or not block.words:
        return BLOCKS
    return MOVES if all(_is_plain(word.letter, word.number) for word in block.words) else BLOCKS


def hides_nothing(why: str) -> bool:
    """Whether what was not followed touches nothing but lengths and minutes, or was only a comment."""
    return bool(_LENGTHS_ONLY.match(why) or _SHOWN_ONLY.match(why) or _SENTENCE.match(why))


def _is_plain(letter: str, number: str) -> bool:
    if letter == "G":
        return code_of(number) in PLAIN_G
    if letter == "M":
        return code_of(number) in PLAIN_M
    return letter.lstrip(",") in _FIGURES
