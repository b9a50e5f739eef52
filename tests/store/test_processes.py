"""Tasks in processes of their own: nothing is missing, errors are raised here, and nobody is left behind."""

import errno
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.store.shop_repo import git, make_shop, opened
from tracker.records.events import RanRecord
from tracker.store import ledger as ledger_module
from tracker.store import processes as module
from tracker.store.processes import FEWEST, beside, in_processes
from tracker.store.toml_files import dump_record

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux alone")
HERE = os.getpid()
AT = datetime(2026, 3, 11, 9, 15, 2, tzinfo=UTC)


@pytest.fixture(autouse=True)
def two(monkeypatch):
    """Two processors, whatever this machine has."""
    monkeypatch.setattr(module, "_processors", lambda: 2)


def nothing():
    """Nothing to let go of."""


def children():
    """Processes this one began and has not taken leave of."""
    return {
        int(path.name)
        for path in Path("/proc").iterdir()
        if path.name.isdigit() and parent(path) == os.getpid()
    }


def parent(process):
    """The number of the process that began another; None for one that is gone."""
    try:
        return int((process / "stat").read_text().rsplit(")", 1)[1].split()[1])
    except (FileNotFoundError, ProcessLookupError):
        return None


def test_answers_are_those_of_doing_it_here_and_come_from_elsewhere():
    before = children()
    found = dict(in_processes([lambda n=n: (n, n * n, os.getpid()) for n in range(200)], nothing))
    assert [found[place][:2] for place in range(200)] == [(n, n * n) for n in range(200)]
    assert {pid for _, _, pid in found.values()}.isdisjoint({os.getpid()})
    assert children() <= before


def test_a_large_answer_comes_whole():
    found = dict(in_processes([lambda n=n: bytes([n]) * 3_000_000 for n in range(FEWEST)], nothing))
    assert found == {n: bytes([n]) * 3_000_000 for n in range(FEWEST)}


@pytest.mark.parametrize("count", [0, 1, FEWEST - 1])
def test_few_are_done_here(count):
    found = dict(in_processes([os.getpid] * count, nothing))
    assert found == dict.fromkeys(range(count), os.getpid())


def test_more_than_can_be_handed_out_are_done_here():
    many = module._ROOM // 4 + 1
    assert set(dict(in_processes([os.getpid] * many, nothing)).values()) == {os.getpid()}


def test_one_processor_does_it_here(monkeypatch):
    monkeypatch.setattr(module, "_processors", lambda: 1)
    assert set(dict(in_processes([os.getpid] * 50, nothing)).values()) == {os.getpid()}


def test_what_a_task_raises_is_raised_here():
    def fails():
        raise LookupError(f"in {os.getpid()}")

    before = children()
    with pytest.raises(LookupError, match=f"in {os.getpid()}"):
        dict(in_processes([*[os.getpid] * 30, fails], nothing))
    assert children() <= before


def test_what_cannot_be_handed_back_is_done_here():
    found = dict(in_processes([*[os.getpid] * 30, lambda: lambda: 7], nothing))
    assert found[30]() == 7


def test_what_a_killed_process_had_in_hand_is_done_here():
    def dies_elsewhere():
        if os.getpid() != HERE:
            os.kill(os.getpid(), signal.SIGKILL)
        return "here"

    before = children()
    found = dict(in_processes([*[lambda: "done"] * 30, dies_elsewhere, dies_elsewhere], nothing))
    assert found == dict.fromkeys(range(30), "done") | {30: "here", 31: "here"}
    assert children() <= before


@pytest.mark.parametrize("begun", [0, 1])
def test_where_no_more_processes_are_to_be_had_the_rest_is_done_here(monkeypatch, begun):
    fork, left = os.fork, iter([True] * begun)

    def few():
        if next(left, False):
            return fork()
        raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")

    before, files = children(), len(list(Path("/proc/self/fd").iterdir()))
    monkeypatch.setattr(module.os, "fork", few)
    found = dict(in_processes([os.getpid] * 40, nothing))
    assert found.keys() == set(range(40))
    assert set(found.values()).isdisjoint({os.getpid()}) == bool(begun)
    assert children() <= before
    assert len(list(Path("/proc/self/fd").iterdir())) == files


def test_who_stops_asking_leaves_no_process():
    before = children()
    asked = in_processes([lambda: 1, *[lambda: time.sleep(60)] * 30], nothing)
    began = time.monotonic()
    assert next(asked) == (0, 1)
    asked.close()
    assert children() <= before
    assert time.monotonic() - began < 30  # nobody waited for those that sleep


def test_nobody_lives_on_when_the_one_that_began_is_killed(tmp_path):
    code = (
        "import os, sys, time\n"
        "from tracker.store import processes as m\n"
        "m._processors = lambda: 2\n"
        "def task():\n"
        f"    open(os.path.join({str(tmp_path)!r}, str(os.getpid())), 'w').close()\n"
        "    time.sleep(0.2)\n"
        "    return bytes(100_000)\n"
        "dict(m.in_processes([task] * 1000, lambda: None))\n"
    )
    begun = subprocess.Popen([sys.executable, "-c", code])
    until = time.monotonic() + 60
    while len(list(tmp_path.iterdir())) < 2 and time.monotonic() < until:
        time.sleep(0.05)
    workers = [int(path.name) for path in tmp_path.iterdir()]
    assert len(workers) == 2
    begun.kill()
    begun.wait()
    while any(map(alive, workers)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(map(alive, workers))


def alive(pid):
    """Whether a process still runs; one that ended and was not taken leave of does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_each_process_reads_objects_by_a_git_of_its_own(tmp_path):
    folder = make_shop(tmp_path / "shop")
    for number in range(40):
        (folder / f"{number}.txt").write_text(f"text {number}\n" * 50)
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "files")
    clone = opened(folder)
    tree = clone.tree()
    assert tree.read("0.txt")  # so that a reading process runs already
    found = dict(in_processes([lambda n=n: tree.read(f"{n}.txt") for n in range(40)], clone.apart))
    assert found == {n: f"text {n}\n".encode() * 50 for n in range(40)}
    assert tree.read("39.txt") == b"text 39\n" * 50  # and the one here goes on
    clone.close()


@pytest.mark.parametrize("answer", ["done", [], None])
def test_one_task_is_done_elsewhere_meanwhile(answer):
    before = children()
    with beside(lambda: (os.getpid(), answer), nothing) as asked:
        assert len(children() - before) == 1
        found = asked()
    assert found[0] != os.getpid()
    assert found[1] == answer
    assert children() <= before


def test_one_task_with_one_processor_is_done_when_it_is_asked_for(monkeypatch):
    monkeypatch.setattr(module, "_processors", lambda: 1)
    done = []
    with beside(lambda: done.append(os.getpid()), nothing) as asked:
        assert done == []
        asked()
    assert done == [os.getpid()]


def test_what_one_task_elsewhere_raises_is_raised_here():
    def fails():
        raise LookupError(f"in {os.getpid()}")

    before = children()
    with beside(fails, nothing) as asked, pytest.raises(LookupError, match=f"in {os.getpid()}"):
        asked()
    assert children() <= before


def test_who_leaves_without_the_answer_leaves_nobody_behind():
    def leaves():
        with beside(lambda: time.sleep(600), nothing):
            assert len(children() - before) == 1
            raise KeyboardInterrupt

    before = children()
    with pytest.raises(KeyboardInterrupt):
        leaves()
    assert children() <= before


def test_where_no_process_is_to_be_had_one_task_is_done_here(monkeypatch):
    def none():
        raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")

    files = len(list(Path("/proc/self/fd").iterdir()))
    monkeypatch.setattr(module.os, "fork", none)
    with beside(os.getpid, nothing) as asked:
        assert asked() == os.getpid()
    assert len(list(Path("/proc/self/fd").iterdir())) == files


def test_many_records_are_parsed_elsewhere_and_are_the_same(shop, monkeypatch):
    for number in range(40):
        folder = shop / f"jobs/{number}/records"
        folder.mkdir(parents=True)
        text = "format = 1\nevent = 'hold'" if number == 7 else ran(number)
        (folder / "20260311T091502Z-ran-MILL1-ss.toml").write_text(text)
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "forty records")
    whole = opened(shop).ledger()
    assert (len(whole.records), len(whole.unreadable)) == (39, 1)
    parsed = []
    apart = opened(shop)
    monkeypatch.setattr("tracker.store.ledger._MANY", 40)
    monkeypatch.setattr("tracker.store.ledger._LOT", 3)
    monkeypatch.setattr("tracker.store.ledger._parse", seen(ledger_module._parse, parsed))
    found = apart.ledger()
    assert parsed == []
    assert (found.records, found.unreadable) == (whole.records, whole.unreadable)
    monkeypatch.setattr("tracker.store.ledger._MANY", 41)
    assert opened(shop).ledger().records == whole.records
    assert len(parsed) == 40


def ran(number):
    """A record of a run, as a file."""
    return dump_record(
        RanRecord(
            job=str(number),
            operation="op10",
            revision="r0001-7f3a09c2",
            at=AT,
            entered=AT,
            by="ss",
            operation_fingerprint="0" * 64,
            machine="MILL1",
            lot=f"L{number}",
        )
    ).decode()


def seen(parse, parsed):
    """The same, noting in this process what was parsed."""

    def noted(*words, **more):
        parsed.append(words)
        return parse(*words, **more)

    return noted
