"""The console of the quick verbs: lines as they are, no colour, nothing to import.

What it writes is what `tracker.cli.screen` writes for lines without style, on a terminal and off it.
"""

import os
import sys

WIDTH_OFF_TERMINAL = 100
WIDTH_UNKNOWN = 80
LEAST_WIDTH = 40


class PlainScreen:
    """Standard output as a `tracker.reports.screen.Screen`; what its code page cannot show is written as ``?``."""

    def __init__(self) -> None:
        self._stream = sys.stdout
        reconfigure = getattr(self._stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
        self.width = width_of(terminal=self._stream.isatty())

    def print(
        self,
        *objects: object,
        emoji: bool | None = None,  # noqa: ARG002 - the words of a console; there is nothing here to switch off
        markup: bool | None = None,  # noqa: ARG002
        highlight: bool | None = None,  # noqa: ARG002
        soft_wrap: bool | None = None,  # noqa: ARG002
    ) -> None:
        """Write one line."""
        self._stream.write(" ".join(map(str, objects)) + "\n")


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
