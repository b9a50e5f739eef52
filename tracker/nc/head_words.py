"""What the comments at the head of a program say of its drawing and material, in the words shops write them.

Common practice, no source: ``(DRAWING 4471 REV C)``, ``(DWG NO. 88-1)``, ``(MATERIAL: 6061-T6)``, ``(PIVOT PLATE)`` on the O line.
"""

from collections.abc import Iterable

from tracker.frozen import dataclass
from tracker.patterns import lazy_pattern

DRAWING = lazy_pattern(
    r"(?i)\b(?:DRAWING|DWG|DRG|ZEICHNUNG)\b\.?[ \t]*(?:(?:NUMBER|NO|NR)\b\.?)?[ \t]*[:=#]?[ \t]*(?P<number>(?!(?:REVISION|REV|ISSUE|ISS)\b)[A-Z0-9][\w./-]*)?"
    r"(?:[ \t,;]*\b(?:REVISION|REV|ISSUE|ISS)\b\.?[ \t]*[:=]?[ \t]*(?P<revision>[A-Z0-9][\w.-]*))?[ \t]*[,;.]?"
)
MATERIAL = lazy_pattern(r"(?i)\b(?:MATERIAL|MATL|WERKSTOFF)\b\.?[ \t]*[:=]?[ \t]*(?P<rest>.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadWords:
    """What a head says; None where it says nothing. ``title``: its first comment that says none of the rest."""

    drawing: str | None = None
    drawing_revision: str | None = None
    material: str | None = None
    title: str | None = None


def speaks(said: str | None) -> bool:
    """Whether it is a number or a letter of a revision, and no word of a sentence."""
    return said is not None and (any(mark.isdigit() for mark in said) or len(said) <= 2)


def head_words(comments: Iterable[str]) -> HeadWords:
    """Read the comments of a head; of several that say the same thing the first one counts."""
    found: dict[str, str] = {}
    for comment in comments:
        text = " ".join(comment.split())
        drawing, material = DRAWING.search(text), MATERIAL.search(text)
        if drawing:
            if drawing["number"] and any(mark.isdigit() for mark in drawing["number"]):
                found.setdefault("drawing", drawing["number"])
            if speaks(drawing["revision"]):
                found.setdefault("drawing_revision", drawing["revision"])
        if material and material["rest"].strip(" .:="):
            found.setdefault("material", material["rest"].strip())
        if text and not drawing and not material:
            found.setdefault("title", text)
    return HeadWords(**found)
