"""Options and little readings that several verbs share beside those of the frame."""

import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.fast_files import read_file
from tracker.cli.frame import Frame
from tracker.cli.sheet_file import write_through
from tracker.clock import parse_time
from tracker.errors import BadCall, CouldNot, Refused
from tracker.reports.table import say, visible, wrapped
from tracker.services.progress import bytes_told

if TYPE_CHECKING:
    from tracker.services.desk import Desk
    from tracker.services.from_stick import Choice, Choose, OnStickNow
    from tracker.services.named_by_id import ById
    from tracker.services.naming import Named
    from tracker.services.progress import Tell

At = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="When it happened, if not now: 2026-03-11T09:15Z."),
]
Accept = Annotated[bool, typer.Option("--accept", help="It was good.")]
Reject = Annotated[bool, typer.Option("--reject", help="It was not.")]
Target = Annotated[
    str,
    typer.Argument(
        metavar="JOB/OP[@rN]",
        help="Operation, and revision if not the newest; or its 8-digit id.",
        autocompletion=complete.operations,
    ),
]
TargetOrStick = Annotated[
    str,
    typer.Argument(
        metavar="JOB/OP[@rN]|DIR",
        help="Operation, revision or 8-digit id; or the folder of a stick.",
        autocompletion=complete.operations,
    ),
]
MaybeTarget = Annotated[
    str | None,
    typer.Argument(
        metavar="[JOB/OP[@rN]]",
        help="Operation, one revision of it, or its 8-digit id.",
        autocompletion=complete.operations,
    ),
]


def moment(text: str | None) -> datetime | None:
    """The time a person typed; raises BadCall (``bad-time``)."""
    if text is None:
        return None
    try:
        return parse_time(text)
    except ValueError as fault:
        raise BadCall(
            "bad-time",
            f"{text!r} is no time with its zone",
            fix="write it like 2026-03-11T09:15Z, or with the offset: 2026-03-11T10:15+01:00",
        ) from fault


def result_of(accept: bool, reject: bool) -> str | None:
    """``accepted``, ``rejected`` or None for neither; raises BadCall (``wrong-call``) for both."""
    if accept and reject:
        raise BadCall("wrong-call", "--accept and --reject do not go together", fix="leave one of them out")
    return "accepted" if accept else "rejected" if reject else None


def must_confirm(frame: Frame, question: str) -> None:
    """Ask; raises Refused (``not-signed``) on no, BadCall where nobody can be asked and ``--yes`` is not there."""
    if not frame.confirm(question):
        raise Refused("not-signed", "nothing was recorded", fix="run it again when you are ready")


def one_of(target: str | None, machine: str | None, machines_only: Mapping[str, object]) -> None:
    """Either a target or a machine; ``machines_only``: options that go with a machine only, and their values.

    Raises BadCall (``wrong-call``).
    """
    if (target is None) == (machine is None):
        raise BadCall(
            "wrong-call",
            "what is meant?",
            fix="name JOB/OP, JOB/OP@rN, or a machine with --machine; one of them",
        )
    for option, value in machines_only.items():
        if value is not None and machine is None:
            raise BadCall("wrong-call", f"{option} goes with --machine", fix="say why with -m")


def file_named(frame: Frame, name: str, tell: "Tell | None" = None) -> bytes:
    """The bytes of a file named on the command line, from the folder of ``-C``; raises BadCall or CouldNot.

    ``tell``: is told how much of a long one was read.
    """
    path = name if name == "-" else str(Path(frame.folder) / name)
    if tell is None:
        return read_file(path)
    return read_file(path, lambda done, size: bytes_told(f"reading {name}", done, size, tell))


def named_in(frame: Frame, desk: "Desk", text: str) -> "Named":
    """The operation or revision a person named, also by its 8-digit id, which is then said; raises BadCall."""
    return _said(frame, desk, text).named


def _said(frame: Frame, desk: "Desk", text: str) -> "ById":
    from tracker.services.named_by_id import named_or_id

    found = named_or_id(desk, text)
    if found.says is not None and not (frame.quiet or frame.json):
        say(frame.console(error=True), visible(found.says))
    return found


def can_ask(frame: Frame) -> bool:
    """Whether somebody sits at a terminal and has not said everything with ``--yes``."""
    return sys.stdin.isatty() and not frame.json and not frame.yes


def meant_by(frame: Frame, desk: "Desk", target: str, machine: str | None) -> "OnStickNow":
    """What a person named: an operation or a revision, or the folder of a stick that says it all.

    A job of that name comes before a folder of that name.
    """
    from tracker.services.from_stick import OnStickNow
    from tracker.services.locate import find_job
    from tracker.services.naming import parse_named

    folder = Path(frame.folder) / target
    if folder.is_dir():
        try:
            find_job(desk.repo.tree(), parse_named(target).job)
        except BadCall:
            return _on_stick(frame, desk, target, machine)
    elif _is_path(target):
        return _on_stick(frame, desk, target, machine)  # which says that no stick is there
    found = _said(frame, desk, target)
    return OnStickNow(
        named=found.named,
        machine=machine_here(frame, desk, machine),
        files=(),
        by_id=found.says is not None,
    )


def _is_path(target: str) -> bool:
    """Whether it is written as a path is, and no operation is: a root, a drive, a dot in front, more than one slash."""
    return target.startswith(("/", ".", "~")) or "\\" in target or target[1:2] == ":" or target.count("/") > 1


def _on_stick(frame: Frame, desk: "Desk", folder: str, machine: str | None) -> "OnStickNow":
    from tracker.cli.progress import progress
    from tracker.services.from_stick import from_stick
    from tracker.stick.layout import StickShaper
    from tracker.wiring import open_stick

    choose = _chooser(frame) if can_ask(frame) else None
    with progress(hidden=frame.json or frame.quiet) as tell:
        medium = open_stick(frame.folder, folder, tell)
        found = from_stick(desk, medium, StickShaper(), choose, machine=machine, tell=tell)
    if not (frame.quiet or frame.json):
        console = frame.console(error=True)
        wrapped(console, f"{found.spelled}: {', '.join(one.name for one in found.files)}")
        if found.stopped is not None:
            wrapped(console, found.stopped.words)
        for note in found.notes:
            wrapped(console, f"note: {note}")
    return found if found.machine else replace(found, machine=machine_here(frame, desk, machine))


def _chooser(frame: Frame) -> "Choose":
    def choose(choices: "Sequence[Choice]") -> "Choice":
        console = frame.console(error=True)
        for number, one in enumerate(choices, 1):
            say(console, visible(f"{number}  {one.spelled}"))
            if one.stopped is not None:
                wrapped(console, one.stopped.words, indent="   ")
        while True:
            said = frame.ask(f"Which one? (1 to {len(choices)})", flag="JOB/OP").strip()
            if said.isdecimal() and 0 < int(said) <= len(choices):
                return choices[int(said) - 1]

    return choose


def machine_here(frame: Frame, desk: "Desk", machine: str | None) -> str | None:
    """The machine that is meant: the one named, else the one this PC stands at, which is then said."""
    if machine is not None or desk.machine is None:
        return machine
    if not frame.quiet:
        say(frame.console(error=True), visible(f"on {desk.machine}, where this PC stands"))
    return desk.machine


def write_new(frame: Frame, name: str, text: str) -> str:
    """Write a new text file for a person; its path. Raises as `write_new_bytes` does."""
    return write_new_bytes(frame, name, text.encode("utf-8"))


def write_new_bytes(frame: Frame, name: str, data: bytes) -> str:
    """Write a new file for a person; its path.

    One that holds these very bytes already is it. Raises BadCall (``file-exists``) rather than write over anything,
    CouldNot (``not-written``).
    """
    path = Path(frame.folder) / name
    try:
        with path.open("xb") as file:
            try:
                write_through(file, data)
            except OSError:
                with suppress(OSError):  # half a file is none
                    path.unlink()
                raise
    except FileExistsError as fault:
        if not _holds(path, data):
            raise BadCall(
                "file-exists", "there is such a file already", where=str(path), fix="choose another name"
            ) from fault
    except OSError as fault:
        raise CouldNot(
            "not-written",
            f"the file could not be written: {fault.strerror or fault}",
            where=str(path),
            fix="check the folder, its permissions and the free space",
        ) from fault
    return str(path)


def _holds(path: Path, data: bytes) -> bool:
    """Whether a plain file holds exactly this; of a link, or what cannot be read, no."""
    try:
        return path.is_file() and not path.is_symlink() and path.read_bytes() == data
    except OSError:
        return False
