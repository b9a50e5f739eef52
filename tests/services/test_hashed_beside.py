"""A stick hashed while the records are read: nothing is said otherwise by it, and every fault is still told."""

import hashlib

import pytest

from tests.fakes.disk import MemoryDisk
from tests.fakes.stick_shop import StickShop, edited, exported_shop
from tracker.errors import CouldNot
from tracker.services import hashed_beside as beside
from tracker.services.hashed_beside import hashed_beside
from tracker.services.stick_view import Contents
from tracker.stick.medium import FolderMedium

MAIN = "MILL2/O1001.NC"


@pytest.fixture
def shop(monkeypatch) -> StickShop:
    """The programs of the stick are short; here they count as worth hashing beforehand."""
    monkeypatch.setattr(beside, "SHORT", 1)
    return exported_shop()


def reads(shop, monkeypatch) -> list[tuple[str, str]]:
    """What is read of the stick from here on, and how."""
    seen = []
    for how in ("read", "digest"):
        real = getattr(MemoryDisk, how)

        def told(self, path, how=how, real=real, **more):
            seen.append((how, path))
            return real(self, path, **more)

        monkeypatch.setattr(MemoryDisk, how, told)
    return seen


def test_a_text_as_it_was_exported_is_hashed_and_not_read_besides(shop, monkeypatch):
    seen = reads(shop, monkeypatch)
    verdicts = {one.file: one.verdict for one in shop.collect().files}
    assert verdicts[MAIN] == "as-exported"
    assert [how for how, path in seen if path == MAIN] == ["digest", "read"]  # the fake's digest reads it


def test_the_verdicts_are_those_of_reading_every_file(shop, monkeypatch):
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F18."))
    shop.files["MILL2/NOTE.NC"] = b"%\r\nO7777\r\nM30\r\n%\r\n"
    said = []
    for short in (1, 1 << 30):
        monkeypatch.setattr(beside, "SHORT", short)
        here = shop.copy()
        said.append(
            {one.file: (one.verdict, one.message, one.sha256, one.kinds) for one in here.collect().files}
        )
    assert said[0] == said[1]
    verdicts = {name: found[0] for name, found in said[0].items()}
    assert verdicts[MAIN] == "as-exported"
    assert verdicts["MILL2/O1003.NC"] == "changed-code"
    assert verdicts["MILL2/NOTE.NC"] == "unknown"
    assert said[0][MAIN][2] == hashlib.sha256(shop.files[MAIN]).hexdigest()


def test_a_file_that_cannot_be_hashed_is_damaged_and_the_others_are_told(shop):
    shop.disk.fails["read MILL2/O1002.NC"] = OSError(5, "input/output error")
    verdicts = {one.file: one.verdict for one in shop.collect().files}
    assert verdicts["MILL2/O1002.NC"] == "damaged"
    assert verdicts[MAIN] == "as-exported"


def test_what_is_asked_beside_is_what_would_be_read(shop):
    contents = Contents.of(shop.medium, shop.shaper)
    with hashed_beside(contents):
        assert set(contents.coming) == {one.path for one in contents.files()}
        assert contents.digest(MAIN) == hashlib.sha256(shop.files[MAIN]).hexdigest()
    assert not contents.coming


def test_a_fault_comes_up_where_the_digest_is_asked_for(shop):
    shop.disk.fails["read " + MAIN] = OSError(5, "input/output error")
    contents = Contents.of(FolderMedium(shop.disk, "BLUE-1"), shop.shaper)
    with hashed_beside(contents), pytest.raises(CouldNot) as caught:
        contents.digest(MAIN)
    assert caught.value.name == "unreadable-file"


def test_a_fault_of_the_records_ends_the_hashing(shop):
    contents = Contents.of(shop.medium, shop.shaper)
    with pytest.raises(CouldNot), hashed_beside(contents):
        raise CouldNot("damaged", "the records")
    assert not contents.coming
    assert contents.digest(MAIN) == hashlib.sha256(shop.files[MAIN]).hexdigest()
