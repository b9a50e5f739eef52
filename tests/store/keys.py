"""SSH keys made for a test, in a folder of its own, and a shop that lists them."""

import subprocess
from pathlib import Path

from tests.store.shop_repo import SHOP, git, write

OPTIONAL, REQUIRED = "optional", "required"


def make_key(
    folder: Path, name: str = "kp", *words: str, kind: str = "ed25519", passphrase: str = ""
) -> Path:
    """The file of a new private key; its public half lies beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    command = ["ssh-keygen", "-q", "-t", kind, "-N", passphrase, "-C", "a remark", "-f", path, *words]
    subprocess.run(command, check=True, capture_output=True)
    return path


def line_of(key: Path) -> str:
    """The line of its public half."""
    return key.with_name(key.name + ".pub").read_text(encoding="ascii").strip()


def list_keys(shop: Path, *lines: str, policy: str = OPTIONAL, text: str = SHOP) -> None:
    """Commit a shop.toml in which Kim Pine has these keys."""
    keys = "keys = [" + ", ".join(f'"{line}"' for line in lines) + "]\n"
    after = text.replace('email = "kim@shop.example"\n', 'email = "kim@shop.example"\n' + keys)
    write(shop, "shop.toml", after.replace("[[people]]", f'[policy]\nsignatures = "{policy}"\n[[people]]', 1))
    git(shop, "commit", "-q", "-m", "keys", "--", "shop.toml")


def keep_key(shop: Path, key: Path, who: str = "kp") -> None:
    """This PC's key of a person, as install keeps it."""
    git(shop, "config", f"proveout.{who}.key", str(key))


def allowed(folder: Path, *rows: str) -> Path:
    """A file of allowed signers with these rows."""
    path = folder / "allowed"
    path.write_text("".join(row + "\n" for row in rows), encoding="ascii")
    return path


def keygen_verifies(signers: Path, who: str, namespace: str, message: bytes, signature: bytes) -> bool:
    """What ``ssh-keygen -Y verify`` says."""
    file = signers.with_name("one.sig")
    file.write_bytes(signature)
    command = ["ssh-keygen", "-Y", "verify", "-f", signers, "-I", who, "-n", namespace, "-s", file]
    return subprocess.run(command, input=message, check=False, capture_output=True).returncode == 0
