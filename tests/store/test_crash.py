"""A check-in that is killed leaves the repository as it was, or done; the next run tidies up."""

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.store.killing import MOMENTS
from tests.store.shop_repo import PROGRAM, git, opened, record, record_path, write
from tracker.store import commit

ROOT = Path(__file__).resolve().parents[2]
PATH = record_path(1)
EDITED = PROGRAM + b"(edited)\r\n"
STEPS = ["journal", "written", "stored", "built", "staged", "landed", "done"]


def person_at_work(shop):
    """Staged, half staged and untracked work that nobody may touch."""
    write(shop, "staged.txt", "staged")
    write(shop, "half.txt", "first")
    git(shop, "add", "staged.txt", "half.txt")
    write(shop, "half.txt", "second")
    write(shop, "mine.txt", "untracked")
    write(shop, "jobs/4471/op10/O1001.nc", EDITED)


def persons_work(shop):
    index = git(shop, "ls-files", "-s", "staged.txt", "half.txt")
    names = ["staged.txt", "half.txt", "mine.txt", "jobs/4471/op10/O1001.nc"]
    return index, [(shop / name).read_bytes() for name in names]


def run_until(shop, stop, path=PATH):
    return subprocess.Popen(
        [sys.executable, "-m", "tests.store.crash_run", str(shop), stop, path],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stderr=subprocess.PIPE,
    )


def check_after_kill(shop, work, before):
    """Landed whole or not at all, the person's work as it was, and a plain commit of theirs loses nothing."""
    head = git(shop, "rev-parse", "HEAD")
    landed = head != before
    if landed:
        assert git(shop, "rev-parse", "HEAD^") == before
        names = git(shop, "diff-tree", "-r", "--name-only", "--no-commit-id", head).splitlines()
        assert names == ["jobs/4471/op10/O1001.nc", PATH]
    assert persons_work(shop) == work
    clone = opened(shop)
    other = record_path(2)
    record(clone, other)
    assert persons_work(shop) == work
    listed = git(shop, "ls-tree", "-r", "--name-only", "HEAD").splitlines()
    assert (PATH in listed) == landed
    assert other in listed
    assert (shop / PATH).exists() == landed
    assert not list((shop / ".git" / "proveout").iterdir())
    assert not list((shop / "jobs").rglob("*.part"))
    staged = git(shop, "diff", "--cached", "--name-only").splitlines()
    assert staged == ["half.txt", "staged.txt"]
    git(shop, "commit", "-q", "-m", "by hand")
    after = git(shop, "ls-tree", "-r", "--name-only", "HEAD").splitlines()
    assert set(listed) | {"half.txt", "staged.txt"} == set(after)
    assert git(shop, "fsck", "--strict", "--no-dangling") == ""
    return landed


@pytest.mark.parametrize("stop", STEPS)
def test_killed_at_each_step(shop, stop):
    person_at_work(shop)
    work, before = persons_work(shop), git(shop, "rev-parse", "HEAD")
    process = run_until(shop, stop)
    assert process.wait() != 0
    process.stderr.close()
    landed = check_after_kill(shop, work, before)
    assert landed == (stop in ("landed", "done"))


@pytest.mark.parametrize("number", range(2, 12))
def test_killed_before_each_call_of_git(shop, number):
    person_at_work(shop)
    work, before = persons_work(shop), git(shop, "rev-parse", "HEAD")
    process = run_until(shop, f"git:{number}")
    process.wait()
    process.stderr.close()
    check_after_kill(shop, work, before)


def test_killed_by_somebody_at_any_moment(shop):
    """Twelve real kills spread over the time a check-in takes."""
    rng = random.Random(4471)
    started = time.monotonic()
    process = run_until(shop, "never", record_path(9))
    process.wait()
    process.stderr.close()
    takes = time.monotonic() - started
    assert process.returncode == 0
    for number in range(12):
        path = f"jobs/4471/records/op10/2026041{number % 10}T0000{number:02}Z-hold-kp.toml"
        write(shop, "jobs/4471/op10/O1001.nc", PROGRAM + b"%d" % number)
        before = git(shop, "rev-parse", "HEAD")
        process = run_until(shop, "never", path)
        time.sleep(takes * rng.uniform(0.4, 1.05))
        process.kill()
        process.wait()
        process.stderr.close()
        until(lambda: tidied(shop))
        head = git(shop, "rev-parse", "HEAD")
        listed = git(shop, "ls-tree", "-r", "--name-only", "HEAD").splitlines()
        assert (path in listed) == (head != before)
        assert (shop / path).exists() == (path in listed)
        wanted = "" if head != before else " M jobs/4471/op10/O1001.nc"
        assert git(shop, "status", "--porcelain", "-uall").rstrip() == wanted.rstrip()
        assert git(shop, "fsck", "--strict", "--no-dangling") == ""


WAITING_HOOK = """#!/bin/sh
[ "$1" = prepared ] && grep -q refs/heads/ || exit 0
: > .git/waiting
while [ ! -e .git/go ]; do sleep 0.02; done
read -r status < .git/go
exit "$status"
"""


def killed_while_git_lands(shop):
    """A check-in whose process is gone, while the git it had started is still about to move the branch."""
    hook = shop / ".git/hooks/reference-transaction"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(WAITING_HOOK)
    hook.chmod(0o755)
    process = run_until(shop, "never")
    until(lambda: (shop / ".git/waiting").exists())
    process.kill()
    process.wait()
    process.stderr.close()


def until(what):
    end = time.monotonic() + 30
    while not what():
        assert time.monotonic() < end
        time.sleep(0.01)


def let_git_go(shop, status):
    (shop / ".git/go.new").write_text(f"{status}\n")
    (shop / ".git/go.new").replace(shop / ".git/go")
    until(lambda: tidied(shop))
    (shop / ".git/hooks/reference-transaction").unlink()


def tidied(shop):
    opened(shop).tidy_up()
    # an empty journal is of one that was killed before it did anything; it goes away when it is old
    return not [path for path in (shop / ".git/proveout").iterdir() if path.stat().st_size]


@pytest.mark.skipif(sys.platform == "win32", reason="there no lock outlives its process")
@pytest.mark.parametrize("lands", [True, False])
def test_a_git_that_outlives_the_killed_check_in_is_waited_for(shop, lands):
    before = git(shop, "rev-parse", "HEAD")
    write(shop, "jobs/4471/op10/O1001.nc", EDITED)
    killed_while_git_lands(shop)
    opened(shop).tidy_up()
    assert (shop / PATH).exists()
    assert list((shop / ".git/proveout").iterdir())
    let_git_go(shop, 0 if lands else 1)
    assert (git(shop, "rev-parse", "HEAD") != before) == lands
    assert (shop / PATH).exists() == lands
    wanted = "" if lands else "M jobs/4471/op10/O1001.nc"
    assert git(shop, "status", "--porcelain", "-uall").strip() == wanted


def test_what_lands_while_it_is_taken_back_is_brought_back(shop, monkeypatch):
    """Where no lock tells that a git still lives: the commit lands between the look at the branch and the next."""
    write(shop, "jobs/4471/op10/O1001.nc", EDITED)
    before = git(shop, "rev-parse", "HEAD")
    process = run_until(shop, "staged")
    process.wait()
    process.stderr.close()
    tree = git(shop, "write-tree")
    late = git(
        shop, "-c", "user.name=k", "-c", "user.email=k@x", "commit-tree", tree, "-p", before, "-m", "late"
    )
    take_away = commit._take_away

    def landing(*words, **named):
        take_away(*words, **named)
        git(shop, "update-ref", "refs/heads/main", late)

    monkeypatch.setattr(commit, "_take_away", landing)
    opened(shop).tidy_up()
    assert (shop / PATH).read_bytes() == git_bytes(shop, late)
    assert git(shop, "status", "--porcelain", "-uall") == ""
    assert not list((shop / ".git/proveout").iterdir())


def git_bytes(shop, state):
    return subprocess.run(
        ["git", "cat-file", "blob", f"{state}:{PATH}"], cwd=shop, capture_output=True, check=True
    ).stdout


def test_a_record_file_that_is_not_ours_is_left_alone(shop):
    write(shop, record_path(3), "by hand")
    record(opened(shop), PATH)
    assert (shop / record_path(3)).read_bytes() == b"by hand"


def test_a_left_over_that_somebody_changed_is_left_alone(shop):
    process = run_until(shop, "staged")
    process.wait()
    process.stderr.close()
    write(shop, PATH, "changed by hand since")
    opened(shop).tidy_up()
    assert (shop / PATH).read_bytes() == b"changed by hand since"


def test_what_goes_wrong_in_the_process_is_taken_back_at_once(shop):
    person_at_work(shop)
    work = persons_work(shop)
    clone = opened(shop)

    def fail(step):
        if step == "built":
            raise KeyboardInterrupt

    clone.step = fail
    with pytest.raises(KeyboardInterrupt):
        record(clone, PATH)
    assert persons_work(shop) == work
    assert not (shop / PATH).exists()
    assert git(shop, "diff", "--cached", "--name-only").splitlines() == ["half.txt", "staged.txt"]
    assert not list((shop / ".git" / "proveout").iterdir())


def test_two_processes_that_write_at_once_lose_nothing(shop):
    """Two of 25 check-ins each (of 100 in a deep run), at the same time, on the same branch and index."""
    each = 100 if MOMENTS >= 100 else 25
    script = (
        "import sys\n"
        "from tests.store.shop_repo import *\n"
        "clone = opened(sys.argv[1])\n"
        f"for n in range({each}):\n"
        "    path = f'jobs/4471/records/op10/2026031{n // 50}T0915{n % 50:02}Z-hold-{sys.argv[2]}.toml'\n"
        "    record(clone, path)\n"
    )
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", script, str(shop), who],
            cwd=ROOT,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )
        for who in ("aa", "bb")
    ]
    assert [run.wait() for run in runs] == [0, 0]
    listed = git(shop, "ls-tree", "-r", "--name-only", "HEAD").splitlines()
    assert sum("/records/" in path for path in listed) == 2 * each
    assert git(shop, "rev-list", "--count", "HEAD") == str(2 * each + 1)
    assert git(shop, "status", "--porcelain", "-uall") == ""
    assert not list((shop / ".git" / "proveout").iterdir())
    ledger = opened(shop).ledger()
    assert len({stored.commit for stored in ledger.records}) == 2 * each
