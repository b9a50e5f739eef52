"""``audit --list``: what quality asks for, one table each, every row from records or from what they bear out.

====================== ========================================================================================
same-person            accepted proofs whose prover also wrote the text, and who countersigned
carries                what stands by a proof carried over from an earlier revision
incomplete             proofs that are limited, left a step out, or were kept unfinished
first-piece            first pieces, by proof
rejections             proofs and first pieces that were rejected
deviations             texts run in an emergency, with who stands behind them and whether one is owed
late-entries           records entered more than 48 hours from when they say things happened
set-clocks             records made with a clock that was set by hand
prior                  proofs taken over from paper
before-the-record      texts taken over from the history that was there before, which give no standing
lapse                  what lapses within 60 days, or has
waivers                findings that are let stand, of the newest revisions
signatures             every record: who should sign it, by which key it is signed, what that is worth
struck                 records with a line through them, and the line
====================== ========================================================================================

A row that stands on a record with a line through it says so; such a record bears nothing else out. The others stand in `tracker.services.audit_lists_more`.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.policy.days import entered_late
from tracker.policy.deviations import deviations
from tracker.policy.find import by_name, label, newest_of
from tracker.policy.standing import Judge
from tracker.policy.strikes import struck
from tracker.policy.writers import people_of
from tracker.records.events import (
    CountersignRecord,
    MeasuredRecord,
    ProofRecord,
    RevisionRecord,
    StrikeRecord,
)
from tracker.records.stored import Stored
from tracker.services.audit_asked import Asked, Row, Rows, told_apart, with_lines_through
from tracker.services.audit_asked import row as _row
from tracker.services.audit_lists_more import MORE_LISTS
from tracker.services.audit_signatures import signatures
from tracker.services.audit_standing import carried, lapsing, waived, written_by
from tracker.services.desk import Desk


@dataclass(frozen=True, slots=True, kw_only=True)
class ListReport:
    """One list: its name, its columns in order, its rows (column -> text)."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def audit_list(desk: Desk, name: str) -> ListReport:
    """One list; raises BadCall (``unknown-list``) naming all of them, and as reading the record does."""
    if name not in LISTS:
        raise BadCall("unknown-list", f"there is no list {name!r}", fix=f"one of: {', '.join(LISTS)}")
    return _made(name, _asked(desk))


def every_list(desk: Desk) -> list[ListReport]:
    """All of them, by one reading of the record; raises as reading it does."""
    asked = _asked(desk)
    return [_made(name, asked) for name in LISTS]


def _asked(desk: Desk) -> Asked:
    ledger = desk.repo.ledger()
    return Asked(desk=desk, ledger=ledger, judge=Judge(ledger, desk.clock.now()))


def _made(name: str, asked: Asked) -> ListReport:
    columns, rows = LISTS[name]
    found = with_lines_through(asked.ledger, told_apart(asked.ledger, rows(asked)))
    return ListReport(name=name, columns=("what", *columns, "record"), rows=tuple(found))


def _proofs(asked: Asked) -> Iterator[tuple[Stored, ProofRecord]]:
    for stored in asked.ledger.records:
        if isinstance(stored.record, ProofRecord):
            yield stored, stored.record


def _same_person(asked: Asked) -> Rows:
    gone = struck(asked.ledger)
    signs = {
        one.record.proof: one.record.by
        for one in asked.ledger.records
        if isinstance(one.record, CountersignRecord) and one.in_hand and one.path not in gone
    }
    for stored, proof in _proofs(asked):
        book = asked.judge.book(proof.job)
        revision = by_name(book.ledger, proof.job or "", proof.operation or "", proof.revision or "")
        if proof.result != "accepted" or revision is None:
            continue
        both = people_of(proof) & written_by(book, revision)
        if both:
            who = ", ".join(sorted(both))
            yield _row(
                stored,
                on=proof.machine,
                person=who,
                countersigned=signs.get(stored.path) or signs.get(stored.name),
            )


def _incomplete(asked: Asked) -> Rows:
    for stored, proof in _proofs(asked):
        left = [step.step for step in proof.steps if not step.done]
        why = [f"limited: {proof.limits}"] if proof.limits else []
        why += [f"without {', '.join(left)}"] if left else []
        why += ["unfinished"] if proof.result == "unfinished" else []
        why += [f"tools {', '.join(proof.tools)} only"] if proof.tools else []
        if why:
            yield _row(stored, on=proof.machine, by=proof.by, why="; ".join(why))


def _first_piece(asked: Asked) -> Rows:
    gone = struck(asked.ledger)
    measured = {
        key: one.record
        for one in asked.ledger.records
        if isinstance(one.record, MeasuredRecord) and one.path not in gone
        for key in (one.record.proof, one.record.proof.rpartition("/")[2].removesuffix(".toml"))
    }
    for stored, proof in _proofs(asked):
        piece = proof.first_piece
        if piece is not None:
            later = measured.get(stored.path) or measured.get(stored.name)
            result, report = (later.result, later.report) if later else (piece.result, piece.report)
            yield _row(stored, on=proof.machine, report=report, result=result)


def _rejections(asked: Asked) -> Rows:
    for stored in asked.ledger.records:
        record = stored.record
        if isinstance(record, ProofRecord | MeasuredRecord) and record.result == "rejected":
            cause = record.cause if isinstance(record, ProofRecord) else f"report {record.report}"
            yield _row(stored, by=record.by, cause=cause, why=record.reason)


def _deviations(asked: Asked) -> Rows:
    for one in deviations(asked.ledger, asked.desk.clock.now()):
        yield _row(
            one.stored,
            on=one.record.machine,
            by=one.record.by,
            state=one.state,
            signed=one.signed_by,
            lot=one.record.lot,
            why=one.record.reason,
        )


def _late(asked: Asked) -> Rows:
    for stored in asked.ledger.records:
        if entered_late(stored.record):
            at, entered = (f"{one:%Y-%m-%d %H:%M}Z" for one in (stored.record.at, stored.record.entered))
            yield _row(stored, by=stored.record.by, happened=at, entered=entered)


def _set_clocks(asked: Asked) -> Rows:
    for stored in asked.ledger.records:
        if stored.record.clock is not None:
            yield _row(stored, by=stored.record.by, entered=f"{stored.record.entered:%Y-%m-%d %H:%M}Z")


def _prior(asked: Asked) -> Rows:
    for stored, proof in _proofs(asked):
        if proof.prior is not None:
            said = ", ".join(f"{key}: {text}" for key, text in sorted(proof.prior.items()))
            yield _row(stored, on=proof.machine, by=proof.by, evidence=said)


def _before(asked: Asked) -> Rows:
    for stored in asked.ledger.records:
        if stored.before is not None:
            old = stored.before
            yield _row(
                stored,
                claimed=f"{old.author} {stored.record.at:%Y-%m-%d %H:%M}Z",
                commit=old.commit[:12],
                taken_over_by=stored.record.by,
                why=stored.record.reason,
            )


def _struck(asked: Asked) -> Rows:
    gone = struck(asked.ledger)
    for stored in asked.ledger.records:
        if isinstance(stored.record, StrikeRecord):
            record = stored.record
            counts = "yes" if record.record in gone else "no"
            yield _row(stored, struck=record.record, counts=counts, by=record.by, why=record.reason)


def _carries(asked: Asked) -> Rows:
    for stored, machine, standing in carried(asked.desk, asked.ledger, asked.judge):
        steps = " -> ".join(label(name) for name in standing.chain)
        yield _row(stored, on=machine, chain=steps, why=standing.reason)


def _lapse(asked: Asked) -> Rows:
    for stored, machine, standing, day in lapsing(asked.desk, asked.ledger, asked.judge):
        yield _row(stored, on=machine, lapses=day.isoformat() if day else None, standing=standing.state)


def _waivers(asked: Asked) -> Rows:
    for stored in newest_of(asked.ledger):
        if isinstance(stored.record, RevisionRecord):
            for rule, where, by, why in waived(stored.record):
                yield _row(stored, rule=rule, where=where, by=by, why=why)


def _signatures(asked: Asked) -> Rows:
    for stored, whom, key, verdict, must in signatures(asked.ledger):
        event = stored.record.EVENT
        yield _row(stored, **{"event": event, "by": whom, "key": key, "verdict": verdict, "asked for": must})


LISTS: Mapping[str, tuple[tuple[str, ...], Callable[[Asked], Rows]]] = {
    "same-person": (("on", "person", "countersigned"), _same_person),
    "carries": (("on", "chain", "why"), _carries),
    "incomplete": (("on", "by", "why"), _incomplete),
    "first-piece": (("on", "report", "result"), _first_piece),
    "rejections": (("by", "cause", "why"), _rejections),
    "deviations": (("on", "by", "state", "signed", "lot", "why"), _deviations),
    "late-entries": (("by", "happened", "entered"), _late),
    "set-clocks": (("by", "entered"), _set_clocks),
    "prior": (("on", "by", "evidence"), _prior),
    "before-the-record": (("claimed", "commit", "taken_over_by", "why"), _before),
    "lapse": (("on", "lapses", "standing"), _lapse),
    "waivers": (("rule", "where", "by", "why"), _waivers),
    "signatures": (("event", "by", "key", "verdict", "asked for"), _signatures),
    "struck": (("struck", "counts", "by", "why"), _struck),
    **MORE_LISTS,
}
