"""Every object on the disk hashed again, whether a reference leads to it or not.

Loose objects are unpacked and hashed here, every time: git returns one whose bytes were exchanged for other valid ones
without a word. A pack is handed to ``git verify-pack``, which hashes every object in it against the list beside it; the
digests of both files are noted then, and as long as they are the same bytes (read and hashed each time) the objects in
them are too. The notes lie under the git directory, may be deleted, and are read by ``audit`` alone.
"""

import hashlib
import os
import re
import zlib
from collections.abc import Iterator
from pathlib import Path

from tracker.services.ports_audit import BadObject
from tracker.store.git import Git

_LOOSE = re.compile(r"[0-9a-f]{2}/(?:[0-9a-f]{38}|[0-9a-f]{62})")
_PACKED = re.compile(r"packed ([0-9a-f]{40}(?:[0-9a-f]{24})?) from")
_NOTES = ("proveout", "packs-verified")
_CHUNK = 1 << 20


def bad_objects(git: Git, common_dir: Path) -> list[BadObject]:
    """Objects that are not what their names stand for, and packs that cannot be read, in order of their names."""
    stores = list(_stores(common_dir / "objects"))
    found = {bad.object_id: bad for store in stores for bad in _loose(store, git.id_length)}
    before = _notes(common_dir)
    sound: set[str] = set()
    for pack in (pack for store in stores for pack in sorted((store / "pack").glob("*.idx"))):
        line = _digests(pack)
        bad = [] if line is not None and line in before else _verify(git, pack)
        found.update((one.object_id, one) for one in bad)
        if line is not None and not bad:
            sound.add(line)
    if sound != before:
        _note(common_dir, sound)
    return [found[one] for one in sorted(found)]


def _stores(objects: Path, depth: int = 5) -> Iterator[Path]:
    """The folder of objects, and those it borrows from."""
    yield objects
    try:
        lines = (objects / "info" / "alternates").read_text("utf-8", "surrogateescape").splitlines()
    except OSError:
        return
    for line in lines:
        if depth and line.strip() and not line.startswith("#"):
            yield from _stores(objects / line, depth - 1)


def _loose(objects: Path, id_length: int) -> Iterator[BadObject]:
    for folder in sorted(objects.glob("[0-9a-f][0-9a-f]")):
        for path in sorted(folder.iterdir()) if folder.is_dir() else ():
            if not _LOOSE.fullmatch(f"{folder.name}/{path.name}"):
                continue
            name = folder.name + path.name
            why = _wrong(path, name, id_length)
            if why is not None:
                yield BadObject(object_id=name, why=why)


def _wrong(path: Path, name: str, id_length: int) -> str | None:
    """What is wrong with one loose object; None if it is what its name stands for."""
    try:
        data = zlib.decompress(path.read_bytes())
    except FileNotFoundError:
        return None  # git packed it meanwhile
    except OSError as fault:
        return f"it cannot be read ({fault.strerror})"
    except zlib.error:
        return "its bytes cannot be unpacked"
    digest = hashlib.sha1(data, usedforsecurity=False) if id_length == 40 else hashlib.sha256(data)
    return None if digest.hexdigest() == name else "it holds other bytes than its name stands for"


def _verify(git: Git, index: Path) -> list[BadObject]:
    status, _, said = git.attempt("verify-pack", str(index.absolute()))
    if status == 0:
        return []
    words = said.decode("utf-8", "replace")
    named = sorted(set(_PACKED.findall(words)))
    if named:
        return [BadObject(object_id=one, why=f"it is damaged in {index.stem}.pack") for one in named]
    if not index.exists():
        return []  # git packed anew meanwhile
    first = next(iter(words.strip().splitlines()), "git verify-pack says no more")
    return [BadObject(object_id=f"{index.stem}.pack", why=f"the pack is damaged: {first}")]


def _digests(index: Path) -> str | None:
    """Name, and SHA-256 of the list of a pack and of the pack; None where one of them cannot be read."""
    try:
        return " ".join([index.stem, *(_sha256(path) for path in (index, index.with_suffix(".pack")))])
    except OSError:
        return None


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _notes(common_dir: Path) -> set[str]:
    try:
        return set(common_dir.joinpath(*_NOTES).read_text("ascii").splitlines())
    except (OSError, ValueError):
        return set()


def _note(common_dir: Path, lines: set[str]) -> None:
    """Write down which packs were whole; silently nothing where it cannot be written."""
    path = common_dir.joinpath(*_NOTES)
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text("".join(f"{line}\n" for line in sorted(lines)), "ascii", newline="\n")
        beside.replace(path)
    except OSError:
        return
