import os
import sys
from pathlib import Path

import pytest

from tracker.store import spawned
from tracker.store.git import Git
from tracker.store.git_faults import GitFailedError

pytestmark = pytest.mark.skipif(not spawned.can_spawn(), reason="this system has no posix_spawn")


def start(code, environment=None):
    return spawned.Spawned([sys.executable, "-I", "-c", code], environment or dict(os.environ))


def test_what_it_says_on_both_streams_is_heard_even_if_it_is_much():
    child = start("import sys; sys.stderr.write('e' * 300000); sys.stdout.write('o' * 300000)")
    assert child.communicate() == (b"o" * 300000, b"e" * 300000)
    assert child.returncode == 0


def test_it_reads_what_is_written_to_it():
    child = start("import sys; sys.stdout.write(sys.stdin.read().upper())")
    child.stdin.write(b"o1001\n")
    assert child.communicate() == (b"O1001\n", b"")


def test_its_status_and_the_signal_that_ended_it():
    assert start("raise SystemExit(3)").wait() == 3
    child = start("import time; time.sleep(60)")
    child.kill()
    assert child.wait() == -9
    child.kill()


def test_it_lives_in_the_environment_it_was_given():
    child = start("import os; print(ascii([os.environ['SHOP'], os.getcwd()]))", {"SHOP": "demo"})
    assert child.communicate()[0].decode().strip() == ascii(["demo", str(Path.cwd())])


def test_a_pipe_closed_by_its_reader_ends_it_as_any_program():
    child = spawned.Spawned(["/bin/sh", "-c", "kill -s PIPE $$; echo lives on"], dict(os.environ))
    assert child.communicate()[0] == b""
    assert child.returncode == -13


def test_no_open_pipe_is_left_behind(tmp_path):
    files = Path("/proc/self/fd")
    if not files.is_dir():
        pytest.skip("open files cannot be counted here")
    before = len(list(files.iterdir()))
    with pytest.raises(FileNotFoundError):
        spawned.Spawned([str(tmp_path / "nothing")], {})
    start("print(1)").communicate()
    assert len(list(files.iterdir())) == before


def test_git_started_so_answers_and_fails_as_ever(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    git = Git(folder=str(tmp_path), here=True)
    assert git.begin("version").answer().startswith(b"git version")
    with pytest.raises(GitFailedError) as fault:
        git.begin("cat-file", "-e", "HEAD").answer()
    assert fault.value.name == "no-repository"
