"""``ssh-keygen -Y sign``, called so that it neither hangs nor asks where nobody can answer.

What is signed goes through files of a folder of its own: its standard input is the person's terminal, where it asks for
a passphrase. A locked key is tried through the agent first. Without a terminal it is started in a session of its own,
so that it finds none to wait at.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tracker.errors import CouldNot
from tracker.records.public_keys import same_key
from tracker.store.key_files import KeyFile
from tracker.store.sshsig import BadSignatureError, verify

_PROGRAM = "ssh-keygen"
_SECONDS_ALONE = 60


def program() -> str:
    """Full path of ssh-keygen; raises CouldNot (``no-ssh-keygen``)."""
    found = shutil.which(_PROGRAM)
    if found is None or not Path(found).is_absolute():  # on Windows the folder in hand would count, too
        raise CouldNot(
            "no-ssh-keygen",
            "ssh-keygen is not installed, or not in PATH: nothing can be signed",
            fix="install OpenSSH 8.2 or newer (git for Windows brings it along) and open a new terminal",
        )
    return found


def sign(key: KeyFile, texts: Sequence[bytes], namespace: str, *, may_ask: bool) -> list[bytes]:
    """The armoured signatures of these texts, each verified.

    Raises CouldNot: ``key-locked``, ``no-ssh-keygen``, ``not-written``, ``not-signed-by-key``, ``no-cryptography``.
    """
    try:
        with tempfile.TemporaryDirectory(prefix="proveout-sign-") as folder:
            made = _made(Path(folder), key, texts, namespace, may_ask=may_ask)
    except OSError as fault:
        raise CouldNot(
            "not-written",
            f"nothing can be signed: {fault.strerror or fault}",
            where=tempfile.gettempdir(),
            fix="look at the free space and the permissions of that folder",
        ) from fault
    for text, armoured in zip(texts, made, strict=True):
        try:
            by = verify(text, armoured, namespace)
        except BadSignatureError as fault:
            raise _failed(key, f"the signature that was made {fault}") from fault
        if not same_key(by, key.line):
            raise _failed(key, "it was signed by another key: its .pub file belongs to another one")
    return made


def _made(
    folder: Path, key: KeyFile, texts: Sequence[bytes], namespace: str, *, may_ask: bool
) -> list[bytes]:
    names = [folder / f"{at}.txt" for at in range(len(texts))]
    for name, text in zip(names, texts, strict=True):
        name.write_bytes(text)
    public = folder / "key.pub"
    public.write_text(key.line + "\n", encoding="ascii")
    signed = [name.with_name(name.name + ".sig") for name in names]
    said = ""
    for path in _ways(key, public):
        for old in signed:
            old.unlink(missing_ok=True)
        status, said = _run(path, namespace, names, may_ask=may_ask)
        if status == 0 and all(name.is_file() for name in signed):
            return [name.read_bytes() for name in signed]
    raise _why_not(key, said, may_ask=may_ask)


def _ways(key: KeyFile, public: Path) -> list[str]:
    """The files to name: the public half stands for the agent, which is asked first where it may spare a question."""
    agent = [str(public)] if key.public_only or (key.locked and os.environ.get("SSH_AUTH_SOCK")) else []
    return agent + ([] if key.public_only else [key.path])


def _run(path: str, namespace: str, names: Sequence[Path], *, may_ask: bool) -> tuple[int, str]:
    """Exit status and what it said; on a terminal its question goes there, past us."""
    command = [program(), "-q", "-Y", "sign", "-f", path, "-n", namespace, *map(str, names)]
    env = {**os.environ, "LC_ALL": "C"}
    if not may_ask:
        env["SSH_ASKPASS_REQUIRE"] = "never"
        env.pop("SSH_ASKPASS", None)
    try:
        done = subprocess.run(
            command,
            stdin=None if may_ask else subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            env=env,
            check=False,
            start_new_session=not may_ask and sys.platform != "win32",
            timeout=None if may_ask else _SECONDS_ALONE,
        )
    except subprocess.TimeoutExpired:
        return 1, "it did not come to an end"
    return done.returncode, done.stderr.decode("utf-8", "replace").strip()


def _why_not(key: KeyFile, said: str, *, may_ask: bool) -> CouldNot:
    lowered = said.lower()
    if "permissions" in lowered and "too open" in lowered:
        return _failed(key, "others may read it, so ssh-keygen does not use it", fix="chmod 600 on that file")
    if key.locked:
        why = (
            "its passphrase was not right" if may_ask else "it asks for a passphrase, and no terminal is here"
        )
        return CouldNot(
            "key-locked",
            f"nothing was signed with this key: {why}",
            where=key.path,
            fix="run it on a terminal and type the passphrase; or load the key once: ssh-add FILE",
        )
    if key.public_only:
        return CouldNot(
            "key-locked",
            "nothing was signed: no agent holds the private half of this key",
            where=key.path,
            fix="load it: ssh-add FILE; or name the file of the private key",
        )
    return _failed(key, next(iter(said.splitlines()), "ssh-keygen did not say why"))


def _failed(
    key: KeyFile, why: str, *, fix: str = "look at the file of the key; ssh-keygen -y -f FILE reads it"
) -> CouldNot:
    return CouldNot(
        "not-signed-by-key",
        f"nothing was signed with this key: {why}",
        where=key.path,
        fix=fix,
    )
