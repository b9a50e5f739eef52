"""Two clones change one program and share at the same time: nobody's text is mixed, one of them is asked, and then all goes on."""

import json
import subprocess
import sys

import pytest

from tests.fakes.shop_folder import PROGRAM
from tests.server.world import stamp

SLOWER, DEEPER = ("S2000", "S1800"), ("Z-1.16", "Z-1.26")
PROGRAMMER = """[[people]]
initials = "pp"
name = "Pia Pencil"
email = "pp@shop.example"
roles = ["programmer"]
[[people]]"""


def edit(clone, change, why, by):
    clone.write(PROGRAM, clone.read(PROGRAM).replace(*change))
    clone.shop.run("checkin", "4471", "-m", why, "--by", by)


def at_once(*clones):
    """``share`` of every clone, as processes of their own at the same time: exit status and answer of each."""
    words = ["share", "--by", "np", "--json"]
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "tracker", "-C", str(one.folder), *words], stdout=subprocess.PIPE
        )
        for one in clones
    ]
    ended = [(one.communicate()[0], one.returncode) for one in running]
    return [(status, json.loads(out)) for out, status in ended]


@pytest.fixture
def both(world):
    """Each has made r2 of one program, another one; whoever shared first is ``first``."""
    world.write("shop.toml", world.read("shop.toml").replace("[[people]]", PROGRAMMER, 1))
    world.shop.run("checkin", "shop.toml", "-m", "a second programmer", "--by", "dg")
    assert world.push("main").returncode == 0
    second = world.second()
    edit(world, SLOWER, "less chatter", "np")
    edit(second, DEEPER, "drawing D", "pp")
    texts = {world.read(PROGRAM), second.read(PROGRAM)}
    answers = at_once(world, second)
    assert sorted(status for status, _ in answers) == [0, 1]
    first, asked = (world, second) if answers[0][0] == 0 else (second, world)
    said = next(said for status, said in answers if status == 1)
    return first, asked, said, texts


def there(clone, path=PROGRAM):
    return clone.git("show", f"main:{path}", folder=clone.server)


def test_one_comes_in_and_the_other_is_told_who_changed_what_and_how_to_choose(both):
    first, asked, said, texts = both
    assert (said["complete"], said["merge"], said["sent"]) == (False, None, 0)
    (one,) = said["both_changed"]
    assert (one["file"], one["chosen"]) == (PROGRAM, None)
    assert {"motion", "speed"} == set(one["kinds"])
    told = [(one[side]["by"], one[side]["message"]) for side in ("ours", "theirs")]
    wrote = [clone.git("log", "-1", "--format=%an|%s", "--", PROGRAM).split("|") for clone in (asked, first)]
    assert told == [tuple(each) for each in wrote]
    assert sorted(by for by, _ in told) == ["Nora Pencil", "Pia Pencil"]
    assert sorted(message.rpartition(": ")[2] for _, message in told) == ["drawing D", "less chatter"]
    assert one["ours"]["at"] <= stamp(asked.now())
    assert one["how"] == f"proveout share --take ours|theirs {PROGRAM} --by INITIALS"
    # nothing was mixed: each text is whole where it was written, and there is the one that came first
    assert {first.read(PROGRAM), asked.read(PROGRAM)} == texts
    assert there(first) == first.read(PROGRAM).strip()
    assert asked.git("rev-list", "--merges", "--count", "HEAD") == "0"
    assert asked.git("status", "--porcelain", "-uno") == ""


def test_asked_again_it_says_the_same_and_changes_nothing(both):
    first, asked, said, _ = both
    before = asked.git("for-each-ref"), first.refs()
    again = asked.shop.json("share", "--by", "np", status=1)
    assert again["both_changed"] == said["both_changed"]
    assert (asked.git("for-each-ref"), first.refs()) == before


@pytest.mark.parametrize("side", ["ours", "theirs"])
def test_after_the_choice_all_goes_on(both, side):
    first, asked, _, texts = both
    mine, theirs = asked.read(PROGRAM), first.read(PROGRAM)
    asked.shop.run("share", "--take", side, PROGRAM, "--by", "np")
    first.shop.run("share", "--by", "np")
    taken = mine if side == "ours" else theirs
    assert first.read(PROGRAM) == asked.read(PROGRAM) == taken
    assert first.head == asked.head == first.git("rev-parse", "main", folder=first.server)
    assert f"took {side}, chosen by np" in first.git("log", "-1", "--format=%B")
    # both texts are kept, each under its own revision; which one counts is said by the next check-in
    kept = [
        first.git("show", f"{line}:{PROGRAM}")
        for line in first.git("log", "--format=%H", "--full-history", "--", PROGRAM).split()
    ]
    assert {text.strip() for text in texts} <= set(kept)
    for clone in (first, asked):
        refused = clone.shop.run("release", "4471", "--by", "dg", "--yes", status=1)
        assert "stand side by side" in refused
    asked.shop.run("checkin", "4471", "-m", "the one that counts", "--by", "np")
    asked.shop.prove(revision="r3")
    released = asked.shop.json("release", "4471", "--by", "dg", "--yes")
    assert released["number"] == 2
    first.shop.run("share", "--by", "np")
    assert first.head == asked.head
    for clone in (first, asked):
        (row,) = clone.shop.rows()
        assert (row["revision"], row["standing"], row["released"]) == ("r3", "proven", 2)
        assert clone.shop.json("audit")["problems"] == []


def test_what_is_taken_is_what_is_there_by_then(both):
    """While one makes up his mind the other changes the program again: that change is not run over."""
    first, asked, _, _ = both
    edit(first, ("F15.", "F12."), "slower feed", "np")
    first.shop.run("share", "--by", "np")
    came = there(first)
    said = asked.shop.json("share", "--take", "theirs", PROGRAM, "--by", "np")
    assert said["complete"]
    assert asked.read(PROGRAM).strip() == came == there(first)
