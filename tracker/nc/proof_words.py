"""The comment by which a shop says that a program is good: ``(PROOFED KP 3-11-26)``.

It is a hint and no more: whoever edits the program carries the comment along. Words, initials and dates as shops write
them (common practice, no source).
"""

from collections.abc import Iterable, Iterator

from tracker.frozen import dataclass
from tracker.patterns import lazy_pattern

_WORDS = lazy_pattern(
    r"(?i)\b(?:PROOFED|PROVEN|PROVED|PROOF(?:ED)?[ -]?OUT|PROVE[DN]?[ -]?OUT|FIRST PIECE (?:OK|GOOD))\b"
)
_NOT = lazy_pattern(
    r"(?i)\b(?:NOT|UN|NEVER|NO)[ -]?(?:YET )?(?:PROOFED|PROVEN|PROVED)|\bUNPROVEN\b|\bFOR PROVE"
)
_DATE = lazy_pattern(
    r"\b(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}|\d{1,2}[ -]?(?i:JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC)[A-Za-z]*[ -]?\d{2,4})\b"
)
_INITIALS = lazy_pattern(r"\b[A-Z]{2,3}\b|\b[A-Z]\.[A-Z]\.")
_NO_INITIALS = frozenset(
    {"BY", "ON", "OK", "OUT", "THE", "REV", "OP", "AT", "PROVEN", "AND", "FOR", "MM", "IN", "NO"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofWords:
    """``text`` of the comment, and what in it looks like initials and a date; None where nothing does."""

    text: str
    initials: str | None
    date: str | None


def proof_words(comments: Iterable[str]) -> Iterator[ProofWords]:
    """The comments that say so, in order."""
    for comment in comments:
        said = _WORDS.search(comment)
        if said is None or _NOT.search(comment):
            continue
        date = _DATE.search(comment)
        rest = comment[: said.start()] + " " + comment[said.end() :]
        rest = rest.replace(date[0], " ") if date else rest
        initials = next(
            (one[0] for one in _INITIALS.finditer(rest.upper()) if one[0] not in _NO_INITIALS), None
        )
        yield ProofWords(text=" ".join(comment.split()), initials=initials, date=date[0] if date else None)
