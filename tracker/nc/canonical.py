"""The canonical form of a program, and what was taken away to get it.

Everything here serves one rule: two programs have one canonical form only if no control could act differently on them
once loaded. The rules stand in the modules that carry them out:

1. bytes, leader, line ends: `tracker.nc.source`; language of the file: `tracker.nc.dialect`
2. words, numbers, blanks, case: `tracker.nc.block`, `tracker.nc.number`
3. comments: `tracker.nc.comments`; a line as a whole: `tracker.nc.reader`
4. G10 data, unclosed comments: `tracker.nc.walk`; lone per cent signs: `tracker.nc.plan`
5. line numbers: `tracker.nc.labels`, written down by `tracker.nc.writer`

A change of any of them that changes the canonical form of any file is a new `RULE_VERSION`.
"""

from array import array

from tracker.frozen import dataclass
from tracker.nc import dialect
from tracker.nc.plan import Plan, survey
from tracker.nc.reader import careful_line
from tracker.nc.source import PAGE, Page, Source
from tracker.nc.strands import Strands
from tracker.nc.walk import OddLine, SimpleLines, Walk
from tracker.nc.writer import Writer, code_of, verbatim_code


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one file says, in four strands that run side by side.

    Attributes:
        dialect: ``word-address`` or ``verbatim``.
        code: the canonical form: blocks, an LF after every one; what is shown and what the fingerprint covers.
        numbering: a line for every block and one more: the N words (and renamed jumps, as ``>10``) taken away in the
            block or on lines of their own before it; the last line is what follows the last block.
        wording: the same of the comments that were taken away.
        format: the same of what else was changed: an empty line when the written line without its N and its wording
            is the canonical text and ends in LF. Two files differ in format when these differ.
        lines: physical number of the line of every block, from 1.
        notes: what a person should know, ``line 12: …``.
    """

    dialect: str
    code: bytes
    numbering: bytes
    wording: bytes
    format: bytes
    lines: "array[int]"
    notes: tuple[str, ...]


def source_of(data: bytes) -> Source:
    """Bytes at hand as a source."""
    return Source.of(lambda: (data[at : at + PAGE] for at in range(0, len(data), PAGE)))


def canonical(data: bytes, *, strict: bool = False) -> bytes:
    """The canonical form alone: `Reading.code`."""
    source = source_of(data)
    guessed: list[bytes] = []
    plan = survey(source, strict=strict, sink=guessed.append)
    if plan.as_guessed:
        return b"".join(guessed)
    guessed.clear()
    return b"".join(
        verbatim_code(source, plan) if plan.dialect == dialect.VERBATIM else code_of(source, plan)
    )


def read(data: bytes, *, strict: bool = False) -> Reading:
    """Read a program whole.

    Args:
        data: the bytes of the file.
        strict: every line number stays code, to the letter.
    """
    source = source_of(data)
    plan = survey(source, strict=strict)
    strands = Strands()
    if plan.binary:
        strands.binary(data)
    else:
        _fill(strands, source, plan)
    return Reading(
        dialect=plan.dialect,
        code=bytes(strands.code),
        numbering=bytes(strands.numbering),
        wording=bytes(strands.wording),
        format=bytes(strands.format),
        lines=strands.lines,
        notes=plan.notes,
    )


def _fill(strands: Strands, source: Source, plan: Plan) -> None:
    walk, writer, begun = Walk(has_g11=plan.has_g11), Writer(plan), False
    for page in source.pages():
        if not begun:
            strands.outside(source.leader)
            begun = True
            if plan.leads:
                strands.verbatim([(b"", b"\n")] * (page.first - 1), 1)
        ends = source.lines(page)
        if plan.dialect == dialect.VERBATIM:
            strands.verbatim(ends, page.first)
            continue
        for met in walk.page(page):
            _take(strands, writer, met, ends, page)
    strands.outside(source.trailer if begun else source.leader)
    strands.close()


def _take(
    strands: Strands,
    writer: Writer,
    met: SimpleLines | OddLine,
    ends: list[tuple[bytes, bytes]],
    page: Page,
) -> None:
    if isinstance(met, OddLine):
        strands.odd(met.line, writer.odd(met.line), met.number, ends[met.number - page.first][1])
        return
    count = met.text.count(b"\n")
    at = met.first - page.first
    own = ends[at : at + count]
    code = writer.simple(met)
    if code is not None:
        strands.simple(own, code, met.first, numbers_stay=writer.labels.all_stay)
        return
    for offset, (text, end) in enumerate(own):
        line = careful_line(text.decode("latin-1"))
        strands.odd(line, writer.odd(line), met.first + offset, end)
