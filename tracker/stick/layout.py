"""Programs laid out for one machine: names and texts, or every reason why not.

Two programs that would get one name are refused with both named; so are two that only a control with short names
cannot tell apart.
"""

import hashlib
import os
import re
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from tracker.records.shop import Machine
from tracker.services.ports_stick import (
    DEVIATION,
    FOR_PROVING,
    MANIFEST_NAME,
    READ_ME_NAME,
    Layout,
    Made,
    Manifest,
    Outgoing,
    Purpose,
    Shaped,
    not_made,
)
from tracker.services.progress import Tell, quiet
from tracker.stick import manifest as manifest_file
from tracker.stick import names, text
from tracker.stick.copying import LEFTOVER
from tracker.stick.stamp import Stamp, marks

_NUMBER = re.compile(r"r0*(\d+)")
_SEVERAL = 4
"""From so many programs on threads are worth their making."""


class StickShaper:
    """The shaper of real sticks."""

    def __init__(self, tell: Tell = quiet) -> None:
        """Args: tell: is told each program as it is shaped."""
        self._tell = tell

    def shape(
        self,
        machine: Machine,
        programs: Sequence[Outgoing],
        purpose: Purpose,
        made: Callable[[Outgoing], Made | None] = not_made,
    ) -> Layout:
        """Names and bytes for a machine; problems instead of exceptions, all of them at once.

        ``made``: what came of a program that was handed to `shape_one` before, None where it was not.
        """
        wrong: list[tuple[Outgoing, str]] = []
        named: list[tuple[str, Outgoing]] = []
        for program in programs:
            try:
                name = self.name(machine, number=program.number, name=program.name)
            except ValueError as fault:
                wrong.append((program, f"{program.source}: {fault}"))
            else:
                named.append((name, program))
        wrong += _clashes(machine, named)
        shaped = []
        coming = _side_by_side(machine, named, purpose, made)
        for done, (name, _) in enumerate(named):
            self._tell(f"shaping {name}", done, len(named))
            one = next(coming)
            program = one.shaped.program
            wrong += [(program, f"{program.source}: {words}") for words in one.problems]
            shaped.append(one.shaped)
        return Layout(
            files=() if wrong else tuple(shaped),
            problems=tuple(words for _, words in wrong),
            stopped=tuple(program for program, _ in wrong),
        )

    def shape_one(self, machine: Machine, program: Outgoing, purpose: Purpose, data: bytes) -> Made:
        """One program, whose bytes are ``data``; may be called from any thread. Raises ValueError as `name` does."""
        name = self.name(machine, number=program.number, name=program.name)
        return _made(machine, name, program, purpose, data)

    def name(self, machine: Machine, *, number: int | None, name: str) -> str:
        """The file name a program gets on the machine; raises ValueError with why it cannot have one."""
        return _name(machine, number, name)

    def folded(self, name: str) -> str:
        """What names are compared by."""
        return names.folded(name)

    def write_manifest(self, manifest: Manifest) -> bytes:
        """The bytes of a manifest."""
        return manifest_file.write(manifest)

    def read_manifest(self, data: bytes) -> Manifest:
        """The manifest in these bytes; raises ValueError when they are none of ours."""
        return manifest_file.read(data)

    def marks(self, data: bytes) -> tuple[str, ...]:
        """The 8 digits of every stamp in a text, capitals."""
        return marks(data)

    def leftover(self, name: str) -> bool:
        """Whether a file of this name is what an interrupted export leaves behind."""
        return LEFTOVER.fullmatch(name) is not None


def _side_by_side(
    machine: Machine,
    named: Sequence[tuple[str, Outgoing]],
    purpose: Purpose,
    made: Callable[[Outgoing], Made | None],
) -> Iterator[Made]:
    """Each program shaped, and what is wrong with it, in their order.

    As many at once as there are processors: scanning and hashing let others run meanwhile. They are read here, by one
    thread, and only a few more than are being shaped.
    """
    at_once = 1 if len(named) < _SEVERAL else os.cpu_count() or 1
    with ThreadPoolExecutor(at_once) as pool:
        waiting: deque[Made | Future[Made]] = deque()
        for name, program in named:
            before = made(program)
            waiting.append(before or pool.submit(_made, machine, name, program, purpose, program.read()))
            if len(waiting) > 2 * at_once:
                yield _come(waiting.popleft())
        while waiting:
            yield _come(waiting.popleft())


def _come(one: Made | Future[Made]) -> Made:
    return one if isinstance(one, Made) else one.result()


def _made(machine: Machine, name: str, program: Outgoing, purpose: Purpose, data: bytes) -> Made:
    made = text.shape(
        data,
        machine,
        stamp_of(program, machine, purpose),
        dialect=program.dialect,
        fingerprint=program.fingerprint,
        strict=program.strict,
        known=program.known,
    )
    sha256 = made.sha256 or hashlib.sha256(made.data).hexdigest()
    large = names.too_large(len(made.data))
    problems = (*made.problems, f"the text for {name} {large}") if large else made.problems
    shaped = Shaped(
        program=program, name=name, data=made.data, size=len(made.data), sha256=sha256, notes=made.notes
    )
    return Made(shaped=shaped, problems=problems)


def stamp_of(program: Outgoing, machine: Machine, purpose: Purpose) -> Stamp:
    """The stamp of a program on a machine's stick."""
    number = _NUMBER.match(program.revision)
    return Stamp(
        mark=program.mark,
        machine=machine.id,
        job=None if program.common else program.job,
        operation=None if program.shared or program.common else program.operation,
        revision=int(number[1]) if number else None,
        release=program.release,
        unproven=purpose == FOR_PROVING,
        deviation=purpose == DEVIATION,
    )


def _name(machine: Machine, number: int | None, own: str) -> str:
    name = names.machine_name(machine.file_name, number=number, name=own)
    if machine.names_8_3:
        name = name.upper()
    wrong = names.problem(name, short_only=machine.names_8_3, ascii_only=machine.characters != "any")
    if wrong is None and names.folded(name) == names.folded(MANIFEST_NAME):
        wrong = "is that of the list this tool writes"
    if wrong is None and names.folded(name) == names.folded(READ_ME_NAME):
        wrong = "is that of the read-me this tool writes"
    if wrong is None and LEFTOVER.fullmatch(name.upper()):
        wrong = "is kept for temporary files of this tool"
    if wrong is not None:
        raise ValueError(f"the name {name!r} {wrong}")
    return name


def _clashes(machine: Machine, named: Sequence[tuple[str, Outgoing]]) -> Iterator[tuple[Outgoing, str]]:
    first: dict[str, tuple[str, Outgoing]] = {}
    for name, program in named:
        earlier = first.setdefault(names.folded(name), (name, program))
        if earlier[1] is not program:
            words = (
                f"{earlier[1].source} ({earlier[1].job}/{earlier[1].operation}) and {program.source} "
                f"({program.job}/{program.operation}) would both be {name} on {machine.id}"
            )
            yield program, words
