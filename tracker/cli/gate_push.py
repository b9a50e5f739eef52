"""The gate of a server asked about a whole push: from its hook, or from a hosted repository's CI.

The clock is this computer's, whatever ``PROVEOUT_NOW`` says: a server is told no time.
"""

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from tracker.errors import CouldNot, ProveoutError, Refused
from tracker.policy.gate import Change
from tracker.services.push_files import FILE_LIMIT
from tracker.services.push_judge import judge_push
from tracker.store.clone import Clone
from tracker.store.open_clone import open_clone
from tracker.store.push_hosted import HostedRead
from tracker.store.push_read import PushRead
from tracker.store.receive_journal import PASSED, TURNED_AWAY, Received, begin, journal_faults, note, pusher

Line = tuple[str, str, str]
LIMIT = "proveout.maxfile"
_MEGA = 1 << 20


def decide_push(lines: Sequence[Line]) -> None:
    """Judge what is being pushed here, and put it down in the receive journal.

    Raises:
        Refused: ``push-refused`` with a line for every rule that is broken.
        CouldNot: the repository cannot tell, or the journal cannot be written; nothing is taken in.
    """
    clone = open_clone(".", hook=True)
    try:
        now = datetime.now(UTC)
        said: Sequence[str] = ()
        verdict = TURNED_AWAY
        changes: list[Change] = []
        try:
            seen = PushRead(clone)
            changes = _changes(seen.now(), lines)
            said = judge_push(seen, changes, now, file_limit=_limit(clone)).lines
            verdict = TURNED_AWAY if said else PASSED
        except ProveoutError as fault:
            said = (f"{fault.name}: {fault.what}",)
            raise
        finally:
            _note(clone, now, changes or _changes({}, lines), verdict, said)
    finally:
        clone.close()
    _refuse(said)


def decide_ci(line: Line) -> None:
    """Judge a push a hosted repository has taken in already; raises as `decide_push` does."""
    clone = open_clone(".")
    try:
        old, new, ref = line
        seen = HostedRead(clone, ref, _value(old), _value(new))
        said = judge_push(seen, [seen.change], datetime.now(UTC), file_limit=_limit(clone)).lines
    finally:
        clone.close()
    _refuse(said)


def look_at_journal() -> tuple[int, list[str]]:
    """How many pushes the receive journal of this repository holds, and what is wrong with it."""
    clone = open_clone(".")
    try:
        return journal_faults(clone.common_dir, {ref.name: ref.object_id for ref in clone.refs()})
    finally:
        clone.close()


def begin_journal(folder: str) -> bool:
    """Begin the receive journal of a bare repository with its references as they are; False where it has begun."""
    clone = open_clone(folder)
    try:
        now = {ref.name: ref.object_id for ref in clone.refs()}
        return begin(clone.common_dir, datetime.now(UTC).replace(microsecond=0), now)
    finally:
        clone.close()


def _changes(now: Mapping[str, str], lines: Sequence[Line]) -> list[Change]:
    """With the values references have now; what git hands in is not believed."""
    return [Change(ref=ref, old=now.get(ref), new=_value(new)) for _, new, ref in lines]


def _value(text: str) -> str | None:
    return None if set(text) <= {"0"} else text


def _limit(clone: Clone) -> int:
    text = clone.config.get(LIMIT, "")
    if not text:
        return FILE_LIMIT
    if not text.isdecimal() or int(text) < 1:
        raise CouldNot(
            "bad-setting", f"{LIMIT} is {text!r}, and no number of megabytes", fix=f"git config {LIMIT} 512"
        )
    return int(text) * _MEGA


def _note(clone: Clone, now: datetime, changes: Sequence[Change], verdict: str, said: Sequence[str]) -> None:
    who, way = pusher(os.environ)
    rows = [(change.ref, change.old, change.new) for change in changes]
    note(clone.common_dir, Received(at=now, who=who, way=way, changes=rows, verdict=verdict, reasons=said))


def _refuse(said: Sequence[str]) -> None:
    if said:
        raise Refused(
            "gate-closed",
            "nothing of this push is taken in",
            fix="clear every reason above, then push again; proveout explain tells what a rule means",
            reasons=tuple(said),
        )
