"""``compare`` of what may hold several operations: releases, and what is meant for machines.

The texts of one operation on both sides are compared as two revisions are. What only one side has is said, never passed
over. With several operations the name of a file begins with its operation's: ``op10/O1001.nc``.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from tracker.errors import BadCall
from tracker.nc import kinds as k
from tracker.services.comparing import CompareReport, PlainFile, ShownChange, compare_mixed, compare_revisions

if TYPE_CHECKING:
    from tracker.records.shop import Shop
    from tracker.services.compare_sides import Texts
    from tracker.services.revision_text import RevisionText

Pairs = tuple[tuple[str, "RevisionText | None", "RevisionText | None"], ...]


def compare_texts(shop: "Shop", old: "Texts", new: "Texts") -> CompareReport:
    """Two sides, operation by operation; raises BadCall (``which-operation``)."""
    pairs = _pairs(old, new)
    several = len(pairs) > 1
    reports = [
        _named(report, f"{operation}/" if several else "")
        for operation, was, now in pairs
        for report in [_one(shop, operation, was, now, (old.name, new.name))]
    ]
    return CompareReport(
        old=old.name,
        new=new.name,
        same_code=all(one.same_code for one in reports),
        same_bytes=all(one.same_bytes for one in reports),
        kinds=tuple(sorted({kind for one in reports for kind in one.kinds})),
        changes=tuple(change for one in reports for change in one.changes),
        notes=(*old.notes, *new.notes, *(note for one in reports for note in one.notes)),
        effect=tuple(effect for one in reports for effect in one.effect),
        tool_names=tuple(name for one in reports for name in one.tool_names),
    )


def compare_with_file(shop: "Shop", side: "Texts", file: PlainFile, *, file_is_new: bool) -> CompareReport:
    """A side and a file: the file stands in for the program it is named like; raises BadCall (``which-operation``)."""
    named = [text for text in side.parts.values() if _holds(text, file.short)]
    found = named if len(side.parts) > 1 else [*side.parts.values()]
    if len(found) != 1:
        raise _which(side, f"{file.short} may be of any operation of {side.name}")
    names = (side.name, file.name) if file_is_new else (file.name, side.name)
    report = compare_mixed(shop, found[0], file, names, file_is_new=file_is_new)
    return replace(report, notes=(*side.notes, *report.notes))


def _pairs(old: "Texts", new: "Texts") -> Pairs:
    """Operation by operation; a single revision is set beside the other side's only or like-named text."""
    if len(old.parts) == len(new.parts) == 1:
        ((name, was),), ((_, now),) = old.parts.items(), new.parts.items()
        return ((name, was, now),)
    for one, other in ((old, new), (new, old)):
        if one.one:
            (name,) = one.parts
            if name not in other.parts:
                raise _which(other, f"{other.name} holds no {name}")
            return ((name, old.parts[name], new.parts[name]),)
    return tuple(
        (name, old.parts.get(name), new.parts.get(name)) for name in dict.fromkeys((*old.parts, *new.parts))
    )


def _one(
    shop: "Shop",
    operation: str,
    was: "RevisionText | None",
    now: "RevisionText | None",
    names: tuple[str, str],
) -> CompareReport:
    if was is not None and now is not None:
        return compare_revisions(shop, was, now, names)
    text, side = (now, names[0]) if was is None else (was, names[1])
    kind = k.PROGRAM_ADDED if was is None else k.PROGRAM_REMOVED
    changes = tuple(
        ShownChange(kind=kind, file=program.name, words=f"{side} holds no {operation}")
        for program in (text.programs if text else ())
    )
    return CompareReport(
        old=names[0], new=names[1], same_code=False, same_bytes=False, kinds=(kind,), changes=changes
    )


def _named(report: CompareReport, before: str) -> CompareReport:
    """The report with ``before`` in front of its files' names."""
    if not before:
        return report
    return replace(
        report,
        changes=tuple(replace(one, file=before + one.file) for one in report.changes),
        effect=tuple(replace(one, file=before + one.file) for one in report.effect),
        tool_names=tuple(replace(one, file=before + one.file) for one in report.tool_names),
        notes=tuple(f"{before.rstrip('/')}: {note}" for note in report.notes),
    )


def _holds(text: "RevisionText", name: str) -> bool:
    return any(program.name.upper() == name.upper() for program in text.programs)


def _which(side: "Texts", what: str) -> BadCall:
    return BadCall("which-operation", what, fix=f"name one of: {', '.join(_spelled(side.parts.values()))}")


def _spelled(texts: "Iterable[RevisionText]") -> Iterator[str]:
    from tracker.policy.find import label

    for text in texts:
        yield f"{text.record.job}/{text.record.operation}@{label(text.stored.name)}"
