"""``backup``: the whole record as one file elsewhere, read back before it is called done, with words how to restore it."""

import re
from dataclasses import dataclass

from tracker.clock import file_stamp, utc_text
from tracker.errors import ProveoutError
from tracker.services.desk import Desk
from tracker.services.ports_backup import Bundle, LastBackup, Vault

_NAME = re.compile(r"[^A-Za-z0-9]+")

_FOLDER_TOO = """   Branches of the shared repository hold records that no branch here does, a hold perhaps; they count too:
     git -C restored fetch origin "refs/remotes/*:refs/remotes/from-backup/*"
"""
_SERVER_TOO = """     git -C restored.git fetch . "refs/remotes/*:refs/heads/from-backup/*"
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupReport:
    """A backup that was made: the file, the words beside it, and when (RFC 3339)."""

    bundle: Bundle
    words: str
    at: str


def backup(desk: Desk, vault: Vault) -> BackupReport:
    """Make a backup, also of a record whose shop.toml is wrong; raises as `Vault.keep` does."""
    now = desk.clock.now()
    at = utc_text(now)
    shop = _shop(desk)
    name = f"{_NAME.sub('-', shop).strip('-').lower() or 'shop'}-{file_stamp(now)}"
    bundle = vault.keep(name, lambda made: restore_words(shop, name, at, made))
    vault.note(LastBackup(at=now, path=bundle.path))
    return BackupReport(bundle=bundle, words=f"{name}.txt", at=at)


def _shop(desk: Desk) -> str:
    try:
        return desk.repo.tree().shop().name
    except ProveoutError:
        return "shop"


def restore_words(shop: str, name: str, at: str, bundle: Bundle) -> str:
    """How to get everything back with plain git; ASCII where the shop's name is."""
    folder, server = (_FOLDER_TOO, _SERVER_TOO) if bundle.beside else ("", "")
    return f"""Backup of the record of {shop}
made {at}

File:       {name}.bundle
SHA-256:    {bundle.sha256}
Bytes:      {bundle.size}
References: {bundle.references} (branches, tags and whatever else git keeps by name)

To restore it, on any PC with git (git-scm.com), nothing else is needed:

1. Copy both files to a disk of that PC and open a terminal there.
2. Is the file whole? The SHA-256 must be the one above:
     Windows:  certutil -hashfile "{name}.bundle" SHA256
     Linux:    sha256sum "{name}.bundle"
     macOS:    shasum -a 256 "{name}.bundle"
3. Get the folder of programs and records back, with every release tag:
     git clone "{name}.bundle" restored
{folder}   For a server, everything exactly as it was:
     git clone --mirror "{name}.bundle" restored.git
{server}4. Look at the releases:
     git -C restored tag --list "release/*"
   With the program that made this backup, derive every one of them again:
     proveout -C restored audit

What was edited and never checked in is in no backup.
"""
