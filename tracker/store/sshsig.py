"""SSH signatures of files: the armoured envelope taken apart, put together, and verified.

The form is OpenSSH's PROTOCOL.sshsig (2020). Everything ssh-keygen writes is read; some of what it reads is refused:
text before or behind the armour, other line ends, a ``reserved`` part that is not empty, bytes behind the end of any
part, SHA-1. Whatever bytes come in, the work is bounded (`LIMIT`), and the answer is a key or a `BadSignatureError`.

Ed25519 (RFC 8032), ECDSA on P-256 and RSA with SHA-2 are verified by the ``cryptography`` package, which is loaded at
the first signature only. Keys in hardware (``sk-...``) are not: what they sign holds more than the message.
"""

import binascii
import sys
from functools import lru_cache
from importlib.util import find_spec

from tracker.errors import CouldNot
from tracker.frozen import dataclass
from tracker.records.public_keys import ECDSA_256, ED25519, KINDS, RSA, first_string, key_line

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from collections.abc import Callable

    Verify = Callable[[bytes, bytes, str], bool]

LIMIT = 16 * 1024
"""A longer text is no signature; an RSA key of 16384 bits stays well below."""
SIGNATURE_RULES = 1
"""Goes up whenever another signature is held good, or found wrong in other words: notes of older rules are then none."""
MAGIC = b"SSHSIG"
VERSION = 1
HASHES = ("sha256", "sha512")
BEGIN, END = b"-----BEGIN SSH SIGNATURE-----\n", b"-----END SSH SIGNATURE-----"
_PACKAGE = "cryptography"
_COLUMNS = 70
_RSA_BITS = range(2048, 16385)
_LENGTH = 4
_ED25519_BYTES = (32, 64)


class BadSignatureError(Exception):
    """Why a signature does not hold, in words that go behind "its signature"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """A signature taken apart: bytes of the public key and of the signature, namespace, name of the hash."""

    public_key: bytes
    namespace: str
    hash_name: str
    signature: bytes


def parse(armoured: bytes) -> Envelope:
    """Take the armoured text apart; raises BadSignatureError."""
    return _parts(_dearmoured(armoured))


def encode(envelope: Envelope) -> bytes:
    """The armoured text, as ssh-keygen writes it."""
    body = MAGIC + VERSION.to_bytes(_LENGTH, "big")
    for part in (
        envelope.public_key,
        envelope.namespace.encode("utf-8"),
        b"",
        envelope.hash_name.encode("ascii"),
        envelope.signature,
    ):
        body += string(part)
    coded = binascii.b2a_base64(body, newline=False)
    lines = (coded[at : at + _COLUMNS] + b"\n" for at in range(0, len(coded), _COLUMNS))
    return BEGIN + b"".join(lines) + END + b"\n"


def verify(message: bytes, armoured: bytes, namespace: str) -> str:
    """The line of the public key (``ssh-ed25519 AAAA...``) that signed ``message`` for ``namespace``.

    Whose key that is, and whether it may, is asked elsewhere.

    Raises BadSignatureError; CouldNot (``no-cryptography``) where the package that verifies is not installed.
    """
    envelope = parse(armoured)
    if envelope.namespace != namespace:
        raise BadSignatureError(f"was made for {_shown(envelope.namespace)}, not for {namespace}")
    kind = (first_string(envelope.public_key) or b"").decode("ascii", "replace")
    if kind not in KINDS:
        raise BadSignatureError(f"is not verified: a key of the kind {_shown(kind)}")
    _, name, raw = _signature(envelope.signature, kind)
    if not _verifier(envelope.public_key)(raw, signed_bytes(message, envelope), name):
        raise BadSignatureError("does not belong to these bytes")
    return key_line(envelope.public_key)


def signed_bytes(message: bytes, envelope: Envelope) -> bytes:
    """What is really signed: namespace, hash and the digest of the message (PROTOCOL.sshsig section 3)."""
    import hashlib

    digest = hashlib.new(envelope.hash_name, message).digest()
    parts = (envelope.namespace.encode("utf-8"), b"", envelope.hash_name.encode("ascii"), digest)
    return MAGIC + b"".join(string(part) for part in parts)


def string(data: bytes) -> bytes:
    """A string as SSH writes it (RFC 4251 section 5)."""
    return len(data).to_bytes(_LENGTH, "big") + data


def _dearmoured(armoured: bytes) -> bytes:
    if len(armoured) > LIMIT:
        raise BadSignatureError(f"is {len(armoured):,} bytes long, and {LIMIT:,} is the most")
    body = armoured.removesuffix(b"\n")
    if not body.startswith(BEGIN) or not body.endswith(b"\n" + END):
        raise BadSignatureError("is no SSH signature: its first or last line is another")
    coded = body[len(BEGIN) : -len(END)].replace(b"\n", b"")
    try:
        return binascii.a2b_base64(coded, strict_mode=True)
    except ValueError as fault:
        raise BadSignatureError("is damaged: its text does not decode") from fault


def _parts(data: bytes) -> Envelope:
    if data[:6] != MAGIC:
        raise BadSignatureError("is no SSH signature")
    version = int.from_bytes(data[6:10], "big")
    if len(data) < 10 or version != VERSION:
        raise BadSignatureError(f"is of version {version}, and only {VERSION} is known")
    key, namespace, reserved, hash_name, signature = _strings(data[10:], 5)
    if not namespace:
        raise BadSignatureError("names no namespace")
    if reserved:
        raise BadSignatureError("has something in its reserved part")
    try:
        name, space = hash_name.decode("ascii"), namespace.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise BadSignatureError("has names that are no text") from fault
    if name not in HASHES:
        raise BadSignatureError(f"uses the hash {_shown(name)}, not {' or '.join(HASHES)}")
    return Envelope(public_key=key, namespace=space, hash_name=name, signature=signature)


def _strings(data: bytes, count: int) -> list[bytes]:
    """Exactly so many strings and nothing behind them."""
    found: list[bytes] = []
    for _ in range(count):
        part = first_string(data) if len(data) >= _LENGTH else None
        if part is None:
            raise BadSignatureError("is cut off")
        found.append(part)
        data = data[_LENGTH + len(part) :]
    if data:
        raise BadSignatureError("has bytes behind its end")
    return found


def _signature(data: bytes, kind: str) -> tuple[str, str, bytes]:
    """Kind of the key, kind of the signature and its bytes; the two kinds must fit."""
    name, raw = _strings(data, 2)
    said = name.decode("ascii", "replace")
    fits = ("rsa-sha2-256", "rsa-sha2-512") if kind == RSA else (kind,)
    if said not in fits:
        raise BadSignatureError(f"is of the kind {_shown(said)}, and the key of the kind {kind}")
    return kind, said, raw


@lru_cache(maxsize=256)
def _verifier(public_key: bytes) -> "Verify":
    """What verifies by this key; a shop has few keys, and to load one takes as long as to verify."""
    kind = (first_string(public_key) or b"").decode("ascii", "replace")
    package_at_hand()
    made = {ED25519: _ed25519, ECDSA_256: _ecdsa, RSA: _rsa}[kind]
    return made(public_key)


def _ed25519(public_key: bytes) -> "Verify":
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    _, raw_key = _strings(public_key, 2)
    if len(raw_key) != _ED25519_BYTES[0]:
        raise BadSignatureError("holds a key of the wrong length")
    key = Ed25519PublicKey.from_public_bytes(raw_key)

    def good(signature: bytes, data: bytes, _: str) -> bool:
        if len(signature) != _ED25519_BYTES[1]:
            return False
        try:
            key.verify(signature, data)
        except InvalidSignature:
            return False
        return True

    return good


def _ecdsa(public_key: bytes) -> "Verify":
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
    from cryptography.hazmat.primitives.hashes import SHA256

    _, curve, point = _strings(public_key, 3)
    if curve != b"nistp256":
        raise BadSignatureError("holds a key on another curve than its name says")
    try:
        key = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    except ValueError as fault:
        raise BadSignatureError("holds a key that is none") from fault

    def good(signature: bytes, data: bytes, _: str) -> bool:
        r, s = (_number(part) for part in _strings(signature, 2))
        try:
            key.verify(encode_dss_signature(r, s), data, ec.ECDSA(SHA256()))
        except InvalidSignature:
            return False
        return True

    return good


def _rsa(public_key: bytes) -> "Verify":
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicNumbers

    _, exponent, modulus = _strings(public_key, 3)
    if _number(modulus).bit_length() not in _RSA_BITS:
        raise BadSignatureError("is by an RSA key of fewer than 2048 bits, or of more than 16384")
    try:
        key = RSAPublicNumbers(_number(exponent), _number(modulus)).public_key()
    except ValueError as fault:
        raise BadSignatureError("holds a key that is none") from fault

    def good(signature: bytes, data: bytes, name: str) -> bool:
        try:
            key.verify(
                signature, data, PKCS1v15(), hashes.SHA256() if name == "rsa-sha2-256" else hashes.SHA512()
            )
        except InvalidSignature:
            return False
        return True

    return good


def _number(part: bytes) -> int:
    """A number as SSH writes it; never below nought here."""
    if not part or part[0] & 0x80 or (part[0] == 0 and not (len(part) > 1 and part[1] & 0x80)):
        raise BadSignatureError("holds a number that is written wrong")
    return int.from_bytes(part, "big")


def package_at_hand() -> None:
    """See to it that ``cryptography`` can be loaded, also from a hook; raises CouldNot (``no-cryptography``).

    Hooks start Python without the folder of installed packages (see `tracker.cli.hook_start`): it is looked for now.
    """
    if find_spec(_PACKAGE) is None:
        import site

        site.main()
        if find_spec(_PACKAGE) is None:
            raise CouldNot(
                "no-cryptography",
                "signatures cannot be verified: the package cryptography is not installed for this Python",
                where=sys.executable,
                fix="install it: pip install cryptography, with the Python above",
            )


def _shown(text: str) -> str:
    """A name out of a signature, short and harmless on a screen."""
    return ascii(text[:40])[1:-1] or "nothing"
