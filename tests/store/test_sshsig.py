"""Envelopes of SSH signatures: against ssh-keygen both ways, against RFC 8032, and under hostile bytes."""

import base64
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.frozen import replace
from tracker.records.public_keys import key_line, public_key, same_key
from tracker.store import sshsig
from tracker.store.sshsig import BEGIN, END, LIMIT, BadSignatureError, Envelope, encode, parse, string, verify

NAMESPACE = "proof@proveout"
MESSAGE = b'format = 1\nevent = "proof"\n'
# RFC 8032 section 7.1, tests 1 to 3: public key, message, signature
RFC_8032 = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


def keygen(folder: Path, kind: str = "ed25519", name: str = "key", *words: str) -> Path:
    path = folder / name
    subprocess.run(
        ["ssh-keygen", "-q", "-t", kind, "-N", "", "-C", "np", "-f", path, *words],
        check=True,
        capture_output=True,
    )
    return path


def keygen_sign(key: Path, message: bytes = MESSAGE, *words: str) -> bytes:
    command = ["ssh-keygen", "-Y", "sign", "-f", key, "-n", NAMESPACE, *words]
    return subprocess.run(command, input=message, check=True, capture_output=True).stdout


def keygen_accepts(folder: Path, armoured: bytes, message: bytes = MESSAGE) -> bool:
    signature = folder / "one.sig"
    signature.write_bytes(armoured)
    command = ["ssh-keygen", "-Y", "check-novalidate", "-n", NAMESPACE, "-s", signature]
    return subprocess.run(command, input=message, check=False, capture_output=True).returncode == 0


def made_by(seed: bytes, message: bytes = MESSAGE, namespace: str = NAMESPACE) -> bytes:
    """A signature put together here, with a key of the cryptography package."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    secret = Ed25519PrivateKey.from_private_bytes(seed)
    blob = string(b"ssh-ed25519") + string(secret.public_key().public_bytes_raw())
    open_one = Envelope(public_key=blob, namespace=namespace, hash_name="sha512", signature=b"")
    raw = secret.sign(sshsig.signed_bytes(message, open_one))
    return encode(replace(open_one, signature=string(b"ssh-ed25519") + string(raw)))


GOOD = made_by(b"\x07" * 32)


@pytest.mark.parametrize(("key", "message", "signature"), RFC_8032)
def test_the_vectors_of_rfc_8032(key, message, signature):
    blob = string(b"ssh-ed25519") + string(bytes.fromhex(key))
    good = sshsig._verifier(blob)
    assert good(bytes.fromhex(signature), bytes.fromhex(message), "")
    assert not good(bytes.fromhex(signature), bytes.fromhex(message) + b"\0", "")
    wrong = bytearray(bytes.fromhex(signature))
    wrong[0] ^= 1
    assert not good(bytes(wrong), bytes.fromhex(message), "")


@pytest.mark.parametrize(
    ("kind", "words"),
    [("ed25519", ()), ("ecdsa", ("-b", "256")), ("rsa", ("-b", "2048"))],
)
def test_what_ssh_keygen_signs_is_verified_here(tmp_path, outside_program, kind, words):
    outside_program("ssh-keygen")
    key = keygen(tmp_path, kind, "key", *words)
    armoured = keygen_sign(key)
    line = verify(MESSAGE, armoured, NAMESPACE)
    assert same_key(line, key.with_suffix(".pub").read_text("ascii").strip())
    assert encode(parse(armoured)) == armoured
    with pytest.raises(BadSignatureError, match="does not belong to these bytes"):
        verify(MESSAGE + b" ", armoured, NAMESPACE)


def test_sha256_as_the_hash(tmp_path, outside_program):
    outside_program("ssh-keygen")
    armoured = keygen_sign(keygen(tmp_path), MESSAGE, "-O", "hashalg=sha256")
    assert parse(armoured).hash_name == "sha256"
    assert verify(MESSAGE, armoured, NAMESPACE).startswith("ssh-ed25519 ")


def test_what_is_put_together_here_is_accepted_by_ssh_keygen(tmp_path, outside_program):
    outside_program("ssh-keygen")
    assert keygen_accepts(tmp_path, GOOD)
    assert not keygen_accepts(tmp_path, GOOD, MESSAGE + b" ")
    allowed = tmp_path / "allowed"
    allowed.write_text(
        f'np@shop.example namespaces="*@proveout" {verify(MESSAGE, GOOD, NAMESPACE)}\n', "ascii"
    )
    command = ["ssh-keygen", "-Y", "verify", "-f", allowed, "-I", "np@shop.example", "-n", NAMESPACE]
    done = subprocess.run(
        [*command, "-s", tmp_path / "one.sig"], input=MESSAGE, check=False, capture_output=True
    )
    assert done.returncode == 0, done.stderr


def test_another_namespace_is_refused_here_and_by_ssh_keygen(tmp_path, outside_program):
    outside_program("ssh-keygen")
    other = made_by(b"\x07" * 32, namespace="file")
    with pytest.raises(BadSignatureError, match="was made for file, not for proof@proveout"):
        verify(MESSAGE, other, NAMESPACE)
    assert not keygen_accepts(tmp_path, other)


def body(*parts: bytes, version: int = 1, magic: bytes = b"SSHSIG") -> bytes:
    return magic + version.to_bytes(4, "big") + b"".join(string(part) for part in parts)


def armour(data: bytes) -> bytes:
    return BEGIN + base64.b64encode(data) + b"\n" + END + b"\n"


ENVELOPE = parse(GOOD)
PARTS = (ENVELOPE.public_key, NAMESPACE.encode(), b"", b"sha512", ENVELOPE.signature)
SHORT = string(b"ssh-ed25519") + string(b"\1" * 63)


def with_part(place: int, part: bytes) -> bytes:
    return body(*PARTS[:place], part, *PARTS[place + 1 :])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (body(*PARTS, magic=b"SSHSIX"), "is no SSH signature"),
        (body(*PARTS, version=2), "is of version 2"),
        (body(*PARTS, version=0), "is of version 0"),
        (body(*PARTS[:4]), "is cut off"),
        (body(*PARTS)[:-1], "is cut off"),
        (body(*PARTS) + b"\0", "has bytes behind its end"),
        (b"SSHSIG\0\0\0\1\xff\xff\xff\xff", "is cut off"),
        (with_part(1, b""), "names no namespace"),
        (with_part(1, b"\xff\xfe"), "no text"),
        (with_part(2, b"x"), "reserved part"),
        (with_part(3, b"sha1"), "uses the hash sha1"),
        (with_part(3, b""), "uses the hash nothing"),
        (with_part(4, b""), "is cut off"),
        (with_part(4, string(b"ssh-ed25519") + string(b"\1" * 64) + b"x"), "bytes behind its end"),
        (with_part(4, string(b"ssh-rsa") + string(b"\1" * 64)), "is of the kind ssh-rsa"),
        (with_part(4, SHORT), "does not belong to these bytes"),
        (with_part(4, string(b"ssh-ed25519") + string(b"\0" * 64)), "does not belong to these bytes"),
        (with_part(0, string(b"ssh-ed25519") + string(b"\1" * 31)), "wrong length"),
        (with_part(0, string(b"ssh-ed25519")), "is cut off"),
        (
            with_part(0, string(b"sk-ssh-ed25519@openssh.com") + string(b"\1" * 32) + string(b"ssh:")),
            "is not verified: a key of the kind sk-ssh-ed25519@openssh.com",
        ),
        (with_part(0, b""), "is not verified: a key of the kind nothing"),
    ],
)
def test_hostile_envelopes_are_refused_with_a_reason(data, words):
    with pytest.raises(BadSignatureError, match=words):
        verify(MESSAGE, armour(data), NAMESPACE)


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"\n",
        GOOD[:-20],
        b" " + GOOD,
        GOOD + b"x",
        GOOD + b"\n\n",
        GOOD + GOOD,
        GOOD.replace(b"\n", b"\r\n"),
        GOOD.replace(b"SSH SIGNATURE", b"PGP SIGNATURE"),
        BEGIN + b"****\n" + END,
        BEGIN + END,
        b"A" * (LIMIT + 1),
        BEGIN + b"A" * (1 << 22) + b"\n" + END,
    ],
)
def test_what_is_no_armoured_signature(text):
    with pytest.raises(BadSignatureError):
        verify(MESSAGE, text, NAMESPACE)


def test_the_example_of_protocol_sshsig_lacks_its_hash_and_is_refused():
    """PROTOCOL.sshsig (2020), section 2: the armoured example has no hash_algorithm; ssh-keygen refuses it too."""
    with pytest.raises(BadSignatureError, match="is cut off"):
        parse(armour(body(ENVELOPE.public_key, b"foo", b"", ENVELOPE.signature)))


def test_broken_keys_of_other_kinds():
    for key, signature, words in [
        (
            string(b"ecdsa-sha2-nistp256") + string(b"nistp384") + string(b"\4" + b"\1" * 64),
            string(b"ecdsa-sha2-nistp256") + string(string(b"\1") + string(b"\1")),
            "another curve",
        ),
        (
            string(b"ecdsa-sha2-nistp256") + string(b"nistp256") + string(b"\4" + b"\1" * 64),
            string(b"ecdsa-sha2-nistp256") + string(string(b"\1") + string(b"\1")),
            "a key that is none",
        ),
        (
            string(b"ssh-rsa") + string(b"\1\0\1") + string(b"\x7f" * 64),
            string(b"rsa-sha2-512") + string(b"\1" * 64),
            "fewer than 2048 bits",
        ),
        (
            string(b"ssh-rsa") + string(b"\2") + string(b"\0" + b"\xff" * 256),
            string(b"rsa-sha2-512") + string(b"\1" * 256),
            "a key that is none",
        ),
    ]:
        data = body(key, NAMESPACE.encode(), b"", b"sha512", signature)
        with pytest.raises(BadSignatureError, match=words):
            verify(MESSAGE, armour(data), NAMESPACE)


@given(st.binary(max_size=400))
def test_any_bytes_end_in_a_fault(data):
    for text in (data, armour(data), armour(b"SSHSIG\0\0\0\1" + data)):
        with pytest.raises(BadSignatureError):
            verify(MESSAGE, text, NAMESPACE)


@given(st.data())
def test_one_changed_byte_never_passes(data):
    raw = bytearray(body(*PARTS))
    place = data.draw(st.integers(0, len(raw) - 1))
    raw[place] ^= data.draw(st.integers(1, 255))
    with pytest.raises(BadSignatureError):
        verify(MESSAGE, armour(bytes(raw)), NAMESPACE)


@given(st.integers(0, len(GOOD) - 2))
def test_a_signature_cut_anywhere_is_refused(end):
    with pytest.raises(BadSignatureError):
        verify(MESSAGE, GOOD[:end], NAMESPACE)


@given(st.binary(max_size=80), st.text(min_size=1, max_size=20), st.binary(max_size=80))
def test_taken_apart_and_put_together_again(key, namespace, signature):
    try:
        namespace.encode()
    except UnicodeEncodeError:
        return
    there = Envelope(public_key=key, namespace=namespace, hash_name="sha256", signature=signature)
    assert parse(encode(there)) == there


def test_keys_as_people_write_them():
    line = verify(MESSAGE, GOOD, NAMESPACE)
    assert same_key(line, f"{line} np at the office")
    assert not same_key(line, key_line(string(b"ssh-ed25519") + string(b"\1" * 32)))
    for text, words in [
        ("", "is no public key"),
        ("ssh-ed25519", "is no public key"),
        ("ssh-ed25519 AAAA...", "not what a .pub file holds"),
        (line[:-8], "is cut off"),
        (line.replace("ssh-ed25519", "ssh-rsa"), "of the kind ssh-rsa"),
        (f"{line}\nssh-ed25519 x", "is no public key"),
        ("ssh-dss " + base64.b64encode(string(b"ssh-dss")).decode(), "which is not verified here"),
        (key_line(string(b"ssh-ed25519") + string(b"\1" * 31)), "is cut off"),
    ]:
        found = public_key(text)
        assert isinstance(found, str), text
        assert words in found
    assert not same_key("nonsense", "nonsense")
