"""What an export has to say: programs, operations with their standing, what was left out, what must come off."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tracker.policy.spelled import counted
from tracker.services.call_in import CallIn
from tracker.services.ports_stick import Purpose
from tracker.services.stick_view import written
from tracker.services.usable import LeftOut

MOST_NAMED = 3
"""Files of another stick named in one line."""


def carried(call_in: Iterable[CallIn], but: str | None = None) -> tuple[str, ...]:
    """What sticks carry that may not run any more, a line a stick; ``but``: of this one nothing is said."""
    sticks: dict[str, list[str]] = {}
    for one in call_in:
        if one.stick != but:
            sticks.setdefault(one.stick, []).append(one.path)
    return tuple(
        f"{stick} carries {counted(len(paths), 'file')} that may not run any more ({', '.join(paths[:MOST_NAMED])}"
        f"{', ...' if len(paths) > MOST_NAMED else ''})"
        for stick, paths in sticks.items()
    )


MOST_UNKNOWN = 20
"""Files in no record that are named one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedFile:
    """A program on the stick. ``path`` from the stick's folder; ``action`` written, replaced or unchanged.

    ``unreleased``: UNPROVEN or DEVIATION with the rest of these words, None for a released one; ``not_in_text``: what is
    to be done where its text does not say so itself.
    """

    path: str
    program: str
    action: str
    sha256: str
    job: str
    operation: str
    revision: str
    release: int | None
    mark: str
    users: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    unreleased: str | None = None
    not_in_text: str | None = None

    @property
    def name(self) -> str:
        """Its name alone."""
        return self.path.rpartition("/")[2]

    @property
    def silent(self) -> str | None:
        """``UNPROVEN - ...: its text cannot carry these words: ...``; None where the text says it, or nothing is to be said."""
        return None if self.not_in_text is None else f"{self.unreleased}: {self.not_in_text}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportedOperation:
    """An operation that went out, with its standing on the machine in words; ``record``: its revision's full name."""

    job: str
    operation: str
    revision: str
    release: int | None
    display_id: str
    record: str
    state: str
    reason: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeavesStick:
    """A file of ours that is taken off the stick, or of which a person has to decide, and why."""

    path: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StaysApart:
    """A text of ours that is not released and that a mirror leaves, since its day is not over; ``why`` in words."""

    path: str
    job: str
    operation: str
    revision: str
    unreleased: str
    until: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """What lies in no machine's folder: copies of ours, and files in no record, the first of each and how many more.

    ``unread``: files that were not looked into, since there is so much of them.
    """

    copies: tuple[LeavesStick, ...] = ()
    more_copies: int = 0
    strange: tuple[str, ...] = ()
    more_strange: int = 0
    unread: int = 0

    @property
    def unknown(self) -> int:
        """How many files there are of which nobody knows what they are."""
        return len(self.strange) + self.more_strange + self.unread

    @property
    def counted(self) -> tuple[str, ...]:
        """What is not named one by one, in words."""
        found = (
            (self.more_copies, "more file", "of ours: not removed, take them off by hand"),
            (self.more_strange, "more file", "in no record: kept"),
            (self.unread, "file", "not looked into, too much to read: kept"),
        )
        where = "outside the machines' folders"
        return tuple(f"{counted(count, noun)} {where}, {words}" for count, noun, words in found if count)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportReport:
    """What went out, what did not and why, what must come off; with ``dry_run`` nothing was written.

    ``leaves``: what of ours is taken off; ``unknown`` (of a mirror): files in the folder nobody recorded, kept.
    ``stays`` and ``outside``, of a mirror too: texts apart that are still to be proved or to run, and what lies elsewhere.
    ``changed``: files there that are no bytes an export wrote, in a place where one did, and why they stay.
    ``owner``: initials of whose stick it is by shop.toml; ``by``: who exports, ``ss (Sol Shim)``. ``papers``: read-me and
    sheets that are written, ``papers_in_the_way`` those that are not, since something else lies there. ``cut_off``:
    leftovers of exports that were cut off. ``in_the_way``: of a plan why the export would write nothing.
    """

    machine: str
    stick: str
    folder: str
    purpose: Purpose
    operations: tuple[ExportedOperation, ...]
    files: tuple[ExportedFile, ...]
    left_out: tuple[LeftOut, ...] = ()
    call_in: tuple[CallIn, ...] = ()
    notes: tuple[str, ...] = ()
    at: datetime
    until: datetime
    dry_run: bool = False
    record: str | None = None
    zone: str = "UTC"
    wanted: tuple[str, ...] = ()
    mirror: bool = False
    leaves: tuple[LeavesStick, ...] = ()
    unknown: tuple[str, ...] = ()
    stays: tuple[StaysApart, ...] = ()
    outside: Outside = Outside()
    changed: tuple[LeavesStick, ...] = ()
    owner: str | None = None
    by: str = ""
    papers: tuple[str, ...] = ()
    papers_in_the_way: tuple[str, ...] = ()
    cut_off: tuple[str, ...] = ()
    in_the_way: tuple[str, ...] = ()

    @property
    def decisions(self) -> tuple[str, ...]:
        """What a person has to decide or do before the stick is in order; nothing of it is done by the tool."""
        here = [one.path for one in self.call_in if one.stick == self.stick]
        return (
            *(f"nothing would be written: {words}" for words in self.in_the_way),
            *(f"nothing of {job} went out: it was asked for" for job in self.refused_jobs),
            *(
                f"{path} may not run any more and still lies there: take it off{self._or_mirror(path)}"
                for path in here
            ),
            *self._elsewhere,
            *(f"{one.path} {one.why}" for one in self.changed),
            *(f"{one.path} {one.why}" for one in self.outside.copies),
            *(
                f"{path} is in no record: collect it, or take it off by hand"
                for path in self.unknown[:MOST_UNKNOWN]
            ),
            *(
                [f"{self.more_unknown} in no record: collect them, or take them off by hand"]
                if self.more_unknown
                else ()
            ),
            *(
                f"{path} is left from an export that was cut off: no program, delete it"
                for path in self.cut_off
            ),
            *(f"{path} is not ours, or was changed, and was not replaced" for path in self.papers_in_the_way),
        )

    @property
    def more_unknown(self) -> str:
        """``3 more files`` of the folder that are in no record and not named one by one; empty where all are."""
        more = len(self.unknown) - MOST_UNKNOWN
        return f"{counted(more, 'more file')} in {self.folder}" if more > 0 else ""

    @property
    def _elsewhere(self) -> tuple[str, ...]:
        """Other sticks that carry what may not run any more, a line a stick."""
        return tuple(f"{line}: call it in" for line in carried(self.call_in, but=self.stick))

    def _or_mirror(self, path: str) -> str:
        """A mirror takes nothing off in a folder the machine had before."""
        return ", or use --mirror" if written(path).startswith(written(self.folder) + "/") else ""

    @property
    def refused_jobs(self) -> tuple[str, ...]:
        """Jobs that were named and of which nothing went out."""
        went = {operation.job.casefold() for operation in self.operations}
        return tuple(job for job in self.wanted if job.casefold() not in went)
