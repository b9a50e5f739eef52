import io
from datetime import UTC, datetime

import pytest
from rich.console import Console

from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall, CouldNot
from tracker.records.events import CountersignRecord, FirstPiece, MeasuredRecord, ProofRecord
from tracker.reports.show import as_json, print_text
from tracker.services.checkin import check_in
from tracker.services.naming import parse_named
from tracker.services.show import main_program, show

NOW = datetime(2026, 2, 2, 9, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Test shop"
[[people]]
initials = "np"
name = "N"
email = "np@shop.example"
roles = ["programmer"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
resident = [9001]
"""
JOB = (
    'format = 1\n[job]\nnumber = "77"\n[[operations]]\nid = "op10"\nprogram = "O1.nc"\nmachines = ["MILL2"]\n'
)
MAIN = "O1\nT1 M6\nG65 P9001\nM98 P2\nM98 P3\nG1 X1. F5.\nM30\n"
FOLDER = "jobs/77/records/op10"


@pytest.fixture
def desk():
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP})
    repo.write("jobs/77/job.toml", JOB)
    repo.write("jobs/77/O1.nc", MAIN)
    repo.write("common/O2.nc", "O2\nM99\n")
    made = desk_at(repo, NOW, "np@shop.example")
    check_in(made, [parse_named("77")], by="np", reason="first")
    return made


def edited(desk):
    desk.repo.write("jobs/77/O1.nc", MAIN.replace("X1.", "X2."))
    check_in(desk, [parse_named("77")], by="np", reason="longer")


def shown(report):
    out = io.StringIO()
    print_text(report, Console(file=out, width=80, markup=False))
    return out.getvalue()


def test_everything_the_record_says(desk):
    edited(desk)
    report = show(desk, parse_named("77@r2"))
    data = as_json(report)
    assert (data["revision"], data["newest"], data["by"], data["reason"]) == ("r2", True, "np", "longer")
    assert data["id"] == data["operation_fingerprint"][:8].upper()
    assert [file["name"] for file in data["files"]] == ["O1.nc", "O2.nc"]
    (origin,) = data["origins"]
    assert (origin["kinds"], origin["sections"]) == (["motion"], ["1"])
    assert "call-missing" in {finding["rule"] for finding in data["findings"]}
    assert [call["line"] for call in data["outside"]] == [3]
    assert data["standings"][0]["machine"] == "MILL2"
    text = shown(report)
    for words in (data["id"], "motion (T1)", "call-missing", "O9001 is resident", "UNPROVEN", "r0001-"):
        assert words in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_an_older_revision_says_that_there_is_a_newer_one(desk):
    edited(desk)
    report = show(desk, parse_named("77/op10@r1"))
    assert not report.is_newest
    assert "there is a newer one" in shown(report)
    assert main_program(report).data == MAIN.encode()
    assert show(desk, parse_named("77")).label == "r2"


def test_proofs_with_what_came_to_them(desk):
    (stored,) = [s for s in desk.repo.ledger().records if s.record.EVENT == "revision"]
    path = f"{FOLDER}/{stored.name}-proof-MILL2-20260202T090000Z-ss.toml"
    opening = {"job": "77", "operation": "op10", "revision": stored.name, "at": NOW, "entered": NOW}
    proof = ProofRecord(
        **opening,
        by="ss",
        machine="MILL2",
        operation_fingerprint=stored.record.operation_fingerprint,
        rule_version=1,
        result="accepted",
        tools=("1",),
        limits="10 pieces",
        first_piece=FirstPiece(result="waiting"),
    )
    desk.repo.record(path, proof)
    desk.repo.record(
        f"{FOLDER}/{stored.name}-measured-20260202T100000Z-dg.toml",
        MeasuredRecord(**opening, by="dg", proof=path, report="77", result="accepted"),
    )
    desk.repo.record(
        f"{FOLDER}/{stored.name}-countersign-20260202T110000Z-dg.toml",
        CountersignRecord(**opening, by="dg", proof=path),
    )
    report = show(desk, parse_named("77@r1"))
    (said,) = as_json(report)["proofs"]
    assert (said["tools"], said["measured"], said["countersigned"]) == (["1"], "accepted", ["dg"])
    text = " ".join(shown(report).split())
    assert "proof of T1 on MILL2 by ss" in text
    assert "limited to 10 pieces; countersigned by dg" in text


def test_lost_bytes_are_said_and_never_made_up(desk):
    (stored,) = [s for s in desk.repo.ledger().records if s.record.EVENT == "revision"]
    desk.repo.commits[stored.commit].files["jobs/77/O1.nc"] = b"something else"
    report = show(desk, parse_named("77@r1"))
    assert as_json(report)["lost"] == ["jobs/77/O1.nc"]
    assert "LOST: jobs/77/O1.nc" in shown(report)
    with pytest.raises(CouldNot) as error:
        main_program(report)
    assert error.value.name == "damaged"


def test_a_job_that_left_the_tree_can_still_be_shown(desk):
    head = desk.repo.head().commit
    files = dict(desk.repo.commits[head].files)
    desk.repo.remove("jobs/77/job.toml")
    tree = {path: data for path, data in files.items() if path != "jobs/77/job.toml"}
    desk.repo._add(tree, [head], "gone", "hand@shop.example", NOW)
    assert show(desk, parse_named("77/op10@r1")).label == "r1"
    assert show(desk, parse_named("77")).label == "r1"
    with pytest.raises(BadCall):
        show(desk, parse_named("78"))
