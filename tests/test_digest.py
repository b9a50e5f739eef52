import hashlib
import subprocess
import sys
import types

import pytest

from tracker import digest
from tracker.digest import Sha256, sha1_of, sha256_of

EDGE = digest._SHORT
SIZES = (0, 1, 63, 64, 1000, EDGE - 1, EDGE, EDGE + 1, 3 * EDGE)


@pytest.fixture(params=["own", "loaded", "after much"], autouse=True)
def whose(request, monkeypatch):
    """Python's own digests, OpenSSL's since somebody has loaded it, and OpenSSL's after many short texts."""
    monkeypatch.setattr(digest, "_hashed", digest._MUCH + 1 if request.param == "after much" else 0)
    if request.param != "loaded":
        monkeypatch.setattr(digest, "sys", types.SimpleNamespace(modules={}))
    return request.param


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


@pytest.mark.parametrize(("times", "loaded"), [(1, False), (30, True)])
def test_openssl_comes_when_there_is_much_to_hash(times, loaded):
    """A short call must not pay for loading it; a long one must not go without it."""
    code = (
        "import sys\nfrom tracker.digest import sha1_of, sha256_of, Sha256\n"
        f"for _ in range({times}):\n    sha1_of(b'x' * 20_000)\n    sha256_of(b'x' * 20_000)\n    Sha256(b'x' * 20_000)\n"
        "print('hashlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str(loaded)
