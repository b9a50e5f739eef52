"""Lines that need care, on behalf of the compiled scanner: read by the reference, and what they say kept together.

`Care` is the reference at work on single lines: its walk, its writer, its facts about the whole file. `Ruling` is what
follows for the file as a whole, as `tracker.nc.plan.survey` has it.
"""

from tracker.frozen import dataclass, names_of
from tracker.nc import dialect
from tracker.nc.fingerprint import Identity
from tracker.nc.labels import ALL_GO, ALL_STAY, Labels, Scope, decide
from tracker.nc.plan import Facts, Plan
from tracker.nc.reader import Line
from tracker.nc.strands import Strands
from tracker.nc.walk import OddLine, Walk
from tracker.nc.writer import Writer, Written
from tracker.typed import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tracker.nc._scanner import Scanner

MOST_DIGITS = 9
"""Longest label the compiled scanner counts; longer ones are counted here."""

Entries = tuple[list[bytes], list[bytes], list[bytes]]
NOTHING: Entries = ([], [], [])


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """What a file turned out to be.

    Attributes:
        for_reference: only the reference can write it.
        as_guessed: what the first pass wrote is right.
        percent_stays: lone per cent signs are code.
        labels: what becomes of the N words, scope by scope; empty where the guess about them was right.
        notes: what a person should know.
    """

    for_reference: bool = False
    as_guessed: bool = False
    percent_stays: bool = False
    labels: tuple[Labels, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def care_for_scopes(self) -> bool:
        """Whether the second pass must know which scope it is in."""
        return bool(self.labels)


class _CarefulWalk(Walk):
    """The walk, one line at a time."""

    @property
    def data(self) -> bool:
        """Whether a G10 is open."""
        return self._data

    @property
    def comments_kept(self) -> bool:
        """Whether every comment is code from here on."""
        return self._comments_kept

    def read(self, text: bytes, number: int) -> OddLine:
        """One line, without its line end."""
        return self._odd(text + b"\n", number)


class _GuessingWriter(Writer):
    """The writer before anything is known of the file."""

    def __init__(self, *, strict: bool) -> None:
        super().__init__(
            Plan(
                dialect=dialect.WORD_ADDRESS,
                binary=False,
                percent_stays=False,
                has_g11=False,
                labels=(),
                notes=(),
            )
        )
        self._guess = ALL_STAY if strict else ALL_GO

    @property
    def labels(self) -> Labels:
        """The same in every scope."""
        return self._guess


class _Entries(Strands):
    """What one line adds to the strands."""

    def of(self, line: Line, written: Written, number: int) -> Entries:
        """Entries for numbering, wording and format; the line end is for others to see to."""
        self._numbers, self._words, self._forms = [], [], []
        self.odd(line, written, number, b"\n")
        return self._numbers, self._words, self._forms

    def _block(self, text: bytes, number: int, end: bytes) -> None:
        pass


class Care:
    """Reads the odd lines of one pass; blocks among them are added to ``keep`` if that is a list."""

    def __init__(self, scanner: "Scanner", *, strict: bool, strands: bool, ruling: Ruling | None) -> None:
        self._scanner = scanner
        self._strict = strict
        self._walk = _CarefulWalk()
        self._facts = Facts()
        self._entries = _Entries() if strands else None
        self.keep: list[OddLine] | None = None
        self._rare: list[tuple[int, str, bool]] = []
        self._steered = ruling is not None and ruling.care_for_scopes
        if ruling is None or not ruling.labels:
            self._writer: Writer = _GuessingWriter(strict=strict)
        else:
            self._writer = Writer(_plan_of(ruling))
            self._steer()

    def line(self, text: bytes, number: int) -> tuple[bytes, bool, bool, bool, Entries]:
        """One line: see ``odd`` of `tracker.nc._scanner.Scanner`."""
        met = self._walk.read(text, number)
        line = met.line
        if self.keep is not None and line.kind == "block":
            self.keep.append(met)
        facts = self._facts
        self._know_scopes()
        facts.blocks_seen = False
        facts.odd(line, number)
        written = self._writer.odd(line)
        if line.opens_scope:
            self._scanner.open_scope()
            if self._steered:
                self._steer()
        label = line.label or line.data_label
        if label and not self._steered:
            self._keep_label(label, unsure=bool(line.data_label) or "." in line.number)
        return (
            written.text.encode("latin-1"),
            facts.blocks_seen,
            self._walk.data,
            self._walk.comments_kept,
            self._entries.of(line, written, number) if self._entries is not None else NOTHING,
        )

    def _know_scopes(self) -> None:
        """Take over the scopes that the scanner opened by itself."""
        opened = self._scanner.scope_lines
        scopes = self._facts.scopes
        while len(scopes) <= len(opened):
            scopes.append(Scope(opened[len(scopes) - 1]))

    def _steer(self) -> None:
        """Tell the scanner what becomes of the N words of the scope that begins."""
        labels = self._writer.labels
        named = {int(label) for label in labels.stay | labels.renamed if len(label) <= MOST_DIGITS}
        self._scanner.set_labels(labels.all_stay, named or None)

    def _keep_label(self, label: str, *, unsure: bool) -> None:
        if len(label) <= MOST_DIGITS and not unsure:
            self._scanner.add_number(int(label))
        else:
            self._rare.append((len(self._facts.scopes) - 1, label, unsure))

    def rule(self) -> Ruling:
        """What the file is, once all of it is read."""
        facts, scanner = self._facts, self._scanner
        self._know_scopes()
        facts.tally.counted += scanner.counted
        facts.percents, facts.first_leads = scanner.percents, scanner.first_leads
        facts.block_since = scanner.block_since
        if facts.tally.verbatim or (facts.one_shot and facts.closes_data):
            return Ruling(for_reference=True)
        labels, notes = self._labels()
        percent_stays = facts.percents > 0 and not facts.wrapped
        guessed = self._strict or all(one.none for one in labels)
        return Ruling(
            as_guessed=guessed and not percent_stays,
            percent_stays=percent_stays,
            labels=() if guessed else tuple(labels),
            notes=(*facts.all_notes(), *notes),
        )

    def _labels(self) -> tuple[list[Labels], list[str]]:
        facts = self._facts
        if self._strict:
            return [], []
        wanted = facts.wide.union(*(scope.named for scope in facts.scopes))
        if wanted:
            self._count_definitions(wanted)
        elif not facts.wide_reason and not any(scope.reasons for scope in facts.scopes):
            return [], []
        return decide(facts.scopes, facts.wide, facts.wide_reason)

    def _count_definitions(self, wanted: set[str]) -> None:
        """How often each label that is asked for stands in each scope."""
        counted = self._scanner.count({int(label) for label in wanted if len(label) <= MOST_DIGITS})
        for scope, counts in zip(self._facts.scopes, counted, strict=True):
            for label, count in counts.items():
                scope.defined[str(label)] = scope.defined.get(str(label), 0) + count
        for index, label, unsure in self._rare:
            if label in wanted:
                scope = self._facts.scopes[index]
                scope.defined[label] = scope.defined.get(label, 0) + 1
                if unsure:
                    scope.unsure.add(label)


def _plan_of(ruling: Ruling) -> Plan:
    return Plan(
        dialect=dialect.WORD_ADDRESS,
        binary=False,
        percent_stays=ruling.percent_stays,
        has_g11=False,
        labels=ruling.labels,
        notes=ruling.notes,
    )


def fields_of(identity: Identity) -> dict[str, object]:
    """An identity as a dictionary in the order of the JSON document."""
    found: dict[str, object] = {name: getattr(identity, name) for name in names_of(Identity)}
    return {**found, "notes": list(identity.notes)}


def identity_from(found: dict[str, Any]) -> Identity:
    """The record for such a dictionary."""
    return Identity(**{**found, "notes": tuple(found["notes"])})
