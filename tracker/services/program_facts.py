"""What the text of one program says by itself: its numbers, what it calls, who it is.

All of it hangs on the bytes alone and is looked up by their SHA-256, so that a text is looked through once however many
operations, releases and states hold it; what reads the language is loaded only for a text that is not known.
"""

from collections.abc import MutableMapping

from tracker.digest import sha256_of
from tracker.frozen import dataclass, field
from tracker.nc.call import Call
from tracker.nc.identity import Identity
from tracker.patterns import lazy_pattern

_LOCAL = frozenset({"M97"})
"""Their number is a line of the same program."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramFacts:
    """What one text says.

    Attributes:
        numbers: the program numbers that stand in it.
        calls: those that may lead out of it, in order.
        names_lines: whether line numbers may be named from another program, so that all of them are code.
        raw_sha256: of the bytes.
        identities: who it is, by whether every line number is code; each is worked out when it is asked for.
    """

    numbers: tuple[int, ...]
    calls: tuple[Call, ...]
    names_lines: bool
    raw_sha256: str
    identities: dict[bool, Identity] = field(default_factory=dict, compare=False)

    def identity(self, data: bytes, *, strict: bool) -> Identity:
        """Who ``data``, the text these are the facts of, is."""
        if strict not in self.identities:
            from tracker.nc.scan import identity

            self.identities[strict] = identity(data, strict=strict)
        return self.identities[strict]


_HELD = 256
"""Texts that may be held until somebody asks for them; who reads ahead bounds their bytes."""
FactsKept = MutableMapping[str, ProgramFacts]
"""Facts by the SHA-256 of the bytes."""


class FactsRead(dict[str, ProgramFacts]):
    """Facts of one run; a text that was read ahead is known again by its very bytes, once, without hashing them anew."""

    def __init__(self) -> None:
        super().__init__()
        self._ahead: dict[int, tuple[bytes, ProgramFacts]] = {}

    def read_ahead(self, data: bytes) -> None:
        """Find out the facts of a text that will be asked for soon, in any thread; until then its bytes are held."""
        found = facts_of(data, self)
        if len(self._ahead) < _HELD:
            self._ahead[id(data)] = (data, found)

    def taken(self, data: bytes) -> ProgramFacts | None:
        """The facts of these very bytes, where they were read ahead; nothing is held of them then."""
        held = self._ahead.pop(id(data), None)
        return held[1] if held is not None and held[0] is data else None


def read_ahead(data: bytes, kept: FactsKept) -> None:
    """Find out the facts of a text somebody will ask for soon; in any thread."""
    if isinstance(kept, FactsRead):
        kept.read_ahead(data)
    else:
        facts_of(data, kept)


def facts_of(data: bytes, kept: FactsKept) -> ProgramFacts:
    """The facts of a text, from those kept or else by reading it, and then kept."""
    held = kept.taken(data) if isinstance(kept, FactsRead) else None
    if held is not None:
        return held
    digest = sha256_of(data)
    if digest not in kept:
        kept[digest] = _read(data, digest)
    return kept[digest]


def _read(data: bytes, digest: str) -> ProgramFacts:
    from tracker.nc import calls, scan

    both = scan.identity_and_blocks(data, digest)
    if both is None:
        said = calls.calls(data), calls.program_numbers(data), calls.needs_strict(data)
    else:
        said = calls.all_said(both[1])
    called, numbers, names_lines = said
    return ProgramFacts(
        numbers=numbers,
        calls=tuple(call for call in called if call.word not in _LOCAL and not _defined_here(data, call)),
        names_lines=names_lines,
        raw_sha256=digest,
        identities={} if both is None else {False: both[0]},
    )


def _defined_here(data: bytes, call: Call) -> bool:
    """Whether an ``o100 call`` calls an ``o100 sub`` of the same file."""
    if call.word != "call" or not call.readings:
        return False
    opening = rb"(?im)^[ \t]*(?:N[0-9]+[ \t]*)?o[ \t]*0*%d[ \t]*sub\b" % call.readings[0][0]
    return lazy_pattern(opening).search(data) is not None
