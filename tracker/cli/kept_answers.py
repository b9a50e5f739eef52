"""Answers of a prove-out that could not be put down: a file for them, in the first place that takes it."""

import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from tracker.cli.frame import Frame
from tracker.errors import CouldNot, ProveoutError
from tracker.reports.table import say, visible
from tracker.services.desk import Desk
from tracker.services.prove import Answers, Begun, ProveReport
from tracker.services.prove_keep import finish_or_keep, keep_in_file
from tracker.store.own_folder import own_folder

_FREE_NAMES = 100


def put_down(frame: Frame, desk: Desk, begun: Begun, answers: Answers) -> ProveReport:
    """Put the prove-out down; where that fails, or Ctrl-C stops it, the answers are kept and a person is told where."""

    def keep(name: str, text: str) -> str | None:
        return kept(frame, name, text)

    try:
        return finish_or_keep(desk, begun, answers, keep)
    except KeyboardInterrupt:
        told = CouldNot("interrupted", "stopped", fix="nothing was signed")
        keep_in_file(begun, answers, keep, told)
        console = frame.console(error=True)
        for line in (*told.reasons, told.fix or ""):
            say(console, visible(line))
        raise


def kept(frame: Frame, name: str, text: str) -> str | None:
    """Write ``text`` into a new file beside the record, else into the temporary folder; its path, None for neither."""
    for folder in _places(frame):
        stem, _, ending = name.rpartition(".")
        for number in range(1, _FREE_NAMES):
            path = folder / (name if number == 1 else f"{stem}-{number}.{ending}")
            try:
                with path.open("x", encoding="utf-8", newline="\n") as file:
                    file.write(text)
            except FileExistsError:
                continue
            except OSError:
                _drop(path)
                break
            return str(path)
    return None


def _places(frame: Frame) -> Iterator[Path]:
    with suppress(OSError, ProveoutError):  # the next place may do
        yield own_folder(frame.folder)
    yield Path(tempfile.gettempdir())


def _drop(path: Path) -> None:
    """Take half a file away."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return
