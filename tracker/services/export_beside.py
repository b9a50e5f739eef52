"""What earlier exports left in a folder of texts that have a day of their own, beside what goes there now.

The read-me and the list speak for all that lies in the folder: what another export wrote there is named with its own
day, and the list asks to be looked at by the first of these days.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from tracker.errors import Refused
from tracker.policy.days import words, zone_of
from tracker.policy.deviations import STOPS as DEVIATION_STOPS
from tracker.policy.deviations import deviations
from tracker.policy.find import label, same_name
from tracker.policy.standing import standing
from tracker.policy.states import HELD, WITHDRAWN
from tracker.records.events import OnStick
from tracker.services.call_in import CallIn
from tracker.services.export_report import ExportReport
from tracker.services.known import Exported, Known
from tracker.services.outbound import Outbound
from tracker.services.placing import Placing
from tracker.services.ports_stick import DEVIATION, FOR_PROVING, NOT_IN_TEXT, UNRELEASED, Outgoing
from tracker.services.stick_view import written

ASK_AGAIN_DAYS = 7
"""A text out for its prove-out is to be proved or brought back within a week."""
STOPS = {FOR_PROVING: frozenset({HELD, WITHDRAWN}), DEVIATION: DEVIATION_STOPS}
"""Standings that end a prove-out, or the hours of a deviation, before their day: what rejected it may be tried again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beside:
    """A program of ours that lies there and is not of this export, and when its day is over."""

    path: str
    exported: Exported
    until: datetime


def with_those_beside(out: Outbound, placing: Placing, report: ExportReport) -> ExportReport:
    """The report with what else of ours lies in the folder.

    Raises:
        Refused: ``two-texts``: an operation whose day is not over lies there with another text of a program that goes out.
        CouldNot: ``medium-gone``: the stick went.
    """
    beside = tuple(_beside(out, placing))
    _no_two_texts(out, placing, beside)
    return replace(
        report,
        notes=(*report.notes, *(_said(out, one) for one in beside)),
        until=min([report.until, *(one.until for one in beside)]),
        call_in=(*report.call_in, *_called_in(out, beside)),
    )


def _called_in(out: Outbound, beside: Sequence[_Beside]) -> Iterator[CallIn]:
    """Those that were stopped since they went out: nobody is to run them, whatever day they have."""
    for one in beside:
        file, why = one.exported.file, _stopped(out, one.exported.file)
        if why is not None:
            yield CallIn(
                stick=out.stick,
                path=written(one.path),
                job=file.job,
                operation=file.operation,
                revision=label(file.revision or ""),
                why=why,
            )


def _no_two_texts(out: Outbound, placing: Placing, beside: Sequence[_Beside]) -> None:
    """The operations that lie there keep the programs they call: one of another text is not written over them."""
    going = {placed.shaped.program.source: placed.shaped.program for placed in placing.placed}
    goes = {user.casefold() for program in going.values() for user in program.users}
    clashes: dict[str, None] = {}
    for one in beside:
        file = one.exported.file
        if out.now >= one.until or f"{file.job}/{file.operation}".casefold() in goes:
            continue
        for text in out.known.of(file.job, file.operation):
            program = going.get(text.file.path)
            if text.stored.name == file.revision and program is not None and not _same_code(text, program):
                clashes[
                    f"{text.file.path} has one text in {text.job}/{text.operation} {label(text.stored.name)}, which lies in "
                    f"{placing.folder}, and another in {program.users[0]} {label(program.revision)}"
                ] = None
    if clashes:
        raise Refused(
            "two-texts",
            "nothing was written: two operations in one folder would call one program by two texts",
            fix="take the programs of the other one off the stick when it is proved, or use another stick",
            reasons=tuple(clashes),
        )


def _same_code(text: Known, program: Outgoing) -> bool:
    return text.file.raw_sha256 == program.raw_sha256 or (
        (text.record.strict, text.file.fingerprint) == (program.strict, program.fingerprint)
    )


def ours_beside(out: Outbound, placing: Placing) -> Iterator[tuple[str, Exported]]:
    """What exports of the same purpose for the machine wrote in the folder, to the byte, and this one does not settle.

    The path of each, and the last export that wrote it. Raises CouldNot (``medium-gone``).
    """
    settled = {placed.path for placed in placing.placed}
    for seen in out.contents.files(placing.folder):
        sha256 = None if seen.path in settled else out.contents.digest_if_readable(seen.path)
        mine = [
            one
            for one in out.known.exported(sha256 or "")
            if same_name(one.record.machine, out.machine.id) and one.record.purpose == out.purpose
        ]
        if mine:
            yield seen.path, mine[-1]


def _beside(out: Outbound, placing: Placing) -> Iterator[_Beside]:
    for path, exported in ours_beside(out, placing):
        yield _Beside(path=path, exported=exported, until=until_of(out, exported))


def until_of(out: Outbound, exported: Exported) -> datetime:
    """When the week, or the hours, of a text are over that went out for its prove-out, or on a deviation."""
    if exported.record.purpose != DEVIATION:
        return exported.record.entered + timedelta(days=ASK_AGAIN_DAYS)
    file = exported.file
    ends = [
        one.ends
        for one in deviations(out.ledger, out.now)
        if (one.record.job, one.record.operation, one.record.revision)
        == (file.job, file.operation, file.revision)
        and same_name(one.record.machine, out.machine.id)
    ]
    return max(ends, default=exported.record.entered)


def until_words(out: Outbound, until: datetime, purpose: str) -> str:
    """``13 Feb 2026``; of a deviation with the hour, ``16:02 on 16 Feb 2026``."""
    end = until.astimezone(zone_of(out.ledger.shop))
    day = words(end.date())
    return f"{end:%H:%M} on {day}" if purpose == DEVIATION else day


def _stopped(out: Outbound, file: OnStick) -> str | None:
    """Why a text that lies there was stopped since it went out."""
    stored = next(
        (one.stored for one in out.known.of(file.job, file.operation) if one.stored.name == file.revision),
        None,
    )
    place = None if stored is None else standing(out.ledger, stored, out.machine, out.now)
    return place.reason if place is not None and place.state in STOPS[out.purpose] else None


def _said(out: Outbound, one: _Beside) -> str:
    file = one.exported.file
    name = f"{written(one.path)} ({file.job}/{file.operation} {label(file.revision)})"
    day = words(one.until.astimezone(zone_of(out.ledger.shop)).date())
    what = UNRELEASED[out.purpose]
    if out.now >= one.until:
        over = "hours were" if out.purpose == DEVIATION else "week was"
        return f"{what}: not of this export, and its {over} over on {day}: {name}; not to be run, a plain export takes it off"
    stopped = _stopped(out, file)
    if stopped is not None:
        return (
            f"{what}: not of this export, and {stopped}: {name}; not to be run, a plain export takes it off"
        )
    until = until_words(out, one.until, out.purpose)
    silent = f"; {NOT_IN_TEXT}" if out.known.in_another_language(file) else ""
    return f"{what}: not of this export, but there from an earlier one, until {until}: {name}{silent}"
