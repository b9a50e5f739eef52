"""Writes canonical lines down once it is known what becomes of the line numbers.

A renamed label is written ``N=1``, a jump to it ``GOTO=1``, ``P=1``, ``Q=1``; the numbers count the labels of a scope
in the order in which label or jump first appear. An N that goes but stands before a block skip leaves ``N=``, so that
``N10/`` is kept apart from ``/N10``. No file that opens a line with ``N=`` is word-address (`tracker.nc.dialect`).
"""

from collections.abc import Iterator

from tracker.frozen import dataclass
from tracker.nc import simple
from tracker.nc.labels import Labels
from tracker.nc.plan import Plan, squeeze
from tracker.nc.reader import Line, careful_line
from tracker.nc.source import Source
from tracker.nc.walk import OddLine, SimpleLines, Walk


@dataclass(frozen=True, slots=True)
class Written:
    """A block as written: its canonical ``text``, whether its N stays in it, the numbers taken away."""

    text: str
    number_stays: bool
    taken: tuple[str, ...]


class Writer:
    """Writes the lines of one file in their order."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._scope = 0
        self._marks: dict[str, int] = {}

    @property
    def labels(self) -> Labels:
        """What becomes of the N words of the scope the writer is in."""
        return self._plan.labels[self._scope]

    def odd(self, line: Line) -> Written:
        """One line; its text is empty when nothing of it is code."""
        if line.kind == "percent":
            return Written("%" if self._plan.percent_stays else "", number_stays=False, taken=())
        if line.opens_scope:
            self._scope += 1
            self._marks = {}
        number, taken = self._number(line)
        body = line.body
        renamed = [jump for jump in line.jumps if jump[2] in self.labels.renamed]
        marks = [self._mark(label) for _, _, label in renamed]
        for (start, end, _), mark in zip(reversed(renamed), reversed(marks), strict=True):
            taken.append(">" + body[start:end])
            body = body[:start] + mark + body[end:]
        stays = bool(number) and not number.startswith("N=")
        return Written(line.head + number + body, number_stays=stays, taken=tuple(taken))

    def _number(self, line: Line) -> tuple[str, list[str]]:
        if not line.number:
            return "", []
        labels = self.labels
        if labels.all_stay or line.label in labels.stay:
            return "N" + line.number, []
        if line.label in labels.renamed:
            return "N" + self._mark(line.label), [line.written]
        return "N=" if line.after_skip else "", [line.written]

    def _mark(self, label: str) -> str:
        return f"={self._marks.setdefault(label, len(self._marks) + 1)}"

    def simple(self, met: SimpleLines) -> bytes | None:
        """Canonical lines of simple ones, each with its LF; None when one of them holds a label."""
        labels = self.labels
        if labels.none:
            return met.code
        if labels.all_stay:
            return simple.spelled(met.text, numbers=True)
        named = labels.stay | labels.renamed
        numbers = simple.NUMBERS.findall(simple.compact(met.text) or b"")
        holds = any((number.lstrip(b"0") or b"0").decode() in named for number in numbers)
        return None if holds else met.code

    def code(self, met: SimpleLines | OddLine) -> bytes:
        """Canonical blocks of what was met, an LF after every one."""
        if isinstance(met, OddLine):
            text = self.odd(met.line).text
            return text.encode("latin-1") + b"\n" if text else b""
        code = self.simple(met)
        if code is not None:
            return squeeze(code)
        texts = (self.odd(careful_line(line)).text for line in met.text.decode("latin-1").split("\n"))
        return "".join(text + "\n" for text in texts if text).encode("latin-1")


def code_of(source: Source, plan: Plan) -> Iterator[bytes]:
    """The canonical form of a word-address file, piece by piece."""
    writer, walk = Writer(plan), Walk(has_g11=plan.has_g11)
    for page in source.pages():
        for met in walk.page(page):
            code = writer.code(met)
            if code:
                yield code


def verbatim_code(source: Source, plan: Plan) -> Iterator[bytes]:
    """The canonical form of a verbatim file: LF for every line end, blanks before it cut; binary bytes as they are."""
    if not plan.binary:
        begun = False
        for page in source.pages():
            lines = page.text[:-1].split(b"\n")
            if plan.leads and not begun:
                yield b"\n" * (page.first - 1)
            begun = True
            yield b"".join(line.rstrip(b" \t") + b"\n" for line in lines)
        return
    last = b""
    for chunk in source.open_chunks():
        yield chunk
        last = chunk[-1:] or last
    if last != b"\n":
        yield b"\n"
