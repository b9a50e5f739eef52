"""What a text that is in no record was before somebody changed it.

Looked for by its program numbers, by the digits of a stamp, by the place it lies in and by its name. Of each program
found like that the revision its stamp names is compared, and any that was taken in with that stamp; where the stamp is
lost, those that were exported to the machine and the newest, else the released one. The one it shares most code with is
the one it was.
"""

from array import array
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache, partial

from tracker.errors import CouldNot
from tracker.nc import scan
from tracker.nc.calls import program_numbers
from tracker.policy.find import label
from tracker.records.events import OnStick
from tracker.records.shop import Machine
from tracker.services.collect_blocks import BlocksKept, shared
from tracker.services.collect_renumbered import Renumbered
from tracker.services.collect_signs import Signs
from tracker.services.cut_off import bare_blocks
from tracker.services.known import Exported, Known, KnownTexts
from tracker.services.ports_stick import PURPOSES, RELEASED, Outgoing, Shaper
from tracker.services.stick_view import written
from tracker.services.usable import Board

MOST_COMPARED = 24
"""Programs compared with a changed text; more would be a shop with one number used for everything."""


MOST_VERSIONS = 8
"""Exported texts of one program compared with a changed one that has no stamp; the last ones."""

LEAST_ALIKE = 0.4
"""Below this share of common code a text under a known number is another program (common practice, no source)."""
MOSTLY_OF_IT = 0.75
"""A text that has this much of its code from one of ours, and little of that, is no other program."""


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

    def __init__(
        self,
        known: KnownTexts,
        board: Board,
        shaper: Shaper,
        lies: Callable[[], Mapping[str, OnStick]] = dict,
    ) -> None:
        """Args: known: all texts. board: what is released. shaper: makes exported texts again.

        ``lies``: what lies on the stick by the records, by path in lower case; asked for once, if a file is changed.
        """
        self._known = known
        self._board = board
        self._shaper = shaper
        self._lies = cache(lies)
        self._places: dict[str, list[Exported]] | None = None
        self._blocks = BlocksKept()
        self._renumbered = Renumbered(known)

    def base_of(self, data: bytes, place: str, machine: Machine | None) -> Base | None:
        """What the text in ``place`` (path from the stick's folder) was; None if nothing speaks for anything."""
        code = scan.canonical(data)
        blocks = Counter(bare_blocks(code))
        signs = self._signs(data, place, machine)
        elsewhere = self._best(self._of_others(signs, machine), blocks, signs, None)
        if elsewhere is not None and elsewhere.alike >= LEAST_ALIKE:
            return elsewhere
        best = self._best(self._texts(signs), blocks, signs, machine)
        if best is None or best.alike < LEAST_ALIKE:
            other = self._best(self._renumbered.texts(code), blocks, signs, machine)
            best = other or best
        return best

    def _of_others(self, signs: Signs, machine: Machine | None) -> list[Known]:
        """What its stamps name where that is for other machines only: it was edited from that, wherever it lies."""
        named = [text for mark in signs.marks for text in reversed(self._known.by_mark(mark))]
        mine = any(self._board.is_for(text.job, text.operation, machine) for text in named)
        return [] if mine else named

    def lost(self, data: bytes, place: str, machine: Machine | None) -> Known | None:
        """Of the texts it may have been the first that cannot be read back, as after a job's folder was moved whole."""
        signs = self._signs(data, place, machine)
        found = [known for known, *_ in self._candidates(self._texts(signs), signs, machine)]
        for known in sorted(found, key=signs.stamped, reverse=True):
            try:
                self._known.bytes_of(known)
            except CouldNot:
                return known
        return None

    def _signs(self, data: bytes, place: str, machine: Machine | None) -> Signs:
        return Signs(
            name=place.rsplit("/", 1)[-1].casefold(),
            numbers=program_numbers(data),
            marks=self._shaper.marks(data),
            there=self._exported_to(place, machine),
            lay=self._lay(place),
        )

    def _lay(self, place: str) -> OnStick | None:
        """What lay in a place; of a folder that is collected by itself the recorded paths are short."""
        path, lies = written(place).casefold(), self._lies() if place else {}
        while path and path not in lies:
            path = path.partition("/")[2]
        return lies.get(path)

    def _best(
        self, texts: Iterable[Known], blocks: "Counter[bytes]", signs: Signs, machine: Machine | None
    ) -> Base | None:
        """Of these texts, in the versions that went out to the machine, the one most of the code is shared with."""
        found: list[Base] = []
        for known, exported, at_place in self._candidates(texts, signs, machine):
            try:
                row = self._blocks.of(known.file.raw_sha256, partial(self._known.bytes_of, known))
            except CouldNot:
                continue
            text = cache(partial(self._made, known, exported, machine))
            found.append(_measured(known, text, blocks, row, at_place=at_place))
        best = max(
            found,
            key=lambda one: (one.alike + one.within, signs.says(one.known), one.at_place),
            default=None,
        )
        # what lay there is meant, unless the file shows blocks of the other that it has not: then it came from elsewhere
        lay = [one for one in found if signs.lay_there(one.known)]
        return lay[-1] if lay and best is not None and lay[-1].within >= best.within else best

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
        exported = self.last_export(text, machine)
        if exported is None or machine is None or exported.file.fingerprint != text.file.fingerprint:
            return data
        return self.as_exported(text, exported, data, machine)

    def name_sent(self, text: Known, machine: Machine | None) -> str:
        """The file name a text was last exported under to the machine, else its name in the repository."""
        exported = self.last_export(text, machine)
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
        self, texts: Iterable[Known], signs: Signs, machine: Machine | None
    ) -> Iterator[tuple[Known, Exported | None, bool]]:
        seen: set[tuple[str, str, str]] = set()
        there = signs.there
        for text in texts:
            key = (text.job, text.operation, text.file.path)
            if key in seen or not self._board.is_for(text.job, text.operation, machine):
                continue
            seen.add(key)
            if len(seen) > MOST_COMPARED:
                return
            at_place = text.file.name.casefold() == signs.name
            if there is not None:
                at_place = (there.file.program, there.file.operation) == (text.file.path, text.operation)
            for version in self._versions(text, signs, machine):
                yield version, self.last_export(version, machine, there), at_place

    def _texts(self, signs: Signs) -> Iterator[Known]:
        """Texts it may have been, newest first of each way to find them; the same one more than once."""
        yield from reversed(self._known.by_number(signs.numbers))
        for mark in signs.marks:
            yield from reversed(self._known.by_mark(mark))
        there = signs.there
        if there is not None:
            yield from reversed(self._known.of(there.file.job, there.file.operation, there.file.program))
        yield from reversed(self._known.by_name(signs.name))

    def _exported_to(self, place: str, machine: Machine | None) -> Exported | None:
        """The last file an export wrote to this place."""
        if self._places is None:
            self._places = {}
            for one in self._known.all_exported():
                self._places.setdefault(self._shaper.folded(one.file.path), []).append(one)
        found = [one for one in self._places.get(self._shaper.folded(place), ()) if _for(one, machine)]
        return max(found, key=lambda one: one.stored.order, default=None)

    def last_export(
        self, text: Known, machine: Machine | None, there: Exported | None = None
    ) -> Exported | None:
        """The last export of a text's code to the machine, one to the same place before others; else of its program."""
        found = self._sent(text, machine)
        same = [one for one in found if one.file.fingerprint == text.file.fingerprint]
        here = [one for one in same if there is not None and one.file.path == there.file.path]
        return next((each[-1] for each in (here, same, found) if each), None)

    def _sent(self, text: Known, machine: Machine | None) -> list[Exported]:
        return [one for one in self._known.exports_of(text.job, text.file.path) if _for(one, machine)]

    def _versions(self, text: Known, signs: Signs, machine: Machine | None) -> Iterator[Known]:
        """Of a program, the revision a stamp names, else those that went out and the newest, else the released."""
        versions = self._known.of(text.job, text.operation, text.file.path)
        stamped = [at for at, one in enumerate(versions) if signs.stamped(one)]
        if stamped:
            at = self._which_went_out(versions, stamped, text, signs, machine)
            yield versions[at]
            yield from self._kept_stamp(versions[at + 1 :], signs)
            return
        codes: dict[str, Known] = {}
        for exported in (*([signs.there] if signs.there else ()), *reversed(self._sent(text, machine))):
            sent = [one for one in versions if one.file.fingerprint == exported.file.fingerprint]
            named = [one for one in sent if one.stored.name == exported.file.revision]
            if sent and len(codes) < MOST_VERSIONS:
                codes.setdefault(sent[0].file.fingerprint, (named or sent)[-1])
        yield from codes.values() or (self._office(text, versions),)
        if codes:
            yield versions[-1]

    def _which_went_out(
        self,
        versions: Sequence[Known],
        stamped: Sequence[int],
        text: Known,
        signs: Signs,
        machine: Machine | None,
    ) -> int:
        """Of revisions with one stamp (the later ones changed comments alone) the place of the one exported last, else of the newest."""
        exported = signs.there or next(iter(reversed(self._sent(text, machine))), None)
        went = [at for at in stamped if exported and versions[at].stored.name == exported.file.revision]
        return (went or stamped)[-1]

    def _kept_stamp(self, later: Sequence[Known], signs: Signs) -> Iterator[Known]:
        """Later revisions that were taken in with the stamp of the one they were made of: the edit may be one of them.

        And the one that lay there, whatever became of its stamp when it was taken in.
        """
        for one in later[-MOST_VERSIONS:]:
            if signs.lay_there(one):
                yield one
                continue
            with suppress(CouldNot):
                if set(self._shaper.marks(self._known.bytes_of(one))) & set(signs.marks):
                    yield one

    def _office(self, text: Known, versions: Sequence[Known]) -> Known:
        """The released revision, else the newest."""
        released = self._board.released(text.job, text.operation)
        out = [one for one in versions if released is not None and one.stored.name == released.stored.name]
        return (out or versions)[-1]


def lost_words(text: Known) -> str:
    """That a text may be an edit of one that nobody can read back."""
    return (
        f"it may be {text.job}/{text.operation} {label(text.stored.name)}, whose text cannot be read back from the "
        "record: proveout audit says why"
    )


def another_program(base: Base) -> bool:
    """Whether a text is no edit of the one it shares most code with."""
    return is_another(base.alike, base.within)


def is_another(alike: float, within: float) -> bool:
    """The same of two figures as a `Base` has them."""
    return alike < LEAST_ALIKE and within < MOSTLY_OF_IT


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
