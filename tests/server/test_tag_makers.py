"""In whose name a release tag is, where nobody signs: who put the record down, or another of quality on whatever PC."""

import pytest

from tests.server.scenes import SECOND
from tests.server.scenes_signed import must

NAME = SECOND.removeprefix("refs/tags/")


@pytest.fixture
def recorded(world):
    """Release 2 recorded, its tag gone; kept: what the tag said, and its commit."""
    world.release()
    world.message = world.git("tag", "-l", "--format=%(contents)", NAME)
    world.commit_of_it = world.git("rev-parse", f"{SECOND}^{{commit}}")
    world.git("tag", "-d", NAME)
    return world


def tag_by(world, who):
    """The tag made by plain git in somebody's name; the hook of this clone is not asked."""
    world.git("tag", "-a", "-m", world.message, NAME, world.commit_of_it, who=who)


def second_of_quality(world):
    """xx, who had left, is back."""
    world.write("shop.toml", world.read("shop.toml").replace("left = 2025-03-31\n", ""))
    world.shop.run("checkin", "shop.toml", "-m", "xx is back", "--by", "dg")
    must(world.push("main"))


def test_a_tag_made_by_hand_in_the_right_name_comes_in(recorded):
    tag_by(recorded, "dg")
    must(recorded.push("--atomic", "main", SECOND))
    assert recorded.shop.json("audit")["problems"] == []


def test_on_a_shared_pc_release_makes_it_in_the_name_of_the_person(world):
    world.git("config", "user.email", "mill2@shop.example")
    world.git("config", "user.name", "The mill")
    world.shop.run("install", "--shared")
    world.release()
    assert "tagger Dell Gauge <dg@shop.example>" in world.git("cat-file", "tag", SECOND)
    must(world.push("--atomic", "main", SECOND))
    assert world.shop.json("audit")["problems"] == []


def test_another_of_quality_takes_up_what_was_left(world):
    second_of_quality(world)
    world.release()
    world.git("tag", "-d", NAME)
    must(world.push("main"))
    said = world.shop.json("release", "4471", "--by", "xx", "--yes")
    assert (said["number"], said["taken_up"], said["by"]) == (2, True, "dg")
    assert "<xx@shop.example>" in world.git("cat-file", "tag", SECOND)
    assert world.git("rev-parse", SECOND, folder=world.server) == world.git("rev-parse", SECOND)
    assert world.shop.json("audit")["problems"] == []


def test_who_changed_the_address_meanwhile_makes_it(world):
    world.release()
    world.git("tag", "-d", NAME)
    must(world.push("main"))
    world.write("shop.toml", world.read("shop.toml").replace("dg@shop.example", "dell@shop.example"))
    world.shop.run("checkin", "shop.toml", "-m", "a new address", "--by", "dg")
    must(world.push("main"))
    assert world.shop.json("release", "4471", "--by", "dg", "--yes")["taken_up"] is True
    assert "<dell@shop.example>" in world.git("cat-file", "tag", SECOND)
    assert world.shop.json("audit")["problems"] == []


@pytest.mark.parametrize("who", ["np", "mill2"])
def test_in_a_name_that_has_no_part_in_it_the_server_takes_none_and_an_audit_tells(recorded, who):
    tag_by(recorded, who)
    before = recorded.refs()
    done = recorded.push("--atomic", "main", SECOND)
    assert done.returncode == 1
    assert (
        f"not-its-author: {SECOND}: the tag was made by {who}@shop.example, and its record by dg"
        in done.stderr
    )
    assert recorded.refs() == before
    (problem,) = recorded.shop.json("audit", status=1)["problems"]
    assert (problem["problem"], problem["where"]) == ("not-its-author", SECOND)


def test_what_the_refusal_says_puts_it_right(recorded):
    tag_by(recorded, "np")
    recorded.shop.run("install")
    said = recorded.shop.run("share", "--by", "np", status=1)
    command = "git -c core.hooksPath=/dev/null tag -d release/4471/2"
    assert f"(clear it: {command}; dg makes it: proveout release 4471)" in said
    recorded.git(*command.split()[1:])
    recorded.shop.run("share", "--by", "np")
    assert recorded.shop.json("release", "4471", "--by", "dg", "--yes")["taken_up"] is True
    assert recorded.git("rev-parse", SECOND, folder=recorded.server) == recorded.git("rev-parse", SECOND)


def test_here_the_hook_refuses_it_before_it_is_made(recorded):
    recorded.shop.run("install")
    recorded.git("config", "user.email", "np@shop.example")
    recorded.git("config", "user.name", "np")
    words = (
        "-c",
        "core.hooksPath=.git/hooks",
        "tag",
        "-a",
        "-m",
        recorded.message,
        NAME,
        recorded.commit_of_it,
    )
    recorded.git(*words, who="np", check=False)
    assert NAME not in recorded.git("tag").split()
    recorded.git(*words, who="dg")
    assert NAME in recorded.git("tag").split()


def test_a_first_push_brings_what_is_there_and_an_audit_tells(recorded):
    tag_by(recorded, "np")
    bare = recorded.place / "empty.git"
    recorded.git("init", "-q", "--bare", "-b", "main", str(bare), folder=recorded.place)
    recorded.shop.run("install", "--server", str(bare))
    recorded.git("remote", "set-url", "origin", str(bare))
    must(recorded.push("--atomic", "main", "release/4471/1", NAME))
    assert {one["problem"] for one in recorded.shop.json("audit", status=1)["problems"]} == {"not-its-author"}
