"""What every verb shares: the global options, and how an answer reaches the screen.

A verb's module has one function ``command`` whose parameters are its options; it calls a use case, then
`Frame.answer` with the report in its two forms. Standard output is the answer, standard error everything else.
"""

import json as json_text
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from tracker.cli import complete
from tracker.cli.progress import hush, hushed
from tracker.errors import BadCall
from tracker.reports.share_age import share_json
from tracker.reports.signed import signed_text
from tracker.reports.table import say
from tracker.services.ports_sign import NO_KEY, signed_words
from tracker.services.progress import phase

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.desk import Desk
    from tracker.services.last_share import LastShare
    from tracker.services.ports_sign import Signer

Json = Annotated[bool, typer.Option("--json", help="Answer as one JSON object.")]
Csv = Annotated[bool, typer.Option("--csv", help="Answer as a table for a spreadsheet.")]
Yes = Annotated[bool, typer.Option("--yes", help="Do not ask, do it.")]
By = Annotated[str | None, typer.Option("--by", metavar="INITIALS", help="Who is doing this.")]
Reason = Annotated[str | None, typer.Option("-m", "--reason", metavar="TEXT", help="Why, in a sentence.")]
MachineOption = Annotated[
    str | None,
    typer.Option(
        "--machine", metavar="ID", help="Machine as in shop.toml.", autocompletion=complete.machines
    ),
]
_SAY_LAST_SHARE = ("release", "export")


@dataclass(slots=True, kw_only=True)
class Frame:
    """The global options of one call."""

    folder: str = "."
    no_color: bool = False
    json: bool = False
    csv: bool = False
    yes: bool = False
    quiet: bool = False
    key: str | None = None
    signer: "Signer | None" = None
    seat: "Desk | None" = None

    @classmethod
    def of(cls, ctx: typer.Context, *, json: bool = False, yes: bool = False, csv: bool = False) -> "Frame":
        """The frame of this call, with what the verb's own options add."""
        frame = cast(Frame, ctx.find_root().obj)
        frame.json = frame.json or json
        frame.yes = frame.yes or yes
        frame.csv = csv
        if csv and frame.json:
            raise BadCall("wrong-call", "--csv and --json do not go together", fix="leave one of them out")
        return frame

    def desk(self) -> "Desk":
        """The desk in this folder: repository, clock, whose PC it is."""
        from tracker.wiring import open_desk

        return self.at(open_desk(self.folder))

    def view(self, *, answers: bool = True) -> "Desk":
        """The desk in this folder for a verb that only shows something: it looks at the index of the clone, and at ``answers`` kept there."""
        from tracker.wiring import open_view

        return self.at(open_view(self.folder, answers=answers))

    def at(self, desk: "Desk") -> "Desk":
        """The same desk, with this call's key; what it signs is said by `answer`, and how old its last share is."""
        self.seat = desk
        if desk.signer is not None:
            self.signer = desk.signer()
            may_ask = sys.stdin.isatty() and not self.json
            self.signer.use(self.key_file(), may_ask=may_ask, free=hushed)
        return desk

    def key_file(self) -> str | None:
        """The file of the key named with ``--key`` or in PROVEOUT_KEY, from the folder of ``-C``; None: none was."""
        said = self.key or os.environ.get("PROVEOUT_KEY")
        return said if not said or said == NO_KEY else str(Path(self.folder) / Path(said).expanduser())

    def console(self, *, error: bool = False) -> "Console":
        """A console for people: no colour or markup unless on a terminal, nothing the code page cannot show."""
        from tracker.cli.screen import make_console

        hush()
        return make_console(error=error, no_color=self.no_color)

    def answer(
        self,
        verb: str,
        data: Mapping[str, object] | Callable[[], Mapping[str, object]],
        text: Callable[["Console"], None],
    ) -> None:
        """Show a report: as ``{"schema": "proveout/<verb>/1", ...}`` with ``--json``, its table with ``--csv``, else as text."""
        told = self.signer.told if self.signer else []
        if self.csv:
            from tracker.reports.csv_rows import csv_bytes

            _put_bytes(csv_bytes(verb, data() if callable(data) else data))
            return
        if self.json:
            body = data() if callable(data) else data
            body = {**body, "signed": signed_words(told)} if told else body
            body = {**body, **share_json(self._last_share(verb))}
            sys.stdout.write(json_text.dumps({"schema": f"proveout/{verb}/1", **body}, indent=2) + "\n")
        else:
            console = self.console()
            text(console)
            signed_text(told, console)
            share = self._last_share(verb)
            if share is not None:
                say(console, share.words)

    def _last_share(self, verb: str) -> "LastShare | None":
        """Of what says what may run: a hold of somebody else's comes with a share only."""
        if self.seat is None or verb not in _SAY_LAST_SHARE:
            return None
        from tracker.services.last_share import last_share_of

        return last_share_of(self.seat)

    @contextmanager
    def busy(self, what: str) -> Iterator[None]:
        """While this lasts, what may take long and counts nothing is said as `progress` says it."""
        from tracker.cli.progress import progress

        with progress(hidden=self.json or self.quiet) as tell:
            phase(tell, what)
            yield

    def ask(self, question: str, *, flag: str) -> str:
        """Ask on a terminal; elsewhere raises BadCall naming the option that answers."""
        if not sys.stdin.isatty() or self.json:
            raise BadCall("not-a-terminal", f"{question} (no terminal to ask on)", fix=f"say it with {flag}")
        with hushed():
            return str(typer.prompt(question, err=True))

    def confirm(self, question: str) -> bool:
        """Yes or no, default no; ``--yes`` answers; raises BadCall where nobody can be asked."""
        if self.yes:
            return True
        if not sys.stdin.isatty() or self.json:
            raise BadCall("not-a-terminal", f"{question} (no terminal to ask on)", fix="say it with --yes")
        with hushed():
            return typer.confirm(question, default=False, err=True)


def _put_bytes(data: bytes) -> None:
    """Bytes to standard output as they are; as text where something else stands in for it."""
    sys.stdout.flush()
    raw = getattr(sys.stdout, "buffer", None)
    if raw is None:
        sys.stdout.write(data.decode("utf-8"))
        return
    raw.write(data)
    raw.flush()
