"""``compare``: how two texts differ, of files anywhere or of revisions.

Two plain files are compared by themselves (`tracker.services.comparing_files`). Of two revisions every program and the
setup sheet are compared, with the shop's percentage. A file and a revision: the file stands in for the program of the
revision it is named like, numbered like, or else for the main program.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from tracker.errors import CouldNot
from tracker.nc import kinds as k
from tracker.nc.compare import slower_applies
from tracker.policy.spelled import counted
from tracker.records.job import Job, Operation
from tracker.records.shop import Shop
from tracker.services.call_lookup import numbers_of
from tracker.services.comparing_files import (
    CompareReport,
    PlainFile,
    ShownChange,
    as_slower,
    compare_files,
    shown_changes,
)
from tracker.services.difference import Difference, Pair, difference, is_lathe, pairs
from tracker.services.effect import Effect
from tracker.services.effect_of_pairs import effects_of_pairs, plain_settings, settings_of
from tracker.services.paths import name_of
from tracker.services.program_text import ProgramText
from tracker.services.sheet_words import sheet_words
from tracker.services.tool_names import names_by_sheet

if TYPE_CHECKING:
    from tracker.services.revision_text import RevisionText

__all__ = [
    "CompareReport",
    "PlainFile",
    "ShownChange",
    "compare_files",
    "compare_mixed",
    "compare_revisions",
]

SHEET_FILE = "job.toml"


def compare_revisions(
    shop: Shop, old: "RevisionText", new: "RevisionText", names: tuple[str, str]
) -> CompareReport:
    """Two revisions, programs and sheet; ``names`` as to be shown."""
    sheets = old_sheet, new_sheet = _sheets(old, new)
    found = _difference(shop, old, new, sheets)
    notes = _not_compared(old, new, names, sheets)
    done = effects_of_pairs(found.pairs, settings_of(shop, old, new))
    report = _whole(found, names, shop.policy.slower_percent, done)
    kinds, changes = set(report.kinds), list(report.changes)
    changes += [
        ShownChange(kind=k.OTHER, file=name_of(path), words="could not be read back, and is not compared")
        for path in _lost(old, new)
    ]
    kinds |= {k.OTHER} if _lost(old, new) else set()
    post = _post_change(old, new)
    if post is not None:
        kinds.add(k.POST)
        changes.append(post)
    if old_sheet and new_sheet:
        changes += _sheet_changes(found, old_sheet, new_sheet)
    lathe = any(pair.comparison.lathe for pair in found.pairs if pair.comparison)
    return CompareReport(
        old=report.old,
        new=report.new,
        same_code=report.same_code and not notes,
        same_bytes=report.same_bytes and not found.sheet and not notes,
        kinds=tuple(sorted(kinds)),
        changes=tuple(changes),
        notes=tuple(notes),
        effect=done,
        tool_names=names_by_sheet(changes, (new.operation, old.operation), lathe=lathe),
    )


_Sheets = tuple[tuple[Job, Operation] | None, tuple[Job, Operation] | None]


def _lost(old: "RevisionText", new: "RevisionText") -> tuple[str, ...]:
    """Programs that cannot be read back on a side: neither added nor taken away, nobody can say what they were."""
    return tuple(dict.fromkeys((*old.lost, *new.lost)))


def _difference(shop: Shop, old: "RevisionText", new: "RevisionText", sheets: _Sheets) -> Difference:
    """Of what both sides hold; no other program stands in for one that is lost."""
    lost, strict = _lost(old, new), _strict(old, new)
    was, now = ([one for one in side.programs if one.path not in lost] for side in (old, new))
    old_sheet, new_sheet = sheets
    if old_sheet is None or new_sheet is None:
        return Difference(pairs=pairs(was, now, strict=strict))
    lathe = is_lathe(shop, new_sheet[1])
    return difference(was, now, old_sheet=old_sheet, new_sheet=new_sheet, strict=strict, lathe=lathe)


def _not_compared(
    old: "RevisionText", new: "RevisionText", names: tuple[str, str], sheets: _Sheets
) -> list[str]:
    notes = [f"{path} of {names[0]} could not be read back" for path in old.lost]
    notes += [f"{path} of {names[1]} could not be read back" for path in new.lost]
    if None in sheets:
        before = old.record.before is not None or new.record.before is not None
        why = "are not known from before the record" if before else "could not be read back"
        notes.append(f"the setup sheets {why} and are not compared")
    return notes


def _sheets(old: "RevisionText", new: "RevisionText") -> _Sheets:
    """The sheets to compare: none where one side alone is from before the record, which kept no sheet."""
    if (old.record.before is None) != (new.record.before is None):
        return None, None
    return old.sheet, new.sheet


def _post_change(old: "RevisionText", new: "RevisionText") -> ShownChange | None:
    """Another post-processor, or another version of it, where both texts name one."""
    was, now = old.record.post, new.record.post
    if was is None or now is None or was == now:
        return None
    file = new.programs[0].name if new.programs else ""
    return ShownChange(kind=k.POST, file=file, words=f"was {was}, is {now}")


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
    done = effects_of_pairs(found.pairs, plain_settings(sides, lathe))
    report = _whole(found, names, shop.policy.slower_percent, done)
    own = names_by_sheet(report.changes, (revision.operation,), lathe=bool(lathe))
    report = replace(report, tool_names=own)
    others = len(revision.programs) - 1
    if not others:
        return report
    note = f"only {mine.name} was compared, not the {counted(others, 'other program')}"
    return replace(report, notes=(note,))


def _whole(
    found: Difference, names: tuple[str, str], percent: float, done: tuple[Effect, ...]
) -> CompareReport:
    kinds, changes = _shown(found.pairs, percent, found.slower)
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
        effect=done,
    )


def _shown(
    compared: Sequence[Pair], percent: float, slower: float | None
) -> tuple[tuple[str, ...], tuple[ShownChange, ...]]:
    """Kinds and changes with ``slower`` read into them where every program allows it."""
    is_slower = slower_applies(slower, percent)
    kinds: set[str] = set()
    changes: list[ShownChange] = []
    for pair in compared:
        kinds |= {as_slower(kind, is_slower) for kind in pair.kinds}
        if pair.comparison is None:
            words = "not in the older one" if pair.old is None else "not in the newer one"
            changes += [ShownChange(kind=kind, file=pair.name, words=words) for kind in sorted(pair.kinds)]
            continue
        if pair.renamed and pair.old:
            words = f"was called {pair.old.name}"
            changes.append(ShownChange(kind=k.PROGRAM_NUMBER, file=pair.name, words=words))
        changes += shown_changes(pair.name, pair.comparison.changes, is_slower)
    return tuple(sorted(kinds)), tuple(dict.fromkeys(changes))


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
