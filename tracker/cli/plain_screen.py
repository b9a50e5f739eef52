"""The console of the quick verbs: lines as they are, the one accent where a terminal takes colour, nothing to import.

What it writes is what `tracker.cli.screen` writes, on a terminal and off it. On Windows it leaves the accent out: a console
there has to be asked first whether it knows colour.
"""

import os
import sys

WIDTH_OFF_TERMINAL = 100
WIDTH_UNKNOWN = 80
LEAST_WIDTH = 40
_ACCENTED = "\x1b[1;31m{}\x1b[0m"


class PlainScreen:
    """Standard output as a `tracker.reports.screen.Screen`; what its code page cannot show is written as ``?``."""

    def __init__(self) -> None:
        self._stream = sys.stdout
        reconfigure = getattr(self._stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
        terminal = self._stream.isatty()
        self.width = width_of(terminal=terminal)
        self._colour = terminal and os.name != "nt" and not colourless()

    def print(
        self,
        *objects: object,
        emoji: bool | None = None,  # noqa: ARG002 - the words of a console; there is nothing here to switch off
        markup: bool | None = None,  # noqa: ARG002
        highlight: bool | None = None,  # noqa: ARG002
        soft_wrap: bool | None = None,  # noqa: ARG002
        style: str | None = None,
    ) -> None:
        """Write one line."""
        line = " ".join(map(str, objects))
        self._stream.write((_ACCENTED.format(line) if style and self._colour else line) + "\n")


def colourless() -> bool:
    """Whether the person wants no colour, or the terminal has none."""
    return bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"


def width_of(*, terminal: bool) -> int:
    """Columns of a table: COLUMNS if set, else those of the terminal; off a terminal `WIDTH_OFF_TERMINAL`."""
    text = os.environ.get("COLUMNS", "")
    if text.isdigit() and int(text) >= LEAST_WIDTH:
        return int(text)
    if not terminal:
        return WIDTH_OFF_TERMINAL
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns or WIDTH_UNKNOWN
    except (OSError, ValueError):
        return WIDTH_UNKNOWN
