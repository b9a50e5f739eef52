"""Putting programs on a stick, once it is decided which: shape, place, write, record, name.

The order, and why: everything is decided and shaped before a file of it has a name; the files are written under
temporary names (some while it is still being decided, see `export_ahead`), synced and read back; then the export is
recorded; then the files get their names, the manifest last. So a file that lies on a stick under a program's name is always one the record knows, and a stick that fails leaves a record that says too much
rather than too little: recalls look at every stick that may carry a text.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from tracker.errors import Refused
from tracker.nc.dialect import VERBATIM
from tracker.policy.find import label
from tracker.policy.spelled import counted
from tracker.records.events import AnyRecord, ExportRecord
from tracker.services.clock_behind import clock_behind
from tracker.services.desk import opening
from tracker.services.export_ahead import Ahead
from tracker.services.export_found import another_stick, found_there, lists_there, missing_there
from tracker.services.export_manifest import manifest_of, on_stick
from tracker.services.export_papers import PlacedPaper, place_papers
from tracker.services.export_report import ExportedFile, ExportedOperation, ExportReport
from tracker.services.outbound import Outbound, TakenOff
from tracker.services.placing import Placed, Placing, place
from tracker.services.ports_stick import (
    NOT_IN_TEXT,
    UNRELEASED,
    Begun,
    Manifest,
    Outgoing,
    Purpose,
    ToWrite,
    not_made,
)
from tracker.services.progress import phase, told
from tracker.services.recording import put_down
from tracker.services.stick_view import owner_note, owner_of, written

_NAMED = 12
"""Of more jobs than these that go without one which cannot, the rest is left to whoever calls."""


def prepare(
    out: Outbound,
    programs: Sequence[Outgoing],
    operations: tuple[ExportedOperation, ...],
    *,
    until: datetime,
    ahead: Ahead | None = None,
) -> tuple[Placing, ExportReport]:
    """Shape the programs, find their places, and say what would be written; ``ahead`` has some of it done already.

    Raises Refused (``cannot-shape``, and what `place` raises) with every reason.
    """
    made = not_made if ahead is None else ahead.made
    layout = out.contents.shaper.shape(out.machine, programs, out.purpose, made)
    if layout.problems:
        raise Refused(
            "cannot-shape",
            f"nothing was written: some programs cannot stand on a stick for {out.machine.id} as they are",
            fix="change the name or the text in the office, or the machine's table in shop.toml"
            + _without(out, layout.stopped, operations),
            reasons=layout.problems,
        )
    phase(out.tell, "looking at what lies there")
    placing = place(out.contents, out.known, out.folder, layout.files, plan=out.dry_run)
    shop = out.ledger.shop
    report = ExportReport(
        machine=out.machine.id,
        stick=out.stick,
        folder=out.folder,
        purpose=out.purpose,
        operations=operations,
        files=tuple(_file(placed, out.purpose) for placed in placing.placed),
        notes=(
            *filter(None, [owner_note(shop, out.stick), another_stick(out, placing)]),
            *clock_behind(out.ledger, out.now),
        ),
        cut_off=tuple(written(seen.path) for seen in out.contents.leftovers()),
        in_the_way=placing.in_the_way,
        owner=owner_of(shop, out.stick, out.now),
        by=f"{out.person.initials} ({out.person.name})",
        at=out.now,
        until=until,
        dry_run=out.dry_run,
        zone=shop.timezone,
    )
    return placing, report


def _without(out: Outbound, stopped: Sequence[Outgoing], operations: Sequence[ExportedOperation]) -> str:
    """How the other jobs go all the same, if there are any: nobody at the machine can change a text in the office."""
    stays = {user.partition("/")[0] for program in stopped for user in program.users}
    jobs = dict.fromkeys(one.job for one in operations)
    goes = [job for job in jobs if job not in stays]
    if not goes:
        return ""
    named = " ".join(goes if len(goes) <= _NAMED else (*goes[:_NAMED], "..."))
    left = ", ".join(job for job in jobs if job in stays)
    return f"; the other jobs go without {left} if they are named: proveout export --machine {out.machine.id} --to DIR {named}"


def finish(
    out: Outbound,
    placing: Placing,
    report: ExportReport,
    more: Sequence[AnyRecord] = (),
    takes_off: Sequence[TakenOff] = (),
    ahead: Ahead | None = None,
    job_folder: str | None = None,
) -> ExportReport:
    """Make the papers and write everything; with ``dry_run`` only say what would be. Raises as `write` does."""
    papers = place_papers(out.contents, out.known, placing, out.papers(report))
    report = replace(
        report,
        papers=tuple(written(one.path) for one in papers if one.to_write is not None),
        papers_in_the_way=tuple(written(one.path) for one in papers if one.to_write is None),
    )
    beside = [one for one in papers if one.to_write is not None]
    renewed = {one.path for one in beside}
    goes = [one for one in takes_off if one.path not in renewed]
    report = replace(report, leaves=tuple(one for one in report.leaves if one.path not in report.papers))
    if out.dry_run:
        return report
    begun = None if ahead is None else ahead.begun
    stopped = {one.path: one.why for one in report.call_in if one.stick == report.stick}
    listed = manifest_of(out, placing, report.until, {one.path for one in goes}, stopped)
    return replace(report, record=write(out, placing, listed, more, goes, beside, begun, job_folder))


def write(
    out: Outbound,
    placing: Placing,
    listed: Manifest,
    more: Sequence[AnyRecord] = (),
    takes_off: Sequence[TakenOff] = (),
    papers: Sequence[PlacedPaper] = (),
    begun: Begun | None = None,
    job_folder: str | None = None,
) -> str:
    """Write, record, name; returns the record's path. Nothing stays on the stick when it was not recorded.

    ``listed``: the list. ``papers``: what lies beside the programs, named after them and before the list. ``more``: records of the job in
    ``job_folder`` that go down in the same commit; ``takes_off``: files of ours that leave, between the record and
    the new names, so that a stick that fails in between lacks a text rather than keeping a wrong one. ``begun``: holds
    the programs that bring no bytes.
    """
    manifest = out.contents.shaper.write_manifest(listed)
    sha256 = hashlib.sha256(manifest).hexdigest()
    files = [file for placed in placing.placed if (file := placed.to_write) is not None]
    files += [one.to_write for one in papers if one.to_write is not None]
    files.append(
        ToWrite(path=placing.manifest_path, data=manifest, sha256=sha256, replaces=placing.manifest_replaces)
    )
    settled = {placed.path for placed in placing.placed} | {one.path for one in takes_off}
    record = ExportRecord(
        machine=out.machine.id,
        stick=out.stick,
        owner=owner_of(out.ledger.shop, out.stick, out.now),
        purpose=out.purpose,
        manifest=sha256,
        files=tuple(on_stick(placed) for placed in placing.placed),
        removed=tuple(one.file for one in takes_off if one.file is not None),
        papers=tuple(one.on_stick for one in papers),
        found=found_there(out, settled),
        missing=missing_there(out, placing, settled),
        lists=lists_there(out),
        **opening(out.desk, out.person),
    )
    staged = out.contents.medium.stage(files, begun)
    try:
        phase(out.tell, "recording the export")
        message = f"export {out.machine.id} to {out.stick}: {counted(len(placing.placed), 'program')}"
        put = put_down(
            out.desk, out.ledger, out.head, job_folder, [record, *more], author=out.person, message=message
        )
        for one in told(takes_off, lambda one: f"taking off {one.path}", out.tell):
            out.contents.medium.remove(one.path, one.sha256)
        staged.finish()
    finally:
        staged.drop()
    return put.paths[0]


def _file(placed: Placed, purpose: Purpose) -> ExportedFile:
    program = placed.shaped.program
    silent = purpose in UNRELEASED and program.dialect == VERBATIM
    return ExportedFile(
        path=written(placed.path),
        program=program.source,
        action=placed.action,
        sha256=placed.shaped.sha256,
        job=program.job,
        operation=program.operation,
        revision=label(program.revision),
        release=program.release,
        mark=program.mark.upper(),
        users=program.users,
        notes=placed.shaped.notes,
        unreleased=UNRELEASED.get(purpose),
        not_in_text=NOT_IN_TEXT if silent else None,
    )
