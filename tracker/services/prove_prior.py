"""``prove --prior``: a proof that was kept on paper before there was a record.

A setup person vouches that the paper is there and says where. It counts while the shop's policy takes such proofs in
(``prior_until``), is named apart everywhere, answers no rejection and no first piece that is due, and the first real proof
takes its place. A comment in a program is a hint and no evidence.
"""

from datetime import date, datetime

from tracker.errors import BadCall, Refused
from tracker.frozen import dataclass
from tracker.policy.days import local_date, words, zone_of
from tracker.policy.paper import says_where
from tracker.policy.states import HELD, REJECTED, WITHDRAWN
from tracker.records.events import ProofRecord
from tracker.services.day_said import day_said
from tracker.services.desk import Desk
from tracker.services.naming import Named
from tracker.services.prove import Answers, Begun, ProveReport, begin, finish
from tracker.services.recording import one_line


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What the paper is and says: ``evidence`` where it lies, ``last_run`` the day of the last run it shows."""

    evidence: str | None
    last_run: str | None = None
    note: str | None = None


def prove_prior(
    desk: Desk, named: Named, paper: Paper, *, machine: str | None, by: str | None, at: datetime | None = None
) -> ProveReport:
    """Put a proof kept on paper down.

    Raises:
        BadCall: ``no-evidence``, ``bad-date``, and as `begin` does.
        Refused: ``no-prior`` (the shop takes none in, or not any more), ``prior-against-stop``, ``prior-too-late`` (a real
            proof is there), and as `begin` and `finish` do.
    """
    evidence = one_line(paper.evidence)
    if not says_where(evidence):
        raise BadCall(
            "no-evidence",
            "where is the paper that says it was proved?",
            fix='say it with --evidence, like --evidence "setup card 12, signed KP 3 Nov 2025, cabinet 2"',
        )
    begun = begin(desk, named, machine=machine, by=by)
    prior: dict[str, object] = {"evidence": evidence}
    if paper.last_run is not None:
        prior["last_run"] = _last_run(desk, begun, paper.last_run).isoformat()
    _taken_in(desk, begun)
    return finish(desk, begun, Answers(result="accepted", note=paper.note, at=at), prior=prior)


def _last_run(desk: Desk, begun: Begun, said: str) -> date:
    day = day_said(said)
    if day > local_date(desk.clock.now(), zone_of(begun.target.shop)):
        raise BadCall("bad-date", f"{said} has not come yet", fix="name the day of the last run on the paper")
    return day


def _taken_in(desk: Desk, begun: Begun) -> None:
    """Raise Refused where the shop takes no such proof in, or it would say nothing."""
    shop, found = begun.target.shop, begun.target
    until = shop.policy.prior_until
    if until is None or local_date(desk.clock.now(), zone_of(shop)) > until:
        over = "" if until is None else f" after {words(until)}"
        raise Refused(
            "no-prior",
            f"this shop takes no proofs kept on paper in{over}",
            where="shop.toml",
            fix="prove it; or somebody of quality sets prior_until in [policy] of shop.toml",
        )
    if begun.standing.state in (HELD, REJECTED, WITHDRAWN):
        raise Refused(
            "prior-against-stop",
            f"{found.spelled} is {begun.standing.state} on {begun.machine.id}, and paper from before answers nothing "
            f"that was said since: {begun.standing.reason}",
            fix="prove it in full, or lift what stops it",
        )
    base = begun.standing.base.record if begun.standing.base else None
    if isinstance(base, ProofRecord) and base.prior is None:
        raise Refused(
            "prior-too-late",
            f"{found.spelled} has a real proof on {begun.machine.id} already: {begun.standing.reason}",
            fix="nothing needs to be done",
        )
