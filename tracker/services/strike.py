"""``strike``: one line through a record; it stays legible and no longer counts.

One's own slip only, never a revision or a release; a rejection, a hold or a withdrawal by quality only.
"""

from collections.abc import Iterator
from datetime import datetime

from tracker.errors import BadCall, Refused
from tracker.policy.find import struck
from tracker.policy.may import require
from tracker.policy.strikes import stops_use
from tracker.records.events import DeviationRecord, ReleaseRecord, RevisionRecord, StrikeRecord
from tracker.records.problems import nearest_fix
from tracker.records.stored import Ledger, Stored
from tracker.services.acted import Acted
from tracker.services.desk import Desk, acting, opening
from tracker.services.recording import attached_head, put_down, reason_text

_SHOWN = 5


def strike(
    desk: Desk, record: str, *, by: str | None, reason: str | None, at: datetime | None = None
) -> Acted:
    """Strike the record with this path or file name.

    Raises:
        BadCall: ``unknown-record``, ``ambiguous-record``, ``no-reason``, unknown people.
        Refused: ``never-struck``, ``struck-already``, ``wrong-role``, ``detached-head``, ``moved``.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    found = find_record(ledger, record)
    person = acting(desk, ledger.shop, by)
    if isinstance(found.record, RevisionRecord | ReleaseRecord):
        raise Refused(
            "never-struck",
            f"a {found.record.EVENT} is never struck",
            where=found.path,
            fix="check the mended text in as the next revision"
            if isinstance(found.record, RevisionRecord)
            else f"withdraw it: proveout withdraw {found.record.job}@{found.record.number}",
        )
    if found.path in struck(ledger):
        raise Refused(
            "struck-already",
            "this record is struck already",
            where=found.path,
            fix="nothing is left to do; proveout history shows who struck it",
        )
    made = (found.record.by, found.record.entered_by or found.record.by)
    require(ledger.shop, person, "strike", desk.clock.now(), made_by=made, stops_use=stops_use(found.record))
    why = reason_text(reason, "what is wrong with it?")
    line = StrikeRecord(
        job=found.record.job,
        operation=found.record.operation,
        revision=found.record.revision,
        reason=why,
        record=found.path,
        **opening(desk, person, at=at),
    )
    said = f"{found.name} struck by {person.initials}"
    done = put_down(
        desk, ledger, head, _job_folder(found.path), (line,), author=person, message=f"{said}: {why}"
    )
    notes = tuple(_notes(found))
    return Acted(said=said, records=(line,), paths=done.paths, commit=done.commit, notes=notes)


def _notes(found: Stored) -> Iterator[str]:
    if not found.in_hand:
        yield "the record struck is on another branch only"
    if isinstance(found.record, DeviationRecord):
        yield "the text went out all the same: the deviation stays until its hours are over and a second person signs"


def find_record(ledger: Ledger, text: str) -> Stored:
    """The record with this path, file name, or opening of its file name."""
    wanted = text.strip().replace("\\", "/").removesuffix(".toml")
    exact = [one for one in ledger.records if wanted in (one.path.removesuffix(".toml"), one.name)]
    found = exact or [one for one in ledger.records if wanted and one.name.startswith(wanted)]
    in_hand = [one for one in found if one.in_hand]
    found = in_hand or found
    if len(found) == 1:
        return found[0]
    if not found:
        known = [one.name for one in ledger.records]
        raise BadCall(
            "unknown-record",
            f"there is no record {text!r}",
            fix=nearest_fix(wanted, known, "records").split("? records")[0]
            + "; proveout history lists them with their names",
        )
    listed = ", ".join(one.path for one in found[:_SHOWN])
    raise BadCall("ambiguous-record", f"{len(found)} records answer to {text!r}", fix=f"say which: {listed}")


def _job_folder(path: str) -> str | None:
    folder, mark, _ = path.rpartition("/records/")
    return folder if mark else None
