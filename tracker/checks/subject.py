"""What is checked: an operation's programs and sheet, for one machine or for none in particular."""

import re
from collections.abc import Mapping
from functools import cached_property

from tracker.checks.spans import OPart, in_code, parts_of
from tracker.frozen import dataclass
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.records.job import Job, Operation, Tool
from tracker.records.shop import Checks, Machine

LATHE = "lathe"


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord:
    """What a shop's record holds beside the text.

    Attributes:
        released, proven: texts of the same operation, released last and proven last; None where there is none.
        others: programs of other operations for the same machines that have a number of this one's.
        unread: why the record could not be read, in words, or None.
    """

    released: "Earlier | None" = None
    proven: "Earlier | None" = None
    others: "tuple[Other, ...]" = ()
    unread: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """A program of another operation: its number, and where it is, in words (``4472/op10 r2, jobs/4472/op10/O1001.nc``)."""

    number: int
    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """An earlier text: how it is called on a screen (``release 2``), its programs, main first, and its sheet."""

    label: str
    programs: "tuple[ProgramIn, ...]"
    operation: Operation


NOTHING = OnRecord()
_CHANGE = re.compile(rb"M[ \t]*0*6(?![0-9.])", re.IGNORECASE)
_TOOL = re.compile(rb"T[ \t]*[0-9]", re.IGNORECASE)
_CALL = re.compile(rb"(?:M[ \t]*98|G[ \t]*6[56])[^P\n]*P[ \t]*0*([0-9]{1,9})", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramIn:
    """A program: its path from the repository's root, its O number (None without one), its bytes.

    ``readable`` is False for a text in another language or a binary: nothing in it is understood.
    """

    path: str
    number: int | None
    data: bytes
    readable: bool = True


class Subject:
    """One operation for one machine.

    Attributes:
        job: the job.
        operation: its setup sheet, sheet values of the original filled in.
        machine: the machine, or None: what needs its figures is then not computed.
        programs: the main program first, then all it calls.
        checks: the shop's margins.
        on_record: what else is known of it, for rules that look back or around.
    """

    def __init__(
        self,
        *,
        job: Job,
        operation: Operation,
        machine: Machine | None,
        programs: tuple[ProgramIn, ...],
        checks: Checks,
        on_record: OnRecord = NOTHING,
    ) -> None:
        self.job = job
        self.operation = operation
        self.machine = machine
        self.programs = programs
        self.checks = checks
        self.on_record = on_record
        self._then: dict[int, Subject] = {}
        self._summary: Summary | None = None

    @property
    def main(self) -> ProgramIn:
        """The main program."""
        return self.programs[0]

    @property
    def lathe(self) -> bool | None:
        """Whether words have lathe meanings; None: judged by the words."""
        return None if self.machine is None else self.machine.type == LATHE

    def tool(self, number: int | None) -> Tool | None:
        """A tool of the sheet by its number."""
        return None if number is None else self._tools.get(number)

    @cached_property
    def _tools(self) -> Mapping[int, Tool]:
        """By number; of two the first."""
        return {one.number: one for one in reversed(self.operation.tools)}

    @cached_property
    def parts(self) -> Mapping[str, tuple[OPart, ...]]:
        """The programs inside each file, by the file's path."""
        return {program.path: parts_of(program.data) for program in self.programs}

    @cached_property
    def by_number(self) -> Mapping[int, ProgramIn]:
        """Which file holds the program with an O number; the first of two."""
        held: dict[int, ProgramIn] = {}
        for program in self.programs:
            for part in self.parts[program.path]:
                if part.number is not None:
                    held.setdefault(part.number, program)
            if program.number is not None:
                held.setdefault(program.number, program)
        return held

    def then(self, earlier: Earlier) -> "Subject":
        """An earlier text on the same machine; the same one for every rule that asks."""
        key = id(earlier)
        if key not in self._then:
            self._then[key] = Subject(
                job=self.job,
                operation=earlier.operation,
                machine=self.machine,
                programs=earlier.programs,
                checks=self.checks,
            )
        return self._then[key]

    def summary(self, *, lathe: bool) -> Summary:
        """What the text does, summed up once."""
        if self._summary is None:
            self._summary = summarise(self.main.data, self.setting(lathe=lathe))
        return self._summary

    def setting(self, *, lathe: bool | None = None) -> Setting:
        """What the run is made with; ``lathe`` as judged already, where no machine says."""
        machine = self.machine
        return Setting(
            lathe=self.lathe if lathe is None else lathe,
            units=self.operation.units,
            decimal=machine.decimal if machine else None,
            called=self._called,
            resident=machine.resident if machine else (),
            max_rpm=machine.max_rpm if machine else None,
            t_changes=self.lathe is not True and self._changes_by_t(),
        )

    def _changes_by_t(self) -> bool:
        """Whether T must be what changes the tool: T words, no M6 in any program, and no call to what is not in hand."""
        texts = [program.data for program in self.programs if program.readable]
        if any(in_code(text, _CHANGE) for text in texts) or not any(in_code(text, _TOOL) for text in texts):
            return False
        called = {int(number) for text in texts for number in _CALL.findall(text)}
        return called <= self.by_number.keys()

    def _called(self, number: int) -> bytes | None:
        """The text of a program; None where two answer to the number, for nobody can say which one runs."""
        held = [program for program in self.programs if number in self._numbers(program)]
        return held[0].data if len(held) == 1 and held[0].readable else None

    def _numbers(self, program: ProgramIn) -> set[int | None]:
        return {program.number, *(part.number for part in self.parts[program.path])}
