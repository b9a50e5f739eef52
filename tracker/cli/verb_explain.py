"""``explain``: what a name on the screen means and how to put it right."""

from itertools import groupby
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import Frame, Json
from tracker.reports.explain import all_pages, page
from tracker.reports.page import Page

if TYPE_CHECKING:
    from rich.console import Console


def command(
    ctx: typer.Context,
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Error, standing, kind, verdict.")
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
        console.print(f"{only.name} ({only.sort})\n  {only.means}")
        if only.put_right:
            console.print(f"  To put it right: {only.put_right}")
        return
    for sort, pages in groupby(chosen, key=lambda p: p.sort):
        console.print(f"{sort}: {', '.join(p.name for p in pages)}")
