"""``explain``: what a name on the screen means and how to put it right."""

from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import Frame, Json
from tracker.reports.explain import all_pages, page
from tracker.reports.manual import SORT as MANUAL_PAGE
from tracker.reports.page import Page
from tracker.reports.table import say, wrapped

if TYPE_CHECKING:
    from rich.console import Console


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME]",
            help="Error, standing, kind, verdict; or programmer, setup, quality, auditor, it.",
            autocompletion=complete.pages,
        ),
    ] = None,
    json: Json = False,
) -> None:
    """Explain one name, or list all of them."""
    frame = Frame.of(ctx, json=json)
    chosen = [page(name)] if name else list(all_pages().values())
    data = [
        {"name": p.name, "sort": p.sort, "means": p.means, "put_right": p.put_right or None} for p in chosen
    ]
    frame.answer("explain", {"pages": data}, lambda console: _show(console, chosen))


def _show(console: "Console", chosen: list[Page]) -> None:
    if len(chosen) == 1:
        only = chosen[0]
        if only.sort == MANUAL_PAGE:
            say(console, *only.means.splitlines())
            return
        say(console, f"{only.name} ({only.sort})")
        wrapped(console, only.means, indent="  ")
        if only.put_right:
            wrapped(console, f"To put it right: {only.put_right}", indent="  ")
        return
    for sort in dict.fromkeys(p.sort for p in chosen):
        say(console, f"{sort}:")
        wrapped(console, ", ".join(sorted(p.name for p in chosen if p.sort == sort)), indent="  ")
