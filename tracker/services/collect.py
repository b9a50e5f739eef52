"""``collect``: what came home on a stick, one verdict a file, and a record of it; control edits taken in.

Nothing on the stick is changed. The record says what was seen and by whom; with ``--checkin`` the texts of one
operation become its next revision first, with the person who edited them as author.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from tracker.errors import BadCall, CouldNot
from tracker.policy.deviations import deviations
from tracker.policy.find import label
from tracker.policy.may import require
from tracker.policy.spelled import counted
from tracker.records.events import CollectRecord, OnStick
from tracker.records.shop import Person, Shop
from tracker.records.stored import Ledger
from tracker.services.clock_behind import clock_behind
from tracker.services.collect_base import BaseFinder
from tracker.services.collect_emptied import emptied
from tracker.services.collect_judge import Judge
from tracker.services.collect_known import KnownCode
from tracker.services.collect_list import ListReader
from tracker.services.collect_look import looks
from tracker.services.collect_operation import operation_now
from tracker.services.collect_report import (
    MISSING,
    SHARE,
    TIDIED,
    UNKNOWN,
    UNSHARED,
    CollectReport,
    FileVerdict,
)
from tracker.services.desk import Desk, acting, opening
from tracker.services.export_papers import is_paper, named_as_paper
from tracker.services.hashed_beside import hashed_beside
from tracker.services.known import Known, KnownTexts
from tracker.services.naming import Named
from tracker.services.on_sticks import lies_there
from tracker.services.ports_stick import Medium, Shaper
from tracker.services.progress import Tell, phase, quiet
from tracker.services.recording import attached_head, one_line, put_down
from tracker.services.stick_view import (
    Contents,
    Home,
    alone,
    found_again,
    home_of,
    homes,
    stick_name,
    written,
)
from tracker.services.usable import Board

if TYPE_CHECKING:
    from tracker.services.collect_take_in import TakenIn


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What a person said about a stick that came home.

    ``by``: who edited; ``entered_by``: who sits at the PC (default: the same); ``cut``: whether parts were cut with
    the edit, None when nobody said; ``checkin``: take this operation's texts in, ``tidy``: in the office's way of
    writing, ``whole``: a text much shorter than it was is all the control holds; ``effect``: say of changed code what it
    does and did; ``tell`` is told each file.
    """

    stick: str | None = None
    by: str | None = None
    entered_by: str | None = None
    reason: str | None = None
    cut: bool | None = None
    checkin: Named | None = None
    dry_run: bool = False
    tidy: bool = False
    whole: bool = False
    effect: bool = False
    tell: Tell = quiet


def collect(desk: Desk, medium: Medium, shaper: Shaper, brought: Brought) -> CollectReport:
    """Judge every file, take texts in if asked to, and record what was seen.

    Raises:
        BadCall: ``stick-name``, ``unknown-person``, ``unknown-job``, ...; with ``checkin`` also ``who``, ``no-reason``.
        Refused: ``wrong-role``, ``detached-head``; with ``checkin`` ``nothing-to-take-in``, ``not-whole``,
            ``both-changed`` and what a check-in refuses.
        CouldNot: the repository or the stick could not be read.
    """
    phase(brought.tell, "looking at the stick")
    contents = Contents.of(medium, shaper)
    phase(brought.tell, "reading the records")
    with hashed_beside(contents):
        ledger = desk.repo.ledger()
        report = look(desk, ledger, contents, brought)
    if brought.dry_run:
        return replace(report, not_recorded="only looked at")
    person = _collector(desk, ledger.shop, brought)
    if person is not None:
        require(ledger.shop, person, "collect", desk.clock.now())
    attached_head(desk)
    if brought.checkin is not None:
        from tracker.services.collect_take_in import take_in  # checks and all: only a check-in pays for it

        phase(brought.tell, f"checking in {brought.checkin}")
        done = take_in(desk, ledger, medium, report.programs, brought.checkin, brought)
        files = tuple(_as_taken(one, done) for one in report.files)
        notes = (*report.notes, *done.notes)
        report = replace(report, files=files, taken_in=done.report, settled=done.files, notes=notes)
    if person is None:
        return replace(report, not_recorded="nobody was named: say --by INITIALS to have it recorded")
    phase(brought.tell, "recording what came home")
    try:
        return replace(report, record=_record(desk, report, person, brought))
    except CouldNot as fault:
        if report.taken_in is None:
            raise
        raise CouldNot(
            fault.name,
            f"{brought.checkin} is checked in, but not recorded is what else came home: {fault.what}",
            where=fault.where,
            reasons=fault.reasons,
            fix=f"{fault.fix or 'put that right'}; then run proveout collect again, without --checkin",
        ) from fault


def look(desk: Desk, ledger: Ledger, contents: Contents, asked: Brought) -> CollectReport:
    """Only judge; raises CouldNot, BadCall (``stick-name``)."""
    medium, shaper = contents.medium, contents.shaper
    shop = ledger.shop
    known = KnownTexts(desk.repo, ledger)
    board = Board(desk, ledger)
    places = homes(shop, contents)
    lists = ListReader(shop=shop, known=known, contents=contents, homes=places, now=desk.clock.now())
    name = stick_name(shop, medium, asked.stick, lists.stick())
    bases = BaseFinder(known, board, shaper, lambda: lies_there(ledger, name))
    over = deviations(ledger, desk.clock.now())
    judge = Judge(
        shop=shop,
        known=known,
        bases=bases,
        texts=KnownCode(shop=shop, board=board, bases=bases, deviations=over),
        shaper=shaper,
        with_effect=asked.effect,
        checked=partial(_checked, desk, ledger, known),
        now=partial(operation_now, ledger, known),
    )
    judged = tuple(_judged(judge, contents, places, asked.tell))
    listed = lists.read(name, judged)
    gone = emptied(name, ledger, known, contents, places, (*judged, *listed.verdicts)) if asked.stick else ()
    judged = tuple(lists.in_their_places(name, judged))
    files = sorted((*judged, *listed.verdicts, *gone), key=lambda one: (one.file.casefold(), one.file))
    clock = clock_behind(ledger, desk.clock.now())
    found = found_again(shop, name, desk.clock.now())
    notes = (*found, *_a_copy(name, shop, medium, asked.stick, files), *clock)
    return CollectReport(
        stick=name,
        files=tuple(files),
        notes=notes,
        asks=listed.asks,
        zone=shop.timezone,
        lists=lists.true(),
        folder=alone(places),
    )


def _checked(
    desk: Desk, ledger: Ledger, known: KnownTexts, text: Known, data: bytes, kinds: Sequence[str]
) -> Sequence[str]:
    """What the checks find in an edit of a text, in sentences."""
    # checks and all: an unchanged stick pays for none of it
    from tracker.services.edit_findings import SHEET, asked_of, new_findings, sentences, sheets_of_others

    names = asked_of(kinds)
    if not names:
        return ()
    try:
        path = operation_now(ledger, known, text.job, text.operation).path_of(text)
        tree, edit = desk.repo.tree(), {path or text.file.path: data}
        found = new_findings(tree, text.job, text.operation, edit, names)
        others = sheets_of_others(tree, ledger, text.job, text.operation, edit) if names & SHEET else {}
        return sentences(found, others)
    except BadCall as fault:
        return (f"The setup sheet cannot be looked at: {fault.what}",)


def _a_copy(
    stick: str, shop: Shop, medium: Medium, stated: str | None, files: Sequence[FileVerdict]
) -> Iterator[str]:
    """That a stick with another label lacks files: of a copy they are not missing on the stick it is a copy of."""
    label = medium.label
    if stated or not label or shop.stick_labelled(label) or label.casefold() == stick.casefold():
        return
    if any(one.verdict == MISSING for one in files):
        yield f"taken for {stick} by the list on it: if it is a copy of {stick}, say its own name with --stick NAME"


def _judged(judge: Judge, contents: Contents, places: Sequence[Home], tell: Tell) -> Iterator[FileVerdict]:
    leftovers = {seen.path for seen in contents.leftovers()}
    files = [
        seen
        for seen in contents.seen
        if not (seen.kind == "folder" or contents.is_manifest(seen) or is_paper(contents, judge.known, seen))
    ]
    found = iter(looks(contents, judge.known, files, lambda seen: seen.path in leftovers))
    for done, seen in enumerate(files):
        tell(f"reading {seen.path}", done, len(files))
        look = next(found)
        tell(f"looking up {seen.path}", done, len(files))
        if look.seen.path in leftovers:
            yield _leftover(written(look.seen.path), look.seen.path)
        else:
            one = judge.judge(contents.medium, look, home_of(look.seen.path, places))
            paper = one.verdict == UNKNOWN and one.sha256 is not None and named_as_paper(look.seen.path)
            yield replace(one, message=_NO_PAPER) if paper else one


_NO_PAPER = (
    "named like a paper of an export, and none recorded here wrote it so: changed, or written on another PC"
)


def _leftover(shown: str, path: str) -> FileVerdict:
    words = "left from an export that was cut off: no program, delete it and export again"
    return FileVerdict(file=shown, verdict="incomplete", message=words, path=path)


def _collector(desk: Desk, shop: Shop, brought: Brought) -> Person | None:
    """Who brought the stick: ``entered_by``, else ``by``, else whoever's PC this is; None if nobody can be told."""
    try:
        return acting(desk, shop, brought.entered_by or brought.by)
    except BadCall as fault:
        if fault.name != "who" or brought.checkin is not None:
            raise
        return None


def _record(desk: Desk, report: CollectReport, person: Person, brought: Brought) -> str:
    ledger = desk.repo.ledger()
    machines = {home for one in report.files if (home := one.machine) is not None}
    record = CollectRecord(
        machine=machines.pop() if len(machines) == 1 else None,
        stick=report.stick,
        lists=report.lists,
        folder=report.folder,
        files=tuple(
            _on_stick(one, report.settled.get(one.file))
            for file in report.files
            for one in (file, *file.parts)
            if one.sha256 is not None
        ),
        reason=_reason(brought),
        **opening(desk, person),
    )
    odd = sum(not one.fine for one in report.files)
    message = f"collect {report.stick}: {counted(len(report.files), 'file')}, {odd} not as exported"
    put = put_down(desk, ledger, attached_head(desk), None, [record], author=person, message=message)
    return put.paths[0]


def _reason(brought: Brought) -> str | None:
    said = one_line(brought.reason)
    if brought.cut is None:
        return said
    cut = "parts were cut with it" if brought.cut else "no part was cut with it"
    return f"{said}; {cut}" if said else cut


def _as_taken(one: FileVerdict, done: "TakenIn") -> FileVerdict:
    """A file after a check-in: what was taken in is an edit of that operation's text, whichever one calls the program too."""
    one = _of_its_own(replace(one, parts=tuple(_of_its_own(part, done) for part in one.parts)), done)
    return replace(one, aside=TIDIED) if one.file in done.in_the_way and one.aside != UNSHARED else one


def _of_its_own(one: FileVerdict, done: "TakenIn") -> FileVerdict:
    if one.file in done.files and one.aside == SHARE:
        one = replace(one, aside=UNSHARED)
    base = done.bases.get(one.file)
    if base is None:
        return one
    return replace(one, known=base, job=base.job, operation=base.operation, revision=label(base.stored.name))


def _on_stick(one: FileVerdict, taken_as: str | None) -> OnStick:
    known = one.known
    return OnStick(
        path=one.file,
        sha256=one.sha256 or "",
        job=one.job,
        operation=one.operation,
        revision=known.stored.name if known else None,
        fingerprint=known.file.fingerprint if known and one.same_code else one.code,
        program=known.file.path if known else None,
        release=one.release,
        verdict=one.verdict,
        taken_as=taken_as,
    )
