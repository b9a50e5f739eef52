"""The compiled way to read a program; needs the compiled scanner.

One pass writes the canonical form on a guess, the one nearly all programs bear out: every N goes (in the strict form
every N stays), and so do the lone per cent signs. At the end of the file it is known whether the guess was right. If
not, a second pass writes with what is known then. Lines that need care, and what they say about the whole file, are
for `tracker.nc.scan_care`; it is not imported before there is such a line. A file with a character that only the
reference can place (a leader, an odd line end), a verbatim one and one with a G11 after a G10 that sets an offset go
to the reference as a whole.
"""

from __future__ import annotations

from tracker.digest import Sha256
from tracker.nc._scanner import Scanner, Unclean
from tracker.nc.beside import Beside

TYPE_CHECKING = False  # as in typing, which takes as long to import as a program to read
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tracker.nc.canonical import Reading
    from tracker.nc.fingerprint import Identity
    from tracker.nc.scan_care import Care, Ruling
    from tracker.nc.walk import OddLine

    Chunks = Callable[[], Iterable[bytes]]

RULE_VERSION = 1
"""`tracker.nc.identity.RULE_VERSION`, here once more so that a quick start need not import that; a test compares."""

WORD_ADDRESS = "word-address"
_HEAD = f"proveout canonical {RULE_VERSION} {WORD_ADDRESS}\n".encode("ascii")
PAGE = 1 << 20
SIDE_BY_SIDE = 1 << 22
"""Bytes from which on two programs are read in two threads."""

_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_BLANKS = b" \t\r\n"


class Pass:
    """One pass over a file: the compiled scanner, and the reference for the lines that need care.

    Args:
        strict: every N stays.
        strands: also spin the strands of a reading.
        ruling: what is known from a pass before; None for a guess.
        first: physical number of the first line.
        keep: blocks read with care are put here, those that open a scope among them.
    """

    def __init__(
        self,
        *,
        strict: bool,
        strands: bool = False,
        ruling: Ruling | None = None,
        first: int = 1,
        keep: list[OddLine] | None = None,
    ) -> None:
        self.keep = keep
        self.strict = strict
        self.strands = strands
        self.ruling = ruling
        self.care: Care | None = None
        self.scanner = Scanner(
            self._odd,
            strands=strands,
            all_stay=strict,
            percent_stays=ruling is not None and ruling.percent_stays,
            scopes_odd=keep is not None or (ruling is not None and ruling.care_for_scopes),
            first=first,
        )
        if ruling is not None and ruling.care_for_scopes:
            self._begin_care()

    def _begin_care(self) -> Care:
        from tracker.nc.scan_care import Care

        self.care = Care(self.scanner, strict=self.strict, strands=self.strands, ruling=self.ruling)
        self.care.keep = self.keep
        return self.care

    def _odd(self, text: bytes, number: int) -> tuple[bytes, bool, bool, bool, tuple[list[bytes], ...]]:
        return (self.care or self._begin_care()).line(text, number)

    def codes(self, chunks: Iterable[bytes]) -> Iterator[bytes]:
        """The canonical form, piece by piece.

        Raises:
            Unclean: the file is for the reference; what was given out so far is of no use.
        """
        held, started = b"", False
        for chunk in chunks:
            text = held + chunk if held else chunk
            if not started and len(text) >= 3:
                started = True
                _look_at_mark(text)
            cut = text.rfind(b"\n") + 1
            held = text[cut:]
            if cut:
                self.scanner.feed(text if cut == len(text) else text[:cut])
                yield self.scanner.take_code()
        if not started:
            _look_at_mark(held)
        if held:
            self.scanner.feed(held)
            yield self.scanner.take_code()

    def rule(self) -> Ruling | None:
        """What the file turned out to be, once it is read; None where the guess was right and nothing is to say."""
        if self.care is not None:
            return self.care.rule()
        scanner = self.scanner
        if scanner.percents == 0 or (
            scanner.percents == 2 and scanner.first_leads and not scanner.block_since
        ):
            return None
        from tracker.nc.scan_care import Ruling

        return Ruling(percent_stays=True)


def _look_at_mark(text: bytes) -> None:
    if text.startswith(_MARKS):
        raise Unclean


def _guess_holds(ruling: Ruling | None) -> bool:
    if ruling is not None and ruling.for_reference:
        raise Unclean
    return ruling is None or ruling.as_guessed


def canonical(data: bytes, *, strict: bool = False) -> bytes:
    """The canonical form alone."""
    try:
        first = Pass(strict=strict)
        code = b"".join(first.codes(_pages(data)))
        ruling = first.rule()
        if not _guess_holds(ruling):
            code = b"".join(Pass(strict=strict, ruling=ruling).codes(_pages(data)))
    except Unclean:
        from tracker.nc import canonical as reference

        return reference.canonical(data, strict=strict)
    return code


def care_blocks(data: bytes) -> list[OddLine] | None:
    """Blocks that were read with care, in order; None where only the reference can tell."""
    found: list[OddLine] = []
    try:
        made = Pass(strict=False, keep=found)
        for _ in made.codes(_pages(data)):
            pass
        ruling = made.rule()
    except Unclean:
        return None
    return None if ruling is not None and ruling.for_reference else found


def identity_and_blocks(data: bytes, raw_sha256: str) -> tuple[dict[str, object], list[OddLine]] | None:
    """`identity_fields` and `care_blocks` of one text in one pass, where both can be told from it; else None.

    ``raw_sha256``: of these bytes, worked out already.
    """
    found: list[OddLine] = []
    beside = Beside()
    made, covered = Pass(strict=False, keep=found), Sha256(_HEAD)
    try:
        for code in made.codes(_pages(data)):
            beside.update(covered, code)
        ruling = made.rule()
        if ruling is not None and (ruling.for_reference or not ruling.as_guessed):
            made.scanner.let_go()
            return None
    except Unclean:
        return None
    finally:
        beside.end()
    return _fields(covered, raw_sha256, len(data), made, ruling), found


def _pages(data: bytes) -> Iterator[bytes]:
    if len(data) <= PAGE:
        return iter((data,))
    return (data[at : at + PAGE] for at in range(0, len(data), PAGE))


def identity_fields(open_chunks: Chunks, *, strict: bool = False) -> dict[str, object]:
    """The identity of a program that is read in pieces, as a dictionary in the order of the JSON document."""
    try:
        return _identity_fields(open_chunks, strict=strict)
    except Unclean:
        from tracker.nc import fingerprint as reference
        from tracker.nc.scan_care import fields_of

        return fields_of(reference.identity_of_chunks(open_chunks, strict=strict))


def _identity_fields(open_chunks: Chunks, *, strict: bool) -> dict[str, object]:
    beside = Beside()
    try:
        raw, size, covered, made = _digests(open_chunks, beside, strict=strict)
        ruling = made.rule()
        if not _guess_holds(ruling):
            made.scanner.let_go()
            made = Pass(strict=strict, ruling=ruling)
            covered = Sha256(_HEAD)
            for code in made.codes(open_chunks()):
                beside.update(covered, code)
    finally:
        beside.end()
    return _fields(covered, raw.hexdigest(), size, made, ruling)


def _fields(
    covered: Sha256, raw_sha256: str, size: int, made: Pass, ruling: Ruling | None
) -> dict[str, object]:
    made.scanner.let_go()
    return {
        "fingerprint": covered.hexdigest(),
        "raw_sha256": raw_sha256,
        "bytes": size,
        "blocks": made.scanner.blocks,
        "dialect": WORD_ADDRESS,
        "rule_version": RULE_VERSION,
        "notes": list(ruling.notes) if ruling is not None else [],
    }


def _digests(open_chunks: Chunks, beside: Beside, *, strict: bool) -> tuple[Sha256, int, Sha256, Pass]:
    """The first pass: the digest and the number of the raw bytes, the digest of the code, and the pass itself."""
    raw, covered, made = Sha256(), Sha256(_HEAD), Pass(strict=strict)
    size = 0

    def chunks() -> Iterator[bytes]:
        nonlocal size
        for chunk in open_chunks():
            beside.update(raw, chunk)
            size += len(chunk)
            yield chunk

    for code in made.codes(chunks()):
        beside.update(covered, code)
    return raw, size, covered, made


def identity_of_chunks(open_chunks: Chunks, *, strict: bool = False) -> Identity:
    """The same as a record."""
    from tracker.nc.scan_care import identity_from

    return identity_from(identity_fields(open_chunks, strict=strict))


class Spun:
    """The fields of `tracker.nc.canonical.Reading`, without the cost of importing the record."""

    __slots__ = ("code", "dialect", "format", "lines", "notes", "numbering", "wording")

    def __init__(self, code: bytes, made: Pass, notes: tuple[str, ...]) -> None:
        self.dialect = WORD_ADDRESS
        self.code = code
        self.numbering: bytes
        self.wording: bytes
        self.format: bytes
        self.numbering, self.wording, self.format, self.lines = made.scanner.take_strands()
        self.notes = notes


def read(data: bytes, *, strict: bool = False) -> Reading:
    """Read a program whole."""
    from tracker.nc import canonical as reference

    found = spun(data, strict=strict)
    if isinstance(found, reference.Reading):
        return found
    return reference.Reading(**{name: getattr(found, name) for name in Spun.__slots__})


def read_both(old: bytes, new: bytes, *, strict: bool) -> tuple[Reading, Reading]:
    """Two programs, side by side where both are long: the scanner lets another thread run while it reads."""
    if min(len(old), len(new)) < SIDE_BY_SIDE:
        return read(old, strict=strict), read(new, strict=strict)
    from threading import Thread

    first: list[Reading] = []
    faults: list[BaseException] = []

    def work() -> None:
        try:
            first.append(read(old, strict=strict))
        except BaseException as fault:  # noqa: BLE001 - handed on below, in the thread that asked
            faults.append(fault)

    beside = Thread(target=work)
    beside.start()
    try:
        second = read(new, strict=strict)
    finally:
        beside.join()
    if faults:
        raise faults[0]
    return first[0], second


def spun(data: bytes, *, strict: bool) -> Reading | Spun:
    """Read a program whole; the record itself where only the reference could read it."""
    try:
        return _spun(data, strict=strict)
    except Unclean:
        from tracker.nc import canonical as reference

        return reference.read(data, strict=strict)


def _spun(data: bytes, *, strict: bool) -> Spun:
    leader, body, trailer = _parts(data)
    made, code = _read_body(leader, body, strict=strict, ruling=None)
    ruling = made.rule()
    if not _guess_holds(ruling):
        made, code = _read_body(leader, body, strict=strict, ruling=ruling)
    made.scanner.outside(trailer)
    made.scanner.close()
    return Spun(code, made, ruling.notes if ruling is not None else ())


def _read_body(leader: bytes, body: bytes, *, strict: bool, ruling: Ruling | None) -> tuple[Pass, bytes]:
    made = Pass(strict=strict, strands=True, ruling=ruling, first=1 + leader.count(b"\n"))
    made.scanner.outside(leader)
    made.scanner.feed(body)
    return made, made.scanner.take_code()


def _parts(data: bytes) -> tuple[bytes, bytes, bytes]:
    """Blank lines that open the file, its lines, and what follows the end of its last printable line.

    Raises:
        Unclean: nothing printable, no line feed, a mark, or odd line ends at either end of the file.
    """
    _look_at_mark(data[:3])
    if b"\n" not in data:
        raise Unclean
    stripped = len(data) - len(data.lstrip(_BLANKS))
    if stripped == len(data):
        raise Unclean
    start = max(data.rfind(b"\n", 0, stripped), data.rfind(b"\r", 0, stripped)) + 1
    near_end = max(stripped, len(data) - 4096)  # so that no long text is copied to look at its end
    body_end = near_end + len(data[near_end:].rstrip(_BLANKS))
    if body_end == near_end:
        body_end = len(data.rstrip(_BLANKS))
    tail = data[body_end:].lstrip(b" \t")
    at = len(data) - len(tail)
    if b"\r" in data[:start].replace(b"\r\n", b"") or b"\r" in tail.replace(b"\r\n", b""):
        raise Unclean
    end = at + (2 if tail.startswith(b"\r\n") else 1 if tail else 0)
    return data[:start], data[start:end] if start or end < len(data) else data, data[end:]
