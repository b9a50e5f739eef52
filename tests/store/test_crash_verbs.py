"""The verbs that record, killed from outside at moments spread over the whole call.

Afterwards: the whole event or none of it, a sound repository, the person's staged and unstaged work as it was, and
the next run needs nobody to clean up. ``PROVEOUT_MOMENTS=300`` makes it a deep run.
"""

import os
import re
import shutil
import signal
import sys
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

import pytest

from tests.fakes.floor import PROGRAM, SHOP, TEXT
from tests.store.killing import (
    CHECKIN,
    EDITED,
    MOMENTS,
    RELEASE,
    call,
    commits_since,
    fork_call,
    held,
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


WAITING_HOOK = """#!/bin/sh
[ "$1" = prepared ] && grep -q refs/tags/ || exit 0
: > .git/waiting
while [ ! -e .git/go ]; do sleep 0.02; done
"""


@pytest.mark.parametrize("together", [False, True], ids=["one after the other", "at once"])
def test_a_git_that_makes_the_tag_of_a_killed_release(ready, together):
    """It may land the tag after the kill. It holds a journal as long, and who makes the tag meanwhile makes the same."""
    folder = ready(proved)
    hook = folder / ".git/hooks/reference-transaction"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(WAITING_HOOK)
    hook.chmod(0o755)
    process = fork_call(folder, RELEASE)
    until(lambda: (folder / ".git/waiting").exists())
    os.kill(process, signal.SIGKILL)
    wait(process)
    assert len(held(folder)) == 1
    assert git(folder, "tag", "--list") == ""
    second = fork_call(folder, RELEASE, hour=8) if together else None
    if together:
        time.sleep(0.3)
    (folder / ".git/go").touch()
    if second is not None:
        assert wait(second) == 0
    settle(folder)
    assert git(folder, "tag", "--list") == "release/4471/1"
    assert len([name for name in git(folder, "ls-files").splitlines() if "release-" in name]) == 1
    next_run(folder, hour=9)
    assert left_behind(folder) == []
    assert is_sound(folder)
    shutil.rmtree(folder.parent)


def until(what):
    end = time.monotonic() + 20
    while not what():
        assert time.monotonic() < end
        time.sleep(0.01)


def press(process, *, all_of_it):
    """Ctrl-C, heard by all of a call, or by whatever it had started and never by itself."""
    if all_of_it:
        os.killpg(process, signal.SIGINT)
        return
    for entry in Path("/proc").glob("[0-9]*"):
        with suppress(ProcessLookupError):
            if int(entry.name) != process and os.getpgid(int(entry.name)) == process:
                os.kill(int(entry.name), signal.SIGINT)


HEARD = [
    "all of it",
    pytest.param("git alone", marks=pytest.mark.skipif(sys.platform != "linux", reason="no /proc")),
]


@pytest.mark.parametrize("heard", HEARD)
def test_an_interrupted_call_ends_with_130_and_leaves_nothing(ready, heard):
    takes = how_long(lambda: ready(edited), CHECKIN)
    seen = Counter()
    for moment in moments(takes, max(MOMENTS, 8), 4474):
        folder = ready(edited)
        work, before = persons_work(folder), git(folder, "rev-parse", "HEAD")
        process = fork_call(folder, CHECKIN)
        time.sleep(0.002 + moment)
        press(process, all_of_it=heard == "all of it")
        status = wait(process)
        assert status in (130, 0), status
        settle(folder)
        landed = look(
            folder, work, before, [PROGRAM, "jobs/4471/records/op10/r0002-"], unsaved=[f" M {PROGRAM}"]
        )
        seen[status, landed] += 1
        shutil.rmtree(folder.parent)
    print(dict(seen))
    assert heard != "all of it" or any(status == 130 for status, _ in seen)


SHARE = ("share",)


def two_sides(folder):
    """A server beside it with a text of somebody else, and here records and a change of shop.toml it has not."""
    server, other = folder.with_name("server.git"), folder.with_name("other")
    git(folder.parent, "clone", "-q", "--bare", folder.name, server.name)
    git(folder.parent, "clone", "-q", server.name, other.name)
    assert call(other, "hold", "4471/op10", "--by", "np", "-m", "theirs", hour=2) == 0
    edited(other)
    assert call(other, "checkin", "4471/op10", "-m", "theirs", "--by", "np", hour=2) == 0
    git(other, "push", "-q", "origin", "HEAD")
    git(folder, "remote", "add", "origin", "../server.git")
    write(folder, "shop.toml", SHOP.replace('roles = ["setup"]', 'roles = ["setup", "programmer"]', 1))
    assert call(folder, "checkin", "shop.toml", "-m", "kp programs", "--by", "dg", hour=3) == 0
    assert call(folder, "hold", "4471/op10", "--by", "ss", "-m", "ours", hour=3) == 0


def shared_or_not(folder, work, before, wanted, *, unsaved):
    """Here or there is at most behind, nothing is lost, and the next run brings both together.

    Of two the first to run next is a check-in: what came in is no edit of this person's.
    """
    server, number = folder.with_name("server.git"), int(folder.parent.name.split()[1])
    landed = git(folder, "rev-parse", "HEAD") == git(server, "rev-parse", "HEAD")
    git(folder, "merge-base", "--is-ancestor", before, "HEAD")
    assert is_sound(folder)
    assert comes_to_rest(server)
    others_work(folder, work)
    if number % 2:
        assert call(folder, "checkin", "4471/op10", "-m", "mine?", "--by", "np", hour=7) == 0
    assert call(folder, *SHARE, hour=8) == 0
    assert git(folder, "rev-parse", "HEAD") == git(server, "rev-parse", "HEAD")
    names = git(server, "ls-tree", "-r", "--name-only", "HEAD").split()
    assert len([name for name in names if "-hold-" in name]) == 2
    assert len([name for name in names if re.search(r"/r\d{4}-\w{8}\.toml$", name)]) == 2
    assert (folder / PROGRAM).read_text() == EDITED
    others_work(folder, work)
    assert left_behind(folder) == []
    assert not list((folder / ".git/proveout").glob("share-moving*"))
    assert sorted(status_of(folder)) == sorted(WORK)
    next_run(folder, hour=9)
    assert is_sound(folder)
    return landed


def comes_to_rest(server):
    """Whether it is sound once a git of the killed push that lives on there has come to its end."""
    end = time.monotonic() + 20
    while not is_sound(server):
        if time.monotonic() > end:
            return False
        time.sleep(0.1)
    return True


def others_work(folder, work):
    """The person's staged and unstaged work as it was; the program, of which nobody here had edits, old or new."""
    (index, held), (index_then, held_then) = persons_work(folder), work
    program = held.pop(3)
    assert program in (TEXT.encode(), EDITED.encode())
    assert (index, held) == (index_then, [*held_then[:3], *held_then[4:]])


def test_a_share_killed_at_any_moment(ready):
    campaign(ready, SHARE, [], prepare=two_sides, check=shared_or_not, seed=4475, count=max(6, MOMENTS // 2))


def tag_to_send(folder):
    """A release made here that the server does not have."""
    git(folder.parent, "clone", "-q", "--bare", folder.name, "server.git")
    proved(folder)
    assert call(folder, *RELEASE, hour=4) == 0
    git(folder, "remote", "add", "origin", "../server.git")


def tag_to_get(folder):
    """A release somebody else made and shared."""
    proved(folder)
    git(folder.parent, "clone", "-q", "--bare", folder.name, "server.git")
    git(folder.parent, "clone", "-q", "server.git", "other")
    assert call(folder.with_name("other"), *RELEASE, hour=4) == 0
    git(folder, "remote", "add", "origin", "../server.git")
    assert git(folder.with_name("server.git"), "tag", "--list") == "release/4471/1"


def tag_arrived(folder, work, before, wanted, *, unsaved):
    """Whatever the killed one did, the next share leaves the same branch and the same tag on both sides."""
    server = folder.with_name("server.git")
    landed = [git(side, "for-each-ref", "refs/tags", "refs/heads") for side in (folder, server)]
    assert is_sound(folder)
    assert comes_to_rest(server)
    assert call(folder, *SHARE, hour=8) == 0
    refs = [git(side, "for-each-ref", "refs/tags", "refs/heads") for side in (folder, server)]
    assert refs[0] == refs[1]
    assert git(server, "tag", "--list") == "release/4471/1"
    assert persons_work(folder) == work
    assert left_behind(folder) == []
    assert sorted(status_of(folder)) == sorted(WORK)
    next_run(folder, hour=9)
    assert is_sound(folder)
    return landed == refs


@pytest.mark.parametrize("side", [tag_to_send, tag_to_get], ids=lambda one: one.__name__)
def test_a_release_tag_arrives_whenever_the_share_is_killed(ready, side):
    count = max(6, MOMENTS // 4)
    campaign(ready, SHARE, [], prepare=side, check=tag_arrived, seed=4477, count=count)


def at_each_write(ready, words, wanted, *, prepare, unsaved=(), check=look):
    """Killed with each file in hand that is on its way to the disk and has not got its name, one call for each."""
    landed, count = [], 0
    while True:
        folder = ready(prepare)
        work, before = persons_work(folder), git(folder, "rev-parse", "HEAD")
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("os.fsync", dying(count))
            status = wait(fork_call(folder, words))
        settle(folder)
        landed.append(check(folder, work, before, wanted, unsaved=list(unsaved)))
        shutil.rmtree(folder.parent)
        if status == 0:
            break
        assert status == -signal.SIGKILL
        count += 1
    print(f"{words[0]}: {count} writes")
    assert count
    assert landed[-1]


def dying(number):
    """In place of os.fsync: ends the process, hard, at this call of it."""
    left, really = [number], os.fsync

    def fsync(handle):
        if not left[0]:
            os.kill(os.getpid(), signal.SIGKILL)
        left[0] -= 1
        really(handle)

    return fsync


def test_a_check_in_killed_at_each_write(ready):
    wanted = [PROGRAM, "jobs/4471/records/op10/r0002-"]
    at_each_write(ready, CHECKIN, wanted, prepare=edited, unsaved=[f" M {PROGRAM}"])


def test_a_prove_out_killed_at_each_write(ready, tmp_path):
    at_each_write(ready, prove_words(tmp_path / "shop"), ["-proof-MILL2-"], prepare=lambda folder: None)


def test_a_release_killed_at_each_write(ready):
    at_each_write(ready, RELEASE, ["release-0001"], prepare=proved, check=released_or_not)


def test_a_share_killed_at_each_write(ready):
    """Of what came in, too: no unfinished copy of a program stays in the person's folder."""
    at_each_write(ready, SHARE, [], prepare=two_sides, check=shared_or_not)


APPLY = ("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
OLD = "%\nO{number} (OLD)\nG20\nG0 G17 G40 G49 G80 G90\nT1 M6\nG0 G54 X0. Y0. S1000 M3\nG43 H1 Z1.\nG1 Z-0.{number} F10.\nM30\n%\n"
JOBS = ("o3001", "o3002", "o3003")


def years_old(folder):
    """Three programs of a folder that was there before, and the plan that takes them in."""
    for number in (3001, 3002, 3003):
        write(folder, f"old/o{number}/O{number}.NC", OLD.format(number=number))
    assert call(folder, "adopt", "old", "--plan", "plan.csv", hour=2) == 0


def taken_in_or_not(folder, work, before, wanted, *, unsaved):
    """All three are recorded in one commit or none is; run again they all are, each once, and no program was altered."""
    landed = len(commits_since(folder, before)) == 1
    names = git(folder, "ls-tree", "-r", "--name-only", "HEAD").split()
    assert sum(f"jobs/{job}/records/" in name for name in names for job in JOBS) == (3 if landed else 0)
    assert persons_work(folder) == work
    assert is_sound(folder)
    assert call(folder, *APPLY, hour=7) == 0
    names = git(folder, "ls-tree", "-r", "--name-only", "HEAD").split()
    assert sum(f"jobs/{job}/records/" in name for name in names for job in JOBS) == 3
    assert len(commits_since(folder, before)) == 1
    for number in (3001, 3002, 3003):
        assert (folder / f"old/o{number}/O{number}.NC").read_text() == OLD.format(number=number)
    assert persons_work(folder) == work
    next_run(folder)
    assert left_behind(folder) == []
    assert sorted(status_of(folder)) == sorted([*WORK, "?? plan.csv"])
    assert is_sound(folder)
    return landed


def test_taking_old_programs_in_killed_at_any_moment(ready):
    campaign(
        ready, APPLY, [], prepare=years_old, check=taken_in_or_not, seed=4476, count=max(6, MOMENTS // 2)
    )
