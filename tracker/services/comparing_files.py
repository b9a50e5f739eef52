"""How two plain files differ, and the report every comparison ends in.

``slower`` is judged against the older file with 20 per cent, and programs that either may call are not looked at.
Nothing of a repository is imported here: two files on a stick are compared in a moment.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tracker.frozen import dataclass
from tracker.nc import kinds as k
from tracker.nc import scan
from tracker.nc.compare import compare, slower_applies
from tracker.nc.compare_change import Change, Comparison, Side
from tracker.services.program_text import ProgramText

if TYPE_CHECKING:
    from tracker.services.effect import Effect

PLAIN_PERCENT = 20.0
CALLED_NOTE = (
    "line numbers changed, and programs are called that may come back to one; compare the whole operation"
)
MOST_SUMMED_UP = 40_000_000
"""Bytes of both files together up to which what they do is worked out unasked: beyond, it would take longer than the
comparison."""
TOO_LONG = "what these programs do was not summed up, they are long; summary FILE does it for each"
UNEXPLAINED = "what is run differs, and no changed word says how"
QUIET_KINDS = k.TEXT_ONLY | {k.PROGRAM_NUMBER, k.STOP, k.STOP_REMOVED, k.PRECALL, k.COOLANT}
"""Kinds that say that no way, feed or speed is another one."""


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
class ToolName:
    """What the T of one program is called on its setup sheet."""

    file: str
    tool: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareReport:
    """What was found.

    ``same_code``: the programs are the same code; ``same_bytes``: and equal to the last byte, sheet included.
    ``kinds`` as shown (``slower`` where that is true), sorted. ``effect``: what programs whose code differs did and do.
    ``tool_names``: of the tools that a change names, as far as a setup sheet knows them.
    """

    old: str
    new: str
    same_code: bool
    same_bytes: bool
    kinds: tuple[str, ...]
    changes: tuple[ShownChange, ...]
    notes: tuple[str, ...] = ()
    effect: "tuple[Effect, ...]" = ()
    tool_names: tuple[ToolName, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainFile:
    """A file as a person named it, with its bytes."""

    name: str
    data: bytes

    @property
    def short(self) -> str:
        """Its name without the folders."""
        return self.name.replace("\\", "/").rpartition("/")[2]

    def program(self) -> ProgramText:
        """The same as a program without a place in a repository."""
        return ProgramText(path=self.short, name=self.short, number=None, data=self.data)


def compare_files(old: PlainFile, new: PlainFile) -> CompareReport:
    """Two files, wherever they lie."""
    found = _guarded(compare(old.data, new.data, called={}, called_before={}), old, new)
    is_slower = slower_applies(found.slower, PLAIN_PERCENT)
    kinds = {as_slower(kind, is_slower) for kind in found.kinds}
    notes = list(found.notes)
    if k.NUMBERING in kinds and (_calls(old.data) or _calls(new.data)):
        notes.append(CALLED_NOTE)
    changes = shown_changes(new.short, found.changes, is_slower)
    too_long = len(old.data) + len(new.data) > MOST_SUMMED_UP
    if too_long and not found.same_code:
        notes.append(TOO_LONG)
    done = () if found.same_code or too_long else (_effect(old, new, found),)
    return CompareReport(
        old=old.name,
        new=new.name,
        same_code=found.same_code,
        same_bytes=old.data == new.data,
        kinds=tuple(sorted(kinds)),
        changes=tuple(dict.fromkeys(changes)),
        notes=tuple(notes),
        effect=done,
    )


def _guarded(found: Comparison, old: PlainFile, new: PlainFile) -> Comparison:
    """The comparison with ``other`` where its kinds do not explain what the machine does otherwise."""
    if found.same_code or not is_quiet(found.kinds):
        return found
    from tracker.services.effect import guarded

    return guarded(found, old.data, new.data)


def _effect(old: PlainFile, new: PlainFile, found: Comparison) -> "Effect":
    """What the files do; only where their code differs is it worked out, and what works it out loaded."""
    from tracker.services.effect import plain_effect

    return plain_effect(new.short, old.data, new.data, lathe=found.lathe)


def shown_changes(file: str, changes: Iterable[Change], is_slower: bool) -> list[ShownChange]:
    """The changes of one program, ``slower`` read into them where that is true."""
    return [
        ShownChange(
            kind=as_slower(one.kind, is_slower),
            file=file,
            tool=one.tool,
            old=one.old,
            new=one.new,
            words=UNEXPLAINED if one.kind == k.OTHER and one.old is None and one.new is None else None,
        )
        for one in changes
    ]


def as_slower(kind: str, is_slower: bool) -> str:
    """The kind as shown: ``feed`` and ``speed`` are ``slower`` where that is true."""
    return k.SLOWER if is_slower and kind in (k.FEED, k.SPEED) else kind


def is_quiet(kinds: Iterable[str]) -> bool:
    """Whether kinds of a change of code say that the machine goes the same ways at the same feeds and speeds."""
    return frozenset(kinds) <= QUIET_KINDS


def _calls(data: bytes) -> bool:
    """Whether a program calls others; what is needed to look closer is loaded only where it may."""
    if not scan.may_call(data):
        return False
    from tracker.nc.calls import calls

    return bool(calls(data))
