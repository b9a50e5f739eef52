"""Every way round the record, tried on real git, is found by audit, and a sound record is not accused."""

import hashlib
import json
import re
import shutil

import pytest

from tests.store.shop_repo import AT, KIM, PROGRAM, SHOP, git, make_shop, opened, record, record_path, write
from tracker.cli.entry import main
from tracker.frozen import replace
from tracker.policy.gate import message_of
from tracker.records.events import HoldRecord, RanRecord, ReleaseRecord
from tracker.records.stored import Ledger, Stored, Unreadable
from tracker.services.audit_runs import audit_runs, runs_by_job
from tracker.services.ports import NewFile
from tracker.store import processes
from tracker.store.toml_files import load_shop

TEXT = "jobs/4471/op10/O1001.nc"
RELEASE = "jobs/4471/records/release-0001.toml"


@pytest.fixture(autouse=True)
def apart(monkeypatch):
    """Here every audit does its parts in processes of their own, however few they are."""
    monkeypatch.setattr(processes, "FEWEST", 1)
    monkeypatch.setattr(processes, "_processors", lambda: 2)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """Made by the first test that asks, copied by all."""
    return tmp_path_factory.mktemp("sound") / "shop"


@pytest.fixture
def shop(sound, monkeypatch, capsys, tmp_path):
    """A sound shop: two revisions, the second proven and released, a hold of something else."""
    if not sound.exists():
        monkeypatch.setenv("PROVEOUT_NOW", "2026-03-11T09:15:02Z")
        build(tmp_path / "half done", capsys, tmp_path / "form.toml")
        (tmp_path / "half done").rename(sound)
    folder = tmp_path / "Prüf stand" / "shop"
    shutil.copytree(sound, folder)
    for name in ("GIT_AUTHOR_DATE", "GIT_COMMITTER_DATE", "PROVEOUT_NOW"):
        monkeypatch.setenv(name, "2026-03-12T08:00:00Z")
    assert problems(folder, capsys) == []
    return folder


def build(folder, capsys, form):
    make_shop(folder, attributes="* -text\n*.nc -merge diff=nc\n")
    roles = SHOP.replace('["setup"]', '["setup", "programmer", "quality"]')
    write(folder, "shop.toml", roles.replace("[[people]]", "[policy]\ntwo_person = false\n[[people]]"))
    git(folder, "commit", "-qam", "roles")
    checkin(folder, capsys)
    write(folder, TEXT, PROGRAM.replace(b"X0", b"X1"))
    checkin(folder, capsys)
    prove(folder, capsys, form)
    assert main(["-C", str(folder), "release", "4471", "--by", "kp", "--yes"]) == 0
    capsys.readouterr()
    record(opened(folder), record_path(1))


def checkin(shop, capsys):
    assert main(["-C", str(shop), "checkin", "4471", "-m", "why", "--by", "kp", "--yes"]) == 0
    capsys.readouterr()


def prove(shop, capsys, form):
    words = ["-C", str(shop), "prove", "4471/op10", "--machine", "MILL2"]
    assert main([*words, "--form", str(form)]) == 0
    text = form.read_text(encoding="utf-8").replace("done = false", "done = true")
    form.write_text(text.replace("value = 0", "value = 100"), encoding="utf-8")
    words += ["--by", "kp", "--accept", "--first-piece", "2231", "--answers", str(form), "--yes"]
    assert main(words) == 0
    capsys.readouterr()


def make_release(clone, number):
    """A release nobody decided on, with everything a tag should have."""
    data = clone.encode(ReleaseRecord(job="4471", at=AT, entered=AT, by="kp", number=number))
    path = f"jobs/4471/records/release-{number:04}.toml"
    commit = clone.commit([NewFile(path=path, data=data)], message=path, author=KIM, at=AT)
    said = message_of("4471", number, path, hashlib.sha256(data).hexdigest())
    clone.tag(f"release/4471/{number}", commit=commit, message=said, tagger=KIM, at=AT)


def audited(shop, capsys):
    status = main(["-C", str(shop), "audit", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "proveout/audit/1"
    assert status == (1 if answer["problems"] else 0)
    return answer


def problems(shop, capsys):
    return [(one["problem"], one["where"]) for one in audited(shop, capsys)["problems"]]


def revisions(shop):
    found = git(shop, "ls-tree", "-r", "--name-only", "HEAD", "jobs/4471/records/op10").splitlines()
    return [path for path in found if re.search(r"/r\d{4}-[0-9a-f]{8}\.toml$", path)]


def commit_all(shop, message="by hand"):
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", message)


def edit(shop, path):
    write(shop, path, (shop / path).read_bytes().replace(b"why", b"no reason"))
    commit_all(shop)


def test_what_was_looked_at_is_counted(shop, capsys):
    commits = int(git(shop, "rev-list", "--count", "--branches"))
    assert audited(shop, capsys)["checked"] == {
        "commits": commits,
        "programs": 2,
        "records": 5,
        "releases": 1,
    }


def test_a_record_that_was_edited(shop, capsys):
    path = revisions(shop)[0]
    edit(shop, path)
    found = problems(shop, capsys)
    assert ("record-changed", path) in found
    assert ("wrong-digits", path) in found


def test_an_edit_that_was_put_back(shop, capsys):
    path = revisions(shop)[0]
    before = (shop / path).read_bytes()
    edit(shop, path)
    write(shop, path, before)
    commit_all(shop)
    assert git(shop, "diff", "HEAD~2", "HEAD") == ""
    assert problems(shop, capsys).count(("record-changed", path)) == 2


def test_a_record_that_was_taken_away_or_renamed(shop, capsys):
    git(shop, "mv", record_path(1), record_path(2))
    git(shop, "commit", "-qm", "renamed")
    assert ("record-deleted", record_path(1)) in problems(shop, capsys)
    git(shop, "rm", "-q", record_path(2))
    git(shop, "commit", "-qm", "gone")
    assert ("record-deleted", record_path(2)) in problems(shop, capsys)


def test_a_record_that_a_merge_let_go_of(shop, capsys):
    git(shop, "switch", "-q", "-c", "side")
    record(opened(shop), record_path(5))
    git(shop, "switch", "-q", "main")
    git(shop, "commit", "-q", "--allow-empty", "-m", "x")
    git(shop, "merge", "-q", "-s", "ours", "-m", "merge", "side")
    assert problems(shop, capsys) == [("record-deleted", record_path(5))]


def test_a_sound_merge_is_not_accused(shop, capsys):
    git(shop, "switch", "-q", "-c", "side")
    record(opened(shop), record_path(5))
    git(shop, "switch", "-q", "main")
    record(opened(shop), record_path(6))
    git(shop, "merge", "-q", "-m", "merge", "side")
    assert problems(shop, capsys) == []


def test_a_tampered_branch_that_is_not_merged_is_seen(shop, capsys):
    git(shop, "switch", "-q", "-c", "side")
    edit(shop, revisions(shop)[0])
    git(shop, "switch", "-q", "main")
    assert ("record-changed", revisions(shop)[0]) in problems(shop, capsys)


def test_records_that_cannot_be_read(shop, capsys):
    write(shop, record_path(7), "format = 99\nevent = 'hold'\n")
    write(shop, record_path(8), "not a record [")
    commit_all(shop)
    assert problems(shop, capsys) == [
        ("unreadable-record", record_path(7)),
        ("unreadable-record", record_path(8)),
    ]


def test_a_revision_under_another_number_or_digits(shop, capsys):
    path = revisions(shop)[0]
    data = (shop / path).read_bytes()
    for name in ("r0007-" + hashlib.sha256(data).hexdigest()[:8], "r0001-00000000"):
        write(shop, f"jobs/4471/records/op10/{name}.toml", data)
    commit_all(shop)
    found = problems(shop, capsys)
    for name in ("r0007-" + hashlib.sha256(data).hexdigest()[:8], "r0001-00000000"):
        assert ("wrong-digits", f"jobs/4471/records/op10/{name}.toml") in found


def test_a_record_in_another_operations_folder(shop, capsys):
    write(shop, "jobs/4471/records/op20/20260311T091501Z-hold-kp.toml", (shop / record_path(1)).read_bytes())
    commit_all(shop)
    where = "jobs/4471/records/op20/20260311T091501Z-hold-kp.toml"
    assert ("record-copied", where) in problems(shop, capsys)


def test_a_record_of_a_revision_nobody_made(shop, capsys):
    data = (
        (shop / record_path(1))
        .read_bytes()
        .replace(b"operation =", b'revision = "r0009-12345678"\noperation =')
    )
    write(shop, record_path(9), data)
    commit_all(shop)
    assert ("revision-missing", record_path(9)) in problems(shop, capsys)


def test_a_program_or_sheet_edited_and_never_checked_in(shop, capsys):
    write(shop, TEXT, PROGRAM.replace(b"X0", b"X2"))
    assert problems(shop, capsys) == []
    commit_all(shop)
    assert problems(shop, capsys) == [("not-checked-in", TEXT)]
    git(shop, "revert", "--no-edit", "HEAD")
    assert problems(shop, capsys) == []
    job = "jobs/4471/job.toml"
    write(shop, job, (shop / job).read_bytes() + b'fixture = "vise"\n')
    commit_all(shop)
    assert problems(shop, capsys) == [("not-checked-in", job)]
    checkin(shop, capsys)
    assert problems(shop, capsys) == []


def test_an_operation_that_was_never_checked_in_and_a_broken_sheet(shop, capsys):
    text = (shop / "jobs/4471/job.toml").read_text().replace("4471", "4488")
    write(shop, "jobs/4488/job.toml", text)
    write(shop, "jobs/4488/op10/O1001.nc", PROGRAM)
    write(shop, "jobs/4502/job.toml", "broken [")
    commit_all(shop)
    assert problems(shop, capsys) == [
        ("never-checked-in", "jobs/4488/job.toml"),
        ("wrong-file", "jobs/4502/job.toml:1"),
    ]


def test_a_revision_whose_text_was_never_there(shop, capsys):
    """A record made by hand for a text nobody committed."""
    path = revisions(shop)[1]
    data = (shop / path).read_bytes()
    digest = hashlib.sha256((shop / TEXT).read_bytes()).hexdigest().encode()
    forged = data.replace(digest, b"0" * 64).replace(b"r0002", b"r0003")
    name = f"jobs/4471/records/op10/r0003-{hashlib.sha256(forged).hexdigest()[:8]}.toml"
    write(shop, name, forged)
    commit_all(shop)
    assert ("text-not-recorded", name) in problems(shop, capsys)


def test_two_edits_brought_together(shop, capsys):
    git(shop, "switch", "-q", "-c", "side")
    write(shop, TEXT, PROGRAM.replace(b"X0", b"X8"))
    checkin(shop, capsys)
    git(shop, "switch", "-q", "main")
    write(shop, TEXT, PROGRAM.replace(b"Y0", b"Y8"))
    checkin(shop, capsys)
    git(shop, "merge", "side", check=False)
    write(shop, TEXT, PROGRAM.replace(b"X0 Y0", b"X8 Y8"))
    commit_all(shop, "merge")
    found = problems(shop, capsys)
    assert ("merged-text", TEXT) in found
    assert ("two-revisions", "jobs/4471/job.toml") in found
    checkin(shop, capsys)
    assert problems(shop, capsys) == []


def test_planted_tags(shop, capsys):
    git(shop, "tag", "release/4471/2")
    git(shop, "tag", "-a", "-m", "x", "release/4471/3")
    git(shop, "tag", "-a", "-m", "x", "release/nonsense")
    git(shop, "tag", "-a", "-m", "x", "release/4471/04")
    assert problems(shop, capsys) == [
        ("odd-tag", "refs/tags/release/4471/04"),
        ("lightweight-tag", "refs/tags/release/4471/2"),
        ("planted-tag", "refs/tags/release/4471/3"),
        ("odd-tag", "refs/tags/release/nonsense"),
    ]


def test_a_tag_on_a_blob_is_no_release_and_can_be_deleted(shop, capsys):
    git(shop, "update-ref", "refs/tags/release/4471/2", git(shop, "rev-parse", "HEAD:shop.toml"))
    git(shop, "tag", "-a", "-m", "x", "release/4471/3", "HEAD:shop.toml")
    both = [("tag-not-on-commit", f"refs/tags/release/4471/{number}") for number in (2, 3)]
    assert problems(shop, capsys) == both
    assert main(["-C", str(shop), "release", "4471", "--by", "kp", "--yes"]) == 1
    said = capsys.readouterr().err
    assert "release/4471/2 is no release: the tag stands on a blob" in said
    assert "release/4471/3 is no release: the tag stands on something that is no state of the shop" in said
    assert "git tag -d release/4471/2" in said
    git(shop, "tag", "-d", "release/4471/2", "release/4471/3")
    assert problems(shop, capsys) == []


def test_a_tag_moved_by_hand(shop, capsys):
    ref = "refs/tags/release/4471/1"
    said = git(shop, "for-each-ref", "--format=%(contents)", ref)
    git(shop, "commit", "-q", "--allow-empty", "-m", "later")
    git(shop, "tag", "-f", "-a", "-m", said, "release/4471/1")
    assert problems(shop, capsys) == [("moved-tag", ref)]
    git(shop, "tag", "-f", "-a", "-m", "without a word", "release/4471/1")
    assert problems(shop, capsys) == [("tag-without-record", ref)]
    git(shop, "tag", "-f", "release/4471/1")
    assert problems(shop, capsys) == [("lightweight-tag", ref)]
    git(shop, "tag", "-f", "-a", "-m", said, "release/4471/1", "HEAD:shop.toml")
    assert problems(shop, capsys) == [("tag-not-on-commit", ref)]
    git(shop, "tag", "-d", "release/4471/1")
    assert problems(shop, capsys) == [("missing-tag", RELEASE)]


def test_a_tag_object_under_another_name(shop, capsys):
    make_release(opened(shop), 2)
    ref = "refs/tags/release/4471/2"
    assert {name for name, where in problems(shop, capsys) if where == ref} == {"release-not-derived"}
    git(shop, "update-ref", ref, "refs/tags/release/4471/1")
    assert problems(shop, capsys) == [("renamed-tag", ref), ("tag-without-record", ref)]


def test_a_second_record_of_one_number(shop, capsys):
    data = (shop / RELEASE).read_bytes() + b'reason = "another"\n'
    write(shop, "jobs/4471/records/release-1.toml", data)
    commit_all(shop)
    assert ("release-twice", "jobs/4471/records/release-1.toml") in problems(shop, capsys)


def test_replaced_objects_are_named_and_not_believed(shop, capsys):
    forged = git(shop, "hash-object", "-w", "--stdin", stdin=b"forged")
    blob = git(shop, "rev-parse", f"HEAD:{RELEASE}")
    git(shop, "replace", blob, forged)
    assert problems(shop, capsys) == [("replaced-objects", f"refs/replace/{blob}")]


def test_a_state_older_than_the_one_it_follows(shop, capsys):
    old = {"GIT_COMMITTER_DATE": "2025-01-01T00:00:00Z"}
    git(shop, "commit", "-q", "--allow-empty", "-m", "backdated", env=old)
    assert problems(shop, capsys) == [("time-goes-back", git(shop, "rev-parse", "HEAD")[:12])]


def test_a_clock_a_few_minutes_behind_is_no_problem(shop, capsys):
    git(shop, "commit", "-q", "--allow-empty", "-m", "a", env={"GIT_COMMITTER_DATE": "2026-06-01T00:05:00Z"})
    git(shop, "commit", "-q", "--allow-empty", "-m", "b", env={"GIT_COMMITTER_DATE": "2026-06-01T00:00:00Z"})
    assert problems(shop, capsys) == []


def test_what_goes_round_the_hook_is_found(shop, capsys):
    """Written straight under the git directory: no hook is asked."""
    write(shop, ".git/refs/tags/release/4471/2", git(shop, "rev-parse", "HEAD") + "\n")
    git(shop, "symbolic-ref", "refs/tags/release/4471/3", "refs/heads/main")
    assert {where for _, where in problems(shop, capsys)} == {
        "refs/tags/release/4471/2",
        "refs/tags/release/4471/3",
    }


def test_the_text_says_what_and_where(shop, capsys):
    git(shop, "tag", "release/4471/2")
    assert main(["-C", str(shop), "audit"]) == 1
    out = capsys.readouterr().out
    assert "refuse  lightweight-tag  refs/tags/release/4471/2" in out
    assert "One problem found in 5 records, 1 release, " in out
    git(shop, "tag", "-d", "release/4471/2")
    assert main(["-C", str(shop), "audit"]) == 0
    assert "No problem found" in capsys.readouterr().out


def test_a_shallow_clone_is_no_answer(shop, capsys, tmp_path):
    git(tmp_path, "clone", "-q", "--depth", "1", f"file://{shop}", "shallow")
    assert main(["-C", str(tmp_path / "shallow"), "audit", "--json"]) == 4
    assert json.loads(capsys.readouterr().out)["error"]["name"] == "shallow"


def test_a_release_whose_gate_would_not_open(shop, capsys):
    """The record and its tag agree with each other, and nobody proved what they release."""
    make_release(opened(shop), 2)
    found = problems(shop, capsys)
    assert found
    assert set(found) == {("release-not-derived", "refs/tags/release/4471/2")}


SHOP_READ = load_shop(
    b'format = 1\n[shop]\nname = "s"\ntimezone = "UTC"\n[[machines]]\nid = "MILL2"\ntype = "mill"\nunits = "mm"\n',
    "shop.toml",
)
RAN = RanRecord(
    job="4471",
    operation="op10",
    revision="r0001-12345678",
    machine="MILL2",
    operation_fingerprint="0",
    at=AT,
    entered=AT,
    by="kp",
)
HOLD = HoldRecord(
    job="4471", operation="op10", scope="operation", reason="chatter", at=AT, entered=AT, by="kp"
)


def runs_of_what_was_not_proven(shop):
    """Of the first revision, one on its machine and one on a machine that is gone; the name of the revision."""
    clone = opened(shop)
    revision = next(one for one in clone.ledger().records if one.name.startswith("r0001"))
    for name, machine in (("a", "MILL2"), ("b", "GONE")):
        run = RanRecord(
            job="4471",
            operation="op10",
            revision=revision.name,
            machine=machine,
            operation_fingerprint=revision.record.operation_fingerprint,
            at=AT,
            entered=AT,
            by="kp",
            date="2026-03-11",
        )
        path = f"jobs/4471/records/op10/{revision.name}-ran-{name}.toml"
        clone.commit([NewFile(path=path, data=clone.encode(run))], message="ran", author=KIM, at=AT)
    return revision.name


def test_a_run_of_what_was_held(shop, capsys):
    revision = runs_of_what_was_not_proven(shop)
    found = audited(shop, capsys)["problems"]
    late = [one for one in found if one["problem"] == "ran-not-usable"]
    assert [one["where"] for one in late] == [f"jobs/4471/records/op10/{revision}-ran-a.toml"]
    assert "4471/op10 r1 ran on MILL2: " in late[0]["message"]
    write(shop, "note.txt", b"x")  # another state: found again, since only jobs without such a run are noted
    commit_all(shop)
    assert [one for one in audited(shop, capsys)["problems"] if one["problem"] == "ran-not-usable"] == late


def test_a_job_is_named_by_everything_its_runs_are_judged_by():
    run = Stored(record=RAN, path="jobs/4471/records/op10/a-ran.toml", sha256="1", commit="a", order=1)
    hold = Stored(record=HOLD, path="jobs/4471/records/op10/b-hold.toml", sha256="2", commit="b", order=2)
    ledgers = [
        (Ledger(shop=SHOP_READ, records=(run,)), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run, hold)), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run, replace(hold, in_hand=False))), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run, replace(hold, commit="c"))), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run, replace(hold, sha256="3"))), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run,), unreadable=(Unreadable(path="x", why="y"),)), b"shop"),
        (Ledger(shop=SHOP_READ, records=(run,)), b"another"),
    ]
    names = []
    for ledger, shop in ledgers:
        ((name, runs),) = runs_by_job(ledger, shop)
        assert list(audit_runs(ledger, runs)) == []  # no revision is known: nothing to say
        names.append(name)
    assert len(set(names)) == len(ledgers)


def test_parts_done_apart_find_what_is_found_here(shop, capsys, monkeypatch):
    write(shop, TEXT, PROGRAM.replace(b"X0", b"X7"))
    git(shop, "commit", "-qam", "by hand")
    git(shop, "tag", "-f", "-am", "moved", "release/4471/1", "HEAD~1")
    (shop / "jobs/4472").mkdir()
    write(shop, "jobs/4472/job.toml", b"format = 1\nnothing\n")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "a broken sheet")
    found = audited(shop, capsys)
    assert {"not-checked-in", "tag-without-record", "wrong-file"} <= {
        one["problem"] for one in found["problems"]
    }
    for note in (shop / ".git/proveout").glob("audit-*"):
        note.unlink()
    monkeypatch.setattr(processes, "_processors", lambda: 1)
    assert audited(shop, capsys) == found
