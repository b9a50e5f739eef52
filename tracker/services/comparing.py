"""``compare``: how two texts differ, of files anywhere or of revisions.

Two plain files are compared by themselves: what is ``slower`` is judged against the older file with 20 per cent, and
programs that either may call are not looked at. Of two revisions every program and the setup sheet are compared, with
the shop's percentage. A file and a revision: the file stands in for the program of the revision it is named like,
numbered like, or else for the main program.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tracker.errors import CouldNot
from tracker.nc import kinds as k
from tracker.nc.calls import calls
from tracker.nc.compare import Side, slower_applies
from tracker.records.job import Job, Operation
from tracker.records.shop import Shop
from tracker.services.call_lookup import numbers_of
from tracker.services.difference import Difference, Pair, difference, is_lathe, pairs
from tracker.services.program_text import ProgramText
from tracker.services.sheet_words import sheet_words

if TYPE_CHECKING:
    from tracker.services.revision_text import RevisionText

PLAIN_PERCENT = 20.0
SHEET_FILE = "job.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownChange:
    """One change as shown: ``file`` by its name; ``words`` says it where there is no line to show."""

    kind: str
    file: str
    tool: str | None = None
    old: Side | None = None
    new: Side | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareReport:
    """What was found.

    ``same_code``: the programs are the same code; ``same_bytes``: and equal to the last byte, sheet included.
    ``kinds`` as shown (``slower`` where that is true), sorted.
    """

    old: str
    new: str
    same_code: bool
    same_bytes: bool
    kinds: tuple[str, ...]
    changes: tuple[ShownChange, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainFile:
    """A file as a person named it, with its bytes."""

    name: str
    data: bytes

    def program(self) -> ProgramText:
        """The same as a program without a place in a repository."""
        short = self.name.replace("\\", "/").rpartition("/")[2]
        return ProgramText(path=short, name=short, number=None, data=self.data)


def compare_files(old: PlainFile, new: PlainFile) -> CompareReport:
    """Two files, wherever they lie."""
    a, b = old.program(), new.program()
    (pair,) = pairs([a], [b])
    kinds, changes = _shown([pair], PLAIN_PERCENT, by_name=False)
    notes = list(pair.comparison.notes if pair.comparison else ())
    if k.NUMBERING in kinds and (calls(a.data) or calls(b.data)):
        notes.append(
            "line numbers changed, and programs are called that may come back to one; compare the whole operation"
        )
    return CompareReport(
        old=old.name,
        new=new.name,
        same_code=bool(pair.comparison and pair.comparison.same_code),
        same_bytes=a.data == b.data,
        kinds=kinds,
        changes=changes,
        notes=tuple(notes),
    )


def compare_revisions(
    shop: Shop, old: "RevisionText", new: "RevisionText", names: tuple[str, str]
) -> CompareReport:
    """Two revisions, programs and sheet; ``names`` as to be shown."""
    old_sheet, new_sheet = old.sheet, new.sheet
    if old_sheet is None or new_sheet is None:
        found = Difference(pairs=pairs(old.programs, new.programs, strict=_strict(old, new)))
    else:
        found = difference(
            old.programs,
            new.programs,
            old_sheet=old_sheet,
            new_sheet=new_sheet,
            strict=_strict(old, new),
            lathe=is_lathe(shop, new_sheet[1]),
        )
    notes = [f"{path} of {names[0]} could not be read back" for path in old.lost]
    notes += [f"{path} of {names[1]} could not be read back" for path in new.lost]
    if old_sheet is None or new_sheet is None:
        notes.append("the setup sheets could not be read back and are not compared")
    report = _whole(found, names, shop.policy.slower_percent)
    posts = {r.record.post for r in (old, new)}
    kinds, changes = set(report.kinds), list(report.changes)
    if len(posts) == 2 and None not in posts:
        kinds.add(k.POST)
        changes.append(
            ShownChange(
                kind=k.POST,
                file=new.programs[0].name if new.programs else "",
                words=f"was {old.record.post}, is {new.record.post}",
            )
        )
    if old_sheet and new_sheet:
        changes += _sheet_changes(found, old_sheet, new_sheet)
    return CompareReport(
        old=report.old,
        new=report.new,
        same_code=report.same_code and not notes,
        same_bytes=report.same_bytes and not found.sheet and not notes,
        kinds=tuple(sorted(kinds)),
        changes=tuple(changes),
        notes=tuple(notes),
    )


def compare_mixed(
    shop: Shop, revision: "RevisionText", file: PlainFile, names: tuple[str, str], *, file_is_new: bool
) -> CompareReport:
    """A revision's program and a file; ``names`` of the older and the newer side."""
    mine = _like(revision, file)
    theirs = file.program()
    sides = (mine, theirs) if file_is_new else (theirs, mine)
    lathe = is_lathe(shop, revision.operation) if revision.operation else None
    compared = pairs([sides[0]], [sides[1]], strict=revision.record.strict, lathe=lathe)
    found = Difference(pairs=tuple(_unrenamed(pair) for pair in compared))
    report = _whole(found, names, shop.policy.slower_percent)
    others = len(revision.programs) - 1
    if not others:
        return report
    note = f"only {mine.name} was compared, not the {others} other program{'s' if others > 1 else ''}"
    return replace(report, notes=(note,))


def _whole(found: Difference, names: tuple[str, str], percent: float) -> CompareReport:
    kinds, changes = _shown(found.pairs, percent, slower=found.slower)
    return CompareReport(
        old=names[0],
        new=names[1],
        same_code=all(pair.kinds <= k.TEXT_ONLY for pair in found.pairs),
        same_bytes=all(
            pair.old and pair.new and pair.old.data == pair.new.data and not pair.renamed
            for pair in found.pairs
        ),
        kinds=tuple(sorted({*kinds, *found.sheet})),
        changes=changes,
    )


def _shown(
    compared: Sequence[Pair], percent: float, *, slower: float | None = None, by_name: bool = True
) -> tuple[tuple[str, ...], tuple[ShownChange, ...]]:
    """Kinds and changes with ``slower`` read into them where every program allows it."""
    if not by_name and compared and compared[0].comparison:
        slower = compared[0].comparison.slower
    is_slower = slower_applies(slower, percent)
    kinds: set[str] = set()
    changes: list[ShownChange] = []
    for pair in compared:
        own = pair.kinds if by_name else frozenset(pair.comparison.kinds if pair.comparison else ())
        kinds |= {_as_slower(kind, is_slower) for kind in own}
        if pair.comparison is None:
            words = "not in the older one" if pair.old is None else "not in the newer one"
            changes += [ShownChange(kind=kind, file=pair.name, words=words) for kind in sorted(own)]
            continue
        if by_name and pair.renamed and pair.old:
            words = f"was called {pair.old.name}"
            changes.append(ShownChange(kind=k.PROGRAM_NUMBER, file=pair.name, words=words))
        changes += [
            ShownChange(kind=_as_slower(c.kind, is_slower), file=pair.name, tool=c.tool, old=c.old, new=c.new)
            for c in pair.comparison.changes
        ]
    return tuple(sorted(kinds)), tuple(dict.fromkeys(changes))


def _as_slower(kind: str, is_slower: bool) -> str:
    return k.SLOWER if is_slower and kind in (k.FEED, k.SPEED) else kind


def _sheet_changes(
    found: Difference, old: tuple[Job, Operation], new: tuple[Job, Operation]
) -> list[ShownChange]:
    """The sheet's kinds, each with the values behind it; a kind none of them explains stands alone."""
    said = [
        ShownChange(kind=change.kind, file=SHEET_FILE, tool=change.tool, words=change.words)
        for change in sheet_words(old, new)
        if change.kind in found.sheet
    ]
    silent = set(found.sheet) - {change.kind for change in said}
    return said + [ShownChange(kind=kind, file=SHEET_FILE) for kind in sorted(silent)]


def _like(revision: "RevisionText", file: PlainFile) -> ProgramText:
    """The program of a revision a file is compared with; raises CouldNot when it cannot be read back."""
    theirs = file.program()
    numbers = set(numbers_of(theirs.path, file.data))
    by_name = [p for p in revision.programs if p.name.upper() == theirs.name.upper()]
    by_number = [p for p in revision.programs if p.number is not None and p.number in numbers]
    found = (by_name or by_number or list(revision.programs))[:1]
    if not found:
        raise CouldNot(
            "damaged",
            "no program of this revision could be read back",
            where=revision.stored.path,
            fix="run proveout audit",
        )
    return found[0]


def _unrenamed(pair: Pair) -> Pair:
    """A file somewhere else may be called anything."""
    return replace(pair, renamed=False)


def _strict(old: "RevisionText", new: "RevisionText") -> bool:
    return old.record.strict or new.record.strict
