"""``7F3A09C2`` in place of ``JOB/OP@rN``: the id a sheet and a stamp carry, the first 8 digits of an operation's fingerprint.

A job of that name comes first. Of several revisions of one operation with the very same code the newest is meant: a
proof, a hold, a release bind to the code. An id that leads to two different codes is refused with both named.
Where the files are meant as they lie here an id stands for its operation only as long as they have the very code.
"""

import re
from dataclasses import dataclass, replace

from tracker.errors import BadCall
from tracker.policy.find import label, number_of, same_name, short_name
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.locate import find_job, locate
from tracker.services.naming import Named, parse_named
from tracker.services.operation_text import operation_text

_ID = re.compile(r"[0-9A-Fa-f]{8}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ById:
    """What was named, and in words what an id was taken for; ``says`` None where no id was said."""

    named: Named
    says: str | None = None


def named_or_id(desk: Desk, text: str) -> ById:
    """What ``text`` means: the usual way to name an operation or a revision, or an id.

    Raises BadCall (``bad-name``, ``unknown-id``, ``ambiguous-id``).
    """
    said = text.strip()
    plain = parse_named(said)
    if _ID.fullmatch(said) is None:
        return ById(named=plain)
    ledger = desk.repo.ledger()
    if _is_job(desk, ledger, said):
        return ById(named=plain)
    found = _with_id(ledger, said)
    codes = {(one.job, one.operation, one.operation_fingerprint) for _, one in found}
    if not found:
        raise BadCall(
            "unknown-id",
            f"no revision here has the id {said.upper()}, and no job has that name",
            fix="look at the digits again; a sheet of another clone is known here after proveout share",
        )
    if len(codes) > 1:
        listed = " and ".join(sorted({_spelled(stored, record) for stored, record in found}))
        raise BadCall(
            "ambiguous-id",
            f"{said.upper()} opens the fingerprints of {listed}",
            fix="name one of them instead of the id",
        )
    stored, record = max(found, key=lambda one: (number_of(one[0].name), one[0].order))
    named = Named(
        job=record.job or "",
        operation=record.operation,
        revision=number_of(stored.name),
        digits=stored.name.partition("-")[2] or None,
    )
    others = sorted({label(one.name) for one, _ in found} - {label(stored.name)})
    same = f" ({', '.join(others)} {'has' if len(others) == 1 else 'have'} the same code)" if others else ""
    return ById(
        named=named,
        says=f"{said.upper()} is {record.job}/{record.operation} {label(stored.name)}{same}",
    )


def is_id(text: str) -> bool:
    """Whether ``text`` has the form of an id."""
    return _ID.fullmatch(text.strip()) is not None


def lies_here(desk: Desk, text: str) -> ById:
    """The operation or job ``text`` means, of files as they lie here.

    Raises BadCall as `named_or_id` does, and ``not-here`` where the files are not, or no longer, the text of the id.
    """
    found = named_or_id(desk, text)
    if found.says is None:
        return found
    tree = desk.repo.work_tree()
    named = Named(job=found.named.job, operation=found.named.operation)
    path, job, operation = locate(tree, named)
    now = operation_text(tree, path, job, operation, tree.shop())
    if not now.fingerprint.startswith(text.strip().lower()):
        raise BadCall(
            "not-here",
            f"{found.says}; what lies here has the id {now.display_id}",
            fix=f"name {named} for what lies here; proveout show {text.strip().upper()} shows what was recorded",
        )
    return replace(found, named=named)


def no_id(desk: Desk, text: str) -> Named:
    """The job or operation ``text`` means where a new revision is made: an id names one that is made already.

    Raises BadCall as `named_or_id` does, and ``wrong-call`` for an id.
    """
    found = named_or_id(desk, text)
    if found.says is None:
        return found.named
    meant = Named(job=found.named.job, operation=found.named.operation)
    raise BadCall(
        "wrong-call",
        f"{found.says}; a check-in makes the next one",
        fix=f"proveout checkin {meant} -m WHY; to have that text again: --from r{found.named.revision}",
    )


def _is_job(desk: Desk, ledger: Ledger, name: str) -> bool:
    try:
        find_job(desk.repo.tree(), name)
    except BadCall:
        return any(same_name(stored.record.job, name) for stored in ledger.records)
    return True


def _with_id(ledger: Ledger, said: str) -> list[tuple[Stored, RevisionRecord]]:
    return [
        (stored, record)
        for stored in ledger.records
        if stored.in_hand
        and isinstance(record := stored.record, RevisionRecord)
        and record.operation_fingerprint.startswith(said.lower())
    ]


def _spelled(stored: Stored, record: RevisionRecord) -> str:
    return f"{record.job}/{record.operation}@{short_name(stored.name)}"
