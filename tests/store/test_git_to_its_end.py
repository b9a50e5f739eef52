"""A git that writes comes to its end whatever becomes of us; what it says about a full disk has a name."""

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from tests.store.shop_repo import git, opened
from tracker import frozen
from tracker.store.git_faults import GitFailedError
from tracker.store.journal import Journal
from tracker.store.objects import Objects
from tracker.store.sharing_wire import Wire

HOOK = "#!/bin/sh\n: > .git/waiting\nsleep 0.4\n: > .git/through\n"


@pytest.fixture
def slow(shop):
    """A repository in which git takes its time to move a branch."""
    hook = shop / ".git/hooks/reference-transaction"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(HOOK)
    hook.chmod(0o755)
    return shop


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
def test_a_key_pressed_meanwhile_waits_for_git(slow):
    lasting = frozen.replace(opened(slow).git, lasting=True)
    head = git(slow, "rev-parse", "HEAD")

    def press():
        end = time.monotonic() + 20
        while not (slow / ".git/waiting").exists() and time.monotonic() < end:
            time.sleep(0.01)
        os.kill(os.getpid(), signal.SIGINT)

    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    presser = threading.Thread(target=press)
    presser.start()
    try:
        with pytest.raises(KeyboardInterrupt):
            lasting.run("update-ref", "refs/heads/other", head)
    finally:
        presser.join()
        signal.signal(signal.SIGINT, before)
    assert git(slow, "rev-parse", "refs/heads/other") == head
    assert not list((slow / ".git").rglob("*.lock"))


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
def test_one_who_insists_is_not_kept_waiting(slow):
    code = (
        "import sys\n"
        "from tests.store.shop_repo import opened, git\n"
        "from tracker import frozen\n"
        "shop = sys.argv[1]\n"
        "lasting = frozen.replace(opened(shop).git, lasting=True)\n"
        "lasting.run('update-ref', 'refs/heads/other', git(shop, 'rev-parse', 'HEAD'))\n"
    )
    (slow / ".git/hooks/reference-transaction").write_text(HOOK.replace("0.4", "3"))
    root = str(Path(__file__).resolve().parents[2])
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(slow)],
        cwd=root,
        env=os.environ | {"PYTHONPATH": root},
        stderr=subprocess.DEVNULL,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    end = time.monotonic() + 20
    while not (slow / ".git/waiting").exists() and time.monotonic() < end:
        time.sleep(0.01)
    started = time.monotonic()
    while process.poll() is None and time.monotonic() < started + 2.5:
        process.send_signal(signal.SIGINT)
        time.sleep(0.1)
    assert process.wait() != 0
    assert time.monotonic() < started + 2.5
    end = time.monotonic() + 20
    while list((slow / ".git").rglob("*.lock")) and time.monotonic() < end:  # git goes on alone
        time.sleep(0.05)
    assert git(slow, "rev-parse", "refs/heads/other") == git(slow, "rev-parse", "HEAD")


@pytest.mark.parametrize(
    ("said", "name"),
    [
        (b"fatal: cannot write: No space left on device", "disk-full"),
        (b"fatal: sha1 file 'x/.git/index.lock' write error. Out of diskspace", "disk-full"),
        (
            b"error: cannot update ref 'refs/remotes/o/main': couldn't write 'x/refs/remotes/o/main.lock'",
            "not-written",
        ),
        (b"error: unable to write file x: Disk quota exceeded", "disk-full"),
        (b"error: failed to write new configuration file x/.git/config.lock", "not-written"),
        (b"fatal: Unable to create 'x/index.lock': Read-only file system", "no-permission"),
        (b"error: insufficient permission for adding an object: Permission denied", "no-permission"),
    ],
)
def test_what_git_says_about_a_disk_has_a_name(said, name):
    fault = GitFailedError(("update-ref",), 128, said)
    assert fault.name == name
    assert fault.fix


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
@pytest.mark.parametrize("where", ["_execute_child", "_communicate"])
def test_a_key_pressed_while_git_is_started_or_handed_its_input(shop, monkeypatch, where):
    """Input is neither lost nor cut: the commit that is built holds its whole message."""
    lasting = frozen.replace(opened(shop).git, lasting=True)
    real = getattr(subprocess.Popen, where)

    def pressed(self, *words, **named):
        signal.raise_signal(signal.SIGINT)
        return real(self, *words, **named)

    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    known = set(every_object(shop))
    monkeypatch.setattr(subprocess.Popen, where, pressed)
    try:
        with pytest.raises(KeyboardInterrupt):
            lasting.run("hash-object", "-w", "--stdin", stdin=b"every byte\n" * 9000)
    finally:
        monkeypatch.undo()
        signal.signal(signal.SIGINT, before)
    (made,) = set(every_object(shop)) - known
    assert len(git(shop, "cat-file", "blob", made)) == 11 * 9000 - 1


def every_object(shop):
    out = git(
        shop,
        "cat-file",
        "--batch-all-objects",
        "--batch-check=%(objectname)",
        env={"GIT_DIR": str(shop / ".git")},
    )
    return out.split()


@pytest.mark.skipif(sys.platform == "win32", reason="there no lock outlives its process")
def test_what_a_living_git_may_still_land_is_not_taken_back(shop):
    """Somebody insisted on stopping; git holds the journal, so the next run looks what became of it."""
    place = opened(shop)._place()
    journal = Journal.begin(place.git_dir, {})
    other = subprocess.Popen(["sleep", "30"], pass_fds=journal.held)
    assert not journal.alone()
    other.kill()
    other.wait()
    assert journal.alone()
    journal.done()


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
@pytest.mark.parametrize(
    "ask",
    [
        lambda git: git.run("log"),
        lambda git: git.attempt("config", "--get", "user.name"),  # whoever takes any status as an answer
        lambda git: frozen.replace(git, lasting=True).run("update-ref", "refs/heads/other", "HEAD"),
        lambda git: git.begin("for-each-ref").answer(),
        lambda git: Wire(git=git).must("server", "push"),
    ],
    ids=["run", "attempt", "lasting", "begun", "wire"],
)
def test_a_git_that_heard_of_the_key_first_has_not_failed(shop, ended_by_the_key, ask):
    """Ctrl-C goes to us and to git at once; which of the two is ended first is nobody's to say."""
    here = opened(shop).git
    ended_by_the_key()
    with pytest.raises(KeyboardInterrupt):
        ask(here)


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
def test_a_reader_of_objects_that_heard_of_the_key_first_has_not_failed(shop, ended_by_the_key):
    clone, head = opened(shop), git(shop, "rev-parse", "HEAD")
    ended_by_the_key()
    with pytest.raises(KeyboardInterrupt):
        next(Objects(clone.git).each([head]))


def test_what_failed_is_named_by_its_verb_whatever_settings_stand_before_it():
    fault = GitFailedError(("-c", "core.fsync=all", "hash-object", "-w"), 128, b"fatal: no\n")
    assert fault.what == "git hash-object failed"
    assert GitFailedError(("--version",), 1, b"").what == "git failed"
