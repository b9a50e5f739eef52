"""Facts of texts read ahead: the very bytes are known again, other bytes are hashed."""

import pytest

from tracker.services import program_facts
from tracker.services.program_facts import FactsRead, facts_of

TEXT = b"%\nO1001\nM98 P1002\nM30\n%\n"


@pytest.fixture
def hashed(monkeypatch) -> list[bytes]:
    seen = []
    real = program_facts.sha256_of
    monkeypatch.setattr(program_facts, "sha256_of", lambda data: (seen.append(data), real(data))[1])
    return seen


def test_the_very_bytes_are_known_once_without_hashing_them_again(hashed):
    kept = FactsRead()
    kept.read_ahead(TEXT)
    assert facts_of(TEXT, kept) == facts_of(bytes(bytearray(TEXT)), {})
    assert len(hashed) == 2  # read ahead, and the copy
    assert facts_of(TEXT, kept).numbers == (1001,)
    assert len(hashed) == 3


def test_equal_bytes_elsewhere_and_other_bytes_are_hashed(hashed):
    kept = FactsRead()
    kept.read_ahead(TEXT)
    copy, other = bytes(bytearray(TEXT)), TEXT.replace(b"1001", b"1003")
    assert facts_of(copy, kept).raw_sha256 == facts_of(TEXT, {}).raw_sha256
    assert facts_of(other, kept).numbers == (1003,)
    assert [copy, other] == [data for data in hashed if data is copy or data is other]


def test_no_more_than_so_many_texts_are_held(monkeypatch):
    monkeypatch.setattr(program_facts, "_HELD", 2)
    kept = FactsRead()
    texts = [b"O%d\nM30\n" % number for number in range(1, 6)]
    for text in texts:
        kept.read_ahead(text)
    assert [kept.taken(text) is not None for text in texts] == [True, True, False, False, False]
    assert [facts_of(text, kept).numbers for text in texts] == [(1,), (2,), (3,), (4,), (5,)]
