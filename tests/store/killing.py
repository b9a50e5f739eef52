"""A call of the real console script that is killed from outside at a moment of one's choosing, and what is looked at.

The call runs in a fork of this process, so that nothing has to be imported again; the kill is the operating system's.
"""

import os
import random
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from pathlib import Path

from tests.fakes.floor import FIGURES, FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT
from tests.store.shop_repo import git, write
from tracker.cli.entry import main
from tracker.store.held import try_hold

# how many moments a verb is killed at; set it to some hundreds for a deep run
MOMENTS = int(os.environ.get("PROVEOUT_MOMENTS", "12"))
EDITED = TEXT.replace("F20.", "F18.")
CHECKIN = ("checkin", "4471/op10", "-m", "slower", "--by", "np")
RELEASE = ("release", "4471", "--by", "dg", "--yes")
_MEMORY = Path("/dev/shm")


@contextmanager
def quick_folder():
    """A folder in memory where there is one: a kill loses nothing the kernel holds, so no test waits for a disk."""
    place = _MEMORY if _MEMORY.is_dir() and os.access(_MEMORY, os.W_OK) else None
    folder = Path(tempfile.mkdtemp(prefix="crash-", dir=place))
    try:
        yield folder
    finally:
        shutil.rmtree(folder)


def call(folder, *words, hour=0):
    """One call in this process; its exit status."""
    os.environ["PROVEOUT_NOW"] = f"2026-02-{2 + hour // 24:02}T{hour % 24:02}:10:00Z"
    return main(["-C", str(folder), "-q", *words])


def prove_words(folder):
    form = folder.with_name("answers.toml")
    form.write_text("".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in FULL))
    return ("prove", "4471/op10", "--machine", "MILL2", "--by", "ss", "--accept", "--first-piece", "report 1",
            "--answers", str(form), "--yes")  # fmt: skip


def make_shop(folder):
    """A shop with one operation checked in."""
    assert call(folder.parent, "init", folder.name, "--name", "Bench") == 0
    write(folder, "shop.toml", SHOP)
    git(folder, "add", "shop.toml")
    git(folder, "commit", "-q", "-m", "people and machines")
    write(folder, JOB_PATH, JOB)
    write(folder, PROGRAM, TEXT)
    assert call(folder, "checkin", "4471/op10", "-m", "first issue", "--by", "np", hour=1) == 0


def person_at_work(folder):
    """Staged, half staged, untracked and unsaved work that nobody may touch."""
    write(folder, "staged.txt", "staged")
    write(folder, "half.txt", "first")
    git(folder, "add", "staged.txt", "half.txt")
    write(folder, "half.txt", "second")
    write(folder, "mine.txt", "untracked")


def persons_work(folder):
    names = ["staged.txt", "half.txt", "mine.txt", PROGRAM, JOB_PATH, "shop.toml"]
    return git(folder, "ls-files", "-s", "staged.txt", "half.txt"), [
        (folder / name).read_bytes() for name in names
    ]


def fork_call(folder, words, hour=5, *, says=None, user=None):
    """Start a call in a process group of its own; returns its process id as soon as it has begun.

    ``says``: file for its standard error. ``user``: number of the user it runs as.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    begun, begins = os.pipe()
    process = os.fork()
    if process:
        os.close(begins)
        os.read(begun, 1)
        os.close(begun)
        return process
    status = 3
    try:
        os.setpgid(0, 0)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        if says is not None:
            os.dup2(os.open(says, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
        # the test runner has put streams of its own there
        sys.stdin, sys.stdout = open(0, encoding="utf-8"), open(1, "w", encoding="utf-8")  # noqa: SIM115
        sys.stderr = open(2, "w", encoding="utf-8", errors="backslashreplace", buffering=1)  # noqa: SIM115
        if user is not None:
            os.setgroups([])
            os.setgid(user)
            os.setuid(user)
        os.close(begins)
        status = call(folder, *words, hour=hour)
        sys.stderr.flush()
    except KeyboardInterrupt:  # pressed when the call was through; an interpreter ends so too
        status = 128 + signal.SIGINT
    finally:
        os._exit(status)


def wait(process):
    """Its exit status, or the signal that ended it as a negative number."""
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def how_long(ready, words):
    """Seconds from the fork to the end of a call that nobody kills: the median of three."""
    took = []
    for _ in range(3):
        folder = ready()
        started = time.monotonic()
        assert wait(fork_call(folder, words)) == 0
        took.append(time.monotonic() - started)
    return statistics.median(took)


def moments(takes, count, seed):
    """Moments spread evenly over a call and beyond, since the next may take longer, each moved at random."""
    rng = random.Random(seed)
    return [takes * 1.25 * (place + rng.random()) / count for place in range(count)]


def kill_at(folder, words, moment, *, group):
    """Run a call and kill it, or all that is in its group; False when it was through by then."""
    process = fork_call(folder, words)
    time.sleep(moment)
    with suppress(ProcessLookupError):
        if group:
            with suppress(PermissionError):
                os.killpg(process, signal.SIGKILL)
        os.kill(process, signal.SIGKILL)
    return wait(process) == -signal.SIGKILL


def settle(folder):
    """Wait until every git of a killed call has come to its end; fails when a lock stays behind."""
    end = time.monotonic() + 20
    while held(folder) or locks(folder):
        assert time.monotonic() < end, (held(folder), locks(folder))
        time.sleep(0.005)


def locks(folder):
    """Locks of git, also those of throw-away indexes."""
    return [path for path in (folder / ".git").rglob("*.lock") if path.parent.name != "proveout"]


def held(folder):
    """Journals somebody alive holds, and the lock of a share."""
    found = []
    place = folder / ".git/proveout"
    for path in [*place.glob("writing-*.json"), *place.glob("share.lock")]:
        with suppress(FileNotFoundError), path.open("r+b") as file:
            found += [path] if try_hold(file) is False else []
    return found


def left_behind(folder):
    """What no run may leave: journals that say something, unfinished copies, throw-away indexes."""
    journals = [path for path in (folder / ".git/proveout").glob("writing-*") if path.stat().st_size]
    return journals + list(folder.rglob("*.part")) + locks(folder)


def status_of(folder):
    return git(folder, "--no-optional-locks", "status", "--porcelain", "-uall").splitlines()


def is_sound(folder):
    """What `git fsck` has against the repository."""
    done = subprocess.run(
        ["git", "fsck", "--strict", "--no-dangling"], cwd=folder, capture_output=True, check=False
    )
    return (done.returncode, done.stdout) == (0, b"")


def commits_since(folder, before):
    return git(folder, "rev-list", "--reverse", f"{before}..HEAD").split()


def names_of(folder, commit):
    return git(folder, "diff-tree", "-r", "--name-only", "--no-commit-id", commit).splitlines()
