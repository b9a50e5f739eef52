"""share and release against a server that guards: changes of shop.toml go out by themselves, everything else around them.

The server's hook is the real one; it refuses such a change together with anything else (``shop-with-other``).
"""

import json

import pytest

from tests.fakes.shop_folder import PROGRAM
from tests.server.sharing import edit, faster, hold, people, stops_there, there


@pytest.fixture
def plain_push_is_refused(world):
    """What these tests are about: pushed at once, the server turns it away."""

    def refused():
        done = world.push("main")
        assert done.returncode == 1
        assert "shop-with-other" in done.stderr

    return refused


def pushes(world):
    """Pushes the server took in, as its journal has them."""
    lines = (world.server / "proveout/receive-journal").read_text(encoding="utf-8").splitlines()
    return [line for line in map(json.loads, lines) if line.get("verdict", line.get("result")) != "refused"]


def test_a_change_of_people_goes_out_by_itself_and_counts_for_what_follows(world, plain_push_is_refused):
    hold(world, "chatter")
    people(world)
    edit(world, "ss")
    plain_push_is_refused()
    before = len(pushes(world))
    said = world.shop.json("share", "--by", "np")
    assert (said["sent"], said["pushes"], said["complete"]) == (3, 3, True)
    assert there(world) == world.head
    assert len(pushes(world)) == before + 3
    assert world.shop.json("share")["pushes"] == 0
    assert world.shop.json("audit")["problems"] == []


def test_the_screen_says_in_how_many_steps(world):
    people(world)
    hold(world, "chatter")
    out = " ".join(world.shop.run("share", "--by", "np").split())
    assert "To origin went: 2 changes in 2 steps, changes of shop.toml by themselves." in out


def test_two_changes_of_shop_toml_of_which_the_second_rests_on_the_first(world, plain_push_is_refused):
    people(world, 'roles = ["setup", "quality"]', "ss is of quality")
    text = world.read("shop.toml")
    world.write("shop.toml", text.replace('roles = ["programmer"]', 'roles = ["programmer", "setup"]', 1))
    world.shop.run("checkin", "shop.toml", "-m", "np sets up", "--by", "ss")
    assert world.push("main").returncode == 1
    said = world.shop.json("share", "--by", "np")
    assert (said["sent"], said["pushes"]) == (2, 2)
    assert there(world) == world.head


def test_both_sides_went_on(world):
    other = world.second()
    hold(other, "theirs", by="np")
    other.shop.run("share", "--by", "np")
    hold(world, "chatter")
    people(world)
    edit(world, "ss")
    theirs, ours = other.head, world.head
    said = world.shop.json("share", "--by", "np")
    assert (said["received"], said["pushes"], said["complete"]) == (1, 3, True)
    assert there(world) == world.head == said["merge"]
    for side in (theirs, ours):
        world.git("merge-base", "--is-ancestor", side, "HEAD")
    assert world.git("status", "--porcelain", "-uno") == ""
    assert world.shop.json("audit")["problems"] == []
    other.shop.run("share", "--by", "np")
    assert other.head == world.head


@pytest.mark.parametrize("side", ["ours", "theirs"])
def test_both_changed_one_program_around_a_change_of_shop_toml(world, side):
    other = world.second()
    other.write(PROGRAM, other.read(PROGRAM).replace("S2000", "S1800"))
    other.shop.run("checkin", "4471", "-m", "slower", "--by", "np")
    other.shop.run("share", "--by", "np")
    edit(world, "np")
    people(world)
    edit(world, "ss")
    mine, came = world.read(PROGRAM), other.read(PROGRAM)
    assert world.shop.json("share", "--by", "np", status=1)["both_changed"][0]["file"] == PROGRAM
    before = there(world)
    said = world.shop.json("share", "--take", side, PROGRAM, "--by", "np")
    assert (said["complete"], said["pushes"]) == (True, 3)
    assert world.read(PROGRAM) == (mine if side == "ours" else came)
    assert there(world) == world.head
    world.git("merge-base", "--is-ancestor", before, "HEAD")
    (problem,) = world.shop.json("audit", status=1)["problems"]
    assert problem["problem"] == "two-revisions"


def test_somebody_was_faster_between_two_steps(world):
    other = world.second()
    people(world)
    hold(world, "chatter")
    hold(other, "theirs", by="np")
    faster(world, other, "git pull -q --no-rebase --no-edit origin main && ")
    said = world.shop.json("share", "--by", "np")
    assert (world.folder / ".git/done").exists()
    assert (said["complete"], said["received"] > 0) == (True, True)
    assert there(world) == world.head
    names = world.git("ls-tree", "-r", "--name-only", "main", folder=world.server)
    assert names.count("-hold-") == 2


def test_the_server_takes_the_first_step_and_turns_the_next_away(world):
    people(world)
    world.write("jobs/4471/records/op10/notes.txt", "no record")
    world.commit("what is no record")
    said = world.shop.json("share", "--by", "np", status=1)["error"]
    assert said["name"] == "push-refused"
    assert "took 1 change in and turned the next away" in said["message"]
    assert "record-misplaced" in " ".join(said["reasons"])
    assert there(world) == world.git("rev-parse", "HEAD~1")


def test_a_change_of_people_is_no_way_round_who_may(world):
    """Steps loosen nothing: who may not change shop.toml is refused as before."""
    text = world.read("shop.toml")
    world.write("shop.toml", text.replace('roles = ["programmer"]', 'roles = ["programmer", "quality"]', 1))
    world.commit("np takes quality")
    hold(world, "chatter")
    assert "shop-no-authority" in " ".join(
        world.shop.json("share", "--by", "np", status=1)["error"]["reasons"]
    )
    assert world.git("show", "main:shop.toml", folder=world.server) == text.rstrip("\n")
    assert len(stops_there(world)) == 1


def test_a_release_goes_out_behind_a_change_of_people(world):
    people(world)
    said = world.shop.json("release", "4471", "--by", "dg", "--yes")
    assert said["number"] == 2
    assert there(world) == world.head == said["commit"]
    assert there(world, "release/4471/2") == world.git("rev-parse", "release/4471/2")
    assert world.shop.json("audit")["problems"] == []


def test_a_release_made_here_goes_out_with_the_step_that_holds_it(world):
    people(world)
    world.release()
    people_again = 'roles = ["setup", "programmer"]'
    text = world.read("shop.toml")
    world.write("shop.toml", text.replace(people_again, 'roles = ["setup"]', 1))
    world.shop.run("checkin", "shop.toml", "-m", "ss programs no more", "--by", "dg")
    said = world.shop.json("share", "--by", "np")
    assert (said["pushes"], said["tags_sent"]) == (3, ["release/4471/2"])
    assert there(world, "release/4471/2") == world.git("rev-parse", "release/4471/2")


def test_a_tag_that_was_left_behind_goes_out_after_the_change_of_people(world):
    world.release()
    assert world.push("main").returncode == 0
    people(world)
    said = world.shop.json("share", "--by", "np")
    assert (said["pushes"], said["tags_sent"]) == (2, ["release/4471/2"])
    assert there(world) == world.head


def test_a_first_push_goes_at_once(world):
    people(world)
    hold(world, "chatter")
    bare = world.place / "empty.git"
    world.git("init", "-q", "--bare", "-b", "main", str(bare), folder=world.place)
    world.shop.run("install", "--server", str(bare))
    world.git("remote", "set-url", "origin", str(bare))
    assert world.shop.json("share", "--by", "np")["pushes"] == 1
    assert world.git("rev-parse", "main", folder=bare) == world.head
