"""An answer shown again and again on a terminal until Ctrl-C, which ends the call like any other one (130)."""

import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, NoReturn

from tracker.cli.plain_screen import LEAST_WIDTH
from tracker.errors import BadCall, ProveoutError

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

    from tracker.reports.screen import Screen

EVERY = 5
"""Seconds from one look to the next."""
_FOOT = 1


class Page:
    """A `tracker.reports.screen.Screen` that keeps its lines, each with its style."""

    def __init__(self, width: int) -> None:
        self.width = max(width, LEAST_WIDTH)
        self.lines: list[tuple[str, str]] = []

    def print(
        self,
        *objects: object,
        emoji: bool | None = None,  # noqa: ARG002 - the words of a console; nothing here to switch off
        markup: bool | None = None,  # noqa: ARG002
        highlight: bool | None = None,  # noqa: ARG002
        soft_wrap: bool | None = None,  # noqa: ARG002
        style: str | None = None,
    ) -> None:
        """Keep one line."""
        self.lines.append((" ".join(map(str, objects)), style or ""))


def watch(
    console: "Console", look: Callable[["Screen"], None], wait: Callable[[float], None] | None = None
) -> NoReturn:
    """Show what ``look`` prints on a screen of its own, every `EVERY` seconds; the screen that was there comes back.

    A look that fails is shown as its error, and the next one tried: somebody else's share may be under way. What does not
    fit is counted.

    Args:
        console: where to show it.
        look: prints the answer as it is now.
        wait: sleeps between two looks; the test's own in tests.

    Raises:
        ProveoutError: what the first look raises; ``not-a-terminal`` where nothing can be shown at the same place again.
        KeyboardInterrupt: always in the end.
    """
    if not sys.stdout.isatty() or console.is_dumb_terminal:
        fix = "leave --watch out; a script asks again by itself, with --json"
        raise BadCall(
            "not-a-terminal", "--watch needs a terminal that can show one page over another", fix=fix
        )
    from rich.live import Live

    look(Page(console.width))  # a wrong call ends here
    with Live(console=console, screen=True, auto_refresh=False, vertical_overflow="crop") as live:
        while True:
            live.update(page_now(console, look), refresh=True)
            (wait or time.sleep)(EVERY)


def page_now(console: "Console", look: Callable[["Screen"], None]) -> "Text":
    """One look as it fits on the screen, its last line saying how to end."""
    from rich.text import Text

    page = Page(console.width)
    try:
        look(page)
    except ProveoutError as fault:
        from tracker.cli.boundary import as_text

        page.lines = [(line, "") for line in as_text(fault).splitlines()]
    room = console.height - _FOOT
    lines = page.lines if len(page.lines) <= room else page.lines[: room - 1]
    left = len(page.lines) - len(lines)
    text = Text(no_wrap=True, overflow="crop")
    for line, style in lines:
        text.append(line + "\n", style=style)
    if left:
        text.append(f"... and {left} more lines; --standing, --job and --machine narrow\n")
    return text.append(f"looked at every {EVERY} s; Ctrl-C ends")
