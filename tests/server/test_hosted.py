"""The gate in a hosted repository's CI: the host has taken everything in, and the checkout is as a CI makes one."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.fakes.shop_folder import PROGRAM

CHECK = Path(__file__).parents[2] / "hooks" / "push-check"
NOTHING = "0" * 40
MAIN, SIDE = "refs/heads/main", "refs/heads/side"


@pytest.fixture
def hosted(world):
    """The world's server without a hook: whatever is pushed comes in."""
    shutil.rmtree(world.server / "hooks")
    for key in ("receive.denyDeletes", "receive.denyNonFastForwards"):
        world.git("config", key, "false", folder=world.server)
    return world


def asked(world, old: str, new: str, ref: str, *, host_says_main: bool = True) -> tuple[int, str]:
    """Status and words of the check, run by a CI's shell in a checkout of its own."""
    place = world.place / "ci"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    world.git("init", "-q", "-b", "whatever", folder=place)
    world.git("remote", "add", "origin", str(world.server), folder=place)
    world.git("fetch", "-q", "--tags", "origin", folder=place)
    if new != NOTHING:
        world.git("checkout", "-q", "--detach", new, folder=place)
    if host_says_main:
        world.git("remote", "set-head", "origin", "--auto", folder=place)
    done = subprocess.run(
        ["sh", str(CHECK), old, new, ref],
        cwd=place,
        env={**os.environ, "PROVEOUT": str(Path(sys.executable).with_name("proveout"))},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stderr


def pushed(world, *words: str) -> str:
    done = world.push(*words)
    assert done.returncode == 0, done.stderr
    return world.head


def side_with_roles_of_its_own(world) -> tuple[str, str]:
    """A programmer gives himself quality on a side branch, and lifts a hold there: what was and what is pushed."""
    world.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter", "--yes")
    held = pushed(world, "main")
    world.git("switch", "-q", "-c", "side")
    text = world.read("shop.toml")
    world.write("shop.toml", text.replace('roles = ["programmer"]', 'roles = ["programmer", "quality"]'))
    world.commit("roles")
    taken = pushed(world, "side")
    code, said = asked(world, NOTHING, taken, SIDE)
    assert (code, "shop-no-authority" in said) == (1, True)
    world.shop.run("lift", "4471/op10", "--by", "np", "-m", "mine", "--yes")
    return held, taken


def test_authority_taken_on_a_branch_that_was_refused_is_none_there(hosted):
    _, taken = side_with_roles_of_its_own(hosted)
    code, said = asked(hosted, taken, pushed(hosted, "side"), SIDE)
    assert (code, "no-authority: jobs/4471/records/op10/" in said) == (1, True)


def test_a_branch_that_was_refused_is_refused_when_it_is_merged(hosted):
    held, _ = side_with_roles_of_its_own(hosted)
    pushed(hosted, "side")
    hosted.git("switch", "-q", "main")
    hosted.git("merge", "-q", "--no-ff", "-m", "merge", "side")
    code, said = asked(hosted, held, pushed(hosted, "main"), MAIN)
    assert code == 1
    assert "shop-no-authority" in said
    assert "no-authority: jobs/4471/records/op10/" in said


def test_what_honest_people_push_and_merge_is_in_order(hosted):
    start = hosted.head
    hosted.git("switch", "-q", "-c", "side")
    hosted.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter", "--yes")
    assert asked(hosted, NOTHING, pushed(hosted, "side"), SIDE) == (0, "")
    hosted.shop.run("lift", "4471/op10", "--by", "dg", "-m", "tool changed", "--yes")
    before = hosted.git("rev-parse", "origin/side")
    assert asked(hosted, before, pushed(hosted, "side"), SIDE) == (0, "")
    hosted.git("switch", "-q", "main")
    hosted.git("merge", "-q", "--no-ff", "-m", "merge", "side")
    merged = pushed(hosted, "main")
    assert asked(hosted, start, merged, MAIN) == (0, "")
    hosted.write(PROGRAM, hosted.read(PROGRAM) + "(NOTE)\n")
    hosted.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    hosted.shop.run("release", "4471", "--by", "dg", "--yes")
    tag = hosted.git("rev-parse", "refs/tags/release/4471/2")
    assert asked(hosted, merged, hosted.head, MAIN) == (0, "")
    assert asked(hosted, NOTHING, tag, "refs/tags/release/4471/2") == (0, "")


def test_the_first_push_of_all_is_in_order(hosted):
    assert asked(hosted, NOTHING, hosted.head, MAIN) == (0, "")


def test_where_nothing_says_which_branch_is_the_main_one_nobody_guesses(hosted):
    hosted.git("switch", "-q", "-c", "side")
    hosted.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter", "--yes")
    code, said = asked(hosted, NOTHING, pushed(hosted, "side"), SIDE, host_says_main=False)
    assert (code, "[no-main-branch]" in said, "set-head origin" in said) == (4, True, True)


def test_a_branch_pushed_by_force_is_not_called_damage(hosted):
    start = hosted.head
    hosted.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter", "--yes")
    held = pushed(hosted, "main")
    hosted.git("reset", "-q", "--hard", start)
    pushed(hosted, "--force", "main")
    code, said = asked(hosted, held, start, MAIN)
    assert (code, "[before-not-here]" in said, "rewritten" in said) == (4, True, True)


def test_a_release_tag_taken_away_is_told(hosted):
    tag = hosted.git("rev-parse", "refs/tags/release/4471/1")
    pushed(hosted, "--delete", "release/4471/1")
    code, said = asked(hosted, tag, NOTHING, "refs/tags/release/4471/1")
    assert (code, "refs/tags/release/4471/1 was at" in said, "taken away" in said) == (4, True, True)
