from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall
from tracker.frozen import replace
from tracker.records.events import (
    ExportRecord,
    FirstPiece,
    HoldRecord,
    OnStick,
    Origin,
    ProofRecord,
    ReleasedOperation,
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
    StrikeRecord,
)
from tracker.reports.history import as_json
from tracker.services.history import Filters, history
from tracker.services.naming import parse_named

SHOP = """format = 1
[shop]
name = "Test shop"
[[people]]
initials = "ss"
name = "S"
email = "s@shop.example"
roles = ["setup"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
"""
JOB = 'format = 1\n[job]\nnumber = "77"\n' + "".join(
    f'[[operations]]\nid = "{op}"\nprogram = "{op}/O1.nc"\n' for op in ("op10", "op20")
)
FOLDER = "jobs/77/records"
PROOF = f"{FOLDER}/op10/r0002-bbbbbbbb-proof-MILL2-20260203T090000Z-ss.toml"


def at(day, hour=9):
    return datetime(2026, 2, day, hour, tzinfo=UTC)


def opened(day, **more):
    return {"at": at(day), "entered": at(day), "by": "np", "job": "77", "operation": "op10", **more}


def revision(day, operation, number, origins=()):
    return RevisionRecord(
        **opened(day, operation=operation, revision=f"r{number:04}", reason="why"),
        operation_fingerprint="f" * 64,
        rule_version=1,
        sheet_fingerprint="s" * 64,
        origins=origins,
    )


@pytest.fixture
def desk():
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP, "jobs/77/job.toml": JOB})
    origin = Origin(revision="r0001-aaaaaaaa", kinds=("feed", "wording"), sections=("4",), slower=0.9)
    repo.record(f"{FOLDER}/op10/r0001-aaaaaaaa.toml", revision(1, "op10", 1))
    repo.record(f"{FOLDER}/op10/r0002-bbbbbbbb.toml", revision(2, "op10", 2, (origin,)))
    repo.record(f"{FOLDER}/op20/r0001-cccccccc.toml", revision(2, "op20", 1))
    proof = ProofRecord(
        **opened(3, revision="r0002-bbbbbbbb", by="ss", entered_by="np"),
        machine="MILL2",
        operation_fingerprint="f" * 64,
        rule_version=1,
        result="rejected",
        cause="program",
        tools=("4",),
        first_piece=FirstPiece(result="rejected"),
    )
    repo.record(PROOF, proof)
    review = ReviewRecord(
        **opened(4, revision="r0002-bbbbbbbb"), from_revision="r0001-aaaaaaaa", kinds=("feed",)
    )
    repo.record(f"{FOLDER}/op10/r0002-bbbbbbbb-review-20260204T090000Z-np.toml", review)
    release = ReleaseRecord(
        **opened(5, operation=None),
        number=1,
        operations=(
            ReleasedOperation(operation="op20", revision="r0001-cccccccc", operation_fingerprint="f" * 64),
        ),
    )
    repo.record(f"{FOLDER}/release-0001.toml", release)
    export = ExportRecord(
        **opened(6, job=None, operation=None),
        machine="MILL2",
        stick="BLUE-1",
        purpose="released",
        manifest="m" * 64,
        files=(OnStick(path="O1.NC", sha256="x" * 64, job="77", operation="op20"),),
    )
    repo.record("records/20260206T090000Z-export-MILL2-np.toml", export)
    hold = HoldRecord(**opened(7, job=None, operation=None), scope="machine", machine="MILL2", cause="crash")
    repo.record("records/20260207T090000Z-hold-MILL2-np.toml", hold)
    return desk_at(repo, at(9))


def events(desk, name="77", **more):
    report = history(desk, parse_named(name) if name else None, Filters(**more))
    return [(one.event, one.operation, one.revision) for one in report.events]


def test_a_job_has_its_events_in_order(desk):
    assert events(desk) == [
        ("revision", "op10", "r1"),
        ("revision", "op10", "r2"),
        ("revision", "op20", "r1"),
        ("proof", "op10", "r2"),
        ("review", "op10", "r2"),
        ("release", None, None),
        ("export", None, None),
    ]


def test_an_operation_has_its_own_and_what_holds_it(desk):
    assert [e for e, _, _ in events(desk, "77/op10")] == ["revision", "revision", "proof", "review"]
    assert [e for e, _, _ in events(desk, "77/op20")] == ["revision", "release", "export"]


def test_why_a_machine_was_held_is_said_and_a_short_form_is_no_prove_out(desk):
    (held,) = history(desk, None, Filters(event="hold")).events
    assert held.words == "crash"
    (proof,) = [one for one in desk.repo.ledger().records if isinstance(one.record, ProofRecord)]
    again = replace(proof.record, again=True, at=at(8), entered=at(8))
    desk.repo.record(proof.path.replace(".toml", "-2.toml"), again)
    words = [one.words for one in history(desk, None, Filters(event="proof")).events]
    assert [("short form" in one) for one in words] == [False, True]


def test_without_a_name_everything(desk):
    assert [e for e, _, _ in events(desk, None)][-2:] == ["export", "hold"]


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"machine": "mill2"}, ["proof", "export"]),
        ({"person": "SS"}, ["proof"]),
        ({"person": "np"}, ["revision", "revision", "revision", "proof", "review", "release", "export"]),
        ({"event": "Review"}, ["review"]),
        ({"event": "proof", "machine": "MILL2", "person": "ss"}, ["proof"]),
        ({"event": "strike"}, []),
    ],
)
def test_filters(desk, more, expected):
    assert [e for e, _, _ in events(desk, **more)] == expected


def test_the_shape_of_an_event(desk):
    second, proof = as_json(history(desk, parse_named("77/op10")))["events"][1:3]
    assert list(second)[:10] == [
        *("at", "event", "job", "operation", "revision"),
        *("machine", "by", "kinds", "reason", "record"),
    ]
    assert second["kinds"] == ["feed", "wording"]
    assert second["at"] == "2026-02-02T09:00:00Z"
    assert (proof["record"], proof["machine"], proof["entered_by"]) == (PROOF, "MILL2", "np")
    assert proof["words"] == "rejected, of T4, cause program, first piece rejected"


def test_what_is_struck_stays_legible(desk):
    strike = StrikeRecord(**opened(8, revision="r0002-bbbbbbbb"), record=PROOF.replace("-proof-", "-x-"))
    desk.repo.record(f"{FOLDER}/op10/r0002-bbbbbbbb-strike-20260208T090000Z-np.toml", strike)
    assert "struck" not in as_json(history(desk, parse_named("77/op10")))["events"][2]
    review = f"{FOLDER}/op10/r0002-bbbbbbbb-review-20260204T090000Z-np.toml"
    own = StrikeRecord(**opened(8, revision="r0002-bbbbbbbb"), record=review)
    desk.repo.record(f"{FOLDER}/op10/r0002-bbbbbbbb-strike-20260208T090001Z-np.toml", own)
    assert as_json(history(desk, parse_named("77/op10")))["events"][3]["struck"] is True


def test_a_job_that_left_the_tree_still_has_its_history(desk):
    desk.repo.remove("jobs/77/job.toml")
    desk.repo.commits[desk.repo.head().commit].files.pop("jobs/77/job.toml")
    assert len(events(desk, "77")) == 7
    assert len(events(desk, "77/op20")) == 3
    with pytest.raises(BadCall):
        events(desk, "77/op30")
    with pytest.raises(BadCall):
        events(desk, "78")


def test_damaged_records_are_named(desk):
    desk.repo.save({f"{FOLDER}/op10/r0003-dddddddd.toml": "nonsense ["})
    report = as_json(history(desk, parse_named("77")))
    assert len(report["events"]) == 7
    assert "r0003-dddddddd" in report["unreadable"][0]


def test_of_two_revisions_with_one_number_every_event_says_which(desk):
    twin = f"{FOLDER}/op10/r0002-dddddddd"
    desk.repo.record(f"{twin}.toml", revision(2, "op10", 2))
    proof = ProofRecord(
        **opened(3, revision="r0002-dddddddd", by="ss"),
        machine="MILL2",
        operation_fingerprint="e" * 64,
        rule_version=1,
        result="accepted",
    )
    desk.repo.record(f"{twin}-proof-MILL2-20260203T100000Z-ss.toml", proof)
    release = ReleaseRecord(
        **opened(8, operation=None),
        number=2,
        operations=(
            ReleasedOperation(operation="OP10", revision="r0002-dddddddd", operation_fingerprint="e" * 64),
        ),
    )
    desk.repo.record(f"{FOLDER}/release-0002.toml", release)
    assert [one[2] for one in events(desk, event="proof")] == ["r2-bbbbbbbb", "r2-dddddddd"]
    assert [one[2] for one in events(desk, event="review")] == ["r2-bbbbbbbb"]
    (_, made) = history(desk, parse_named("77"), Filters(event="release")).events
    assert made.words == "release 2: OP10 r2-dddddddd"
