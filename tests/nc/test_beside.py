"""Digests made in a thread of their own are the digests made in front."""

import hashlib
import subprocess
import sys
import threading

import pytest

from tracker.digest import Sha256
from tracker.nc import beside, fingerprint, scan_quick
from tracker.nc.beside import AHEAD, Beside

PIECES = [bytes([at % 251]) * (1 + 37 * at % 4096) for at in range(400)]


@pytest.fixture
def at_once(monkeypatch):
    """Every piece is handed over, however short."""
    monkeypatch.setattr(beside, "LONG", 0)


def threads():
    return [one for one in threading.enumerate() if one is not threading.main_thread()]


@pytest.mark.parametrize("long", [0, 1, 100_000, 1 << 30])
def test_two_digests_fed_in_turn_wherever_the_thread_begins(monkeypatch, long):
    monkeypatch.setattr(beside, "LONG", long)
    first, second, hand_over = Sha256(), Sha256(b"head"), Beside()
    for piece in PIECES:
        hand_over.update(first, piece)
        hand_over.update(second, piece[::2])
    hand_over.end()
    assert first.hexdigest() == hashlib.sha256(b"".join(PIECES)).hexdigest()
    assert second.hexdigest() == hashlib.sha256(b"head" + b"".join(p[::2] for p in PIECES)).hexdigest()


def test_a_short_program_starts_no_thread(monkeypatch):
    monkeypatch.setattr(threading.Thread, "start", lambda _: pytest.fail("a thread was started"))
    hand_over = Beside()
    hand_over.update(Sha256(), b"G1 X1.\n")
    hand_over.end()


def test_a_fault_in_the_thread_comes_out_at_the_end_and_the_thread_is_gone(at_once):
    class Broken(Sha256):
        def update(self, data):
            raise MemoryError("no room")

    before = len(threads())
    hand_over = Beside()
    for _ in range(3 * AHEAD):  # more than may wait: whoever hands over is not left waiting for ever
        hand_over.update(Broken(), b"G1\n")
    with pytest.raises(MemoryError, match="no room"):
        hand_over.end()
    assert len(threads()) == before


def test_no_more_wait_than_are_allowed_to(at_once):
    gate = threading.Event()
    taken = []

    class Slow(Sha256):
        def update(self, data):
            gate.wait(30)
            taken.append(data)

    hand_over, handed = Beside(), []

    def hand_all():
        for at in range(4 * AHEAD):
            hand_over.update(Slow(), b"%d" % at)
            handed.append(at)

    giver = threading.Thread(target=hand_all)
    giver.start()
    giver.join(0.5)
    assert len(handed) <= AHEAD
    gate.set()
    giver.join(30)
    hand_over.end()
    assert taken == [b"%d" % at for at in range(4 * AHEAD)]


TEXTS = {
    "renumbered": b"%\r\nO1 (A)\r\n" + b"".join(b"N%d G01 X%d.50 (CUT)\r\n" % (n, n) for n in range(3000)) + b"M30\r\n%\r\n",
    "labels that rule the first guess out": b"O1\n" + b"N10 G1 X1.\n" * 2000 + b"M97 P10\nGOTO 10\nM30\n",
    "closing G10 sets": b"G10 L50\nN1 R5\nG11\n" + b"N10 X1.\n" * 2000,
}  # fmt: skip


@pytest.mark.parametrize("data", TEXTS.values(), ids=TEXTS.keys())
@pytest.mark.parametrize("strict", [False, True])
def test_a_program_is_the_same_with_and_without_the_thread(at_once, data, strict):
    chunks = [data[at : at + 777] for at in range(0, len(data), 777)]
    before = len(threads())
    made = scan_quick.identity_of_chunks(lambda: iter(chunks), strict=strict)
    assert made == fingerprint.identity(data, strict=strict)
    assert len(threads()) == before


def test_a_disk_that_fails_half_way_leaves_no_thread_behind(at_once):
    def chunks():
        yield b"G1 X1.\n" * 1000
        raise OSError("the medium is gone")

    before = len(threads())
    with pytest.raises(OSError, match="the medium is gone"):
        scan_quick.identity_of_chunks(chunks)
    assert len(threads()) == before


def test_threads_are_not_loaded_for_a_short_program():
    code = (
        "import sys; from tracker.nc import beside; print('threading' in sys.modules, 'queue' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
