"""Two clones of one guarded server at the same time: a hundred events each, shared in between; nothing is lost, doubled or merged unasked.

Real git, the real hook, two processes. They wait for each other before they share, so that each time both have something new.
"""

import json
import subprocess
import sys
import time
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from tests.fakes.shop_folder import JOB, MAIN, ShopFolder
from tests.server.busy import ROUNDS_A_SHARE
from tests.server.world import NothingSaid, World, copied

ROUNDS = 20
ROOT = Path(__file__).parents[2]
ONE, OTHER, COMMON = "4481", "4482", "4483"
PEOPLE = {ONE: ("np", "ss", "dg"), OTHER: ("np2", "ss2", "dg2")}
DONE = ("checkin", "proof", "ran", "hold", "lift")


def second_shift(shop):
    """shop.toml with three more people, who work in the second clone."""
    rows = "".join(
        f'[[people]]\ninitials = "{initials}2"\nname = "{initials} two"\nemail = "{initials}2@shop.example"\nroles = ["{role}"]\n'
        for initials, role in (("np", "programmer"), ("ss", "setup"), ("dg", "quality"))
    )
    return shop.replace("[[people]]", f"{rows}[[people]]", 1)


def fill(world):
    """Each of two clones gets a job of its own, and both one in common; all of them proven and shared."""
    world.write("shop.toml", second_shift(world.read("shop.toml")))
    world.shop.run("checkin", "shop.toml", "-m", "second shift", "--by", "dg")
    for job in (ONE, OTHER, COMMON):
        number = f"O1{job[1:]}"
        world.write(f"jobs/{job}/job.toml", JOB.replace("4471", job).replace("O1001", number))
        world.write(f"jobs/{job}/op10/{number}.nc", MAIN.replace("O1001 (PLATE)", f"{number} (0 PLATE)"))
        world.shop.run("checkin", job, "-m", "first issue", "--by", "np")
        world.shop.run(
            *("prove", f"{job}/op10", "--machine", "MILL2", "--by", "ss", "--accept", "--yes"),
            *("--first-piece", "report 1", "--answers", world.shop.answers()),
        )
    world.shop.run("share", "--by", "np")


def records(folder):
    """Path and content of every record in a folder, read by nothing of ours."""
    found = {}
    for path in [*folder.glob("jobs/*/records/**/*.toml"), *folder.glob("records/*.toml")]:
        found[path.relative_to(folder).as_posix()] = path.read_bytes()
    return found


def plan(world, other, clone, job, meeting):
    path = meeting / f"plan-{job}.json"
    answers = world.shop.answers()
    said = {
        "folder": str(clone.folder),
        "job": job,
        "common": COMMON,
        "rounds": ROUNDS,
        "people": PEOPLE[job],
    }
    said |= {"answers": answers, "meeting": str(meeting), "other": other}
    path.write_text(json.dumps(said), encoding="utf-8")
    return path


def both(world, second):
    """Both days at once; what each tells of itself, by job."""
    meeting = world.place / "meeting"
    meeting.mkdir()
    plans = [plan(world, OTHER, world, ONE, meeting), plan(world, ONE, second, OTHER, meeting)]
    words = [sys.executable, "-m", "tests.server.busy"]
    running = [subprocess.Popen([*words, str(path)], cwd=ROOT) for path in plans]
    try:
        while any(one.poll() is None for one in running):
            if any(one.poll() for one in running):
                (meeting / "over").touch()
            time.sleep(0.02)
    finally:
        for one in running:
            one.kill()
            one.wait()
    told = {job: json.loads((meeting / f"{job}.json").read_text(encoding="utf-8")) for job in (ONE, OTHER)}
    assert [told[job]["fault"] for job in told] == [None, None], told
    return told


@pytest.fixture(scope="module")
def after(built, tmp_path_factory):
    """Where both have worked and shared for the last time: the place, and what was recorded before they began."""
    place = tmp_path_factory.mktemp("two") / "Werkstatt Süd"
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.delenv("PROVEOUT_NOW", raising=False)
        for name, text in (
            ("HOME", str(place.parent)),
            ("GIT_CONFIG_GLOBAL", str(place.parent / "gitconfig")),
        ):
            monkeypatch.setenv(name, text)
        monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
        world = copied(built, place, NothingSaid(), monkeypatch)
        fill(world)
        before, second = records(world.folder), world.second()
        told = both(world, second)
        for clone, by in ((world, "np"), (second, "np2"), (world, "np")):
            clone.shop.run("share", "--by", by)
    return place, before, told


@pytest.fixture
def clones(after, capsys, monkeypatch):
    """Both clones."""
    world, second = (World(after[0], capsys, monkeypatch) for _ in range(2))
    second.shop = ShopFolder(after[0] / "second", capsys, monkeypatch)
    second.folder = second.shop.folder
    return world, second


def test_each_did_a_hundred_events_and_shared_in_between(after):
    _, _, told = after
    for one in told.values():
        assert Counter(one["events"]) == dict.fromkeys(DONE, ROUNDS)
        assert len(one["shares"]) == ROUNDS // ROUNDS_A_SHARE
        assert all(said["sent"] for said in one["shares"])
        assert sum(said["received"] for said in one["shares"])


def test_none_is_lost_and_none_is_there_twice(after, clones, tmp_path):
    _, before, _ = after
    world, second = clones
    world.git("clone", "-q", str(world.server), str(tmp_path / "there"), folder=tmp_path)
    held = records(tmp_path / "there")
    assert records(world.folder) == records(second.folder) == held
    assert before.items() <= held.items()
    new = {path: data for path, data in held.items() if path not in before}
    assert len(new) == len(set(new.values())) == 200
    said = Counter(
        (one["event"], one["by"]) for one in (tomllib.loads(data.decode()) for data in new.values())
    )
    assert said == {
        (event, people[at]): ROUNDS
        for people in PEOPLE.values()
        for event, at in (("revision", 0), ("proof", 1), ("ran", 1), ("hold", 1), ("lift", 2))
    }


def test_all_three_are_at_the_same_commit_and_whole(clones):
    world, second = clones
    places = (world.folder, second.folder, world.server)
    assert len({world.git("rev-parse", "main", folder=place) for place in places}) == 1
    for place in places:
        said = world.git("fsck", "--full", "--strict", "--no-dangling", folder=place)
        assert said == ""
    assert [world.git("status", "--porcelain", folder=place) for place in places[:2]] == ["", ""]


def test_nothing_was_merged_inside_a_file(clones):
    world, _ = clones
    merges = world.git("rev-list", "--merges", "main").split()
    # each time both had something new one of them had to bring it together
    assert len(merges) >= ROUNDS // ROUNDS_A_SHARE
    combined = [world.git("diff-tree", "--cc", "--name-only", "--no-commit-id", one) for one in merges]
    assert [said for said in combined if said] == []


def test_an_audit_finds_nothing_in_either(clones):
    for clone in clones:
        said = clone.shop.json("audit")
        assert said["problems"] == []
        assert said["checked"]["records"] == len(records(clone.folder))
    world, _ = clones
    rows = {(row["job"], row["standing"], row["revision"]) for row in world.shop.rows()}
    assert {
        (ONE, "proven", f"r{ROUNDS + 1}"),
        (OTHER, "proven", f"r{ROUNDS + 1}"),
        (COMMON, "proven", "r1"),
    } <= rows
