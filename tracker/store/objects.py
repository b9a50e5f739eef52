"""Reading objects in bulk: one ``git cat-file --batch`` for the life of a repository object.

Every object is hashed again here. git returns a loose object whose bytes were exchanged for other valid ones without
a word, so its answer alone is no evidence.
"""

import hashlib
import subprocess
import threading
import weakref
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import IO, cast

from tracker.errors import CouldNot
from tracker.store.git import Git
from tracker.store.git_faults import GitFailedError


@dataclass(frozen=True, slots=True)
class GitObject:
    """An object as it is stored: ``kind`` blob, tree, commit or tag."""

    kind: str
    data: bytes


def object_id(kind: str, data: bytes, *, like: str) -> str:
    """The id git gives these bytes; ``like`` any id of the repository (its length tells which hash it uses)."""
    digest = hashlib.sha1(usedforsecurity=False) if len(like) == 40 else hashlib.sha256()
    digest.update(f"{kind} {len(data)}\0".encode())
    digest.update(data)
    return digest.hexdigest()


class Objects:
    """The objects of one repository. Close it, or drop the last reference: the process ends with it."""

    def __init__(self, git: Git) -> None:
        self._git = git
        self._process: subprocess.Popen[bytes] | None = None
        self._finalizer: weakref.finalize[[subprocess.Popen[bytes]], Objects] | None = None

    def read(self, ids: Iterable[str]) -> Mapping[str, GitObject]:
        """The objects with these ids, each once; raises CouldNot (``damaged``) if one is missing or not itself."""
        wanted = list(dict.fromkeys(ids))
        return dict(zip(wanted, self._each(wanted), strict=True)) if wanted else {}

    def blob(self, blob_id: str) -> bytes:
        """The bytes of one blob."""
        return self.read([blob_id])[blob_id].data

    def close(self) -> None:
        """End the process behind this object; the next read starts another."""
        if self._finalizer is not None:
            self._finalizer()
        self._process = None

    def _each(self, wanted: list[str]) -> Iterator[GitObject]:
        process = self._running()
        writer = threading.Thread(target=_ask, args=(process, wanted), daemon=True)
        writer.start()  # a thread, or both sides would wait for each other once the pipes are full
        try:
            for wanted_id in wanted:
                yield self._one(process, wanted_id)
        except BaseException:
            self.close()  # what is left in the pipe belongs to nobody
            raise
        writer.join()

    def _one(self, process: "subprocess.Popen[bytes]", wanted_id: str) -> GitObject:
        answers = cast(IO[bytes], process.stdout)
        header = answers.readline().split()
        if not header:
            raise self._died(process)
        if len(header) != 3:
            raise damaged(f"object {wanted_id} is missing")
        data = answers.read(int(header[2]) + 1)[:-1]
        kind = header[1].decode("ascii")
        if len(data) != int(header[2]) or object_id(kind, data, like=wanted_id) != wanted_id:
            raise damaged(f"object {wanted_id} does not hold the bytes its name stands for")
        return GitObject(kind, data)

    def _running(self) -> "subprocess.Popen[bytes]":
        if self._process is None:
            self._process = self._git.start("cat-file", "--batch")
            self._finalizer = weakref.finalize(self, _end, self._process)
        return self._process

    def _died(self, process: "subprocess.Popen[bytes]") -> CouldNot:
        said = cast(IO[bytes], process.stderr).read()
        return GitFailedError(("cat-file",), process.wait(), said)


def damaged(what: str) -> CouldNot:
    """The error for evidence that cannot be trusted."""
    return CouldNot(
        "damaged",
        f"the repository is damaged: {what}",
        fix="do not work on; run `git fsck`, and fetch the missing part from another clone or the backup",
    )


def _ask(process: "subprocess.Popen[bytes]", wanted: list[str]) -> None:
    questions = cast(IO[bytes], process.stdin)
    try:
        questions.write("".join(f"{wanted_id}\n" for wanted_id in wanted).encode("ascii"))
        questions.flush()
    except OSError:  # the reader meets the same end and says why
        return


def _end(process: "subprocess.Popen[bytes]") -> None:
    for stream in (process.stdin, process.stdout, process.stderr):
        if stream is not None:
            try:
                stream.close()
            except OSError:  # bytes that nobody took; nothing is lost by that
                continue
    process.wait()
