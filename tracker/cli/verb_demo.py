"""``demo``: an invented shop with two years of history, made through the real commands, and a short tour of it."""

import io
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Annotated

import typer

from tracker.cli.app import run
from tracker.cli.demo_history import History, Places, Step, clock_at, read_history, replay
from tracker.cli.entry import main
from tracker.cli.frame import Frame, Json
from tracker.errors import BadCall
from tracker.store.git import find_git
from tracker.wiring import data_folder

_NEW = "threepenny"
_CEILING = "GIT_CEILING_DIRECTORIES"


def command(
    ctx: typer.Context,
    folder: Annotated[str, typer.Argument(metavar="[DIR]", help="New folder for the shop.")] = _NEW,
    tour: Annotated[bool, typer.Option("--tour/--no-tour", help="Show it around afterwards.")] = True,
    json: Json = False,
) -> int:
    """Make the sample shop in a new folder and show it around."""
    frame = Frame.of(ctx, json=json)
    find_git()  # asked before a folder is made
    places = _new_shop((Path(frame.folder) / folder).resolve())
    history = read_history(places.sample)
    try:
        with _no_repository_above(places.shop):
            _replay(frame, places, history)
    except BaseException:
        shutil.rmtree(places.shop, ignore_errors=True)  # it was new or empty: all that is in it is ours
        raise
    if frame.json:
        made = {"folder": str(places.shop), "stick": str(places.stick), "today": history.today}
        frame.answer("demo", {**made, "events": len(history.events)}, lambda _: None)
        return 0
    frame.console().print(
        f"\nThe shop is in {places.shop}. Its programs are invented: for trying the tool, not for any machine.\n"
        f"Its clock stands on {history.today[:10]}: set PROVEOUT_NOW={history.today} to see what the tour shows."
    )
    if tour:
        with clock_at(history.today):
            for step in history.tour:
                _show(frame, places, step)
    return 0


@contextmanager
def _no_repository_above(shop: Path) -> Iterator[None]:
    """Git looks no higher than the new shop: it may lie in a checkout, of this program for one, and is none of its files."""
    before = os.environ.get(_CEILING)
    os.environ[_CEILING] = os.pathsep.join([str(shop.parent), *([before] if before else [])])
    try:
        yield
    finally:
        if before is None:
            del os.environ[_CEILING]
        else:
            os.environ[_CEILING] = before


def _new_shop(shop: Path) -> Places:
    if shop.exists() and (not shop.is_dir() or any(shop.iterdir())):
        raise BadCall(
            "not-empty",
            "the demo wants a new folder; this one holds something",
            where=str(shop),
            fix="name another one",
        )
    places = Places(sample=data_folder("sample_repo"), shop=shop, stick=shop / "sticks" / "BLUE-1")
    places.stick.mkdir(parents=True)
    return places


def _replay(frame: Frame, places: Places, history: History) -> None:
    progress = frame.console(error=True)
    for event in history.events:
        if not frame.quiet and not frame.json:
            number = f"{event.number:>2}" if event.number else " -"
            progress.print(f"{number}  {event.at[:16].replace('T', ' ')}  {event.says}")
        # what the commands say is kept back: the tour shows what matters
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            replay(places, event, run)


def _show(frame: Frame, places: Places, step: Step) -> None:
    words = places.words(step.run)
    frame.console().print(f"\n{step.says}\n$ proveout {' '.join(words)}")
    with redirect_stderr(sys.stdout):
        main(["-C", str(places.shop), *words])
