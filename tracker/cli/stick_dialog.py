"""What a terminal is asked where a folder of a stick said all the rest: initials, and how a run went."""

from collections.abc import Sequence

import typer

from tracker.cli.frame import Frame
from tracker.errors import BadCall
from tracker.reports.table import visible, wrapped
from tracker.services.desk import Desk, acting


def initials(frame: Frame, desk: Desk, by: str | None) -> str | None:
    """Who it was; asked where neither the call nor this PC says it."""
    try:
        acting(desk, desk.repo.ledger().shop, by)
    except BadCall as fault:
        if fault.name != "who":
            raise
        return frame.ask("Your initials", flag="--by INITIALS").strip()
    return by


def say_lot(frame: Frame, lot: str | None, serials: Sequence[str] | None) -> None:
    """What lot the run is put down for, before the last question: a run without one is found by its day alone."""
    if lot is not None:
        words = f"Lot {visible(lot)}."
    elif serials:
        return
    else:
        words = "No lot is named. To name one: Ctrl-C, and again with --lot LOT."
    wrapped(frame.console(error=True), words)


def how_it_went(said: str | None) -> str | None:
    """What was different in a run, asked in one line; ``said`` was said already."""
    if said is not None:
        return said
    told = typer.prompt(
        "Ran as it should? (yes: Enter; else what was different)",
        default="",
        show_default=False,
        err=True,
    )
    return str(told).strip() or None
