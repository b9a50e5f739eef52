"""The verbs that record, killed from outside at moments spread over the whole call.

Afterwards: the whole event or none of it, a sound repository, the person's staged and unstaged work as it was, and
the next run needs nobody to clean up. ``PROVEOUT_MOMENTS=300`` makes it a deep run.
"""

import os
import shutil
import signal
import sys
import time
from collections import Counter

import pytest

from tests.fakes.floor import PROGRAM
from tests.store.killing import (
    CHECKIN,
    EDITED,
    MOMENTS,
    RELEASE,
    call,
    commits_since,
    fork_call,
    how_long,
    is_sound,
    kill_at,
    left_behind,
    make_shop,
    moments,
    names_of,
    person_at_work,
    persons_work,
    prove_words,
    quick_folder,
    settle,
    status_of,
    wait,
)
from tests.store.shop_repo import git, write

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no fork and no SIGKILL there")

WORK = ["A  staged.txt", "AM half.txt", "?? mine.txt"]


@pytest.fixture(scope="module")
def ready(tmp_path_factory):
    """A shop a person works in, made once; every call gives a fresh copy."""
    with quick_folder() as place, pytest.MonkeyPatch.context() as world:
        home = tmp_path_factory.mktemp("crash-home")
        world.setenv("HOME", str(home))
        world.setenv("GIT_CONFIG_GLOBAL", str(home / "gitconfig"))
        for who in ("AUTHOR", "COMMITTER"):
            world.setenv(f"GIT_{who}_NAME", "n")
            world.setenv(f"GIT_{who}_EMAIL", "n@shop.example")
        world.setenv("PROVEOUT_NOW", "2026-02-02T09:10:00Z")
        made = place / "made"
        make_shop(made)
        person_at_work(made)
        count = iter(range(1_000_000))

        def fresh(prepare=lambda folder: None):
            folder = place / f"Prüf {next(count)}" / "shop"
            shutil.copytree(made, folder, symlinks=True)
            git(folder, "update-index", "-q", "--refresh", check=False)
            prepare(folder)
            return folder

        yield fresh


def proved(folder):
    assert call(folder, *prove_words(folder), hour=3) == 0


def edited(folder):
    write(folder, PROGRAM, EDITED)


def event(folder, before, wanted):
    """Whether the event landed; every commit since holds exactly what belongs to it."""
    new = commits_since(folder, before)
    assert len(new) <= 1
    for commit in new:
        names = names_of(folder, commit)
        assert len(names) == len(wanted), names
        assert all(part in name for part, name in zip(wanted, names, strict=True)), names
    return bool(new)


def next_run(folder, hour=8):
    """Another record by another person: it tidies up by itself."""
    assert call(folder, "hold", "4471/op10", "--by", "kp", "-m", "tool broke", hour=hour) == 0


def look(folder, work, before, wanted, *, unsaved):
    landed = event(folder, before, wanted)
    assert persons_work(folder) == work
    assert is_sound(folder)
    next_run(folder)
    assert persons_work(folder) == work
    assert left_behind(folder) == []
    assert sorted(status_of(folder)) == sorted([*WORK, *([] if landed else unsaved)])
    assert len(commits_since(folder, before)) == landed + 1
    assert is_sound(folder)
    return landed


def campaign(ready, words, wanted, *, prepare, unsaved=(), check=look, seed=1, count=MOMENTS):
    """Kill at every moment; half of the times the whole process group. Counts landed and not landed."""
    takes = how_long(lambda: ready(prepare), words)
    seen = Counter()
    for place, moment in enumerate(moments(takes, count, seed)):
        folder = ready(prepare)
        work, before = persons_work(folder), git(folder, "rev-parse", "HEAD")
        killed = kill_at(folder, words, moment, group=place % 2 == 1)
        settle(folder)
        landed = check(folder, work, before, wanted, unsaved=list(unsaved))
        seen["killed" if killed else "through", "landed" if landed else "none"] += 1
        assert killed or landed
        shutil.rmtree(folder.parent)
    print(f"{words[0]}: {takes * 1000:.0f} ms, {count} moments: {dict(seen)}")
    assert seen["killed", "none"], seen
    return seen


def test_a_check_in_killed_at_any_moment(ready):
    wanted = [PROGRAM, "jobs/4471/records/op10/r0002-"]
    campaign(ready, CHECKIN, wanted, prepare=edited, unsaved=[f" M {PROGRAM}"], seed=4471)


def test_a_prove_out_killed_at_any_moment(ready, tmp_path):
    words = prove_words(tmp_path / "shop")
    campaign(ready, words, ["-proof-MILL2-"], prepare=lambda folder: None, seed=4472)


def released_or_not(folder, work, before, wanted, *, unsaved):
    """A record without its tag is taken up by the next run; there is never a second record or number."""
    landed = event(folder, before, wanted)
    tags = git(folder, "tag", "--list").splitlines()
    assert tags in ([], ["release/4471/1"])
    assert landed or not tags
    assert persons_work(folder) == work
    assert is_sound(folder)
    assert call(folder, *RELEASE, hour=8) == 0
    tags_now = git(folder, "tag", "--list").splitlines()
    numbers = len([name for name in git(folder, "ls-files").splitlines() if "release-" in name])
    assert len(tags_now) == numbers == (2 if tags else 1)
    assert persons_work(folder) == work
    assert left_behind(folder) == []
    assert sorted(status_of(folder)) == sorted(WORK)
    assert is_sound(folder)
    return landed


def test_a_release_killed_at_any_moment(ready):
    campaign(ready, RELEASE, ["release-0001"], prepare=proved, check=released_or_not, seed=4473)


def test_an_interrupted_call_ends_with_130_and_leaves_nothing(ready):
    takes = how_long(lambda: ready(edited), CHECKIN)
    seen = Counter()
    for moment in moments(takes, max(MOMENTS, 8), 4474):
        folder = ready(edited)
        work, before = persons_work(folder), git(folder, "rev-parse", "HEAD")
        process = fork_call(folder, CHECKIN)
        time.sleep(0.002 + moment)
        os.killpg(process, signal.SIGINT)
        status = wait(process)
        assert status in (130, 0), status
        settle(folder)
        landed = look(
            folder, work, before, [PROGRAM, "jobs/4471/records/op10/r0002-"], unsaved=[f" M {PROGRAM}"]
        )
        seen[status, landed] += 1
        shutil.rmtree(folder.parent)
    print(dict(seen))
    assert any(status == 130 for status, _ in seen)


SHARE = ("share",)


def two_sides(folder):
    """A server beside it that has a record of somebody else, and a record here that the server has not."""
    server, other = folder.with_name("server.git"), folder.with_name("other")
    git(folder.parent, "clone", "-q", "--bare", folder.name, server.name)
    git(folder.parent, "clone", "-q", server.name, other.name)
    assert call(other, "hold", "4471/op10", "--by", "np", "-m", "theirs", hour=2) == 0
    git(other, "push", "-q", "origin", "HEAD")
    git(folder, "remote", "add", "origin", "../server.git")
    assert call(folder, "hold", "4471/op10", "--by", "ss", "-m", "ours", hour=3) == 0


def shared_or_not(folder, work, before, wanted, *, unsaved):
    """Here or there is at most behind, nothing is lost, and the next run brings both together."""
    server = folder.with_name("server.git")
    landed = git(folder, "rev-parse", "HEAD") == git(server, "rev-parse", "HEAD")
    git(folder, "merge-base", "--is-ancestor", before, "HEAD")
    assert persons_work(folder) == work
    assert is_sound(folder)
    assert is_sound(server)
    assert call(folder, *SHARE, hour=8) == 0
    assert git(folder, "rev-parse", "HEAD") == git(server, "rev-parse", "HEAD")
    assert (
        len(
            [name for name in git(server, "ls-tree", "-r", "--name-only", "HEAD").split() if "-hold-" in name]
        )
        == 2
    )
    assert persons_work(folder) == work
    assert left_behind(folder) == []
    assert sorted(status_of(folder)) == sorted(WORK)
    next_run(folder, hour=9)
    assert is_sound(folder)
    return landed


def test_a_share_killed_at_any_moment(ready):
    campaign(ready, SHARE, [], prepare=two_sides, check=shared_or_not, seed=4475, count=max(6, MOMENTS // 2))
