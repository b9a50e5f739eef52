"""Consoles for people: plain words first, colour only on a terminal that wants it.

User data is full of brackets, so markup, emoji and highlighting are off; what a code page cannot show is written as
``?`` instead of ending in an error (NC text on a cp1252 console).
"""

import contextlib
import io
import os
import sys

from rich.console import Console


def make_console(*, error: bool = False, no_color: bool = False) -> Console:
    """A console on standard output, or on standard error.

    Off a terminal there is no colour and lines are not wrapped to a width, so that a table can be piped.
    """
    stream = sys.stderr if error else sys.stdout
    if isinstance(stream, io.TextIOWrapper):
        with contextlib.suppress(ValueError):
            stream.reconfigure(errors="replace")
    plain = no_color or bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    terminal = stream.isatty()
    return Console(
        file=stream,
        no_color=plain or not terminal,
        color_system="auto" if terminal and not plain else None,
        markup=False,
        emoji=False,
        highlight=False,
        soft_wrap=not terminal,
        width=None if terminal else _width(),
        legacy_windows=False,
    )


def _width() -> int:
    """Width of tables that go to a file or a pipe: COLUMNS if set, else 100."""
    text = os.environ.get("COLUMNS", "")
    return int(text) if text.isdigit() and int(text) >= 40 else 100
