import hashlib

import pytest

from tracker import digest
from tracker.digest import Sha256, sha1_of, sha256_of

EDGE = digest._SHORT
SIZES = (0, 1, 63, 64, 1000, EDGE - 1, EDGE, EDGE + 1, 3 * EDGE)


@pytest.mark.parametrize("size", SIZES)
def test_digests_are_those_of_the_standard_library(size):
    data = bytes(range(256)) * (size // 256) + bytes(range(size % 256))
    assert sha256_of(data) == hashlib.sha256(data).hexdigest()
    assert sha1_of(data) == hashlib.sha1(data).hexdigest()


def test_published_examples():
    # FIPS 180-4 examples, as published by NIST beside it: SHA-256 and SHA-1 of "abc"
    assert sha256_of(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha1_of(b"abc") == "a9993e364706816aba3e25717850c26c9cd0d89d"


@pytest.mark.parametrize("piece", [1, 1000, EDGE - 1, EDGE, EDGE + 1])
def test_pieces_make_the_same_as_the_whole(piece):
    data = b"G1 X1.5\n" * 20_000
    sha = Sha256(data[:5])
    for at in range(5, len(data), piece if piece > 1 else 997):
        sha.update(data[at : at + (piece if piece > 1 else 997)])
    assert sha.hexdigest() == sha.hexdigest() == hashlib.sha256(data).hexdigest()
