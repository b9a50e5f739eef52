"""What must be known of the whole file before its canonical form can be written down: `survey` finds it out.

The leading and trailing lone ``%`` go when there are exactly two lone ones in the file, nothing but wording before
the first and nothing but wording after the second.
"""

from collections.abc import Callable

from tracker.frozen import dataclass, field
from tracker.nc import dialect, simple
from tracker.nc.labels import ALL_GO, ALL_STAY, Labels, Scope, decide
from tracker.nc.reader import Line
from tracker.nc.source import Source
from tracker.nc.walk import OddLine, SimpleLines, Walk
from tracker.patterns import lazy_pattern

MOST_NOTES = 50
_EMPTY = lazy_pattern(rb"\n\n+")
Sink = Callable[[bytes], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How a file is to be written: see `tracker.nc.canonical`.

    ``leads``: blank lines before the first printable one are code.
    """

    dialect: str
    binary: bool
    percent_stays: bool
    has_g11: bool
    labels: tuple[Labels, ...]
    notes: tuple[str, ...]
    leads: bool = False

    @property
    def as_guessed(self) -> bool:
        """Whether the text `survey` gave to its sink is the canonical form."""
        return (
            self.dialect == dialect.WORD_ADDRESS
            and not self.percent_stays
            and not self.has_g11
            and all(labels.none for labels in self.labels)
        )


@dataclass(slots=True)
class Facts:
    """What a walk through the whole file has gathered."""

    tally: dialect.Tally = field(default_factory=dialect.Tally)
    scopes: list[Scope] = field(default_factory=lambda: [Scope(1)])
    wide: set[str] = field(default_factory=set)
    wide_reason: str = ""
    percents: int = 0
    first_leads: bool = False
    blocks_seen: bool = False
    block_since: bool = False
    notes: list[str] = field(default_factory=list)
    more_notes: int = 0
    one_shot: bool = False
    closes_data: bool = False

    @property
    def wrapped(self) -> bool:
        """Whether the file has one lone per cent sign at either end and no other."""
        return self.percents == 2 and self.first_leads and not self.block_since

    def block(self) -> None:
        """Code, or a number on a line of its own, was met."""
        self.blocks_seen = self.block_since = True

    def odd(self, line: Line, number: int) -> None:
        """Take in a line read with care."""
        if line.kind == "percent":
            self.percents += 1
            self.first_leads = self.first_leads or (self.percents == 1 and not self.blocks_seen)
            self.block_since = False
            return
        if line.opens_scope:
            self.scopes.append(Scope(number))
        if line.kind == "block" or line.number:
            self.block()
        self.tally.counted += line.counts
        self.tally.unread += line.counts and not line.reads
        self.tally.marked |= line.marked
        self.tally.sees_lines |= line.sees_lines
        self.one_shot |= line.one_shot
        self.closes_data |= line.closes_data
        self.scopes[-1].add(line.labels, number)
        self.wide |= line.labels.wide
        self.wide_reason = self.wide_reason or line.labels.wide_reason
        if line.note:
            self.note(f"line {number}: {line.note}")

    def note(self, text: str) -> None:
        """Remember a note; of very many only how many there are."""
        if len(self.notes) < MOST_NOTES:
            self.notes.append(text)
        else:
            self.more_notes += 1

    def all_notes(self) -> list[str]:
        """The notes, in the order of their lines."""
        more = [f"{self.more_notes} more notes of this kind"] if self.more_notes else []
        return self.notes + more


def squeeze(code: bytes) -> bytes:
    """Canonical lines without the empty ones."""
    if b"\n\n" in code:
        code = _EMPTY.sub(b"\n", code)
    return code[1:] if code.startswith(b"\n") else code


def guessed(line: Line) -> bytes:
    """An odd line with its LF as it is written when no N stays; nothing for a lone per cent sign."""
    if line.kind != "block":
        return b""
    text = line.head + ("N=" if line.number and line.after_skip else "") + line.body
    return text.encode("latin-1") + b"\n" if text else b""


def survey(source: Source, *, strict: bool = False, sink: Sink | None = None) -> Plan:
    """Walk the whole file and find out how it is to be written.

    ``sink`` gets the canonical form as long as it can be guessed: every N gone, the lone per cent signs gone. The plan
    says whether the guess was right (`Plan.as_guessed`; never in the strict form).
    """
    facts = _gather(source, has_g11=False, sink=sink)
    has_g11 = facts.one_shot and facts.closes_data
    if has_g11:
        facts = _gather(source, has_g11=True, sink=None)
    facts.tally.binary = source.binary
    if facts.tally.verbatim:
        return Plan(
            dialect=dialect.VERBATIM,
            binary=source.binary,
            percent_stays=True,
            has_g11=has_g11,
            labels=(),
            notes=(facts.tally.note,),
            leads=facts.tally.sees_lines and not source.binary,
        )
    labels, notes = _labels(source, facts, has_g11=has_g11, strict=strict)
    return Plan(
        dialect=dialect.WORD_ADDRESS,
        binary=False,
        percent_stays=facts.percents > 0 and not facts.wrapped,
        has_g11=has_g11,
        labels=tuple(labels),
        notes=(*facts.all_notes(), *notes),
    )


def _gather(source: Source, *, has_g11: bool, sink: Sink | None) -> Facts:
    facts, walk = Facts(), Walk(has_g11=has_g11)
    for page in source.pages():
        for met in walk.page(page):
            if isinstance(met, OddLine):
                facts.odd(met.line, met.number)
                code = guessed(met.line)
            else:
                code = squeeze(met.code)
                facts.tally.counted += code.count(b"\n")
                if code or met.text.strip():
                    facts.block()
            if sink is not None and code:
                sink(code)
    return facts


def _labels(source: Source, facts: Facts, *, has_g11: bool, strict: bool) -> tuple[list[Labels], list[str]]:
    if strict:
        return [ALL_STAY] * len(facts.scopes), []
    wanted = facts.wide.union(*(scope.named for scope in facts.scopes))
    if wanted:
        _count_definitions(source, facts, wanted, has_g11=has_g11)
    elif not facts.wide_reason and not any(scope.reasons for scope in facts.scopes):
        return [ALL_GO] * len(facts.scopes), []
    return decide(facts.scopes, facts.wide, facts.wide_reason)


def _count_definitions(source: Source, facts: Facts, wanted: set[str], *, has_g11: bool) -> None:
    """How often each label that is asked for stands in each scope."""
    walk, scopes = Walk(has_g11=has_g11), iter(facts.scopes)
    scope = next(scopes)
    for page in source.pages():
        for met in walk.page(page):
            if isinstance(met, SimpleLines):
                text = simple.compact(met.text) or b""
                for digits in simple.NUMBERS.findall(text):
                    _define(scope, digits.decode().lstrip("0") or "0", wanted)
                continue
            if met.line.opens_scope:
                scope = next(scopes)
            label = met.line.label or met.line.data_label
            if label and _define(scope, label, wanted) and (met.line.data_label or "." in met.line.number):
                scope.unsure.add(label)


def _define(scope: Scope, label: str, wanted: set[str]) -> bool:
    if label not in wanted:
        return False
    scope.defined[label] = scope.defined.get(label, 0) + 1
    return True
