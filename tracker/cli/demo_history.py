"""The invented shop's history, replayed: every event goes through the command a person would have typed.

``history.toml`` in the sample folder lists the events; this module lays the files there that a programmer or a
control would have saved, sets the clock, and runs the commands. Nothing is written to the repository any other way.
"""

import os
import shutil
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tracker.errors import CouldNot

Runner = Callable[[Sequence[str]], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One event: when, what it is, files saved in the shop and on the stick beforehand, commands."""

    at: str
    says: str
    number: int | None = None
    put: Mapping[str, str]
    stick: Mapping[str, str]
    run: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One stop of the tour after the history: what is shown, and the command that shows it."""

    says: str
    run: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Everything that happened, the day the demo stands on, and the tour."""

    today: str
    events: tuple[Event, ...]
    tour: tuple[Step, ...]


def read_history(sample: Path) -> History:
    """The history of the sample folder."""
    content = tomllib.loads((sample / "history.toml").read_text(encoding="utf-8"))
    events = tuple(
        Event(
            at=e["at"],
            says=e["says"],
            number=e.get("number"),
            put=e.get("put", {}),
            stick=e.get("stick", {}),
            run=tuple(tuple(words) for words in e["run"]),
        )
        for e in content["events"]
    )
    tour = tuple(Step(says=t["says"], run=tuple(t["run"])) for t in content["tour"])
    return History(today=content["today"], events=events, tour=tour)


@contextmanager
def clock_at(moment: str) -> Iterator[None]:
    """The tool's clock set to ``moment`` for a while."""
    before = os.environ.get("PROVEOUT_NOW")
    os.environ["PROVEOUT_NOW"] = moment
    try:
        yield
    finally:
        if before is None:
            del os.environ["PROVEOUT_NOW"]
        else:
            os.environ["PROVEOUT_NOW"] = before


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where the sample lies, and the folders of the new shop and its stick."""

    sample: Path
    shop: Path
    stick: Path

    def words(self, command: Sequence[str]) -> list[str]:
        """The command with the places filled in."""
        places = {
            "{shop}": str(self.shop),
            "{stick}": str(self.stick),
            "{answers}": str(self.sample / "answers"),
        }
        return [_fill(word, places) for word in command]


def _fill(word: str, places: Mapping[str, str]) -> str:
    for name, place in places.items():
        word = word.replace(name, place)
    return word


def _save(sample: Path, target: Path, files: Mapping[str, str]) -> None:
    for name, source in files.items():
        path = target / name
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(sample / source, path)


def replay(places: Places, event: Event, runner: Runner) -> None:
    """Run one event; raises CouldNot (``demo``) when one of its commands did not end as it should."""
    _save(places.sample, places.shop, event.put)
    _save(places.sample, places.stick, event.stick)
    with clock_at(event.at):
        for command in event.run:
            words = ["-C", str(places.shop), *places.words(command)]
            status = runner(words)
            # taking a control edit in is a decision a person has just made, yet a changed file ends in 1
            if status != 0 and not (command[0] == "collect" and status == 1):
                raise CouldNot(
                    "demo",
                    f"the sample's event of {event.at} ended with {status}: proveout {' '.join(words)}",
                    fix="remove the folder and try again; if it happens again it is a defect of proveout",
                )
