"""How two texts of an operation differ: program by program, and sheet by sheet.

Programs are paired main with main, then by path, by O number, by file name; what is left was added or removed. A
program with another file name is ``program-number``: it is called something else, and the fingerprint covers names.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tracker.nc import kinds as k
from tracker.nc.compare import Comparison, compare
from tracker.records.job import Job, Operation
from tracker.records.sheet import sheet_kinds
from tracker.records.shop import Shop
from tracker.services.changed_sections import (
    called_programs,
    joined,
    program_sections,
    sheet_sections,
)
from tracker.services.comparing_files import is_quiet
from tracker.services.program_text import ProgramText

Called = tuple[Mapping[int, bytes], Mapping[int, bytes]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The two sides of one program; one side is None when it was added or removed."""

    old: ProgramText | None
    new: ProgramText | None
    comparison: Comparison | None = None
    renamed: bool = False

    @property
    def name(self) -> str:
        """The file's name, the new one where it changed."""
        side = self.new or self.old
        return side.name if side else ""

    @property
    def kinds(self) -> frozenset[str]:
        """Raw kinds of change of this program."""
        if self.new is None:
            return frozenset({k.PROGRAM_REMOVED})
        if self.old is None:
            return frozenset({k.PROGRAM_ADDED})
        found = frozenset(self.comparison.kinds) if self.comparison else frozenset()
        return found | {k.PROGRAM_NUMBER} if self.renamed else found


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """All of it. ``sections``: tools whose sections changed, None for all."""

    pairs: tuple[Pair, ...]
    sheet: tuple[str, ...] = ()
    sections: tuple[str, ...] | None = ()

    @property
    def slower(self) -> float | None:
        """As in a record's origin: None where one of the programs that changed F or S cannot be judged."""
        return _slower(self.pairs)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Raw kinds of programs and sheet, sorted by name."""
        found = set(self.sheet)
        for pair in self.pairs:
            found |= pair.kinds
        return tuple(sorted(found))


def pairs(
    old: Sequence[ProgramText], new: Sequence[ProgramText], *, strict: bool = False, lathe: bool | None = None
) -> tuple[Pair, ...]:
    """Every program of either side with its counterpart, in the order of ``new``, removed ones last."""
    left = list(old)
    found: list[tuple[ProgramText | None, ProgramText | None]] = []
    partners = _partners(left, new)
    for program in new:
        partner = partners.get(program.path)
        found.append((partner, program))
        if partner is not None:
            left.remove(partner)
    found += [(program, None) for program in left]
    called = (called_programs(old) or {}, called_programs(new) or {})
    return tuple(_pair(a, b, called, strict=strict, lathe=lathe) for a, b in found)


def difference(
    old: Sequence[ProgramText],
    new: Sequence[ProgramText],
    *,
    old_sheet: tuple[Job, Operation],
    new_sheet: tuple[Job, Operation],
    strict: bool,
    lathe: bool | None,
) -> Difference:
    """The difference of two whole operations, ``old`` and ``new`` with the main program first."""
    compared = pairs(old, new, strict=strict, lathe=lathe)
    sheet, tools = sheet_kinds(*old_sheet, *new_sheet)
    return Difference(
        pairs=compared,
        sheet=tuple(sheet),
        sections=joined(
            _of_programs(old, new, compared, strict=strict),
            sheet_sections(new[0].data, tools, lathe=_reads_as_lathe(compared)) if new else None,
        ),
    )


def is_lathe(shop: Shop, operation: Operation) -> bool | None:
    """Whether the operation's machines are lathes; None when they differ or none is known."""
    types = {machine.type for name in operation.machines if (machine := shop.machine(name))}
    return types == {"lathe"} if len(types) == 1 else None


def _partners(old: Sequence[ProgramText], new: Sequence[ProgramText]) -> dict[str, ProgramText]:
    """Path of a new program -> its old counterpart."""
    found: dict[str, ProgramText] = {}
    if old and new:
        found[new[0].path] = old[0]
    left = list(old[1:])
    for same in (_same_path, _same_number, _same_name):
        for program in new[1:]:
            if program.path in found:
                continue
            partner = next((other for other in left if same(other, program)), None)
            if partner is not None:
                found[program.path] = partner
                left.remove(partner)
    return found


def _same_path(a: ProgramText, b: ProgramText) -> bool:
    return a.path == b.path


def _same_number(a: ProgramText, b: ProgramText) -> bool:
    return a.number is not None and a.number == b.number


def _same_name(a: ProgramText, b: ProgramText) -> bool:
    return a.name.upper() == b.name.upper()


def _pair(
    old: ProgramText | None,
    new: ProgramText | None,
    called: Called,
    *,
    strict: bool,
    lathe: bool | None,
) -> Pair:
    if old is None or new is None:
        return Pair(old=old, new=new)
    before, after = called
    found = compare(old.data, new.data, strict=strict, lathe=lathe, called=after, called_before=before)
    if not found.same_code and is_quiet(found.kinds):
        from tracker.services.effect import guarded  # runs both programs: only where the kinds ask for it

        found = guarded(found, old.data, new.data, called=called)
    return Pair(old=old, new=new, comparison=found, renamed=old.name.upper() != new.name.upper())


def _of_programs(
    old: Sequence[ProgramText], new: Sequence[ProgramText], compared: Sequence[Pair], *, strict: bool
) -> tuple[str, ...] | None:
    """Sections touched by changes of programs; all of them when one was added, removed or renamed."""
    changed = [pair for pair in compared if not pair.kinds <= k.TEXT_ONLY]
    if not changed:
        return ()
    main = compared[0].comparison if compared else None
    whole = any(pair.old is None or pair.new is None or pair.renamed for pair in changed)
    if whole or main is None:
        return None
    called = [(p.old, p.new) for p in changed if p is not compared[0] and p.old and p.new]
    return program_sections(old, new, called, main, strict=strict)


def _reads_as_lathe(compared: Sequence[Pair]) -> bool:
    return bool(compared and compared[0].comparison and compared[0].comparison.lathe)


def _slower(compared: Sequence[Pair]) -> float | None:
    """The lowest ratio of all programs whose F or S changed; None where one of them cannot be judged."""
    ratios: list[float] = []
    for pair in compared:
        if pair.comparison is None or not pair.kinds & {k.FEED, k.SPEED}:
            continue
        if pair.comparison.slower is None:
            return None
        ratios.append(pair.comparison.slower)
    return min(ratios, default=None)
