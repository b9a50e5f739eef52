"""What honest people push comes in: a first push, a day's work of two, many commits; and the journal of it."""

import json
import time

import pytest

from tests.fakes.shop_folder import PROGRAM
from tracker.store.receive_journal import PASSED, Received, begin, journal_faults, note


def must(done):
    assert done.returncode == 0, done.stderr


def test_a_day_s_work_of_two_people(world):
    kim = world.second()
    text = world.read(PROGRAM)
    world.write(PROGRAM, text.replace("S2000", "S1800"))
    world.shop.run("checkin", "4471", "-m", "slower", "--by", "np")
    must(world.push("main"))
    kim.git("pull", "-q")
    kim.shop.prove(by="ss", revision="r2")
    kim.shop.run("hold", "4471/op10@r1", "--by", "ss", "-m", "chatter")
    must(kim.push("main"))
    world.write("jobs/4471/notes.txt", "soft jaws")
    world.commit("notes")
    world.git("pull", "-q", "--no-rebase", "--no-edit", "origin", "main")
    world.shop.run("release", "4471", "--by", "dg", "--yes")
    must(world.push("--atomic", "main", "release/4471/2"))
    world.shop.run("lift", "4471/op10@r1", "--by", "dg", "-m", "tool changed")
    world.shop.run("withdraw", "4471@1", "--by", "dg", "-m", "old", "--yes")
    must(world.push("main"))
    assert "2" in world.git("tag", "-l", "release/4471/*", folder=world.server)
    assert world.shop.json("audit")["problems"] == []


def test_a_first_push_of_the_whole_history_passes(world):
    bare = world.place / "empty.git"
    world.git("init", "-q", "--bare", "-b", "main", str(bare), folder=world.place)
    world.shop.run("install", "--server", str(bare))
    world.git("remote", "set-url", "origin", str(bare))
    must(world.push("--atomic", "main", "release/4471/1"))
    assert world.git("tag", folder=bare) == "release/4471/1"


def test_a_change_of_people_is_pushed_by_itself(world):
    world.write(
        "shop.toml", world.read("shop.toml").replace('roles = ["setup"]', 'roles = ["setup", "programmer"]')
    )
    world.shop.run("checkin", "shop.toml", "-m", "ss programs too", "--by", "dg")
    must(world.push("main"))
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "ss")
    must(world.push("main"))


def test_a_branch_and_a_plain_tag_come_in(world):
    world.git("tag", "v1")
    must(world.push("v1", "HEAD:refs/heads/trial"))


def test_a_tag_may_come_after_its_commit(world):
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.release()
    must(world.push("main"))
    world.write("note.txt", "x")
    world.commit()
    must(world.push("main"))
    must(world.push("release/4471/2"))


@pytest.mark.slow
def test_five_hundred_commits(world, record_property):
    world.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    text = world.read(world.record("jobs/4471/records/op10/*-hold-*.toml"))
    for number in range(499):
        stamp = f"20260101T{number // 60:02}{number % 60:02}00Z"
        world.write(
            f"jobs/4471/records/op10/{stamp}-hold-ss.toml", text.replace("chatter", f"chatter {number}")
        )
        world.git("add", "-A", "jobs/4471/records/op10")
        world.git("commit", "-q", "-m", f"hold {number}", who="ss")
    began = time.monotonic()
    must(world.push("main"))
    seconds = time.monotonic() - began
    record_property("seconds", seconds)
    print(f"push of 500 commits: {seconds:.1f} s")


def test_the_journal_says_what_was_pushed_and_shows_a_line_taken_out(world):
    world.git("tag", "v1")
    must(world.push("v1"))
    assert world.push("--delete", "v1").returncode != 0
    path = world.server / "proveout" / "receive-journal"
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    assert [line["verdict"] for line in lines] == ["begun", "passed", "passed", "passed", "turned away"]
    assert lines[3]["changes"] == [["refs/tags/v1", None, world.head]]
    assert (lines[3]["way"], lines[4]["reasons"][0][:11]) == ("local", "tag-deleted")
    world.shop.folder = world.server
    assert "5 lines" in world.shop.run("gate", "--journal")
    assert world.shop.json("gate", "--journal")["lines"] == 5
    whole = path.read_bytes().splitlines(keepends=True)
    changed = [*whole[:2], whole[2].replace(b"local", b"https"), *whole[3:]]
    for left in (whole[:1] + whole[2:], changed, whole[1:], whole[:2], [b"nonsense\n", *whole]):
        path.write_bytes(b"".join(left))
        assert "[journal-broken]" in world.shop.run("gate", "--journal", status=1)


def test_the_journal_shows_that_a_reference_was_moved_between_two_pushes(world):
    """Rolled back past the gate, then pushed on: the references agree with the last line again."""
    before = world.git("rev-parse", "main", folder=world.server)
    for number in range(2):
        world.write("notes.txt", f"{number}")
        world.commit()
        must(world.push("main"))
    world.git("update-ref", "refs/heads/main", before, folder=world.server)
    must(world.push("main"))
    world.shop.folder = world.server
    said = world.shop.run("gate", "--journal", status=1)
    assert f"line 6 found refs/heads/main at {before[:12]}" in said
    assert "not where the journal last saw it" not in said


def test_two_pushes_at_once_of_which_one_did_not_land_leave_a_whole_journal(world):
    """Both pass the gate, and git lets one in: in either order of their lines the journal is no less whole."""
    first, second = (world.git("commit-tree", "HEAD^{tree}", "-p", "HEAD", "-m", one) for one in "ab")
    onto = world.git("commit-tree", "HEAD^{tree}", "-p", first, "-m", "c")
    start = world.head
    for pair in ((first, second), (second, first)):
        folder = world.place / f"of {pair[0][:8]}"
        begin(folder, world.now(), {"refs/heads/main": start})
        for old, new in (*((start, one) for one in pair), (first, onto)):
            changes = [("refs/heads/main", old, new)]
            note(folder, Received(at=world.now(), who={}, way="ssh", changes=changes, verdict=PASSED))
        assert journal_faults(folder, {"refs/heads/main": onto}) == (4, [])


def test_doctor_holds_the_journal_against_itself_and_the_references(world):
    def journal() -> dict[str, str]:
        said = json.loads(world.shop.call("doctor", "--server", str(world.server), "--json")[1])
        (point,) = [one for one in said["points"] if one["point"] == "journal"]
        return point

    assert (journal()["state"], "agrees with the references" in journal()["says"]) == ("on", True)
    world.git("update-ref", "refs/heads/side", world.head, folder=world.server)  # by hand, past the gate
    point = journal()
    assert point["state"] == "off"
    assert "refs/heads/side is not where the journal last saw it" in point["says"]
    (world.server / "proveout" / "receive-journal").unlink()
    assert journal()["state"] == "could not tell"


def test_a_journal_that_is_gone_is_not_whole(world):
    path = world.server / "proveout" / "receive-journal"
    path.unlink()
    world.shop.folder = world.server
    assert "[no-journal]" in world.shop.run("gate", "--journal", status=4)
    path.mkdir()
    assert "[no-permission]" in world.shop.run("gate", "--journal", status=4)


def test_nothing_is_taken_in_while_the_journal_cannot_be_written(world):
    journal = world.server / "proveout" / "receive-journal"
    journal.unlink()
    journal.mkdir()
    world.git("tag", "v1")
    done = world.push("v1")
    assert done.returncode != 0
    assert "[journal-not-written]" in done.stderr


def test_the_same_gate_in_a_hosted_repository_s_ci(world):
    old = world.head
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.shop.run("gate", "--ci", old, world.head)
    assert world.shop.json("gate", "--ci", old, world.head, "refs/heads/main")["opens"] is True
    path = world.record("jobs/4471/records/op10/*-proof-*.toml")
    world.git("rm", "-q", path)
    world.commit("tidy")
    said = world.shop.run("gate", "--ci", old, world.head, status=1)
    assert f"record-deleted: {path}" in said
    assert "[wrong-call]" in world.shop.run("gate", "--ci", old, status=2)
    assert "[wrong-call]" in world.shop.run("gate", "--journal", "--push", status=2)


def test_grafts_of_the_pusher_do_not_reach_the_server(world):
    first = world.git("rev-list", "--max-parents=0", "HEAD")
    world.write("note.txt", "x")
    world.commit()
    whole = world.git("rev-list", "HEAD")
    (world.folder / ".git/info").mkdir(exist_ok=True)
    (world.folder / ".git/info/grafts").write_text(f"{world.head} {first}\n")
    must(world.push("+main"))
    assert world.git("rev-list", "main", folder=world.server) == whole


def test_two_people_share_what_they_did_side_by_side(world):
    other = world.second()
    other.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    other.shop.run("share", "--by", "ss")
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.shop.run("share", "--by", "np")
    assert world.head == world.git("rev-parse", "main", folder=world.server)
    assert "hold" in world.git("ls-tree", "-r", "--name-only", "main", folder=world.server)


@pytest.mark.parametrize(
    ("over", "guard"), [("ssh", "guarded"), ("https", "guarded"), ("folder", "courtesy")]
)
def test_the_server_says_whether_it_guards(world, over, guard):
    assert world.shop.json("install", "--server", "../server.git")["guard"] == "courtesy"
    report = world.shop.json("install", "--server", "../server.git", "--over", over)
    assert report["guard"] == guard
    assert world.git("config", "core.logAllRefUpdates", folder=world.server) == "always"
    assert world.shop.json("install", "--server", "../server.git")["guard"] == guard
    assert f"This server is: {guard}" in world.shop.run("install", "--server", "../server.git")
    world.shop.run("install", "--server", "../server.git", "--undo")
    assert world.git("config", "--get", "proveout.over", folder=world.server, check=False) == ""


def test_wrong_words_for_the_server(world):
    assert "[wrong-call]" in world.shop.run(
        "install", "--server", "../server.git", "--over", "post", status=2
    )
    assert "[wrong-call]" in world.shop.run("install", "--over", "ssh", status=2)
    world.git("config", "proveout.maxfile", "many", folder=world.server)
    world.git("tag", "v1")
    done = world.push("v1")
    assert (done.returncode != 0, "[bad-setting]" in done.stderr) == (True, True)


def test_a_set_clock_does_not_reach_the_server(world):
    world.write("note.txt", "x")
    world.commit(at=world.now(days=1))
    world.shop.at(world.now(days=2).isoformat())
    done = world.push("main")
    assert (done.returncode != 0, "date-ahead" in done.stderr) == (True, True)


def test_a_new_branch_is_no_first_push_where_head_names_none(world):
    world.git("symbolic-ref", "HEAD", "refs/heads/master", folder=world.server)
    world.write("shop.toml", world.read("shop.toml").replace('["quality"]', '["quality", "setup"]'))
    world.shop.run("checkin", "shop.toml", "-m", "dg proves too", "--by", "dg")
    world.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    done = world.push("HEAD:refs/heads/other")
    assert (done.returncode != 0, "no-main-branch" in done.stderr) == (True, True)
    done = world.push("HEAD:refs/heads/main")
    assert (done.returncode != 0, "shop-with-other" in done.stderr) == (True, True)
    assert world.push("HEAD~1:refs/heads/main").returncode == 0


def test_a_server_whose_head_names_nothing_takes_the_one_branch_there_is(world):
    world.git("symbolic-ref", "HEAD", "refs/heads/master", folder=world.server)
    world.write("notes.txt", "soft jaws")
    world.commit()
    must(world.push("main"))
    world.git("tag", "v1")
    must(world.push("v1"))
    assert world.push("HEAD:refs/heads/trial").returncode != 0
    said = json.loads(world.shop.call("doctor", "--server", str(world.server), "--json")[1])
    (point,) = [one for one in said["points"] if one["point"] == "main"]
    assert (point["state"], "HEAD names master" in point["says"]) == ("off", True)
    world.shop.run("install", "--server", str(world.server))
    assert world.git("symbolic-ref", "HEAD", folder=world.server) == "refs/heads/main"
    must(world.push("HEAD:refs/heads/trial"))


def test_an_empty_server_is_told_the_branch_of_the_shop_in_hand(world):
    bare = world.place / "empty.git"
    world.git("init", "-q", "--bare", "-b", "master", str(bare), folder=world.place)
    world.shop.run("install", "--server", str(bare))
    assert world.git("symbolic-ref", "HEAD", folder=bare) == "refs/heads/main"
    world.git("remote", "set-url", "origin", str(bare))
    world.git("branch", "trial")
    must(world.push("main", "trial"))
