"""What the record holds beside a text that is checked: what was released and proven before, whose numbers it shares."""

from collections.abc import Callable, Iterable, Iterator

from tracker.checks.subject import NOTHING, Earlier, OnRecord, Other, ProgramIn
from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass, field
from tracker.nc.dialect import WORD_ADDRESS
from tracker.policy.find import by_name, label, newest_of, same_name, struck
from tracker.records.events import FileOf, ProofRecord, ReleaseRecord, RevisionRecord
from tracker.records.job import Operation
from tracker.records.places import SHOP
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, Stored
from tracker.services.operation_text import OperationText
from tracker.services.ports import Recorded, Repository, Tree
from tracker.services.revision_text import job_path_of, revision_text


@dataclass(slots=True)
class RecordBeside:
    """Looks things up in one ledger, for any number of operations.

    Args: repo: where texts are read. ledger: of the state in hand. tree: that state, for what job.toml says today.
    """

    repo: Recorded
    ledger: Ledger
    tree: Tree
    _seen: "_Seen | None" = field(default=None)

    def of(self, text: OperationText) -> OnRecord:
        """What is on record beside ``text``; what cannot be read back any more is left out, an audit names it."""
        seen = self._seen = self._seen or _look_through(self.ledger)
        key = _key(text.job.number, text.operation.id)
        number, released = seen.released.get(key, (0, None))
        proven = seen.proven.get(key)
        name = proven.record.revision if proven is not None else None
        return OnRecord(
            released=self._earlier(key, released, f"release {number}"),
            proven=self._earlier(key, name, label(name)),
            others=tuple(self._others(text, seen)),
        )

    def _earlier(self, key: "_Key", name: str | None, called: str) -> Earlier | None:
        stored = by_name(self.ledger, *key, name) if name is not None else None
        if stored is None or not isinstance(stored.record, RevisionRecord):
            return None
        try:
            text = revision_text(self.repo, stored)
        except CouldNot:
            return None
        if text.lost or text.operation is None or not text.programs:
            return None
        dialects = {file.path: file.dialect for file in text.record.files}
        return Earlier(
            label=called,
            operation=text.operation,
            programs=tuple(
                ProgramIn(
                    path=program.path,
                    number=program.number,
                    data=program.data,
                    readable=dialects.get(program.path) == WORD_ADDRESS,
                )
                for program in text.programs
            ),
        )

    def _others(self, text: OperationText, seen: "_Seen") -> Iterator[Other]:
        """Programs of other operations with a number of this one's, where both are for one machine or group.

        The same file, and the same code in another, is the same program. Where the machines of either are not stated
        nothing is said: nobody knows whether they meet.
        """
        own = {file.number: file for file in text.files if file.number is not None}
        for number, file in own.items():
            for stored, other in seen.numbers.get(number, ()):
                record = stored.record
                if same_name(record.job, text.job.number) and same_name(record.operation, text.operation.id):
                    continue
                if other.path == file.path or other.fingerprint == file.fingerprint:
                    continue
                if self._meet(text, stored):
                    where = f"{record.job}/{record.operation} {label(stored.name)}, {other.path}"
                    yield Other(number=number, where=where)
                    break

    def _meet(self, text: OperationText, stored: Stored) -> bool:
        """Whether both go to one machine, or to machines of one group, and neither is the other's alternative."""
        try:
            job = self.tree.job(job_path_of(stored))
        except (BadCall, CouldNot):
            return False
        other = job.operation(stored.record.operation or "")
        if other is None or (same_name(job.number, text.job.number) and _alternatives(text.operation, other)):
            return False
        shop = self.ledger.shop
        return bool(_places(shop, text.operation.machines) & _places(shop, other.machines))


def beside_in_hand(repo: Repository, tree: Tree) -> Callable[[OperationText], OnRecord]:
    """The same from the last commit. A folder nothing was committed in has no record yet; one that cannot be read says so."""
    try:
        commit = repo.head().commit
        if commit is None or repo.tree(commit).read(SHOP) is None:
            return lambda _: NOTHING
        ledger = repo.ledger()
    except CouldNot as fault:
        unread = OnRecord(unread=fault.what)
        return lambda _: unread
    return RecordBeside(repo, ledger, tree).of


_Key = tuple[str, str]
"""Job and operation, case folded."""


@dataclass(slots=True)
class _Seen:
    """One look through a ledger.

    ``released``: number and revision of the newest release of an operation, withdrawn or not: what its stops were is
    asked, not what may run. ``proven``: what was accepted in full last, on any machine, on paper too. ``numbers``: the
    programs of the newest revisions by O number.
    """

    released: dict[_Key, tuple[int, str]] = field(default_factory=dict)
    proven: dict[_Key, Stored] = field(default_factory=dict)
    numbers: dict[int, list[tuple[Stored, FileOf]]] = field(default_factory=dict)


def _look_through(ledger: Ledger) -> _Seen:
    seen, off = _Seen(), struck(ledger)
    for stored in ledger.records:
        record = stored.record
        if not stored.in_hand or stored.path in off:
            continue
        key = _key(record.job, record.operation)
        if isinstance(record, ProofRecord) and record.result == "accepted" and not record.tools:
            if key not in seen.proven or stored.order >= seen.proven[key].order:
                seen.proven[key] = stored
        elif isinstance(record, ReleaseRecord):
            for held in record.operations:
                whole = _key(record.job, held.operation)
                seen.released[whole] = max(seen.released.get(whole, (0, "")), (record.number, held.revision))
    for stored in newest_of(ledger):
        for file in stored.record.files if isinstance(stored.record, RevisionRecord) else ():
            if file.number is not None:
                seen.numbers.setdefault(file.number, []).append((stored, file))
    return seen


def _key(job: str | None, operation: str | None) -> _Key:
    return (job or "").casefold(), (operation or "").casefold()


def _alternatives(one: Operation, other: Operation) -> bool:
    def root(operation: Operation) -> str:
        return (operation.alternative_to or operation.id).casefold()

    return root(one) == root(other)


def _places(shop: Shop, machines: Iterable[str]) -> set[str]:
    """Machines and their groups, spelled so that the one is never taken for the other."""
    found: set[str] = set()
    for name in machines:
        machine = shop.machine(name)
        found.add("machine " + name.casefold())
        if machine is not None and machine.group:
            found.add("group " + machine.group.casefold())
    return found
