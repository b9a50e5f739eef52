"""Lists of an audit that hold records against each other, or against what lies in the shop's folder today.

====================== ========================================================================================
withdrawals            releases that were recalled, each with the sticks that by the records still carry its text
open-edits             files that came home changed or unknown, and whose text nobody has checked in since
drawing                releases in force made for another drawing revision than job.toml says today
onumbers               program numbers that stand for more than one program
post                   accepted proofs with the post-processor's stamp of the text that was proved
clocks                 records entered late, before a record they follow, or by a clock that was set by hand
replay                 steps of what stands by carrying, where comparing again finds more than was recorded
====================== ========================================================================================
"""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from tracker.errors import BadCall
from tracker.policy.book import Entry
from tracker.policy.days import entered_late
from tracker.policy.find import by_name, label, newest_of
from tracker.policy.strikes import struck
from tracker.policy.texts import effective_post
from tracker.records.events import (
    CollectRecord,
    ExportRecord,
    LiftRecord,
    OnStick,
    ProofRecord,
    ReleaseRecord,
    RevisionRecord,
    WithdrawRecord,
)
from tracker.records.shop import CARRY
from tracker.records.stored import Ledger, Stored
from tracker.services import collect_report as verdicts
from tracker.services.audit_asked import Asked, Rows, row
from tracker.services.audit_standing import carried
from tracker.services.carriers import carriers
from tracker.services.difference import difference, is_lathe
from tracker.services.revision_text import revision_text
from tracker.services.told_by_bytes import Told

_TO_SETTLE = frozenset({verdicts.CHANGED_CODE, verdicts.UNKNOWN, verdicts.INCOMPLETE, verdicts.DAMAGED})


def _withdrawals(asked: Asked) -> Rows:
    """``taken off``: the stick is clean by the records; the control it went to may hold the text all the same."""
    now = asked.desk.clock.now()
    for stored in asked.ledger.records:
        record = stored.record
        if isinstance(record, WithdrawRecord):
            codes = {one.operation_fingerprint for one in record.operations}
            found = carriers(asked.ledger, record.job or "", codes, now)
            still = "; ".join(one.spelled for one in found if one.files)
            off = "; ".join(f"{one.stick} ({one.machine})" for one in found if not one.files)
            more = {"still on": still, "taken off": off}
            yield row(stored, release=str(record.number), by=record.by, **more, why=record.reason)


def _open_edits(asked: Asked) -> Rows:
    """A file is settled by being taken in, by a revision that holds its bytes or code, or by what was found in its place later.

    So is what an export wrote: a PC that had not shared did not know it by then.
    """
    records = [stored.record for stored in asked.ledger.records]
    by_now = Told.ever(asked.ledger)
    papers = {file.sha256 for one in records if isinstance(one, ExportRecord) for file in one.papers}
    last: dict[tuple[str, str], list[tuple[Stored, CollectRecord, OnStick]]] = {}
    for stored in asked.ledger.records:
        if not isinstance(stored.record, CollectRecord):
            continue
        for file in stored.record.files:
            found = last.setdefault((stored.record.stick.casefold(), file.path.casefold()), [])
            # what another PC found meanwhile is not later
            found[:] = [one for one in found if not asked.ledger.descends(stored.commit, one[0].commit)]
            found.append((stored, stored.record, file))
    for stored, record, put_down in (one for found in last.values() for one in found):
        file = by_now.told(put_down)
        if file.verdict in _TO_SETTLE and file.taken_as is None and file.sha256 not in papers:
            was = (
                f"{file.job}/{file.operation}@{label(file.revision)}" if file.job and file.revision else None
            )
            yield row(stored, stick=record.stick, file=file.path, verdict=file.verdict, was=was, by=record.by)


def _drawing(asked: Asked) -> Rows:
    tree = asked.desk.repo.tree()
    paths = tree.job_paths()
    for stored in _in_force(asked.ledger):
        path = paths.get((stored.record.job or "").lower())
        if path is None:
            continue
        try:
            then = asked.desk.repo.tree(stored.commit).job(path)
            now = tree.job(path)
        except BadCall:
            continue  # audit itself tells it as wrong-file
        said, says = (f"{job.drawing or '-'} {job.drawing_revision or '-'}" for job in (then, now))
        if said != says and isinstance(stored.record, ReleaseRecord):
            yield row(stored, release=str(stored.record.number), released=said, **{"job.toml": says})


def _in_force(ledger: Ledger) -> Iterator[Stored]:
    """The newest release of every job that was not recalled as a whole or in part."""
    lifted = {one.record.withdrawal for one in ledger.records if isinstance(one.record, LiftRecord)}
    recalled = {
        (one.record.job, one.record.number)
        for one in ledger.records
        if isinstance(one.record, WithdrawRecord) and one.path not in lifted
    }
    newest: dict[str, Stored] = {}
    numbers: dict[str, int] = {}
    for stored in ledger.records:
        record = stored.record
        job = (record.job or "").casefold()
        if isinstance(record, ReleaseRecord) and record.number > numbers.get(job, 0):
            newest[job], numbers[job] = stored, record.number
    for stored in newest.values():
        if (stored.record.job, numbers[(stored.record.job or "").casefold()]) not in recalled:
            yield stored


def _onumbers(asked: Asked) -> Rows:
    places: dict[int, dict[str, Stored]] = {}
    for stored in newest_of(asked.ledger):
        if isinstance(stored.record, RevisionRecord):
            for file in stored.record.files:
                if file.number is not None:
                    places.setdefault(file.number, {}).setdefault(file.path, stored)
    for number, found in sorted(places.items()):
        if len(found) > 1:
            for path, stored in sorted(found.items()):
                others = ", ".join(other for other in sorted(found) if other != path)
                yield row(stored, number=f"O{number:04}", program=path, also=others)


def _post(asked: Asked) -> Rows:
    gone = struck(asked.ledger)
    for stored in asked.ledger.records:
        proof = stored.record
        if not isinstance(proof, ProofRecord) or proof.result != "accepted" or stored.path in gone:
            continue
        book = asked.judge.book(proof.job)
        revision = by_name(book.ledger, proof.job or "", proof.operation or "", proof.revision or "")
        if revision is not None and isinstance(revision.record, RevisionRecord):
            stamp = effective_post(book, Entry(stored=revision, record=revision.record))
            proved, kept = f"{proof.at:%Y-%m-%d}", "on paper" if proof.prior is not None else None
            none = (
                "none recorded" if book.policy.post_stamp else "not looked for: shop.toml has no post_stamp"
            )
            yield row(stored, on=proof.machine, by=proof.by, proved=proved, kept=kept, post=stamp or none)


def _clocks(asked: Asked) -> Rows:
    latest: Stored | None = None
    for stored in asked.ledger.records:
        record = stored.record
        why = [f"happened {record.at:%Y-%m-%d %H:%M}Z, entered late"] if entered_late(record) else []
        if latest is not None and record.entered < latest.record.entered:
            if asked.ledger.descends(stored.commit, latest.commit) and stored.commit != latest.commit:
                why.append(
                    f"entered before what it follows: {latest.path}, {latest.record.entered:%Y-%m-%d %H:%M}Z"
                )
        else:
            latest = stored
        why += ["by a clock that was set by hand"] if record.clock is not None else []
        if why:
            yield row(stored, by=record.by, entered=f"{record.entered:%Y-%m-%d %H:%M}Z", why="; ".join(why))


def _replay(asked: Asked) -> Rows:
    done: set[tuple[str, str]] = set()
    for stored, machine, standing in carried(asked.desk, asked.ledger, asked.judge):
        job, operation = stored.record.job or "", stored.record.operation or ""
        for older, newer in pairwise(standing.chain):
            old, new = (by_name(asked.ledger, job, operation, name) for name in (older, newer))
            if old is None or new is None or (old.path, new.path) in done:
                continue
            done.add((old.path, new.path))
            recorded, today = _recorded(new, older), _compared(asked, old, new)
            if today - recorded - set(CARRY):
                words = (", ".join(sorted(kinds)) for kinds in (recorded, today))
                yield row(
                    new,
                    on=machine,
                    **dict(zip(("from", "recorded", "today"), (label(older), *words), strict=True)),
                )


def _recorded(new: Stored, older: str) -> set[str]:
    record = new.record
    origins = record.origins if isinstance(record, RevisionRecord) else ()
    return {kind for origin in origins if origin.revision == older for kind in origin.kinds}


def _compared(asked: Asked, old: Stored, new: Stored) -> set[str]:
    """Kinds of change by today's rules; ``cannot be read back`` where a text is lost."""
    before, after = (revision_text(asked.desk.repo, stored) for stored in (old, new))
    if before.lost or after.lost or before.sheet is None or after.sheet is None:
        return {"cannot be read back"}
    found = difference(
        before.programs,
        after.programs,
        old_sheet=before.sheet,
        new_sheet=after.sheet,
        strict=before.record.strict or after.record.strict,
        lathe=is_lathe(asked.ledger.shop, after.sheet[1]),
    )
    return set(found.kinds)


MORE_LISTS: Mapping[str, tuple[tuple[str, ...], Callable[[Asked], Rows]]] = {
    "withdrawals": (("release", "by", "still on", "taken off", "why"), _withdrawals),
    "open-edits": (("stick", "file", "verdict", "was", "by"), _open_edits),
    "drawing": (("release", "released", "job.toml"), _drawing),
    "onumbers": (("number", "program", "also"), _onumbers),
    "post": (("on", "by", "proved", "kept", "post"), _post),
    "clocks": (("by", "entered", "why"), _clocks),
    "replay": (("on", "from", "recorded", "today"), _replay),
}
