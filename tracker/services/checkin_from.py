"""``checkin JOB/OP --from rN``: the programs of an old revision again, as the next revision.

The bytes come from the record, never from a person's disk. The setup sheet stays as it is now: it is one file for all
operations of a job. Equal to a proven revision in programs and sheet, the new one is proven at once; what changed on the
sheet since is said by the check-in as a change of its own.
"""

from tracker.errors import BadCall, CouldNot
from tracker.services.checkin import CheckInReport, check_in
from tracker.services.desk import Desk
from tracker.services.locate import locate
from tracker.services.naming import Named, parse_named
from tracker.services.paths import program_path
from tracker.services.recorded import recorded
from tracker.services.revision_text import revision_text


def check_in_from(
    desk: Desk,
    named: Named,
    revision: str,
    *,
    by: str | None,
    reason: str | None,
    entered_by: str | None = None,
    dry_run: bool = False,
) -> CheckInReport:
    """Record the programs of ``revision`` (``r2``) of the operation as its next revision.

    Raises:
        BadCall: ``bad-name``, ``unknown-revision``, ``program-moved`` (job.toml names another main program by now).
        CouldNot: ``damaged``: the old programs cannot be read back.
        Refused: as `check_in` does: ``uncommitted-edits`` where the working folder holds edits of these files.
    """
    old = parse_named(f"{named.job}/{named.operation or 'op10'}@{revision.lstrip('@')}")
    path, job, operation = locate(desk.repo.tree(), named)
    found = recorded(
        desk, Named(job=job.number, operation=operation.id, revision=old.revision, digits=old.digits)
    )
    held = revision_text(desk.repo, found.stored)
    if len(held.programs) != len(held.record.files):
        raise CouldNot(
            "damaged",
            f"not every program of {job.number}/{operation.id}@{revision} can be read back as it was recorded",
            where=found.stored.path,
            fix="proveout audit says what is missing; a backup may hold it",
        )
    main = program_path(path, operation.program)
    texts = {program.path: program.data for program in held.programs}
    if found.stored.before is not None and held.programs:  # it may have lain elsewhere before it was taken in
        texts[main] = texts.pop(held.programs[0].path)
    elif held.record.files and held.record.files[0].path != main:
        raise BadCall(
            "program-moved",
            f"the main program was {held.record.files[0].path} in {revision}, and is {main} now",
            where=path,
            fix="write the old name into job.toml, or take the text out with proveout show -o FILE and check it in",
        )
    return check_in(
        desk,
        [Named(job=job.number, operation=operation.id)],
        by=by,
        reason=reason,
        entered_by=entered_by,
        texts=texts,
        off_control=False,
        dry_run=dry_run,
    )
