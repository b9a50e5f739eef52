"""``adopt --history``: a revision of each old commit that changed the code of a program that was taken in.

1. Every program is followed back from today, through renames and merges (`past_places`).
2. From the first commit on, whatever touched an operation's programs is put together again (`past_texts`) and compared
   with the revisions its parents stood on. Where the code differs it is a revision of before the record: with the author
   and the date the commit claims, and what changed on the way.
3. All records go into one commit on top. No old commit is touched, and a kill leaves all of it or nothing.

A commit that has its revision already gives none, so that a second run adds nothing. From an operation's first check-in
on nothing is before the record. None of these revisions is ever the newest one or gives a standing.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from tracker.frozen import dataclass, field
from tracker.nc import kinds as k
from tracker.nc.identity import RULE_VERSION
from tracker.policy.find import number_of, revisions
from tracker.policy.may import require
from tracker.policy.spelled import counted
from tracker.records.events import Before, Origin, RevisionRecord
from tracker.records.names import revision_file, revision_name
from tracker.records.shop import Shop
from tracker.records.stored import Ledger
from tracker.services.call_lookup import ProgramIndex
from tracker.services.desk import Desk, Opening, acting, opening
from tracker.services.difference import difference, is_lathe
from tracker.services.locate import locate
from tracker.services.naming import Named
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.past_places import Places, places
from tracker.services.past_texts import PastText, bare, past_text
from tracker.services.paths import folder_of, name_of
from tracker.services.ports import NewFile, Tree
from tracker.services.ports_past import Past, PastCommit
from tracker.services.program_facts import FactsKept
from tracker.services.progress import Tell, quiet, told
from tracker.services.recording import attached_head
from tracker.services.shelves import Shelves


@dataclass(frozen=True, slots=True, kw_only=True)
class FromBefore:
    """What the history gave for one operation: how many revisions of before the record, new ones and all."""

    job: str
    operation: str
    new: tuple[str, ...]
    already: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryReport:
    """What was taken over, or with ``dry_run`` would be.

    ``commits`` were looked through; ``authors`` are the names they claim, with how many revisions; ``odd_dates``: new
    revisions whose commit bears no date that can be, or one still to come; ``commit`` None where nothing was written.
    """

    operations: tuple[FromBefore, ...]
    commits: int
    authors: tuple[tuple[str, int], ...]
    odd_dates: int
    commit: str | None
    dry_run: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stood:
    """A revision of before the record that is in force in some commit."""

    name: str
    text: PastText


_States = Mapping[int, tuple[_Stood, ...] | None]
"""Place of an operation -> what is in force of it; None from its first check-in on."""


@dataclass(slots=True)
class _Operation:
    """One operation while its past is gone through."""

    today: OperationText
    known: Mapping[str, str]
    recorded: frozenset[str]
    next: int
    uses: set[str]
    new: list[str] = field(default_factory=list)
    already: int = 0


def adopt_history(
    desk: Desk,
    past: Past,
    named: Sequence[Named] | None = None,
    *,
    by: str | None,
    reason: str | None = None,
    dry_run: bool = False,
    tell: Tell = quiet,
) -> HistoryReport:
    """Take the history over.

    Args:
        desk: where from.
        past: the history of the branch in hand.
        named: operations in the working folder about to be checked in; None: every operation that is recorded.
        by: who takes it over; None: the person git knows.
        reason: why, for the commit's message.
        dry_run: say what would be done, write nothing.
        tell: told how far it is.

    Raises:
        BadCall: unknown names, broken files people write.
        Refused: ``detached-head``, ``wrong-role``, ``moved``.
        CouldNot: no repository, no shop, shallow clone, locked.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    person = acting(desk, ledger.shop, by)
    require(ledger.shop, person, "checkin", desk.clock.now())
    commits = past.commits()
    operations = list(_operations(desk, ledger, named))
    replay = _Replay(desk, past, ledger.shop, operations, opening(desk, person), commits)
    replay.run(tell)
    made = replay.files
    commit = None
    if made and not dry_run:
        what = f"before the record: {counted(len(made), 'revision')} of {counted(len(commits), 'commit')}"
        commit = desk.repo.commit(
            made,
            message=f"{what}: {reason}" if reason else what,
            author=person,
            at=desk.clock.now(),
            expect=head,
        )
    return HistoryReport(
        operations=tuple(
            FromBefore(
                job=one.today.job.number,
                operation=one.today.operation.id,
                new=tuple(one.new),
                already=one.already,
            )
            for one in operations
        ),
        commits=len(commits),
        authors=tuple(replay.authors.most_common()),
        odd_dates=replay.odd_dates,
        commit=commit,
        dry_run=dry_run,
    )


def _operations(desk: Desk, ledger: Ledger, named: Sequence[Named] | None) -> Iterator[_Operation]:
    """The operations to go through, as they are today."""
    tree = desk.repo.tree() if named is None else desk.repo.work_tree()
    index, shelves = ProgramIndex(tree), Shelves(ledger)
    for one in _recorded(tree, shelves) if named is None else named:
        job_path, job, operation = locate(tree, one)
        text = operation_text(tree, job_path, job, operation, ledger.shop, index=index)
        found = revisions(
            shelves.revisions_of(job.number, operation.id), job.number, operation.id, everywhere=True
        )
        yield _Operation(
            today=text,
            known={stored.before.commit: stored.name for stored in found if stored.before is not None},
            recorded=frozenset(stored.commit for stored in found if stored.before is None),
            next=1 + max((number_of(stored.name) for stored in found), default=0),
            uses={program.path for program in text.programs},
        )


def _recorded(tree: Tree, shelves: Shelves) -> Iterator[Named]:
    """Every operation of the tree that has a revision of its own."""
    for path in sorted(tree.job_paths().values()):
        job = tree.job(path)
        for operation in job.operations:
            held = shelves.revisions_of(job.number, operation.id).records
            if any(stored.before is None for stored in held):
                yield Named(job=job.number, operation=operation.id)


class _Replay:
    """Goes through the commits once, parents first."""

    def __init__(
        self,
        desk: Desk,
        past: Past,
        shop: Shop,
        operations: Sequence[_Operation],
        words: Opening,
        commits: Sequence[PastCommit],
    ) -> None:
        self._desk, self._past, self._shop, self._words = desk, past, shop, words
        self._operations, self._commits = operations, commits
        self._facts: FactsKept = {}
        self._left = Counter(parent for commit in commits for parent in commit.parents)
        self._blobs: dict[str, Mapping[str, str]] = {}
        self._states: dict[str, _States] = {}
        self._called = {program.path for one in operations for program in one.today.programs[1:]}
        self._users: dict[str, set[int]] = {}
        self._recorded: dict[str, set[int]] = {}
        for at, one in enumerate(operations):
            for path in one.uses:
                self._users.setdefault(path, set()).add(at)
            for commit in one.recorded:
                self._recorded.setdefault(commit, set()).add(at)
        self.files: list[NewFile] = []
        self.authors: Counter[str] = Counter()
        self.odd_dates = 0

    def run(self, tell: Tell) -> None:
        """Make every record."""
        today = {p.path: p.data for one in self._operations for p in one.today.programs}
        taken_in = {commit for one in self._operations for commit in one.recorded}
        there = places(self._past, self._commits, today, taken_in)
        for commit in told(self._commits, "going through the history", tell):
            self._one(commit, there)

    def _one(self, commit: PastCommit, there: Places) -> None:
        here = there.get(commit.commit, {})
        changed = self._changed(commit, here)
        before = [self._states.get(parent, {}) for parent in commit.parents]
        held = dict(before[0]) if before else {}
        for at in sorted(self._touched(commit, changed, before)):
            states = [one.get(at, ()) for one in before]
            held[at] = self._state(commit, at, states, here)
        self._states[commit.commit] = before[0] if before and held == before[0] else held
        for parent in commit.parents:
            self._left[parent] -= 1
            if not self._left[parent]:  # nothing follows it any more
                self._states.pop(parent, None)
                self._blobs.pop(parent, None)

    def _touched(self, commit: PastCommit, changed: set[str], before: Sequence[_States]) -> set[int]:
        """The operations whose text may be another after the commit than before it."""
        found = set(self._recorded.get(commit.commit, ()))
        found.update(*(self._users.get(path, ()) for path in changed))
        for other in before[1:]:
            if other is not before[0]:
                keys = before[0].keys() | other.keys()
                found |= {at for at in keys if before[0].get(at, ()) != other.get(at, ())}
        return found

    def _changed(self, commit: PastCommit, here: Mapping[str, str]) -> set[str]:
        """Programs the commit changed beside its first parent; puts down the files it leaves."""
        held = self._blobs.get(commit.parents[0], {}) if commit.parents else {}
        touched = {change.path: change for change in commit.changes[0]} if commit.changes else {}
        gone = {change.old for change in touched.values() if change.old is not None}
        changed = {program for program, path in here.items() if path in touched or path in gone}
        if changed:
            held = dict(held)
            for program in changed:
                change = touched.get(here[program])
                if change is None or change.status == "D":
                    held.pop(program, None)
                else:
                    held[program] = change.blob
        self._blobs[commit.commit] = held
        return changed

    def _state(
        self,
        commit: PastCommit,
        at: int,
        before: Sequence[tuple[_Stood, ...] | None],
        here: Mapping[str, str],
    ) -> tuple[_Stood, ...] | None:
        """What is in force of an operation after the commit; None from its first check-in on."""
        one = self._operations[at]
        if commit.commit in one.recorded or None in before:
            return None
        parents = tuple({stood.name: stood for held in before for stood in held or ()}.values())
        text = self._text(commit, at, here)
        if text is None:
            return parents
        same = next((stood for stood in parents if stood.text.code == text.code), None)
        if same is not None:
            return (same,)
        return (_Stood(name=self._name(commit, one, parents, text), text=text),)

    def _text(self, commit: PastCommit, at: int, here: Mapping[str, str]) -> PastText | None:
        one = self._operations[at]
        held = self._blobs[commit.commit]
        wanted = [path for path in one.uses | self._called if path in held]
        if one.today.programs[0].path not in wanted:
            return None
        files = {path: self._past.read(held[path]) for path in wanted}
        text = past_text(self._shop, one.today, files, here, self._facts)
        back = {here[path]: path for path in wanted}
        for file in text.files if text is not None else ():
            one.uses.add(back[file.path])
            self._users.setdefault(back[file.path], set()).add(at)
        return text

    def _name(self, commit: PastCommit, one: _Operation, parents: Sequence[_Stood], text: PastText) -> str:
        """The name of the revision a commit gives: the one it has, else that of a new record."""
        known = one.known.get(commit.commit)
        if known is not None:
            one.already += 1
            return known
        record = self._record(commit, one, tuple(self._origin(one, stood, text) for stood in parents), text)
        data = self._desk.repo.encode(record)
        path = revision_file(folder_of(one.today.job_path), one.today.operation.id, one.next, data)
        self.files.append(NewFile(path=path, data=data))
        self.authors[commit.author or Before.NOBODY] += 1
        one.next += 1
        one.new.append(name_of(path).removesuffix(".toml"))
        return one.new[-1]

    def _record(
        self, commit: PastCommit, one: _Operation, origins: tuple[Origin, ...], text: PastText
    ) -> RevisionRecord:
        words = self._words.copy()
        words["at"] = self._claimed(commit.authored)
        return RevisionRecord(
            job=one.today.job.number,
            operation=one.today.operation.id,
            revision=revision_name(one.next),
            reason=commit.subject or None,
            operation_fingerprint=text.fingerprint,
            strict=text.strict,
            rule_version=RULE_VERSION,
            sheet_fingerprint=text.sheet_fingerprint,
            files=text.files,
            origins=origins,
            post=text.post,
            outside=text.outside,
            before=Before(
                commit=commit.commit, author=commit.author or Before.NOBODY, email=commit.email or None
            ),
            **words,
        )

    def _claimed(self, authored: datetime | None) -> datetime:
        """The date the commit claims; the day of entry where it claims none that can be."""
        entered = self._words["entered"]
        if authored is None or authored > entered:
            self.odd_dates += 1
            return entered
        return authored

    def _origin(self, one: _Operation, stood: _Stood, text: PastText) -> Origin:
        sheet = bare(one.today.job, one.today.operation)
        found = difference(
            stood.text.programs,
            text.programs,
            old_sheet=sheet,
            new_sheet=sheet,
            strict=stood.text.strict or text.strict,
            lathe=is_lathe(self._shop, one.today.operation),
        )
        kinds = set(found.kinds)
        if stood.text.post and text.post and stood.text.post != text.post:
            kinds.add(k.POST)
        if kinds <= k.TEXT_ONLY:
            kinds.add(k.OTHER)  # the code is not the same, whatever the comparison could tell
        sections = None if kinds & {k.POST, k.OTHER} else found.sections
        return Origin(revision=stood.name, kinds=tuple(sorted(kinds)), sections=sections, slower=found.slower)
