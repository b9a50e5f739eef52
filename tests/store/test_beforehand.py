"""Blobs read before they are asked for: the same bytes, and what cannot be read is found by whoever asks."""

import hashlib
import sys
import threading
import time
import zlib

import pytest

from tests.store.shop_repo import git, opened, write
from tracker.errors import CouldNot
from tracker.store import beforehand
from tracker.store.beforehand import Beforehand

LONG = b"G01 X1. Y2.\n" * 20_000
"""More than a pipe holds, and more than what is kept of small files."""


@pytest.fixture
def programs(shop):
    """A repository with five long programs, and their blobs by path."""
    texts = {f"jobs/1/op10/O{place}.nc": b"O%d\n" % place + LONG for place in range(1, 6)}
    for path, text in texts.items():
        write(shop, path, text.decode())
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "programs")
    return shop, {git(shop, "rev-parse", f"HEAD:{path}"): text for path, text in texts.items()}


def forge(shop, blob, content):
    path = shop / ".git" / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(content)


def test_what_is_expected_is_told_before_it_is_had_and_is_the_same(programs):
    shop, texts = programs
    told = []
    objects = opened(shop).objects
    objects.expect(
        Beforehand(opened(shop).git, texts, lambda data: told.append(hashlib.sha256(data).hexdigest()))
    )
    for blob, text in reversed(texts.items()):
        assert objects.blob(blob) == text
        assert hashlib.sha256(text).hexdigest() in told
    assert objects.blob(next(iter(texts))) == next(iter(texts.values()))  # taken already: read again
    assert len(told) == 5
    objects.close()


def test_a_clone_knows_what_expected_programs_say_when_they_are_read(programs):
    shop, texts = programs
    clone, commit = opened(shop), git(shop, "rev-parse", "HEAD")
    paths = [f"jobs/1/op10/O{place}.nc" for place in range(1, 6)]
    clone.expect([(commit, path) for path in [*paths, "jobs/1/op10/O9.nc"]])
    assert clone.tree(commit).read(paths[0]) == next(iter(texts.values()))
    assert clone.program_facts()[hashlib.sha256(next(iter(texts.values()))).hexdigest()].numbers == (1,)
    assert clone.tree(commit).read("jobs/1/op10/O9.nc") is None
    clone.close()


@pytest.mark.parametrize(
    "content",
    [b"rubbish", zlib.compress(b"blob 6\0forged"), zlib.compress(b"blob %d\0" % (2 * len(LONG)) + LONG)],
    ids=["no object", "another text", "shorter than it says"],
)
def test_damage_is_met_by_whoever_asks_and_stops_no_other(programs, content):
    shop, texts = programs
    bad = list(texts)[2]
    forge(shop, bad, content)
    objects = opened(shop).objects
    objects.expect(Beforehand(opened(shop).git, texts, len))
    for blob, text in texts.items():
        if blob == bad:
            with pytest.raises(CouldNot) as caught:
                objects.blob(blob)
            assert caught.value.name == "damaged"
        else:
            assert objects.blob(blob) == text
    objects.close()


def test_what_looking_at_a_text_raises_keeps_nobody_from_having_it(programs):
    shop, texts = programs

    def told(data):
        raise ValueError(len(data))

    objects = opened(shop).objects
    objects.expect(Beforehand(opened(shop).git, texts, told))
    assert [objects.blob(blob) for blob in texts] == list(texts.values())
    objects.close()


def test_reading_can_be_ended_while_it_goes_on_and_begun_anew(programs):
    shop, texts = programs
    objects = opened(shop).objects
    objects.expect(Beforehand(opened(shop).git, texts, lambda _: time.sleep(0.05)))
    objects.expect(Beforehand(opened(shop).git, texts, len))
    assert objects.blob(list(texts)[-1]) == list(texts.values())[-1]
    objects.close()
    assert objects.blob(list(texts)[-2]) == list(texts.values())[-2]
    objects.close()


def test_no_more_is_read_than_may_be_kept_until_somebody_takes_or_waits(programs, monkeypatch):
    shop, texts = programs
    monkeypatch.setattr(beforehand, "KEPT_BYTES", 1)
    seen = []
    objects = opened(shop).objects
    coming = Beforehand(opened(shop).git, texts, lambda data: seen.append(len(data)))
    objects.expect(coming)
    first, second, *_, last = texts
    assert objects.blob(first) == texts[first]
    assert objects.blob(second) == texts[second]
    while coming._thread.is_alive() and not coming._changed._waiters:
        time.sleep(0.01)
    assert coming._thread.is_alive()  # it waits, and has not come to its end
    assert len(seen) <= 3
    assert coming._kept <= max(map(len, texts.values()))
    assert objects.blob(last) == texts[last]  # all before it are read for its sake, and nobody waits for ever
    assert len(seen) == 5
    objects.close()


def test_bytes_that_were_taken_are_held_no_longer(programs):
    shop, texts = programs
    coming = Beforehand(opened(shop).git, texts, len)
    for blob in texts:
        assert coming.take(blob).data == texts[blob]
    coming.end()
    assert coming._kept == 0


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent like that there")
def test_a_git_the_key_ended_is_no_fault_of_the_thread(programs, ended_by_the_key, monkeypatch):
    """The thread that asks hears of Ctrl-C itself; this one has nobody to tell, and shows nothing of it on the screen."""
    shop, texts = programs
    told = []
    monkeypatch.setattr(threading, "excepthook", told.append)
    clone = opened(shop)
    ended_by_the_key()
    coming = Beforehand(clone.git, texts, lambda data: data)
    assert [coming.take(blob) for blob in texts] == [None] * len(texts)
    coming.end()
    assert told == []
