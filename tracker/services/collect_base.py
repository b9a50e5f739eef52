"""What a text that is in no record was before somebody changed it.

Looked for by its program numbers, by the digits of a stamp, by the place it lies in and by its name; of each program
found like that the text that was exported to the machine, else the released, else the newest one is compared, and the
one it shares most code with is the one it was.
"""

from array import array
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, partial

from tracker.errors import CouldNot
from tracker.nc import scan
from tracker.nc.calls import program_numbers
from tracker.records.shop import Machine
from tracker.services.collect_blocks import BlocksKept, shared
from tracker.services.collect_renumbered import Renumbered
from tracker.services.cut_off import bare_blocks
from tracker.services.known import Exported, Known, KnownTexts
from tracker.services.ports_stick import PURPOSES, RELEASED, Outgoing, Shaper
from tracker.services.usable import Board

MOST_COMPARED = 24
"""Programs compared with a changed text; more would be a shop with one number used for everything."""


LEAST_ALIKE = 0.4
"""Below this share of common code a text under a known number is another program (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """The text a file was.

    ``text`` gives its bytes, as they were exported where those can be made again, else as recorded; ``alike`` is the share
    of code both have (0 to 1), ``within`` the share of the file's code that is in the text; ``at_place``: the file lies
    where it belongs, and went out for this operation.
    """

    known: Known
    text: Callable[[], bytes]
    alike: float
    within: float
    at_place: bool

    @property
    def data(self) -> bytes:
        """The bytes of the text, made when they are first asked for; raises CouldNot (``damaged``)."""
        return self.text()


class BaseFinder:
    """Finds bases for one stick."""

    def __init__(self, known: KnownTexts, board: Board, shaper: Shaper) -> None:
        """Args: known: all texts. board: what is released. shaper: makes exported texts again."""
        self._known = known
        self._board = board
        self._shaper = shaper
        self._places: dict[str, list[Exported]] | None = None
        self._blocks = BlocksKept()
        self._renumbered = Renumbered(known)

    def base_of(self, data: bytes, place: str, machine: Machine | None) -> Base | None:
        """What the text in ``place`` (path from the stick's folder) was; None if nothing speaks for anything."""
        code = scan.canonical(data)
        blocks = Counter(bare_blocks(code))
        there = self._exported_to(place, machine)
        name = place.rsplit("/", 1)[-1].casefold()
        best = self._best(self._texts(data, name, there), blocks, name, there, machine)
        if best is None or best.alike < LEAST_ALIKE:
            other = self._best(self._renumbered.texts(code), blocks, name, there, machine)
            best = other or best
        return best

    def _best(
        self,
        texts: Iterable[Known],
        blocks: "Counter[bytes]",
        name: str,
        there: Exported | None,
        machine: Machine | None,
    ) -> Base | None:
        """Of these texts, in the version that went out to the machine, the one most of the code is shared with."""
        found: list[Base] = []
        for known, exported, at_place in self._candidates(texts, name, there, machine):
            try:
                row = self._blocks.of(known.file.raw_sha256, partial(self._known.bytes_of, known))
            except CouldNot:
                continue
            text = cache(partial(self._made, known, exported, machine))
            found.append(_measured(known, text, blocks, row, at_place=at_place))
        return max(found, key=lambda base: (base.alike + base.within, base.at_place), default=None)

    def _made(self, known: Known, exported: Exported | None, machine: Machine | None) -> bytes:
        """A text as it went out to the machine; whatever an export did to it, its blocks are those of the record's."""
        text = self._known.bytes_of(known)
        if exported is None or machine is None:
            return text
        return self.as_exported(known, exported, text, machine)

    def as_sent(self, text: Known, machine: Machine | None) -> bytes | None:
        """The bytes of a text as it was last exported to the machine, else as recorded; None where they are lost."""
        try:
            data = self._known.bytes_of(text)
        except CouldNot:
            return None
        exported = self._last_export(text, machine)
        if exported is None or machine is None or exported.file.fingerprint != text.file.fingerprint:
            return data
        return self.as_exported(text, exported, data, machine)

    def name_sent(self, text: Known, machine: Machine | None) -> str:
        """The file name a text was last exported under to the machine, else its name in the repository."""
        exported = self._last_export(text, machine)
        return exported.file.path.rsplit("/", 1)[-1] if exported is not None else text.file.name

    def as_exported(self, known: Known, exported: Exported, text: bytes, machine: Machine) -> bytes:
        """The bytes an export wrote, made again; the recorded text where the machine's table changed since."""
        purpose = next((one for one in PURPOSES if one == exported.record.purpose), RELEASED)
        plain = _outgoing(known, exported, text)
        own = known.file.fingerprint[:8]
        for program in (plain, replace(plain, shared=True, mark=own), replace(plain, common=True, mark=own)):
            for shaped in self._shaper.shape(machine, [program], purpose).files:
                if shaped.data is not None and shaped.sha256 == exported.file.sha256:
                    return shaped.data
        return text

    def _candidates(
        self, texts: Iterable[Known], name: str, there: Exported | None, machine: Machine | None
    ) -> Iterator[tuple[Known, Exported | None, bool]]:
        seen: set[tuple[str, str, str]] = set()
        for text in texts:
            key = (text.job, text.operation, text.file.path)
            if key in seen or not self._board.is_for(text.job, text.operation, machine):
                continue
            seen.add(key)
            if len(seen) > MOST_COMPARED:
                return
            exported = self._last_export(text, machine)
            at_place = text.file.name.casefold() == name
            if there is not None:
                at_place = (there.file.program, there.file.operation) == (text.file.path, text.operation)
            yield self._version(text, exported), exported, at_place

    def _texts(self, data: bytes, name: str, there: Exported | None) -> Iterator[Known]:
        """Texts it may have been, newest first of each way to find them; the same one more than once."""
        yield from reversed(self._known.by_number(program_numbers(data)))
        for mark in self._shaper.marks(data):
            yield from reversed(self._known.by_mark(mark))
        if there is not None:
            yield from reversed(self._known.of(there.file.job, there.file.operation, there.file.program))
        yield from reversed(self._known.by_name(name))

    def _exported_to(self, place: str, machine: Machine | None) -> Exported | None:
        """The last file an export wrote to this place."""
        if self._places is None:
            self._places = {}
            for one in self._known.all_exported():
                self._places.setdefault(self._shaper.folded(one.file.path), []).append(one)
        found = [one for one in self._places.get(self._shaper.folded(place), ()) if _for(one, machine)]
        return max(found, key=lambda one: one.stored.order, default=None)

    def _last_export(self, text: Known, machine: Machine | None) -> Exported | None:
        found = [one for one in self._known.exports_of(text.job, text.file.path) if _for(one, machine)]
        return found[-1] if found else None

    def _version(self, text: Known, exported: Exported | None) -> Known:
        """Of a program, the revision that was exported, else the released one, else the newest."""
        versions = self._known.of(text.job, text.operation, text.file.path)
        if exported is not None:
            sent = [one for one in versions if one.file.fingerprint == exported.file.fingerprint]
            named = [one for one in sent if one.stored.name == exported.file.revision]
            if named or sent:
                return (named or sent)[-1]
        released = self._board.released(text.job, text.operation)
        if released is not None:
            out = [one for one in versions if one.stored.name == released.stored.name]
            if out:
                return out[-1]
        return versions[-1]


def holds_several(base: Base) -> bool:
    """Whether a text was one of several programs in one file, so that a changed one is not cut into programs."""
    return base.within >= LEAST_ALIKE and len(program_numbers(base.data)) > 1


def _for(exported: Exported, machine: Machine | None) -> bool:
    return machine is None or exported.record.machine.casefold() == machine.id.casefold()


def _measured(
    known: Known, text: Callable[[], bytes], blocks: "Counter[bytes]", row: "array[int]", *, at_place: bool
) -> Base:
    common, mine = shared(blocks, row), blocks.total()
    return Base(
        known=known,
        text=text,
        alike=2 * common / (mine + len(row)) if mine + len(row) else 0.0,
        within=common / mine if mine else 0.0,
        at_place=at_place,
    )


def _outgoing(known: Known, exported: Exported, text: bytes) -> Outgoing:
    return Outgoing(
        source=known.file.path,
        name=known.file.name,
        number=known.file.number,
        raw_sha256=known.file.raw_sha256,
        fetch=lambda: text,
        dialect=known.file.dialect,
        strict=known.record.strict,
        fingerprint=known.file.fingerprint,
        job=exported.file.job or known.job,
        operation=exported.file.operation or known.operation,
        revision=exported.file.revision or known.stored.name,
        release=exported.file.release,
        mark=known.record.operation_fingerprint[:8],
    )
