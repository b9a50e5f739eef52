"""A setup sheet as far as a program tells it: what is known as a value, what is not as a question.

Nothing in here is guessed. A value is what the program's words or its head say, or what a tool list says.
"""

from collections.abc import Mapping

from tracker.frozen import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftTool:
    """A tool the program changes to, or a row of a tool list.

    Attributes:
        number: its T.
        description: what a comment or the list calls it.
        h, d, offset: the figures the program calls with it; several are a question to a person.
        listed: values of a tool list by key of ``[[operations.tools]]``; they stand before the program's.
        called: whether the program changes to it at all.
    """

    number: int
    description: str | None = None
    h: tuple[int, ...] = ()
    d: tuple[int, ...] = ()
    offset: tuple[int, ...] = ()
    listed: Mapping[str, object] = field(default_factory=dict)
    called: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftOperation:
    """One operation.

    Attributes:
        id: ``op10``.
        program: path of its main program from job.toml's folder.
        drawn_from: file name of the program, for the remark at the head.
        machines: ids.
        units: ``inch``, ``mm``, or None where the program says neither or both.
        lathe: whether words have lathe meanings.
        offsets: codes of work offsets, in order of first use.
        tools: in order of number.
        notes: what a person should look at, in words; they stand as remarks.
    """

    id: str
    program: str
    drawn_from: str
    machines: tuple[str, ...] = ()
    units: str | None = None
    lathe: bool = False
    offsets: tuple[str, ...] = ()
    tools: tuple[DraftTool, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftJob:
    """A whole job.toml; ``title`` is a comment of the head that may be the part's name."""

    number: str
    drawing: str | None = None
    drawing_revision: str | None = None
    material: str | None = None
    title: str | None = None
    operations: tuple[DraftOperation, ...] = ()
