"""Signatures of records verified in bulk, beside ssh-keygen doing some of them in the same run.

    python tests/benchmarks/signatures.py [--count 5000] [--peer 50]

Every record has other bytes, and five people sign in turn. Ends with status 1 if one good signature is refused or one
bad one taken; times depend on the machine, and nothing fails by them.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.store.keys import allowed, keygen_verifies
from tracker.records.public_keys import key_line
from tracker.records.signatures import NAMESPACE
from tracker.store.seals import seal
from tracker.store.sshsig import Envelope, encode, signed_bytes, string

KIND = b"ssh-ed25519"
PEOPLE = 5


def made(count: int) -> list[tuple[bytes, bytes, str]]:
    """Records of about a kilobyte, each with its armoured signature and the line of the key."""
    keys = [Ed25519PrivateKey.from_private_bytes(bytes([number + 1]) * 32) for number in range(PEOPLE)]
    found = []
    for number in range(count):
        key, record = keys[number % PEOPLE], f"format = 1\nreason = '{number}'\n".encode() + b"# x\n" * 240
        public = string(KIND) + string(key.public_key().public_bytes_raw())
        blank = Envelope(public_key=public, namespace=NAMESPACE, hash_name="sha512", signature=b"")
        signature = string(KIND) + string(key.sign(signed_bytes(record, blank)))
        whole = Envelope(public_key=public, namespace=NAMESPACE, hash_name="sha512", signature=signature)
        found.append((record, encode(whole), key_line(public)))
    return found


def ours(rows: list[tuple[bytes, bytes, str]]) -> tuple[float, int]:
    """Seconds for all of them, and how many answers are wrong; each record is also held against its neighbour's."""
    began = time.perf_counter()
    wrong = sum(seal(record, armoured, NAMESPACE)[0] != line for record, armoured, line in rows)
    seconds = time.perf_counter() - began
    pairs = pairwise(rows[:101])
    wrong += sum(seal(one[0], other[1], NAMESPACE)[0] is not None for one, other in pairs)
    return seconds, wrong


def peer(rows: list[tuple[bytes, bytes, str]], folder: Path) -> tuple[float, int]:
    """The same by ssh-keygen, a process each."""
    signers = allowed(folder, *sorted({f"x {line}" for _, _, line in rows}))
    began = time.perf_counter()
    wrong = sum(
        not keygen_verifies(signers, "x", NAMESPACE, record, armoured) for record, armoured, _ in rows
    )
    return time.perf_counter() - began, wrong


def main() -> int:
    """Print seconds and the ratio; 1 where an answer is wrong."""
    words = argparse.ArgumentParser()
    words.add_argument("--count", type=int, default=5000)
    words.add_argument("--peer", type=int, default=50)
    said = words.parse_args()
    rows = made(said.count)
    seconds, wrong = ours(rows)
    with tempfile.TemporaryDirectory() as folder:
        theirs, missed = peer(rows[: said.peer], Path(folder))
    each, other = seconds / said.count, theirs / max(1, said.peer)
    print(f"{said.count} signatures: {seconds:.2f} s, {each * 1000:.2f} ms each")
    print(
        f"ssh-keygen -Y verify, {said.peer} of them: {other * 1000:.1f} ms each, {other / each:.0f} times as long"
    )
    return 1 if wrong or missed else 0


if __name__ == "__main__":
    sys.exit(main())
