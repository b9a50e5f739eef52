from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall
from tracker.records.events import ProofRecord
from tracker.reports.status import as_json, print_text
from tracker.services.checkin import check_in
from tracker.services.naming import parse_named
from tracker.services.status import status

NOW = datetime(2026, 2, 2, 9, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Test shop"
timezone = "Europe/London"
[policy]
two_person = false
[[people]]
initials = "np"
name = "N"
email = "np@shop.example"
roles = ["programmer", "setup", "quality"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
[[machines]]
id = "MILL3"
type = "mill"
units = "inch"
"""
JOB = """format = 1
[job]
number = "77"
[[operations]]
id = "op10"
program = "op10/O1.nc"
machines = ["MILL2", "MILL3"]
[[operations]]
id = "op20"
program = "op20/O2.nc"
"""
OP10 = "jobs/77/op10/O1.nc"


@pytest.fixture
def repo():
    fake = FakeRepository()
    fake.save({"shop.toml": SHOP, "jobs/77/job.toml": JOB})
    fake.write(OP10, "O1\nT1 M6\nG1 X1. F5.\nM30\n")
    fake.write("jobs/77/op20/O2.nc", "O2\nM30\n")
    return fake


@pytest.fixture
def desk(repo):
    return desk_at(repo, NOW, "np@shop.example")


def checkin(desk, *names):
    check_in(desk, [parse_named(name) for name in names], by="np", reason="x")


def rows(desk, **more):
    return as_json(status(desk, **more))["operations"]


def prove(repo, machine="MILL2"):
    (stored,) = [s for s in repo.ledger().records if s.record.operation == "op10"][-1:]
    record = ProofRecord(
        job="77",
        operation="op10",
        revision=stored.name,
        at=NOW,
        entered=NOW,
        by="np",
        machine=machine,
        operation_fingerprint=stored.record.operation_fingerprint,
        rule_version=stored.record.rule_version,
        files=stored.record.files,
        result="accepted",
    )
    repo.record(f"jobs/77/records/op10/{stored.name}-proof-{machine}-20260202T090000Z-np.toml", record)


def test_before_the_first_check_in(desk):
    found = rows(desk)
    assert [(r["operation"], r["revision"], r["machine"], r["standing"]) for r in found] == [
        ("op10", None, "MILL2", "unproven"),
        ("op10", None, "MILL3", "unproven"),
        ("op20", None, None, "unproven"),
    ]
    assert found[0]["next"] == 'proveout checkin 77/op10 -m "why"'
    assert list(found[0]) == [
        *(
            "job",
            "operation",
            "revision",
            "machine",
            "standing",
            "reason",
            "released",
            "may_run",
            "next",
            "signed",
        ),
    ]


def test_a_row_an_operation_and_machine(repo, desk):
    checkin(desk, "77/op10", "77/op20")
    prove(repo)
    first, second, third = rows(desk)
    assert (first["revision"], first["machine"], first["standing"]) == ("r1", "MILL2", "proven")
    assert (second["machine"], second["standing"]) == ("MILL3", "unproven")
    assert (third["machine"], third["standing"]) == (None, "unproven")
    assert "machine" in third["next"]
    assert first["next"] == "proveout release 77"
    assert "prove" in second["next"]
    assert "MILL3" in second["next"]
    assert not any(row["may_run"] or row["released"] for row in rows(desk))


def test_only_a_machine_or_a_job(repo, desk):
    checkin(desk, "77/op10")
    assert [row["machine"] for row in rows(desk, machine="mill3")] == ["MILL3"]
    assert len(rows(desk, job="77")) == 3
    with pytest.raises(BadCall) as error:
        rows(desk, job="78")
    assert error.value.name == "unknown-job"
    with pytest.raises(BadCall) as error:
        rows(desk, machine="MIL2")
    assert error.value.name == "unknown-machine"


def test_a_machine_the_shop_does_not_list(repo, desk):
    repo.write("jobs/77/job.toml", JOB.replace('"MILL3"]', '"MILL9"]'))
    repo.save({"jobs/77/job.toml": JOB.replace('"MILL3"]', '"MILL9"]')})
    repo.save({"shop.toml": SHOP + '[[machines]]\nid = "MILL9"\ntype = "mill"\nunits = "inch"\n'})
    checkin(desk, "77/op10")
    repo.save({"shop.toml": SHOP})
    assert [row["reason"] for row in rows(desk) if row["machine"] == "MILL9"] == [
        "unproven: MILL9 is not in shop.toml"
    ]


def test_two_check_ins_side_by_side_are_two_rows(repo, desk):
    checkin(desk, "77/op10")
    repo.branch("other")
    repo.write(OP10, "O1\nT1 M6\nG1 X2. F5.\nM30\n")
    checkin(desk, "77/op10")
    repo.switch("other")
    repo.write(OP10, "O1\nT1 M6\nG1 X3. F5.\nM30\n")
    checkin(desk, "77/op10")
    repo.switch("main")
    repo.merge("other")
    found = rows(desk, machine="MILL2")
    assert sorted(row["revision"] for row in found) == ["r2", "r3"]
    assert all("together" in row["next"] for row in found)


def test_edits_are_mentioned_and_not_judged(repo, desk):
    checkin(desk, "77/op10")
    prove(repo)
    assert "edited" not in as_json(status(desk))
    repo.write(OP10, "O1\nT1 M6\nG1 X9. F5.\nM30\n")
    data = as_json(status(desk))
    assert data["edited"] == [OP10]
    assert data["operations"][0]["standing"] == "proven"


def test_a_broken_job_file_is_a_problem_and_stops_nothing(repo, desk):
    checkin(desk, "77/op10")
    repo.save({"jobs/78/job.toml": "[[["})
    report = status(desk)
    assert len(report.rows) == 3
    assert "jobs/78/job.toml" in report.problems[0]
    assert status(desk, job="77").problems == ()


def test_what_may_run_has_date_time_and_caution(repo, desk):
    import io

    from rich.console import Console

    checkin(desk, "77/op10")
    prove(repo)
    out = io.StringIO()
    console = Console(file=out, width=80, markup=False)
    print_text(status(desk, may_run=True, machine="MILL2"), console)
    text = out.getvalue()
    assert "What may run on MILL2 - 2 Feb 2026 09:00 +00:00" in text
    assert "Nothing may run." in text
    assert "77/op10" in text
    assert text.endswith("Standing may have changed since; ask before loading.\n")


def test_the_table_fits_80_columns(repo, desk):
    import io

    from rich.console import Console

    checkin(desk, "77/op10")
    prove(repo)
    out = io.StringIO()
    print_text(status(desk), Console(file=out, width=80, markup=False))
    lines = out.getvalue().splitlines()
    assert max(len(line) for line in lines) <= 80
    assert any("PROVEN" in line for line in lines)
    assert out.getvalue().isascii()
