"""``prove DIR`` and ``ran DIR``: job, operation, revision and machine taken from what lies on a stick.

Every file is judged as ``collect`` judges it, so its content says what it is, and of an edited one the exports of this
repository say what it was. A list on the stick is believed in nothing. Files that lie in one folder and belong to one
operation are a choice; where there are several, a person has to say which one. What may not run is said so before anything
is asked: of a text that lies apart for its prove-out or a deviation, only that it is held or withdrawn.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from tracker.errors import BadCall, CouldNot, Refused
from tracker.policy.find import number_of
from tracker.policy.states import HELD, WITHDRAWN
from tracker.records.shop import Shop
from tracker.records.stored import Stored
from tracker.services import collect_report as verdicts
from tracker.services.collect import Brought, look
from tracker.services.collect_report import CollectReport, FileVerdict
from tracker.services.comparing import PlainFile
from tracker.services.desk import Desk
from tracker.services.known import Known, KnownTexts
from tracker.services.naming import Named
from tracker.services.ports_stick import PROVING_FOLDER, SUBFOLDERS, Medium, Shaper
from tracker.services.progress import Tell, phase, quiet
from tracker.services.revision_text import ShownNames
from tracker.services.stick_view import Contents
from tracker.services.usable import Board

_BROKEN = frozenset({verdicts.INCOMPLETE, verdicts.DAMAGED})


@dataclass(frozen=True, slots=True, kw_only=True)
class OnStickNow:
    """What a stick says: the revision its content names, the machine, the files of that operation."""

    named: Named
    machine: str | None
    files: tuple[PlainFile, ...]
    notes: tuple[str, ...] = ()
    stopped: "Stopped | None" = None
    by_id: bool = False
    """Whether the revision was named by its 8-digit id."""

    @property
    def spelled(self) -> str:
        """``4471/op10 r3 on MILL2``."""
        place = f" on {self.machine}" if self.machine else ""
        return f"{self.named.job}/{self.named.operation} r{self.named.revision}{place}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopped:
    """That a text may not run on a machine, by its standing there."""

    machine: str
    state: str
    reason: str

    @property
    def words(self) -> str:
        """``HELD on MILL2, may not run there: held by dg 19 Mar 2026``."""
        return f"{self.state.upper()} on {self.machine}, may not run there: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The files of one operation in one folder of the stick."""

    folder: str
    stored: Stored
    shown: str
    job: str
    operation: str
    machine: str | None
    files: tuple[FileVerdict, ...]
    stopped: Stopped | None = None

    @property
    def called(self) -> str:
        """``4471/op10@r3 --machine MILL2``: how a command names it without the stick."""
        return f"{self.job}/{self.operation}@{self.shown} --machine {self.machine or 'ID'}"

    @property
    def spelled(self) -> str:
        """``4471/op10 r3 in MILL2/FOR-PROVING (HELD, changed-code)``."""
        where = f" in {self.folder}" if self.folder else ""
        said = {verdicts.FOR_PROVING} if self.stopped or self.folder.endswith(PROVING_FOLDER) else set()
        odd = sorted({one.verdict for one in self.files} - verdicts.FINE - said)
        stop = [self.stopped.state.upper()] if self.stopped else []
        more = f" ({', '.join((*stop, *odd))})" if stop or odd else ""
        return f"{self.job}/{self.operation} {self.shown}{where}{more}"


Choose = Callable[[Sequence[Choice]], Choice]
"""Asks a person which of several is meant."""
_Texts = Sequence[tuple[FileVerdict, Sequence[Known]]]


def from_stick(
    desk: Desk,
    medium: Medium,
    shaper: Shaper,
    choose: Choose | None = None,
    *,
    machine: str | None = None,
    tell: Tell = quiet,
) -> OnStickNow:
    """The operation in a folder of a stick; ``choose`` where there are several, ``machine`` where a person said it.

    ``tell`` is told each file.

    Raises:
        BadCall: ``nothing-of-ours`` when nothing there is known, ``which-operation`` when several are and nobody can
            be asked, ``which-machine`` where the folder is one machine's and the text another's.
        Refused: ``not-whole`` when a program of it is cut off or damaged.
        CouldNot: ``medium-gone``, ``unreadable-file``, and what reading the repository raises.
    """
    phase(tell, "reading the records")
    ledger = desk.repo.ledger()
    brought = Brought(stick=medium.label or "stick", tell=tell)
    report = look(desk, ledger, Contents.of(medium, shaper), brought)
    known = KnownTexts(desk.repo, ledger)
    board = Board(desk, ledger)
    found = _choices(report, known, ShownNames(ledger))
    choices = [
        _judged(board, one, ledger.shop, machine or one.machine or desk.machine)
        for one in sorted(found, key=lambda one: (one.folder, one.job, one.operation))
    ]
    if not choices:
        raise BadCall(
            "nothing-of-ours",
            "nothing in this folder is known as a program of this shop",
            where=medium.label,
            fix="name the operation instead of the folder: JOB/OP --machine ID; prove takes files with --ran FILE",
        )
    if len(choices) > 1 and choose is None:
        listed = "; ".join(one.spelled for one in choices)
        raise BadCall(
            "which-operation",
            f"this folder holds programs of {listed}",
            fix=f"name the folder of one alone, or the operation: {choices[0].called}",
        )
    chosen = choices[0] if len(choices) == 1 or choose is None else choose(choices)
    return OnStickNow(
        named=Named(
            job=chosen.job,
            operation=chosen.operation,
            revision=number_of(chosen.stored.name) or None,
            digits=chosen.stored.name.partition("-")[2] or None,
        ),
        machine=machine or _machine_of(chosen),
        files=tuple(_read(medium, one) for one in chosen.files),
        stopped=chosen.stopped,
        notes=tuple(
            f"{one.file}: {one.message}" for one in report.files if one.verdict == verdicts.FORGED_MANIFEST
        ),
    )


def _judged(board: Board, one: Choice, shop: Shop, machine: str | None) -> Choice:
    """The choice, and whether its text may not run on the machine."""
    place = None if machine is None else shop.machine(machine)
    seen = None if place is None else board.standing(one.stored, place)
    apart = one.folder.rpartition("/")[2] in SUBFOLDERS.values()
    if place is None or seen is None or seen.usable or (apart and seen.state not in (HELD, WITHDRAWN)):
        return one
    return replace(one, stopped=Stopped(machine=place.id, state=seen.state, reason=seen.reason))


def _choices(report: CollectReport, known: KnownTexts, shown: ShownNames) -> Iterator[Choice]:
    folders: dict[str, list[tuple[FileVerdict, Sequence[Known]]]] = {}
    for one in report.programs:
        if one.known is not None and one.path is not None:
            folder = one.path.rpartition("/")[0]
            folders.setdefault(folder, []).append((one, _texts_of(known, one, one.known)))
    for folder, files in folders.items():
        operations = list(dict.fromkeys(_operations(files)))
        for job, operation in operations:
            own = [
                (one, [text for text in texts if (text.job, text.operation) == (job, operation)])
                for one, texts in files
            ]
            members = [(one, texts) for one, texts in own if texts]
            stored = _as_it_went(known, members, _revision(members))
            yield Choice(
                folder=folder,
                stored=stored,
                shown=shown(job, operation, stored.name),
                job=job,
                operation=operation,
                machine=_exported_to(known, members),
                files=tuple(one for one, _ in members),
            )


def _texts_of(known: KnownTexts, one: FileVerdict, text: Known) -> Sequence[Known]:
    """Every text a file is, or was: a program several operations share is one of each of them."""
    same = [each for each in known.texts if each.file.fingerprint == text.file.fingerprint]
    return same if one.same_code else [each for each in same if each.file.path == text.file.path]


def _operations(files: _Texts) -> Iterator[tuple[str, str]]:
    """Operations whose main program is there; of a program that belongs to none of them, all it may be of."""
    mains: dict[tuple[str, str], FileVerdict] = {}
    for one, texts in files:
        own = {(text.job, text.operation) for text in texts if text.record.files[:1] == (text.file,)}
        best = (one.job or "", one.operation or "")
        for operation in [best] if best in own else sorted(own):
            mains[operation] = one
    yield from mains
    for _, texts in files:
        operations = {(text.job, text.operation) for text in texts}
        if not operations & mains.keys():
            yield from sorted(operations)


def _revision(files: _Texts) -> Stored:
    """The revision all files are of; where several are, the one the first was judged to be, else the newest."""
    stored = {text.stored.name: text.stored for _, texts in files for text in texts}
    names = [_names(texts) for _, texts in files]
    common = set.intersection(*names) or set(stored)
    judged = [
        one.known.stored.name for one, _ in files if one.known is not None and one.known.stored.name in common
    ]
    return stored[judged[0] if judged else max(common, key=number_of)]


def _as_it_went(known: KnownTexts, files: _Texts, judged: Stored) -> Stored:
    """The revision, or another of the same code the programs went out as, if that has another setup sheet.

    What was mounted was mounted by that one.
    """
    texts = {text.stored.name: text for _, own in files for text in own}
    went = [out.file.revision for one, _ in files for out in known.exported(one.sha256 or "")[-1:]]
    names = [name for name in went if name is not None and all(name in _names(own) for _, own in files)]
    if not names or judged.name in names:
        return judged
    sheets = [texts[name].record.sheet_fingerprint for name in (names[0], judged.name)]
    return judged if sheets[0] == sheets[1] else texts[names[0]].stored


def _names(texts: Sequence[Known]) -> set[str]:
    return {text.stored.name for text in texts}


def _exported_to(known: KnownTexts, files: _Texts) -> str | None:
    """Whose folder it is, else the one machine these bytes were exported to."""
    homes = {one.machine for one, _ in files if one.machine is not None}
    if homes:
        return homes.pop()
    machines = {out.record.machine for one, _ in files for out in known.exported(one.sha256 or "")}
    return machines.pop() if len(machines) == 1 else None


def _machine_of(chosen: Choice) -> str | None:
    for one in chosen.files:
        if one.verdict == verdicts.OTHER_MACHINE:
            lies = f"lies in the folder of {one.machine} and is not for it:" if one.machine else "is"
            raise BadCall(
                "which-machine",
                f"{one.file} {lies} {one.message}",
                where=one.file,
                fix="say on which machine it was run: --machine ID",
            )
    return chosen.machine


def _read(medium: Medium, one: FileVerdict) -> PlainFile:
    if one.aside == verdicts.SHORTER:
        raise Refused(
            "not-whole",
            f"{one.file} is {one.message}",
            where=one.file,
            fix=f"read it out of the control again; if that is all it holds, take it in first: "
            f"proveout collect DIR --checkin {one.job}/{one.operation} --whole",
        )
    if one.verdict in _BROKEN:
        raise Refused(
            "not-whole",
            f"{one.file} did not come home whole: {one.message}",
            where=one.file,
            fix="read it out of the control again, or name the operation instead of the folder",
        )
    data = medium.read(one.path or "")
    data = data[slice(*one.span)] if one.span else data
    if sha256(data).hexdigest() != one.sha256:
        raise CouldNot("unreadable-file", "it changed while it was read", where=one.file, fix="try it again")
    return PlainFile(name=one.file.partition("#")[0] if one.span else one.file, data=data)
