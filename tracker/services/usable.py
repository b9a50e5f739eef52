"""What may run on a machine today, and why the rest may not.

An operation may run where the latest release of its job holds it, that release is not withdrawn and can be derived
again from the records, and its revision stands on the machine today. A tag alone is never believed.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Protocol

from tracker.errors import BadCall
from tracker.frozen import dataclass, field, replace
from tracker.policy.find import label, newest, same_name
from tracker.policy.standing import Judge
from tracker.policy.states import Standing
from tracker.records.events import FileOf, RevisionRecord
from tracker.records.job import Operation
from tracker.records.shop import Machine
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.released import Expected, Releases
from tracker.services.revision_text import shown_name

if TYPE_CHECKING:
    from tracker.services.known import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """An operation as the latest release of its job holds it; ``commit`` the state that was released.

    ``texts``: its programs by path, as they were read on the way.
    """

    job: str
    job_path: str
    operation: Operation
    release: int
    commit: str
    stored: Stored
    record: RevisionRecord
    texts: Mapping[str, FileOf] = field(default_factory=dict, repr=False, compare=False)

    @property
    def name(self) -> str:
        """``4471/op10``."""
        return f"{self.job}/{self.operation.id}"

    @property
    def spelled(self) -> str:
        """``4471/op10 r5``."""
        return f"{self.name} {label(self.stored.name)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Usable:
    """A released operation that may run on the machine today, with its standing there."""

    released: Released
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """An operation for the machine that may not run there, why, and what would clear it.

    ``released``: ``revision`` is the one a release holds, else the newest of an operation in no release.
    """

    job: str
    operation: str
    revision: str | None
    why: str
    clears: tuple[str, ...] = ()
    released: bool = True

    @property
    def spelled(self) -> str:
        """``4471/op20 r1: held by dg 19 Mar 2026``."""
        return f"{self.job}/{self.operation}{' ' + self.revision if self.revision else ''}: {self.why}"


class Watch(Protocol):
    """Somebody who wants what may run on a machine while it is still being found out."""

    def deriving(self, job: str, done: int, total: int) -> None:
        """The job whose releases are derived next, and how many of how many are done."""

    def expected(self, programs: Expected) -> None:
        """What the records let expect, before anything is derived."""

    def found(self, one: Usable) -> None:
        """An operation that may run there: derived again, and its standing asked for."""


class Board:
    """Releases and standings of one repository on one day, each worked out once."""

    def __init__(self, desk: Desk, ledger: Ledger) -> None:
        """Args: desk: its repository and its clock. ledger: the records decided on."""
        self._ledger = ledger
        self._judge = Judge(ledger, desk.clock.now())
        self._releases = Releases(desk.repo, ledger, self._judge)
        self._standings: dict[tuple[str, str, str, str], Standing] = {}
        self._heads: dict[Key, tuple[Stored, ...]] = {}
        self._operations = _operations(desk)
        self._revisions: dict[Key, list[Stored]] = {}
        for stored in ledger.records:
            if isinstance(stored.record, RevisionRecord):
                key = _key(stored.record.job or "", stored.record.operation or "")
                self._revisions.setdefault(key, []).append(stored)

    def released(self, job: str, operation: str) -> Released | None:
        """The operation in the latest release of its job, None where that is withdrawn or cannot be derived."""
        found = self._latest(job, operation)
        return None if found is None or found[1] is not None else found[0]

    def last_tag(self, job: str) -> int | None:
        """The highest number a release tag of the job has; nothing says that it is a release."""
        return self._releases.last_tag(job)

    def machines(self, job: str, operation: str) -> tuple[str, ...]:
        """The machines the operation is for: by job.toml in hand, else by the release."""
        here = self._operations.get(_key(job, operation))
        if here is not None:
            return here.operation.machines
        released = self.released(job, operation)
        return released.operation.machines if released is not None else ()

    def is_for(self, job: str, operation: str, machine: Machine | None) -> bool:
        """Whether the operation is for the machine; where neither says anything, it is."""
        machines = self.machines(job, operation)
        return machine is None or not machines or any(same_name(one, machine.id) for one in machines)

    def is_current(self, text: "Known") -> bool:
        """Whether the text's code is that of the program in the latest release."""
        released = self.released(text.job, text.operation)
        if released is None:
            return False
        ours, theirs = text.record, released.record
        same_rules = (ours.strict, ours.rule_version) == (theirs.strict, theirs.rule_version)
        return any(
            file.path == text.file.path
            and (
                file.raw_sha256 == text.file.raw_sha256
                or (same_rules and file.fingerprint == text.file.fingerprint)
            )
            for file in theirs.files
        )

    def have_another(self, texts: "Iterable[Known]") -> tuple[Released, ...]:
        """Of texts with one code the operations whose latest release holds another text of that program."""
        of: dict[Key, list[Known]] = {}
        for text in texts:
            of.setdefault(_key(text.job, text.operation), []).append(text)
        found = []
        for own in of.values():
            released = self.released(own[0].job, own[0].operation)
            paths = {text.file.path for text in own}
            if released is None or any(map(self.is_current, own)):
                continue
            if any(file.path in paths for file in released.record.files):
                found.append(released)
        return tuple(found)

    def is_newest(self, text: "Known") -> bool:
        """Whether no revision came after the one the text is of."""
        return text.stored.name in {one.name for one in self._newest(text.job, text.operation)}

    def newer(self, released: Released) -> tuple[str, ...]:
        """The newest revisions of an operation that came after the one released, which no release that counts holds."""
        heads = self._newest(released.job, released.operation.id)
        names = [one.name for one in heads]
        return () if released.stored.name in names else tuple(map(self.shown, heads))

    def superseding(self, text: "Known") -> str | None:
        """What counts instead of an older text, in words."""
        released = self.released(text.job, text.operation)
        if released is not None:
            return f"released is {label(released.stored.name)} (release {released.release})"
        heads = self._newest(text.job, text.operation)
        names = " and ".join(self.shown(one) for one in heads if one.name != text.stored.name)
        return f"the newest is {names}, not released" if names else None

    def shown(self, stored: Stored) -> str:
        """A revision as it is named beside others of its operation: two of one number are told apart."""
        record = stored.record
        return shown_name(stored, self._of(record.job or "", record.operation or ""))

    def standing(self, stored: Stored, machine: Machine | None) -> Standing | None:
        """How a revision stands on the machine today; without a machine on the first one it is for."""
        record = stored.record
        if machine is None:
            names = self.machines(record.job or "", record.operation or "")
            machine = next((m for name in names if (m := self._ledger.shop.machine(name)) is not None), None)
        if machine is None:
            return None
        key = (record.job or "", record.operation or "", stored.name, machine.id)
        if key not in self._standings:
            self._standings[key] = self._judge.standing(stored, machine)
        return self._standings[key]

    def on_machine(
        self, machine: Machine, watch: "Watch | None" = None
    ) -> tuple[tuple[Usable, ...], tuple[LeftOut, ...]]:
        """What may run on the machine today, and what is for it and may not; sorted by job and operation.

        ``watch``: somebody who wants the programs: they are read beside, and each operation is told as it is found.
        """
        usable: list[Usable] = []
        left_out: list[LeftOut] = []
        if watch is not None:
            watch.expected(self._releases.read_ahead(machine))
        for job, operation in self._keys(watch):
            latest = self._latest(job, operation)
            here = self._operations.get((job, operation))
            if latest is not None and _names(latest[0].operation, machine):
                one = self._stands(*latest, machine)
                if isinstance(one, Usable):
                    usable.append(one)
                    if watch is not None:
                        watch.found(one)
                else:
                    left_out.append(one)
            elif here is not None and _names(here.operation, machine):
                left_out.append(self._unreleased(here, machine))
        return tuple(usable), tuple(left_out)

    def _keys(self, watch: "Watch | None" = None) -> "Iterator[Key]":
        """Every operation in hand or released, sorted; the releases of a job are derived when its turn comes."""
        own: dict[str, set[str]] = {job: set() for job in self._releases.jobs}
        for job, operation in self._operations:
            own.setdefault(job, set()).add(operation)
        for done, job in enumerate(sorted(own)):
            if watch is not None:
                watch.deriving(job, done, len(own))
            latest = self._releases.of(job).latest
            for operation in sorted(own[job].union(latest.operations if latest else ())):
                yield job, operation

    def _latest(self, job: str, operation: str) -> tuple[Released, str | None] | None:
        """The operation in the latest release, and why it is recalled there, or None."""
        latest = self._releases.of(job).latest
        held = latest.operations.get(operation.casefold()) if latest is not None else None
        if latest is None or held is None or not isinstance(held.revision.record, RevisionRecord):
            return None
        written = latest.facts.operation(held.operation.operation)
        if written is None:
            return None
        released = Released(
            job=latest.facts.number,
            job_path=latest.job_path,
            operation=written,
            release=latest.number,
            commit=latest.commit,
            stored=held.revision,
            record=held.revision.record,
            texts=held.texts,
        )
        return released, held.withdrawn

    def _unreleased(self, here: "Here", machine: Machine) -> LeftOut:
        """An operation for the machine that no release holds for it."""
        releases = self._releases.of(here.job)
        latest = releases.latest
        why = (
            f"is not in release {latest.number}"
            if latest is not None
            else releases.why_none or "is in no release"
        )
        heads = self._newest(here.job, here.operation.id)
        place = self.standing(heads[0], machine) if len(heads) == 1 else None
        clears: tuple[str, ...] = ()
        if place is not None:
            why = f"{why}; {place.reason}"
            clears = (f"proveout release {here.job}",) if place.usable else place.clears
        return LeftOut(
            job=here.job,
            operation=here.operation.id,
            revision=label(heads[0].name) if len(heads) == 1 else None,
            why=why,
            clears=clears,
            released=False,
        )

    def _newest(self, job: str, operation: str) -> tuple[Stored, ...]:
        key = _key(job, operation)
        if key not in self._heads:
            self._heads[key] = newest(self._of(job, operation), job, operation)
        return self._heads[key]

    def _of(self, job: str, operation: str) -> Ledger:
        """The revisions of one operation alone."""
        return replace(self._ledger, records=tuple(self._revisions.get(_key(job, operation), ())))

    def _stands(self, found: Released, withdrawn: str | None, machine: Machine) -> Usable | LeftOut:
        place = self.standing(found.stored, machine)
        if withdrawn is None and place is not None and place.usable:
            return Usable(released=found, standing=place)
        stopped = place if place is not None and not place.usable else None
        return LeftOut(
            job=found.job,
            operation=found.operation.id,
            revision=label(found.stored.name),
            why=stopped.reason if stopped is not None else withdrawn or "not in shop.toml",
            clears=stopped.clears if stopped is not None else (),
        )


Key = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """An operation of the tree in hand."""

    job: str
    operation: Operation


def _key(job: str, operation: str) -> Key:
    return job.casefold(), operation.casefold()


def _operations(desk: Desk) -> dict[Key, Here]:
    """The operations of the last commit; a job.toml that is wrong is passed over here."""
    tree = desk.repo.tree()
    found: dict[Key, Here] = {}
    for path in tree.job_paths().values():
        try:
            job = tree.job(path)
        except BadCall:
            continue
        for operation in job.operations:
            found[_key(job.number, operation.id)] = Here(
                job=job.number, operation=job.operation(operation.id) or operation
            )
    return found


def _names(operation: Operation, machine: Machine) -> bool:
    return any(same_name(name, machine.id) for name in operation.machines)
