"""How two plain files differ, and the report every comparison ends in.

``slower`` is judged against the older file with 20 per cent, and programs that either may call are not looked at.
Nothing of a repository is imported here: two files on a stick are compared in a moment.
"""

from collections.abc import Iterable

from tracker.frozen import dataclass
from tracker.nc import kinds as k
from tracker.nc import scan
from tracker.nc.compare import compare, slower_applies
from tracker.nc.compare_change import Change, Side
from tracker.services.program_text import ProgramText

PLAIN_PERCENT = 20.0
CALLED_NOTE = (
    "line numbers changed, and programs are called that may come back to one; compare the whole operation"
)


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

    @property
    def short(self) -> str:
        """Its name without the folders."""
        return self.name.replace("\\", "/").rpartition("/")[2]

    def program(self) -> ProgramText:
        """The same as a program without a place in a repository."""
        return ProgramText(path=self.short, name=self.short, number=None, data=self.data)


def compare_files(old: PlainFile, new: PlainFile) -> CompareReport:
    """Two files, wherever they lie."""
    found = compare(old.data, new.data, called={}, called_before={})
    is_slower = slower_applies(found.slower, PLAIN_PERCENT)
    kinds = {as_slower(kind, is_slower) for kind in found.kinds}
    notes = list(found.notes)
    if k.NUMBERING in kinds and (_calls(old.data) or _calls(new.data)):
        notes.append(CALLED_NOTE)
    return CompareReport(
        old=old.name,
        new=new.name,
        same_code=found.same_code,
        same_bytes=old.data == new.data,
        kinds=tuple(sorted(kinds)),
        changes=tuple(dict.fromkeys(shown_changes(new.short, found.changes, is_slower))),
        notes=tuple(notes),
    )


def shown_changes(file: str, changes: Iterable[Change], is_slower: bool) -> list[ShownChange]:
    """The changes of one program, ``slower`` read into them where that is true."""
    return [
        ShownChange(kind=as_slower(one.kind, is_slower), file=file, tool=one.tool, old=one.old, new=one.new)
        for one in changes
    ]


def as_slower(kind: str, is_slower: bool) -> str:
    """The kind as shown: ``feed`` and ``speed`` are ``slower`` where that is true."""
    return k.SLOWER if is_slower and kind in (k.FEED, k.SPEED) else kind


def _calls(data: bytes) -> bool:
    """Whether a program calls others; what is needed to look closer is loaded only where it may."""
    if not scan.may_call(data):
        return False
    from tracker.nc.calls import calls

    return bool(calls(data))
