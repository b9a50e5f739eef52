"""The changes of a comparison by the place they stand at: one place may be a motion and a feed at once."""

from collections.abc import Iterable, Sequence

from tracker.frozen import dataclass, replace
from tracker.nc.compare_change import Side
from tracker.nc.kinds import TEXT_ONLY, in_order
from tracker.services.comparing_files import CompareReport, ShownChange
from tracker.services.program_text import ProgramText
from tracker.services.revision_text import RevisionText

MOST_PLACES = 300
"""Places that are listed one by one."""
AROUND = 2
"""Lines shown before and after one that changed."""

Line = tuple[int, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place where something changed.

    ``number`` counts from 1. ``kinds`` in the order of judgement. ``old`` and ``new`` are the lines, None where there is
    none; ``words`` say it where no line does. ``old_around`` and ``new_around`` are the lines about them.
    """

    number: int
    file: str
    tool: str | None
    kinds: tuple[str, ...]
    old: Side | None
    new: Side | None
    words: str | None = None
    old_around: tuple[Line, ...] = ()
    new_around: tuple[Line, ...] = ()


def places(report: CompareReport) -> tuple[Place, ...]:
    """Every place where code or the sheet changed, in the order of the newer text."""
    found: dict[tuple[object, ...], list[ShownChange]] = {}
    for change in report.changes:
        if change.kind not in TEXT_ONLY:
            key = (change.file, change.old, change.new, change.words, change.tool)
            found.setdefault(key, []).append(change)
    return tuple(
        Place(
            number=number,
            file=own[0].file,
            tool=own[0].tool,
            kinds=in_order({one.kind for one in own}),
            old=own[0].old,
            new=own[0].new,
            words=own[0].words,
        )
        for number, own in enumerate(found.values(), 1)
    )


def context(found: Iterable[Place], old: RevisionText | None, new: RevisionText) -> tuple[Place, ...]:
    """The same places with the lines about them."""
    before = _lines(old.programs if old is not None else ())
    after = _lines(new.programs)
    return tuple(
        replace(
            one,
            old_around=_around(before.get(one.file.upper(), ()), one.old),
            new_around=_around(after.get(one.file.upper(), ()), one.new),
        )
        for one in found
    )


def _lines(programs: Iterable[ProgramText]) -> dict[str, Sequence[bytes]]:
    return {program.name.upper(): program.data.split(b"\n") for program in programs}


def _around(lines: Sequence[bytes], side: Side | None) -> tuple[Line, ...]:
    if side is None:
        return ()
    first, last = max(side.line - AROUND, 1), min(side.line + AROUND, len(lines))
    return tuple((at, lines[at - 1].decode("latin-1").rstrip("\r")) for at in range(first, last + 1))
