"""What must hold of standing whatever happened: random histories of one operation on two machines of a group."""

from dataclasses import replace

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.policy.rows import Rows, day_of
from tracker.policy.days import local_date, zone_of
from tracker.policy.find import newest, newest_by_operation
from tracker.policy.standing import Judge, standing
from tracker.policy.states import PRECEDENCE, USABLE
from tracker.policy.strikes import stops_use, strikes_validly
from tracker.policy.texts import proofs_of_text, same_bytes, same_code
from tracker.records.events import RevisionRecord, StrikeRecord

LAST = "27-06-01"
MACHINES = ("MILL2", "MILL4", "MILL9")
PROVED_ON = ("MILL2", "MILL2", "MILL2", "MILL4", "MILL9")
PROVERS = ("ss", "ss", "kp", "kp", "bb", "dg")
QUALITY = ("dg", "dg", "dg", "np", "kp")
KINDS = (
    "numbering",
    "numbering",
    "wording",
    "coolant T4",
    "coolant T4",
    "feed T4 slower=0.9",
    "motion T4",
    "flow",
    "dwell,motion T4,5",
)
BY = ("ss", "kp", "dg", "bb", "np")
DAYS = ("24-03-01", "25-02-28", "25-06-01", "26-03-01", "27-01-01", LAST)

PROOFS = (
    "",
    "",
    "",
    "waiting",
    "rejected program",
    "rejected setup",
    "tools=4",
    "tools=4,5",
    "again",
    "unfinished",
)
PROOF = st.tuples(
    st.just("proof"), st.sampled_from(PROVED_ON), st.sampled_from(PROVERS), st.sampled_from(PROOFS)
)
SHOP = ("MILL4=none", "MILL4=MILLS", "lapse_months=6", "lapse_months=0", "two_person=false", "max_carries=1")
EVENTS = st.one_of(
    st.tuples(st.just("revision"), st.sampled_from(KINDS), st.sampled_from(("np", "bb"))),
    PROOF,
    PROOF,
    st.tuples(st.just("measured"), st.sampled_from(("kp", "dg")), st.sampled_from(("accepted", "rejected"))),
    st.tuples(st.just("countersign"), st.sampled_from(BY)),
    st.tuples(st.just("review"), st.sampled_from(QUALITY)),
    st.tuples(st.just("review"), st.sampled_from(QUALITY)),
    st.tuples(st.just("hold"), st.sampled_from(("op10", "MILL2", "rev")), st.sampled_from(BY)),
    st.tuples(st.just("lift"), st.sampled_from(QUALITY)),
    st.tuples(st.just("lift"), st.sampled_from(QUALITY)),
    st.tuples(st.just("withdraw"), st.sampled_from(BY)),
    st.tuples(st.just("ran"), st.sampled_from(PROVED_ON), st.sampled_from(("", "piece=accepted"))),
    st.tuples(st.just("strike"), st.sampled_from(BY)),
    st.tuples(st.just("shop"), st.sampled_from(SHOP)),
)


@st.composite
def histories(draw) -> Rows:
    rows = Rows()
    days = sorted(draw(st.lists(st.integers(1, 36), min_size=3, max_size=14)))
    add(rows, days[0], "r1 np")
    add(rows, days[0], "proof r1 MILL2 ss")
    for month in days[1:]:
        event = draw(EVENTS)
        row = row_of(rows, event, draw)
        if row is not None:
            elsewhere = draw(st.integers(0, 9)) == 0 and event[0] not in ("revision", "shop")
            add(rows, month, row, elsewhere=elsewhere)
    return rows


def add(rows: Rows, month: int, row: str, *, elsewhere: bool = False) -> None:
    year, number = divmod(month, 12)
    date = f"{24 + year}-{number + 1:02}-01"
    rows.row([*(["~"] if elsewhere else []), date, *row.split()])


def row_of(rows: Rows, event, draw) -> str | None:
    what, *rest = event
    names = list(rows.names)
    name = draw(st.sampled_from(names))
    proofs = any(s.record.EVENT in ("proof", "ran") for s in rows.stored)
    stops = any(s.record.EVENT in ("hold", "withdraw") for s in rows.stored)
    sources = {n: rows.record_of(n).origins for n in names}
    by_full = {full: short for short, full in rows.names.items()}
    if what == "revision":
        return f"r{len(names) + 1}<{name} {rest[1]} {rest[0]}"
    if what == "proof":
        return f"proof {name} {rest[0]} {rest[1]} {rest[2]}"
    if what == "measured":
        return f"measured {rest[0]} {rest[1]}" if proofs else None
    if what == "countersign":
        return f"countersign {rest[0]}" if any(s.record.EVENT == "proof" for s in rows.stored) else None
    if what == "review":
        return f"review {name}<{by_full[sources[name][0].revision]} {rest[0]}" if sources[name] else None
    if what == "hold":
        return f"hold {name if rest[0] == 'rev' else rest[0]} {rest[1]}"
    if what == "lift":
        return f"lift {rest[0]}" if stops else None
    if what == "withdraw":
        return f"withdraw {name} {rest[0]}"
    if what == "ran":
        return f"ran {name} {rest[0]} kp {rest[1]}"
    return f"{what} {rest[0]}"


def everything(rows: Rows, ledger, day: str):
    """Every revision's standing on every machine."""
    return {
        (name, machine): standing(ledger, rows.find(name), ledger.shop.machine(machine), day_of(day))
        for name in rows.names
        for machine in MACHINES
    }


def usable(found) -> set:
    return {key for key, one in found.items() if one.state in USABLE}


@settings(max_examples=60, deadline=None)
@given(
    histories(),
    st.sampled_from(
        (
            "hold op10 kp",
            "hold MILL2 xx",
            "hold r1 kp",
            "withdraw r1 dg",
            "withdraw 1 xx",
            "proof r1 MILL2 xx rejected program",
            "proof r1 MILL2 ss rejected setup",
        )
    ),
    st.booleans(),
)
def test_a_stop_never_makes_anything_usable(rows, stop, elsewhere):
    before = usable(everything(rows, rows.ledger(), LAST))
    add(rows, 38, stop, elsewhere=elsewhere)
    assert usable(everything(rows, rows.ledger(), LAST)) <= before


@settings(max_examples=60, deadline=None)
@given(histories(), st.data())
def test_striking_permission_gives_none_and_striking_a_stop_takes_none(rows, data):
    target = data.draw(st.sampled_from(rows.stored))
    others = [s for s in rows.stored if isinstance(s.record, StrikeRecord)]
    before = usable(everything(rows, rows.ledger(), LAST))
    number = next(n for n, s in rows.by_row.items() if s is target)
    stop = stops_use(target.record)
    add(rows, 38, f"strike {'dg' if stop else target.record.by} of={number}")
    after = usable(everything(rows, rows.ledger(), LAST))
    if stop:
        assert before <= after
    elif target not in others and target.record.EVENT != "lift":
        assert after <= before
    if isinstance(target.record, RevisionRecord):
        assert not strikes_validly(rows.ledger(), rows.stored[-1], target)
        assert after == before


@settings(max_examples=60, deadline=None)
@given(histories(), st.randoms(use_true_random=False), st.sampled_from(DAYS))
def test_neither_the_order_of_records_nor_other_jobs_matter(rows, random, day):
    ledger = rows.ledger()
    other = Rows(job="9999").read(
        "24-01-01 r1 np | 24-01-02 proof r1 MILL2 ss rejected program | 24-01-03 hold op10 dg | 24-01-04 withdraw r1 dg"
    )
    mixed = [*ledger.records, *(replace(s, path=s.path.replace("4471", "9999")) for s in other.stored)]
    random.shuffle(mixed)
    assert everything(rows, replace(ledger, records=tuple(mixed)), day) == everything(rows, ledger, day)


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(DAYS))
def test_nothing_after_the_day_matters(rows, day):
    ledger = rows.ledger()
    zone = zone_of(ledger.shop)
    on = local_date(day_of(day), zone)
    cut = replace(
        ledger,
        records=tuple(s for s in ledger.records if local_date(s.record.entered, zone) <= on),
        shops=tuple(v for v in ledger.shops if local_date(v.committed, zone) <= on),
    )
    assert everything(rows, cut, day) == everything(rows, ledger, day)


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(DAYS))
def test_the_first_cause_decides_and_the_reason_names_all(rows, day):
    for found in everything(rows, rows.ledger(), day).values():
        ranks = [PRECEDENCE.index(cause.state) for cause in found.causes]
        assert ranks == sorted(ranks)
        assert found.state == found.causes[0].state
        assert all(cause.words in found.reason for cause in found.causes)
        assert found.usable == (found.state in USABLE)
        assert found.usable or found.causes[0].clears


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(DAYS))
def test_what_is_relied_on_is_enough_and_in_hand(rows, day):
    """With revisions, stops and strikes, the records named are all the evidence there need be."""
    ledger = rows.ledger()
    for (name, machine), found in everything(rows, ledger, day).items():
        if not found.usable:
            continue
        assert all(s.in_hand for s in found.relied_on if s.record.EVENT != "lift")
        named = {s.path for s in found.relied_on}
        kept = tuple(
            s
            for s in ledger.records
            if s.path in named
            or s.record.EVENT in ("revision", "hold", "withdraw", "strike")
            or stops_use(s.record)
        )
        again = standing(
            replace(ledger, records=kept), rows.find(name), ledger.shop.machine(machine), day_of(day)
        )
        assert again.usable, (found.reason, again.reason)


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(DAYS))
def test_one_judge_for_many_questions_says_the_same(rows, day):
    ledger = rows.ledger()
    judge = Judge(ledger, day_of(day))
    asked = everything(rows, ledger, day)
    assert asked == {
        (name, machine): judge.standing(rows.find(name), ledger.shop.machine(machine))
        for name, machine in asked
    }


@settings(max_examples=60, deadline=None)
@given(histories(), st.sampled_from(DAYS), st.data())
def test_proofs_of_a_text_are_those_the_rules_find_one_by_one(rows, day, data):
    """Also where a proof names a revision nobody knows, and where two texts share their bytes or their code."""
    book = Judge(rows.ledger(), day_of(day)).book("4471")
    alike = data.draw(st.sampled_from(("as they are", "same code", "same bytes")))
    names = list(book.revisions)
    assume(names)
    revisions = dict(book.revisions)
    first, last = revisions[names[0]], revisions[names[-1]]
    if alike == "same code":
        changed = replace(last.record, operation_fingerprint=first.record.operation_fingerprint)
        revisions[names[-1]] = replace(last, record=changed)
    elif alike == "same bytes":
        sheet = first.record.sheet_fingerprint
        changed = replace(last.record, files=first.record.files, sheet_fingerprint=sheet, rule_version=99)
        revisions[names[-1]] = replace(last, record=changed)
    unknown = [replace(one, record=replace(one.record, revision="r0099-00000000")) for one in book.proofs[:1]]
    book = replace(book, revisions=revisions, proofs=(*book.proofs, *unknown))
    for entry in revisions.values():
        assert proofs_of_text(book, entry) == [one for one in book.proofs if _of_text(book, one, entry)]


def _of_text(book, proof, entry) -> bool:
    revision = book.revisions.get(proof.record.revision)
    if revision is None:
        return proof.record.operation_fingerprint == entry.record.operation_fingerprint
    return same_code(revision.record, entry.record) or same_bytes(revision.record, entry.record)


@settings(max_examples=60, deadline=None)
@given(histories())
def test_the_newest_of_every_operation_at_once_are_those_of_each(rows):
    ledger = rows.ledger()
    found = newest_by_operation(ledger, "4471")
    assert found == {"op10": newest(ledger, "4471", "OP10")}
    assert newest_by_operation(ledger, "9999") == {}
