"""Whose id line a text carries: it is what is read back at the machine, so it has to be one of the text's own."""

import re
from collections.abc import Iterable, Sequence

from tracker.policy.find import label
from tracker.services.known import Known, KnownTexts

DIGITS = re.compile(rb"(?i)[(;]\s*ID\s*([0-9A-F]{8})\b")
"""The 8 digits of an id line, as a control leaves them."""


def whose_id(known: KnownTexts, marks: Iterable[str], texts: Sequence[Known]) -> str | None:
    """``4471/op20 r1``, where an id line is of another text than ``texts``, which have this code; else None.

    One that no record has is nobody's: `KnownTexts.strange_mark` tells it.
    """
    for mark in marks:
        others = known.by_mark(mark)
        if others and not any(one in texts for one in others):
            text = others[-1]
            return f"{text.job}/{text.operation} {label(text.stored.name)}"
    return None
