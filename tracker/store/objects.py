"""Reading objects in bulk: one ``git cat-file --batch`` for the life of a repository object.

Every object is hashed again here. git returns a loose object whose bytes were exchanged for other valid ones without
a word, so its answer alone is no evidence.
"""

import os
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress

from tracker.digest import sha1_of, sha256_of
from tracker.errors import CouldNot
from tracker.frozen import dataclass
from tracker.store.git import Git, path_bytes
from tracker.store.git_faults import GitFailedError, not_by_ctrl_c
from tracker.typed import IO, Protocol, cast

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.store.git import Process

_KEPT_BYTES = 1 << 25
_SMALL = 1 << 16
_SHORT = 1 << 15
"""Bytes of a blob that is worth reading before anybody asked for it."""
_CHUNK = 1 << 20
_AHEAD = 60
"""Questions asked ahead of their answers; so many fit in a pipe (4096 bytes and more on the systems known to us), or
both sides would wait for each other."""


@dataclass(frozen=True, slots=True)
class GitObject:
    """An object as it is stored: ``kind`` blob, tree, commit or tag."""

    kind: str
    data: bytes


def object_id(kind: str, data: bytes, *, like: str) -> str:
    """The id git gives these bytes; ``like`` any id of the repository (its length tells which hash it uses)."""
    head = f"{kind} {len(data)}\0".encode()
    return sha1_of(head, data) if len(like) == 40 else sha256_of(head + data)


class Coming(Protocol):
    """Blobs that somebody reads beforehand: `tracker.store.beforehand`."""

    def take(self, blob_id: str) -> GitObject | None:
        """The blob, once it is there; None where it is not on its way, or could not be read."""

    def end(self) -> None:
        """Read no more."""


class Objects:
    """The objects of one repository. Close it, or drop the last reference: the process ends with it."""

    def __init__(self, git: Git) -> None:
        self._git = git
        self._process: Process | None = None
        self._others: Process | None = None
        self._kept: OrderedDict[str, GitObject] = OrderedDict()
        self._kept_bytes = 0
        self._coming: Coming | None = None

    def read(self, ids: Iterable[str]) -> Mapping[str, GitObject]:
        """The objects with these ids, each once; raises CouldNot (``damaged``) if one is missing or not itself."""
        wanted = list(dict.fromkeys(ids))
        if self._coming is not None and len(wanted) == 1 and wanted[0] not in self._kept:
            here = self._coming.take(wanted[0])
            if here is not None:
                return {wanted[0]: here}
        new = [one for one in wanted if one not in self._kept]
        if not new:
            return {one: self._kept[one] for one in wanted}
        found = {one: self._kept[one] for one in wanted if one in self._kept}
        for one, read in zip(new, self.each(new), strict=True):
            found[one] = read
            self._keep(one, read)
        return found

    def blob(self, blob_id: str) -> bytes:
        """The bytes of one blob."""
        return self.read([blob_id])[blob_id].data

    def blob_ids(self, places: Sequence[tuple[str, str]]) -> list[str | None]:
        """The ids of the files (commit, path) names, None where there is no such file; one call of git."""
        return [None if one is None else one[0] for one in self.blobs_at(places)]

    def blobs_at(self, places: Sequence[tuple[str, str]]) -> list[tuple[str, int] | None]:
        """Id and size of the files (commit, path) names, None where there is no such file; one call of git.

        The size is what git says, and no evidence.
        """
        names = b"".join(b"%s:%s\n" % (commit.encode("ascii"), path_bytes(path)) for commit, path in places)
        out = self._git.run(
            "cat-file", "--batch-check=%(objectname) %(objecttype) %(objectsize)", stdin=names
        )
        words = [row.split() for row in out.split(b"\n")[:-1]]
        return [
            (row[0].decode("ascii"), int(row[2])) if row[1:2] == [b"blob"] and len(row) == 3 else None
            for row in words
        ]

    def sizes(self, blob_ids: Iterable[str]) -> Mapping[str, int]:
        """The sizes of blobs in bytes; of what is not here, a submodule's commit say, nothing is said."""
        asked = "".join(f"{blob}\n" for blob in dict.fromkeys(blob_ids)).encode("ascii")
        if not asked:
            return {}
        out = self._git.run("cat-file", "--batch-check=%(objectname) %(objectsize)", stdin=asked)
        rows = [row.split() for row in out.decode("ascii").splitlines()]
        return {row[0]: int(row[1]) for row in rows if row[1].isdigit()}

    def read_short(self, blob_ids: Iterable[str]) -> None:
        """Read those of these blobs that are short, in one go: the next question for one costs nothing."""
        new = [one for one in blob_ids if one not in self._kept]
        self.read([one for one, size in self.sizes(new).items() if size <= _SHORT])

    def expect(self, coming: "Coming") -> None:
        """Take blobs from there, where they are on their way."""
        self._end_coming()
        self._coming = coming

    def begin(self) -> None:
        """Start the process behind this object before it is needed."""
        self._running()

    def apart(self) -> None:
        """In a process that was forked: what reads for this object belongs to another; the next read starts its own."""
        self._others, self._process, self._coming = self._process, None, None

    def close(self) -> None:
        """End the process behind this object; the next read starts another."""
        self._end_coming()
        process, self._process = self._process, None
        if process is not None:
            _end(process)

    def __del__(self) -> None:
        """End it with the last reference."""
        self.close()

    def _end_coming(self) -> None:
        coming, self._coming = self._coming, None
        if coming is not None:
            coming.end()

    def _keep(self, read_id: str, read: GitObject) -> None:
        """Small files are kept, the latest of them: records are looked at again and again."""
        if read.kind != "blob" or len(read.data) > _SMALL:
            return
        self._kept[read_id] = read
        self._kept_bytes += len(read.data)
        while self._kept_bytes > _KEPT_BYTES:
            self._kept_bytes -= len(self._kept.popitem(last=False)[1].data)

    def each(self, wanted: list[str]) -> Iterator[GitObject]:
        """The objects with these ids, one after the other; raises as `read` does."""
        process = self._running()
        answers = _Answers(process)
        questions = [*wanted, answers.end]
        asked = 0
        try:
            for place, wanted_id in enumerate(wanted):
                if asked - place <= _AHEAD // 2:
                    _ask(process, questions[asked : place + _AHEAD])
                    asked = place + _AHEAD
                yield _one(answers, wanted_id)
            _ask(process, questions[asked:])
            answers.finish()
        except BaseException:
            self.close()  # what is left in the pipe belongs to nobody
            raise

    def _running(self) -> "Process":
        if self._process is None:
            self._process = self._git.start("cat-file", "--batch")
        return self._process


class _Answers:
    """The answers to one batch of questions, the last of which nothing can answer.

    An object on the disk may claim to be longer than it is, and git passes that on: reading by its length alone would
    wait for ever. The answer to the last question, a word nobody could have foreseen, tells that nothing more comes.
    """

    def __init__(self, process: "Process") -> None:
        self.end = f"?{os.urandom(16).hex()}"
        self._last = f"{self.end} missing\n".encode("ascii")
        self._process = process
        self._handle = cast(IO[bytes], process.stdout).fileno()
        self._held = bytearray()
        self._wide = False

    def line(self) -> bytes:
        """The next line, without its end."""
        while (at := self._held.find(b"\n")) < 0:
            self._more()
        return self.take(at + 1)[:-1]

    def take(self, count: int) -> bytes:
        """The next ``count`` bytes; raises CouldNot (``damaged``) when fewer are left."""
        if count - len(self._held) > _SMALL:
            return self._take_long(count)
        while len(self._held) < count:
            self._more()
        taken = bytes(self._held[:count])
        del self._held[:count]
        return taken

    def _take_long(self, count: int) -> bytes:
        """The same without moving the bytes about: they are put together once all are there."""
        self._widen()
        parts, left, tail = (
            [bytes(self._held)],
            count - len(self._held),
            bytes(self._held[-len(self._last) :]),
        )
        self._held.clear()
        while left:
            if tail.endswith(self._last):
                raise damaged("an object is shorter than it says")
            parts.append(self._read(min(left, _CHUNK)))
            left -= len(parts[-1])
            tail = (tail + parts[-1])[-len(self._last) :]
        return b"".join(parts)

    def _widen(self) -> None:
        """Let git put a whole program into the pipe at once, where the system can; once is enough."""
        if not self._wide:
            self._wide = True
            with suppress(ImportError, AttributeError, OSError):  # elsewhere it goes in many small pieces
                import fcntl

                fcntl.fcntl(self._handle, fcntl.F_SETPIPE_SZ, _CHUNK)

    def finish(self) -> None:
        """Take the answer to the last question; raises CouldNot (``damaged``) when anything else comes first."""
        if self.line() + b"\n" != self._last:
            raise damaged("git answered with more than was asked for")

    def _more(self) -> None:
        if self._held.endswith(self._last):
            raise damaged("an object is shorter than it says")
        self._held += self._read(_CHUNK)

    def _read(self, most: int) -> bytes:
        chunk = os.read(self._handle, most)
        if not chunk:
            said = cast(IO[bytes], self._process.stderr).read()
            raise GitFailedError(("cat-file",), not_by_ctrl_c(self._process.wait()), said)
        return chunk


def _one(answers: _Answers, wanted_id: str) -> GitObject:
    header = answers.line().split()
    if len(header) != 3:
        raise damaged(f"object {wanted_id} is missing")
    data = answers.take(int(header[2]))
    answers.take(1)  # its line end, apart: a long text is not copied to lose it
    kind = header[1].decode("ascii")
    if object_id(kind, data, like=wanted_id) != wanted_id:
        raise damaged(f"object {wanted_id} does not hold the bytes its name stands for")
    return GitObject(kind, data)


def damaged(what: str) -> CouldNot:
    """The error for evidence that cannot be trusted."""
    return CouldNot(
        "damaged",
        f"the repository is damaged: {what}",
        fix="do not work on; run `git fsck`, and fetch the missing part from another clone or the backup",
    )


def _ask(process: "Process", wanted: list[str]) -> None:
    questions = cast(IO[bytes], process.stdin)
    try:
        questions.write("".join(f"{wanted_id}\n" for wanted_id in wanted).encode("ascii"))
        questions.flush()
    except OSError:  # the reader meets the same end and says why
        return


def _end(process: "Process") -> None:
    process.kill()  # it only reads; and a writer that still waits for it must be let go first
    process.wait()
    for stream in (process.stdin, process.stdout, process.stderr):
        if stream is not None:
            with suppress(OSError):  # bytes that nobody took; nothing is lost by that
                stream.close()
