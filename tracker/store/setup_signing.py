"""What this PC keeps for signing in one clone (`tracker.services.ports_sign.SigningSetUp`), on real git and files."""

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from tracker.errors import BadCall, CouldNot
from tracker.store.clone import Clone
from tracker.store.git import path_text
from tracker.store.key_files import read_key_file
from tracker.store.signing import setting_of
from tracker.store.ssh_keygen import program

_FILE = "allowed-signers"


class SigningSite:
    """The part of a set-up that has to do with signatures; ``clone`` is the repository."""

    def __init__(self, clone: Clone) -> None:
        self._clone = clone

    def ssh_keygen(self) -> str | None:
        """Where ssh-keygen is, None where it is not."""
        try:
            return program()
        except CouldNot:
            return None

    def kept_keys(self) -> Mapping[str, str]:
        """The key files this PC keeps: initials -> path. Only this repository's own settings count."""
        pattern = r"^proveout\..+\.key$"
        status, out, _ = self._clone.git.attempt("config", "--local", "-z", "--get-regexp", pattern)
        rows = (row.partition(b"\n") for row in out.split(b"\0") if row) if status == 0 else ()
        pairs = ((path_text(name), path_text(value)) for name, _, value in rows)
        return {name.removeprefix("proveout.").removesuffix(".key"): value for name, value in pairs}

    def key_line(self, path: str) -> str:
        """The public key in a file, as one line."""
        key = read_key_file(Path(path))
        if not key.public_only and self._in_work_folder(Path(path)):
            raise BadCall(
                "key-in-the-shop",
                "this private key lies in the shop's folder: it would go to everybody who has the record",
                where=path,
                fix="move it to a folder of your own, like ~/.ssh; if it was ever committed, make a new one",
            )
        return key.line

    def _in_work_folder(self, path: Path) -> bool:
        return not self._clone.bare and path.resolve().is_relative_to(Path(self._clone.root).resolve())

    def put_key(self, initials: str, path: str) -> None:
        """Keep a person's key file."""
        self._clone.git.run("config", "--local", "--replace-all", setting_of(initials), path)

    def drop_key(self, initials: str) -> None:
        """Forget it; the file stays."""
        self._clone.git.run("config", "--local", "--unset-all", setting_of(initials), ok=(0, 5))

    def signers_path(self) -> str:
        """Where the file of allowed signers belongs."""
        return (self._clone.common_dir / "proveout" / _FILE).as_posix()

    def signers(self) -> str | None:
        """What it holds now, None where there is none."""
        try:
            return Path(self.signers_path()).read_text(encoding="utf-8", errors="replace")
        except FileNotFoundError:
            return None
        except OSError as fault:
            raise _fault(self.signers_path(), fault) from fault

    def put_signers(self, text: str) -> None:
        """Write it, at once."""
        path = Path(self.signers_path())
        temporary = path.with_name(f"{_FILE}.{os.urandom(4).hex()}.part")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            temporary.write_text(text, encoding="utf-8", newline="\n")
            temporary.replace(path)
        except OSError as fault:
            with suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise _fault(str(path), fault) from fault

    def drop_signers(self) -> None:
        """Take it away, if it is there."""
        try:
            Path(self.signers_path()).unlink(missing_ok=True)
        except OSError as fault:
            raise _fault(self.signers_path(), fault) from fault


def _fault(path: str, fault: OSError) -> CouldNot:
    return CouldNot(
        "no-permission" if isinstance(fault, PermissionError) else "not-written",
        f"the file of allowed signers cannot be read or written: {fault.strerror or fault}",
        where=path,
        fix="look at the permissions of that folder",
    )
