"""``adopt DIR``: look through folders of old programs and write a plan of taking them in; not a byte is moved.

1. Every file is looked through (`adopt_look`): number, calls, units, head, fingerprint.
2. Within a folder a program that another one calls is a called program, the others are main programs.
3. Copies are told apart from differing ones (`adopt_copies`); the first folder named counts as the office's.
4. Each file becomes a row of the plan (`adopt_plan`); what nobody can decide from the texts stands there with ``?``.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from tracker.errors import ProveoutError
from tracker.frozen import dataclass, field, replace
from tracker.records.events import RevisionRecord
from tracker.records.shop import Shop
from tracker.records.stored import Ledger
from tracker.services.adopt_copies import DIFFERS, SAME_BYTES, Copy, copies, difference_words
from tracker.services.adopt_look import PROGRAM, Looked, look_at
from tracker.services.adopt_names import looks_like_program, machine_of, proposed
from tracker.services.adopt_plan import CALLED, NO, OPEN, YES, PlanRow
from tracker.services.call_lookup import COMMON
from tracker.services.desk import Desk
from tracker.services.path_lint import lint_paths
from tracker.services.paths import folder_of
from tracker.services.ports import Tree
from tracker.services.ports_adopt import OldFolder
from tracker.services.progress import Tell, quiet, told

_STEP = 10
LEFT_OUT = "git leaves it out where it lies (.gitignore, or a git repository of its own): it will be copied"


@dataclass(frozen=True, slots=True, kw_only=True)
class AdoptReport:
    """The plan, and how many files are what; ``plan`` is the file it was written to, None while there is none.

    ``tracked``: some of the programs are in git's history already; ``machines``: how many the shop has.
    """

    folders: tuple[str, ...]
    rows: tuple[PlanRow, ...]
    counts: Mapping[str, int]
    machines: int
    tracked: bool = False
    plan: str | None = None


@dataclass(slots=True)
class _Scan:
    """What stays at hand while the rows are made."""

    shop: Shop
    folders: Sequence[OldFolder]
    taken: Mapping[str, str]
    strict: bool
    called: set[str] = field(default_factory=set)
    left_out: set[str] = field(default_factory=set)
    beside: Counter[tuple[int, str]] = field(default_factory=Counter)
    operations: dict[str, set[str]] = field(default_factory=dict)

    def is_called(self, one: Looked) -> bool:
        """Whether another program calls it."""
        return one.file.named in self.called

    def is_left_out(self, one: Looked) -> bool:
        """Whether git keeps nothing of it where it lies."""
        return one.file.named in self.left_out


def adopt(desk: Desk, folders: Sequence[OldFolder], *, tell: Tell = quiet) -> AdoptReport:
    """Look the folders through.

    Raises BadCall for a shop.toml that is wrong, CouldNot (``no-shop``).
    """
    tree = desk.repo.work_tree()
    shop = tree.shop()
    files = [(place, file) for place, folder in enumerate(folders) for file in folder.look()]
    looked = [
        look_at(place, folders[place], file) for place, file in told(files, "looking through the files", tell)
    ]
    # whoever goes to a line of another program makes every line number of that one code, as in a strict operation
    strict = any(one.names_lines for one in looked)
    if strict:
        looked = [
            look_at(one.folder, folders[one.folder], one.file, strict=True) if one.what == PROGRAM else one
            for one in told(looked, "line numbers too, since programs name them", tell)
        ]
    programs = [one for one in looked if one.what == PROGRAM]
    scan = _scan(desk, shop, folders, programs, strict=strict)
    scan.left_out |= _left_out(tree, programs)
    copied = copies(programs)
    rows = [
        _row(scan, one, copied.get(at))
        for at, one in told(list(enumerate(programs)), "comparing copies", tell)
    ]
    others = [_other(one) for one in looked if one.what != PROGRAM]
    named = _named([*rows, *others])
    return AdoptReport(
        folders=tuple(folder.label for folder in folders),
        rows=tuple(named),
        counts=Counter(row.take for row in named),
        machines=len(shop.machines),
        tracked=_tracked(desk, programs),
    )


def _tracked(desk: Desk, programs: Sequence[Looked]) -> bool:
    """Whether the last commit holds one of the programs, which was not taken in by this tool."""
    tree = desk.repo.tree()
    places = (one.file.in_repository for one in programs)
    return any(tree.has(place) for place in places if place is not None)


def _left_out(tree: Tree, programs: Sequence[Looked]) -> set[str]:
    """Those in the shop's folder that git keeps nothing of: .gitignore names them, or a repository of its own holds them."""
    here = (one.file for one in programs)
    return {
        file.named for file in here if file.in_repository is not None and not tree.has(file.in_repository)
    }


def _scan(
    desk: Desk, shop: Shop, folders: Sequence[OldFolder], programs: Sequence[Looked], *, strict: bool
) -> _Scan:
    scan = _Scan(shop=shop, folders=folders, taken=_taken(desk.repo.ledger()), strict=strict)
    scan.called |= _called(programs)
    for one in programs:
        if not scan.is_called(one):
            scan.beside[one.folder, folder_of(one.file.path)] += 1
    return scan


def _called(programs: Sequence[Looked]) -> set[str]:
    """The files that others call: the one beside the caller where there is one, else whoever answers in that folder."""
    near: dict[tuple[int, str, int], list[str]] = {}
    far: dict[tuple[int, int], list[str]] = {}
    for one in programs:
        for number in one.numbers:
            near.setdefault((one.folder, folder_of(one.file.path), number), []).append(one.file.named)
            far.setdefault((one.folder, number), []).append(one.file.named)
    found: set[str] = set()
    for one in programs:
        for number in set(one.calls) - set(one.numbers):
            beside = near.get((one.folder, folder_of(one.file.path), number))
            found.update(beside or far.get((one.folder, number), []))
    return found


def _taken(ledger: Ledger) -> Mapping[str, str]:
    """Path of a program of the repository -> the operation that has it already."""
    return {
        file.path: f"{stored.record.job}/{stored.record.operation}"
        for stored in ledger.records
        if isinstance(stored.record, RevisionRecord) and stored.before is None
        for file in stored.record.files
    }


def _row(scan: _Scan, one: Looked, copy: Copy | None) -> PlanRow:
    take, remarks = YES, list(_remarks(one))
    if scan.is_left_out(one):
        remarks.append(LEFT_OUT)
    if scan.is_called(one):
        take = CALLED
    if one.dialect == "verbatim":
        remarks.append("another language, or plain text: kept to the letter, no sheet can be drafted from it")
        take = take if looks_like_program(one.file.path) else OPEN
    if copy is not None:
        take = _of_copy(scan, one, copy, remarks)
    if one.file.in_repository in scan.taken:
        take = NO
        remarks.append(f"belongs to {scan.taken[one.file.in_repository or '']} already")
    job, operation = _place(scan, one, take)
    return PlanRow(
        take=take,
        job=job,
        operation=operation,
        file=one.file.named,
        to=_to(scan, one, take),
        machine=machine_of(one.file.path, [machine.id for machine in scan.shop.machines])
        if take in (YES, OPEN)
        else "",
        number=" ".join(f"O{number:04}" for number in dict.fromkeys(one.held)),
        units=one.units or "",
        id=one.fingerprint[:8].upper(),
        remarks="; ".join(remarks),
        proof_words=one.hint or "",
        sha256=one.sha256,
    )


def _of_copy(scan: _Scan, one: Looked, copy: Copy, remarks: list[str]) -> str:
    """What is proposed for a copy: left where it is the same, to be decided where it differs."""
    if copy.how == DIFFERS:
        try:
            old, new = (scan.folders[it.folder].read(it.file.path) for it in (copy.of, one))
            words = difference_words(old, new, strict=scan.strict)
        except ProveoutError as fault:
            words = f"could not be compared ({fault.what})"
        remarks.append(f"differs from {copy.of.file.named} in: {words}")
        return OPEN
    remarks.append(
        f"{'the same bytes' if copy.how == SAME_BYTES else 'the same code'} as {copy.of.file.named}"
    )
    return NO


def _remarks(one: Looked) -> Iterator[str]:
    stem = one.file.path.rpartition("/")[2].partition(".")[0]
    digits = stem[1:] if stem[:1] in ("O", "o") else ""
    if not one.held and one.dialect != "verbatim":
        yield "no O number in it"
    if len(set(one.held)) > 1:
        yield f"{len(set(one.held))} programs in one file"
    elif len(one.held) > 1:
        yield f"its O number stands in it {len(one.held)} times"
    if digits.isascii() and digits.isdecimal() and one.held and int(digits) not in one.held:
        yield f"the file is called {stem}, the program O{one.held[0]:04}"
    yield from dict.fromkeys(fault.why for fault in lint_paths([one.file.path]))


def _place(scan: _Scan, one: Looked, take: str) -> tuple[str, str]:
    """Job and operation; each main program gets an operation of its own."""
    ids = [machine.id for machine in scan.shop.machines]
    beside = scan.beside[one.folder, folder_of(one.file.path)]
    job, operation = proposed(one.file.path, beside, ids)
    if take == CALLED:
        return job if beside else "", ""
    if take == NO:
        return "", ""
    used = scan.operations.setdefault(job.lower(), set())
    if operation is None or operation in used:
        operation = next(f"op{n}" for n in range(_STEP, 100_000, _STEP) if f"op{n}" not in used)
    if take == YES:
        used.add(operation)
    return job, operation


def _to(scan: _Scan, one: Looked, take: str) -> str:
    """Where a called program must go to be found: common/, unless its callers lie beside it and it stays there."""
    if take != CALLED:
        return ""
    stays = one.file.in_repository is not None and not scan.is_left_out(one)
    return "" if stays and scan.beside[one.folder, folder_of(one.file.path)] else COMMON


def _other(one: Looked) -> PlanRow:
    return PlanRow(take=NO, file=one.file.named, remarks=f"{one.what}: {one.why}", sha256=one.sha256)


def _named(rows: Sequence[PlanRow]) -> list[PlanRow]:
    """Where two files would be one operation the later one is asked about."""
    seen: set[tuple[str, str]] = set()
    found = []
    for row in rows:
        key = (row.job.lower(), row.operation.lower())
        if row.take == YES and key in seen:
            row = replace(
                row,
                take=OPEN,
                remarks=f"{row.remarks}; {row.job}/{row.operation} is another file's".lstrip("; "),
            )
        if row.take == YES:
            seen.add(key)
        found.append(row)
    return found
