"""Programs that are shaped and written under temporary names while an export still finds out what else goes.

A medium is slow, and so is deriving every release again: done one after the other, an export takes as long as both.
What goes ahead has been derived again and may run on the machine today; what else may be wrong shows only once all is
known, and then nothing has a name yet and all of it is taken away.

Nothing is written ahead where the records, the names or what lies on the stick let expect that the export will be
refused: that is told before anything is written, as it always was. Nothing but time hangs on what is done here; what
goes, and under which name, is decided by `export` from what comes of it.
"""

import os
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from threading import Condition
from types import TracebackType
from typing import Self

from tracker.errors import CouldNot
from tracker.records.events import FileOf
from tracker.services.outbound import Outbound
from tracker.services.outgoing import of_revision
from tracker.services.placing import manifest_place
from tracker.services.ports_stick import Begun, Made, Outgoing, Seen, ToWrite
from tracker.services.released import Expected
from tracker.services.usable import Usable

WAITING_BYTES = 1 << 25
"""Bytes of programs that may wait to be shaped and written; whoever brings one more waits instead."""


class Ahead:
    """What of one export is done ahead; leave it as a context manager, and what got no name is taken away."""

    def __init__(self, out: Outbound, jobs: Sequence[str] = ()) -> None:
        """Args: out: the export. jobs: only these."""
        self._out = out
        self._jobs = {job.casefold() for job in jobs}
        self._alone: set[str] = set()
        self._begun: Begun | None = None
        self._made: dict[Outgoing, Future[Made]] = {}
        self._pool: ThreadPoolExecutor | None = None
        self._room = _Room(WAITING_BYTES)
        self._writes = True

    def __enter__(self) -> Self:
        """Itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End what runs, and take away what was written and got no name."""
        self._writes = False
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)
        if self._begun is not None:
            self._begun.drop()

    @property
    def begun(self) -> Begun | None:
        """What holds the files written so far; None where none were."""
        return self._begun

    def expected(self, programs: Expected) -> None:
        """What the records let expect: see whether anything is to go ahead."""
        wanted = [file for job, file in programs.programs if not self._jobs or job.casefold() in self._jobs]
        if self._out.dry_run or programs.size is None or not self._likely(programs, wanted):
            return
        uses = Counter(file.path for _, file in programs.programs)
        self._alone = {file.path for file in wanted if uses[file.path] == 1}
        self._begun = self._out.contents.medium.begin(len(uses), programs.size)
        self._pool = ThreadPoolExecutor(os.cpu_count() or 1)

    def deriving(self, job: str, done: int, total: int) -> None:
        """The job whose releases are derived next, told to whoever looks."""
        self._out.tell(f"looking up what is released of {job}", done, total)

    def found(self, one: Usable) -> None:
        """An operation that goes, as far as it alone can tell: those of its programs that no other uses set out."""
        if self._begun is None or (self._jobs and one.released.job.casefold() not in self._jobs):
            return
        programs, lost = of_revision(self._out.desk.repo, one.released)
        for program in programs if not lost else ():
            if program.source in self._alone:
                self._set_out(program)

    def rest(self, programs: Sequence[Outgoing]) -> None:
        """All that goes, now that it is known: those of them that have not set out yet do."""
        for program in programs if self._begun is not None else ():
            if program not in self._made and not self._named_wrong(program):
                self._set_out(program)

    def made(self, program: Outgoing) -> Made | None:
        """What came of a program, once it is there; None where it did not set out. Raises as `Begun.write`."""
        coming = self._made.get(program)
        return None if coming is None else coming.result()

    def _set_out(self, program: Outgoing) -> None:
        """Fetch it here, since a repository is read by one thread, and have it held to its record and made beside."""
        data = program.fetch()
        if self._pool is None:
            return
        size = len(data or b"")
        self._room.take(size)
        coming = self._pool.submit(self._make, program, data)
        coming.add_done_callback(lambda _: self._room.give(size))  # which must not hold the bytes
        self._made[program] = coming

    def _make(self, program: Outgoing, data: bytes | None) -> Made:
        """Shaped, and written where it is not there already; its bytes are not kept."""
        out = self._out
        made = out.contents.shaper.shape_one(out.machine, program, out.purpose, program.held(data))
        shaped = made.shaped
        if made.problems or shaped.data is None:
            self._writes = False
        if not self._writes or self._begun is None or shaped.data is None:
            return made
        there = self._at(shaped.name)
        path = f"{out.folder}/{shaped.name}" if there is None else there.path
        if there is None or out.contents.digest(there.path) != shaped.sha256:
            self._begun.write(ToWrite(path=path, data=shaped.data, sha256=shaped.sha256))
        return replace(made, shaped=replace(shaped, data=None))

    def _likely(self, programs: Expected, wanted: Sequence[FileOf]) -> bool:
        """Whether nothing is in sight for which the export would be refused before anything is written."""
        jobs = {job.casefold() for job, _ in programs.programs}
        texts = {file.path: file.raw_sha256 for _, file in programs.programs}
        if any(texts[file.path] != file.raw_sha256 for _, file in programs.programs):
            return False
        names: dict[str, str] = {}
        for file in wanted:
            name = self._name(file.number, file.name)
            if name is None or not self._free(name, file):
                return False
            if names.setdefault(self._out.contents.shaper.folded(name), file.path) != file.path:
                return False
        return bool(wanted) and self._jobs <= jobs and self._free_folder()

    def _name(self, number: int | None, name: str) -> str | None:
        try:
            return self._out.contents.shaper.name(self._out.machine, number=number, name=name)
        except ValueError:
            return None

    def _named_wrong(self, program: Outgoing) -> bool:
        return self._name(program.number, program.name) is None

    def _at(self, name: str) -> Seen | None:
        return self._out.contents.at(f"{self._out.folder}/{name}")

    def _free(self, name: str, file: FileOf) -> bool:
        """Whether nothing lies at the name of a program, or what the record knows as that program."""
        there = self._at(name)
        if there is None:
            return True
        known = self._out.known
        try:
            sha256 = self._out.contents.digest(there.path) if there.kind == "file" else None
        except CouldNot:
            return False
        if sha256 is None:
            return False
        programs = [one.file.program for one in known.exported(sha256)]
        return any(
            path in (None, file.path)
            for path in (*programs, *(one.file.path for one in known.by_bytes(sha256)))
        )

    def _free_folder(self) -> bool:
        """Whether the machine's folder is one, or not there, and a list in it one of ours."""
        out, parts = self._out, self._out.folder.split("/")
        for count in range(1, len(parts) + 1):
            there = out.contents.at("/".join(parts[:count]))
            if there is not None and there.kind != "folder":
                return False
        try:
            return manifest_place(out.contents, out.known, out.folder)[2] is None
        except CouldNot:
            return False


class _Room:
    """So many bytes at once, and always one text, however large it is."""

    def __init__(self, most: int) -> None:
        self._most, self._taken = most, 0
        self._changed = Condition()

    def take(self, count: int) -> None:
        with self._changed:
            self._changed.wait_for(lambda: not self._taken or self._taken + count <= self._most)
            self._taken += count

    def give(self, count: int) -> None:
        with self._changed:
            self._taken -= count
            self._changed.notify_all()
