"""The lists that hold records against each other, and what came after a release, through the console on real git."""

import hashlib
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.cli.test_audit_lists_on_git import a_proof, plant, rows
from tests.fakes.busy_shop import BusyShop, good_calls, job_path, program_path
from tests.fakes.shop_folder import ShopFolder
from tests.store.shop_repo import opened
from tracker.records.events import CollectRecord, OnStick, Origin, RevisionRecord
from tracker.reports.audit import job_of


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("lists-more") / "kept"


@pytest.fixture
def shop(kept, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    return BusyShop(kept).copy(tmp_path / "here", lambda folder: ShopFolder(folder, capsys, monkeypatch))


def records(shop, kind):
    return [one for one in opened(shop.folder).ledger().records if isinstance(one.record, kind)]


def test_a_withdrawn_text_is_on_the_stick_it_was_written_to_until_it_came_off(shop):
    shop.run(*good_calls(shop)["export"])
    export = next(one.record for one in opened(shop.folder).ledger().records if one.record.EVENT == "export")
    shop.run(*good_calls(shop)["withdraw"])
    (row,) = rows(shop, "withdrawals")
    assert (row["release"], row["still on"].split(",")[0], row["taken off"]) == (
        "1",
        f"{export.stick} (MILL2)",
        "-",
    )
    gone = tuple(replace(file, verdict="missing") for file in export.files)
    back = CollectRecord(
        at=export.at + timedelta(hours=2), entered=export.entered + timedelta(hours=2), by="ss",
        machine="MILL2", stick=export.stick.lower(), files=gone,
    )  # fmt: skip
    plant(shop, back, "records/20290101T000000Z-collect-MILL2-ss.toml")
    (row,) = rows(shop, "withdrawals")
    assert (row["still on"], row["taken off"]) == ("-", f"{export.stick} (MILL2)")


def test_an_edit_that_came_home_is_open_until_its_text_is_checked_in(shop):
    assert rows(shop, "open-edits") == []
    proof = a_proof(shop).record
    (file,) = [f for f in proof.files if f.path == program_path("4471")][:1]
    found = CollectRecord(
        at=proof.at, entered=proof.entered, by="ss", machine="MILL2", stick="RED-9",
        files=(
            OnStick(path="MILL2/O4471.NC", sha256="ab" * 32, job="4471", operation="op10",
                    revision=proof.revision, verdict="changed-code"),
            OnStick(path="MILL2/O9.NC", sha256=file.raw_sha256, verdict="unknown"),
            OnStick(path="MILL2/O8.NC", sha256="cd" * 32, verdict="as-exported"),
            OnStick(path="MILL2/O7.NC", sha256="ef" * 32, verdict="changed-code", taken_as="r0002-0123abcd"),
        ),
    )  # fmt: skip
    plant(shop, found, "records/20290101T000000Z-collect-MILL2-ss.toml")
    (row,) = rows(shop, "open-edits")
    assert (row["stick"], row["file"], row["verdict"], row["was"]) == (
        "RED-9", "MILL2/O4471.NC", "changed-code", "4471/op10@r1",
    )  # fmt: skip
    later = replace(found, files=(OnStick(path="mill2/o4471.nc", sha256="ab" * 32, verdict="missing"),))
    plant(shop, later, "records/20290102T000000Z-collect-MILL2-ss.toml")
    assert rows(shop, "open-edits") == []


def test_a_release_made_for_another_drawing(shop):
    assert rows(shop, "drawing") == []
    path = job_path("4471")
    text = (shop.folder / path).read_text(encoding="utf-8")
    assert 'drawing_revision = "C"' in text
    shop.put(path, text.replace('drawing_revision = "C"', 'drawing_revision = "D"'))
    shop.run("checkin", "4471", "-m", "drawing D", "--by", "np")
    (row,) = rows(shop, "drawing")
    assert (row["what"], row["release"], row["released"][-1], row["job.toml"][-1]) == ("4471", "1", "C", "D")
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "old drawing", "--yes")
    assert rows(shop, "drawing") == []
    shop.run("lift", "4471@1", "--by", "dg", "-m", "customer takes both")
    assert [row["release"] for row in rows(shop, "drawing")] == ["1"]


def test_numbers_that_stand_for_two_programs(shop):
    files = [f for one in records(shop, RevisionRecord) for f in one.record.files]
    by_number = {}
    for file in files:
        by_number.setdefault(file.number, set()).add(file.path)
    twice = {number: paths for number, paths in by_number.items() if number is not None and len(paths) > 1}
    found = rows(shop, "onumbers")
    assert {row["number"] for row in found} == {f"O{number:04}" for number in twice}
    first = a_proof(shop).record.files[0]
    revision = next(one.record for one in records(shop, RevisionRecord) if one.record.job == "4472")
    other = replace(revision.files[0], number=first.number, path="jobs/4490/op10/TWIN.nc")
    twin = replace(revision, job="4490", operation="op10", files=(other,), origins=())
    plant(shop, twin, "jobs/4490/records/op10/r0001-00000000.toml")
    programs = {row["program"] for row in rows(shop, "onumbers") if row["number"] == f"O{first.number:04}"}
    assert {first.path, other.path} <= programs


def test_the_post_of_what_was_proved(shop):
    found = rows(shop, "post")
    assert {row["post"] for row in found} == {"not looked for: shop.toml has no post_stamp"}
    proved = a_proof(shop).record
    paper = f"jobs/4471/records/op10/{proved.revision}-proof-MILL2-20290102T000000Z-ss.toml"
    plant(shop, replace(proved, prior={"evidence": "card 7, cabinet 2"}), paper)
    assert [row["record"] for row in rows(shop, "post") if row["kept"] == "on paper"] == [paper]
    revision = next(one.record for one in records(shop, RevisionRecord) if one.record.job == "4471")
    stamped = replace(revision, post="PLUMB 1.2", reason="stamped")
    plant(shop, stamped, "jobs/4471/records/op10/r0009-00000000.toml")
    proof = replace(a_proof(shop).record, revision="r0009-00000000")
    plant(shop, proof, "jobs/4471/records/op10/r0009-00000000-proof-MILL2-20290101T000000Z-ss.toml")
    assert "PLUMB 1.2" in {row["post"] for row in rows(shop, "post")}


def test_a_record_entered_before_what_it_follows(shop):
    assert {row["why"] for row in rows(shop, "clocks")} == {"by a clock that was set by hand"}
    proof = replace(a_proof(shop).record, clock=None)
    early = replace(proof, entered=proof.entered - timedelta(days=300), at=proof.at - timedelta(days=300))
    plant(shop, early, f"jobs/4471/records/op10/{proof.revision}-proof-MILL2-20200101T000000Z-ss.toml")
    (row,) = [row for row in rows(shop, "clocks") if "set by hand" not in row["why"]]
    assert row["why"].startswith("entered before what it follows: ")
    assert row["record"].endswith("20200101T000000Z-ss.toml")


def test_a_carry_whose_step_holds_more_than_was_recorded(shop):
    shop.run(*good_calls(shop)["review"])
    assert rows(shop, "carries") != []
    assert rows(shop, "replay") == []
    path = program_path("4471")
    text = (shop.folder / path).read_bytes()
    shop.put(path, text.replace(b"F15.", b"F45."))
    shop.git("commit", "-qam", "beside the tool")
    first = next(one for one in records(shop, RevisionRecord) if one.record.job == "4471")
    data = (shop.folder / path).read_bytes()
    digest = hashlib.sha256(data).hexdigest()
    files = tuple(
        replace(file, raw_sha256=digest) if file.path == path else file for file in first.record.files
    )
    says = Origin(revision=first.name, kinds=("wording",), sections=())
    lied = replace(
        first.record, revision="r0002", files=files, origins=(says,), reason="says it is words only"
    )
    plant(shop, lied, "jobs/4471/records/op10/r0002-00000000.toml")
    (row,) = [row for row in rows(shop, "replay") if row["what"] == "4471/op10@r2"]
    assert (row["from"], row["recorded"]) == ("r1", "wording")
    assert "feed" in row["today"]


def test_what_came_after_a_release(shop):
    before = rows(shop, "first-piece")
    assert before
    status, out, err = shop.call("audit", "--list", "first-piece", "--since", "4471@1")
    assert (status, err) == (0, "")
    release = next(one for one in opened(shop.folder).ledger().records if one.record.EVENT == "release")
    paths = {row["record"] for row in before}
    ledger = opened(shop.folder).ledger()
    later = [o.path for o in ledger.records if o.order > release.order and o.path in paths]
    assert f"{len(later)} entr" in out
    shop.run(*good_calls(shop)["measured"])


def test_warnings_about_what_was_there_before_are_counted_and_a_doubt_is_always_shown(shop):
    shop.run("hold", "4471/op10", "--by", "dg", "-m", "stop")
    shop.run("ran", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--lot", "L9")
    status, out, _ = shop.call("audit", "--since", "4471@1")
    assert (status, "ran-not-usable" in out, "0 warnings" in out) == (1, True, True)
    assert "To look at, job 4471 (1):" in out
    shop.run("lift", "4471/op10", "--by", "dg", "-m", "go on")
    old = a_proof(shop)
    path = shop.folder / old.path
    path.write_bytes(path.read_bytes() + b"# more\n")
    shop.git("-c", "core.hooksPath=/dev/null", "commit", "-qam", "edited")
    status, out, _ = shop.call("audit", "--since", "4471@1")
    assert (status, f"record-changed  {old.path}" in out) == (1, True)
    assert out.index("The record is in doubt, job 4471") < out.index("To look at, job 4471")


@pytest.mark.parametrize(
    ("said", "name"), [("4471", "bad-name"), ("4471@77", "unknown-release"), ("9@1", "unknown-release")]
)
def test_no_such_release(shop, said, name):
    for more in ((), ("--list", "carries")):
        status, out, err = shop.call("audit", "--since", said, *more)
        assert (status, out) == (2, "")
        assert f"[{name}]" in err


@pytest.mark.parametrize(
    ("where", "job"),
    [
        ("jobs/4471/job.toml", "4471"),
        ("refs/tags/release/4502/1", "4502"),
        ("ab12cd: jobs/77/op10/O1.nc", "77"),
        ("records/20260101T000000Z-export-MILL2-ss.toml", ""),
        ("refs/heads/jobs", ""),
    ],
)
def test_the_job_a_place_belongs_to(where, job):
    assert job_of(where) == job
