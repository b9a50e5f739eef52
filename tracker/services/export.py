"""``export``: what is released and may run on a machine today, onto a stick.

What goes out is derived again from records and commits, today, for this machine; a tag or a manifest is never
believed. What stays behind is said with its reason, and so is what lies on sticks and may not any more. A plain export
takes off only what had a day of its own and is past it; a mirror all of ours that is not in the set.
"""

from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from tracker.errors import Refused
from tracker.policy.days import end_of_day, zone_of
from tracker.policy.deviations import deviations
from tracker.policy.find import label
from tracker.records.events import OnStick, RevisionRecord
from tracker.services.call_in import CallIn, Today, copied_elsewhere, on_other_sticks, on_this_stick
from tracker.services.clock_behind import clock_behind
from tracker.services.desk import Desk
from tracker.services.export_ahead import Ahead
from tracker.services.export_beside import STOPS, ours_beside
from tracker.services.export_leaving import has_apart, plan_of
from tracker.services.export_report import ExportedOperation, ExportReport, LeavesStick, carried
from tracker.services.export_staying import outside, staying
from tracker.services.export_write import finish, prepare
from tracker.services.locate import find_job
from tracker.services.outbound import Destination, Outbound, outbound
from tracker.services.outgoing import gather
from tracker.services.placing import Placing
from tracker.services.ports_stick import DEVIATION, FOR_PROVING, RELEASED, Outgoing
from tracker.services.progress import phase
from tracker.services.stick_view import lost_since, written
from tracker.services.usable import Board, LeftOut, Usable

ASK_AGAIN_DAYS = 30
"""A manifest asks to be looked at again after this long, or when the first standing lapses."""


def export(desk: Desk, to: Destination, jobs: Sequence[str] = (), *, mirror: bool = False) -> ExportReport:
    """Write what is released and may run on the machine today; ``jobs``: only these.

    ``mirror``: what of ours is not in that set leaves the machine's folder; with nothing that may run, all of it.

    Raises:
        BadCall: ``unknown-job``, and what `outbound` raises.
        Refused: ``nothing-to-export``, ``cannot-shape``, ``two-texts``, ``collect-first``, ``name-taken``,
            ``link-on-stick``, ``not-a-file``, ``moved``, and what `outbound` raises.
        CouldNot: the repository or the stick could not be read or written.
    """
    out = outbound(desk, to)
    with Ahead(out, jobs) as ahead:
        return _export(out, jobs, ahead, mirror=mirror)


def _export(out: Outbound, jobs: Sequence[str], ahead: Ahead, *, mirror: bool) -> ExportReport:
    board = Board(out.desk, out.ledger)
    usable, left_out = board.on_machine(out.machine, ahead)
    wanted = _wanted_jobs(out, jobs, usable)
    phase(out.tell, "gathering the programs")
    gathered = gather(out.desk.repo, usable)
    behind = (*left_out, *gathered.left_out)
    going = [one for one in usable if _goes(one, wanted, gathered.left_out)]
    today = _today(out, board, usable, behind)
    if not going and not mirror and (wanted or not has_apart(out)):
        raise _nothing(out, wanted, behind, today)
    names = frozenset(each.released.name.casefold() for each in going)
    programs = [one for one in gathered.programs if any(user.casefold() in names for user in one.users)]
    _no_two_texts(programs, gathered.problems)
    ahead.rest(programs)
    until = _until(out, going)
    operations = tuple(_operation(one, board.newer(one.released)) for one in going)
    placing, report = prepare(out, programs, operations, until=until, ahead=ahead)
    phase(out.tell, "looking at what else lies there")
    plan = plan_of(out, placing, today, mirror=mirror)
    if not (going or mirror or plan.leaves or plan.changed):
        raise _nothing(out, wanted, behind, today)
    goes = {one.path for one in plan.leaves}
    report = replace(
        report,
        mirror=mirror,
        leaves=tuple(LeavesStick(path=written(one.path), why=one.why) for one in plan.leaves),
        unknown=plan.unknown if mirror else (),
        stays=tuple(staying(out, placing, goes)) if mirror else (),
        outside=outside(out, goes) if mirror else report.outside,
        changed=plan.changed,
        notes=(*report.notes, *(_also_there(out, placing, today) if wanted else ())),
        left_out=tuple(one for one in behind if not wanted or one.job in wanted),
        call_in=_call_in(out, today, {placed.path for placed in placing.placed} | goes, mirror=mirror),
        wanted=wanted,
    )
    return finish(out, placing, report, takes_off=plan.leaves, ahead=ahead)


def _no_two_texts(programs: Sequence[Outgoing], problems: Sequence[str]) -> None:
    """Raise Refused (``two-texts``) where two releases hold different texts of a program that goes out."""
    clashes = tuple(text for text in problems if any(text.startswith(f"{p.source} ") for p in programs))
    if clashes:
        raise Refused(
            "two-texts",
            "nothing was written: two releases hold different texts of one program",
            fix="release both jobs with the same text of it",
            reasons=clashes,
        )


def _wanted_jobs(out: Outbound, jobs: Sequence[str], usable: Sequence[Usable]) -> tuple[str, ...]:
    """The numbers of the jobs named; raises BadCall (``unknown-job``) for one that is nowhere."""
    tree = out.desk.repo.tree()
    found = []
    for name in jobs:
        released = [one.released.job for one in usable if one.released.job.casefold() == name.casefold()]
        found.append(released[0] if released else tree.job(find_job(tree, name)).number)
    return tuple(dict.fromkeys(found))


def _goes(one: Usable, wanted: Sequence[str], lost: Sequence[LeftOut]) -> bool:
    released = one.released
    if any(out.job == released.job and out.operation == released.operation.id for out in lost):
        return False
    return not wanted or released.job in wanted


def _nothing(out: Outbound, wanted: Sequence[str], behind: Sequence[LeftOut], today: Today) -> Refused:
    """Nothing goes; what may not run and lies on sticks all the same is said first of all that is to be done."""
    named = [one for one in behind if not wanted or one.job in wanted]
    of = f" of {', '.join(wanted)}" if wanted else ""
    lies = _call_in(out, today, ())
    nowhere = Placing(folder=out.folder, placed=(), manifest_path="", manifest_replaces=None)
    changed = plan_of(out, nowhere, today, mirror=False).changed
    fix = next((fix for one in named for fix in one.clears), "prove and release it first")
    if any(one.stick == out.stick for one in lies):
        fix = f"take off what may not run: proveout export --machine {out.machine.id} --to DIR --mirror"
    return Refused(
        "nothing-to-export",
        f"nothing{of} is released and may run on {out.machine.id} today; nothing was written",
        fix=fix,
        reasons=(
            *clock_behind(out.ledger, out.now),
            *(one.spelled for one in named),
            *carried(lies),
            *(f"{one.path} {one.why}" for one in changed),
        ),
    )


def _operation(one: Usable, newer: Sequence[str]) -> ExportedOperation:
    standing = one.standing
    later = (f"newer and not released: {' and '.join(newer)}",) if newer else ()
    first_piece = (standing.first_piece,) if standing.first_piece else ()
    return ExportedOperation(
        job=one.released.job,
        operation=one.released.operation.id,
        revision=label(one.released.stored.name),
        release=one.released.release,
        display_id=one.released.record.operation_fingerprint[:8].upper(),
        record=one.released.stored.name,
        state=standing.state,
        reason=standing.reason,
        notes=(*(f"limited: {limit}" for limit in standing.limits), *first_piece, *standing.notes, *later),
    )


def _until(out: Outbound, going: Sequence[Usable]) -> datetime:
    """When somebody should ask again: after `ASK_AGAIN_DAYS`, or before the first standing lapses."""
    zone = zone_of(out.ledger.shop)
    lapses = [one.standing.lapses for one in going if one.standing.lapses is not None]
    last_days = [end_of_day(day - timedelta(days=1), zone) for day in lapses]
    return min([out.now + timedelta(days=ASK_AGAIN_DAYS), *last_days])


def _today(out: Outbound, board: Board, usable: Sequence[Usable], behind: Sequence[LeftOut]) -> Today:
    """What may lie on a stick for the machine."""
    revisions = {
        (stored.record.job, stored.record.operation, stored.name): (stored, stored.record.sheet_fingerprint)
        for stored in out.ledger.records
        if isinstance(stored.record, RevisionRecord)
    }

    def stopped(file: OnStick, purpose: str | None) -> str | None:
        stored, _ = revisions.get(_name(file), (None, None))
        place = None if stored is None else board.standing(stored, out.machine)
        stops = STOPS[DEVIATION if purpose == DEVIATION else FOR_PROVING]
        return place.reason if place is not None and place.state in stops else None

    def sheet(file: OnStick) -> str | None:
        return revisions.get(_name(file), (None, None))[1]

    own = [one for one in deviations(out.ledger, out.now) if one.record.machine == out.machine.id]
    return Today(usable=usable, left_out=behind, deviations=own, stopped=stopped, sheet=sheet)


def _name(file: OnStick) -> tuple[str | None, str | None, str]:
    """The revision a file of a stick is, by job, operation and name."""
    return file.job, file.operation, file.revision or ""


def _also_there(out: Outbound, placing: Placing, today: Today) -> Iterator[str]:
    """What earlier exports wrote in the folder and may run too, where only some jobs were asked for."""
    lies = [
        f"{written(path)} ({one.file.job}/{one.file.operation} {label(one.file.revision)})"
        for path, one in ours_beside(out, placing)
        if today.why_not(one.file, RELEASED) is None
    ]
    if lies:
        yield f"not of this export, but there from earlier ones, and may run too: {', '.join(lies)}"


def _call_in(
    out: Outbound, today: Today, settled: Container[str], *, mirror: bool = False
) -> tuple[CallIn, ...]:
    """What may not lie on sticks; of a mirror not what lies outside the machines' folders: it names all of that."""
    here = (out.contents, out.known, out.ledger.shop, out.machine, out.stick, today)
    return (
        *on_this_stick(*here, settled),
        *(() if mirror else copied_elsewhere(*here)),
        *(
            one
            for one in on_other_sticks(out.ledger, out.machine, out.stick, today)
            if lost_since(out.ledger.shop, one.stick, out.now) is None
        ),
    )
