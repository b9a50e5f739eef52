"""Verbs that look back on a shop of many years, as ratios to plain git on the same repository in the same run.

    python tests/benchmarks/looking_back.py [--small] [--rounds 3] [--folder DIR]

Whole processes, each with its wall and processor time (those of the git it starts included):

- ``status``, ``history`` of one job and ``where`` while the index is made, out of it, and after one commit, beside
  ``git log --raw`` of all history;
- ``audit`` with no note and no index, of a state it has seen, and after one commit, beside ``git fsck``.

Times depend on the machine, and nothing fails by them. Ends with status 1 where an answer out of the index is not the one
without it, or where an audit finds something in this shop, of which nothing is wrong.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import big_shop
from tests.benchmarks.measure import Contender, run_once

SMALL = {"jobs": 6, "rounds": 2, "operations": 2, "exports": 3}
NOW = "2026-06-30T09:00:00Z"
"""After all that a shop of `big_shop.LARGE` did."""
LOG = ["log", "--raw", "-z", "--no-renames", "--root", "--topo-order", "--all"]


class Race:
    """One shop, and what was measured on it."""

    def __init__(self, folder: Path, script: list[str], rounds: int) -> None:
        self.folder = folder
        self.rounds = rounds
        self.wrong: list[str] = []
        self.times: dict[str, Contender] = {}
        self._script = script
        self._holds = 0
        self._environment = {**os.environ, "PROVEOUT_NOW": NOW, "LC_ALL": "C"}

    def ours(self, name: str, *words: str, times: int = 1, commit: bool = False) -> bytes:
        """Time a call of the tool; ``commit``: behind a commit, each time."""
        return self._take(name, [*self._script, "-C", str(self.folder), *words], times, commit=commit)

    def git(self, name: str, *words: str) -> None:
        """Time plain git."""
        self._take(name, ["git", "-C", str(self.folder), *words], self.rounds, commit=False)

    def _take(self, name: str, argv: list[str], times: int, *, commit: bool) -> bytes:
        contender = self.times[name] = Contender(name, argv)
        for _ in range(times):
            if commit:
                self._commit()
            run_once(contender, self._environment)
        return contender.output

    def _commit(self) -> None:
        """A hold: something that happens every day."""
        self._holds += 1
        words = ["hold", "1001/op10", "--by", "dg", "-m", f"look at it again, {self._holds}"]
        argv = [*self._script, "-C", str(self.folder), *words]
        subprocess.run(argv, env=self._environment, check=True, capture_output=True)

    def forget(self, *names: str) -> None:
        """Delete notes and index: all of them may be deleted at any time."""
        for path in (self.folder / ".git" / "proveout").glob("*"):
            if path.name.startswith(names):
                path.unlink()

    def agree(self, name: str, first: bytes, second: bytes) -> None:
        """Two answers that must be the same."""
        if first != second:
            self.wrong.append(name)


def measure(folder: Path, script: list[str], rounds: int) -> Race:
    """Everything, in turn."""
    race = Race(folder, script, rounds)
    race.git("git log --raw", *LOG)
    race.git("git fsck", "fsck", "--no-progress")
    for name, words in (
        ("status", ["status"]),
        ("history", ["history", "1001"]),
        ("where", ["where", "1001/op10"]),
    ):
        race.forget("index")
        made = race.ours(f"{name}, index made", *words)
        race.agree(name, made, race.ours(f"{name}, from the index", *words, times=rounds))
        later = race.ours(f"{name}, after a commit", *words, times=rounds, commit=True)
        race.forget("index")
        race.agree(f"{name} after a commit", later, race.ours(f"{name}, index made again", *words))
    race.forget("index", "audit", "packs")
    cold = race.ours("audit, cold", "audit")
    race.agree("audit", cold, race.ours("audit, the same state", "audit", times=rounds))
    race.ours("audit, after a commit", "audit", times=rounds, commit=True)
    if b"No problem found" not in cold:
        race.wrong.append("audit found something")
    return race


def report(race: Race) -> None:
    """A row a call: best wall and processor seconds, and the wall time as a multiple of git's."""
    log, fsck = race.times["git log --raw"].best, race.times["git fsck"].best
    print(f"{'call':28} {'wall s':>8} {'cpu s':>8} {'x git':>8}")
    for name, one in race.times.items():
        peer = fsck if name.startswith(("audit", "git fsck")) else log
        print(f"{name:28} {one.best:8.2f} {min(one.cpu):8.2f} {one.best / peer:8.2f}")


def main() -> int:
    """Make the shop, measure, print; 1 where an answer is wrong."""
    from tests.benchmarks.run import console_script

    words = argparse.ArgumentParser()
    words.add_argument("--small", action="store_true")
    words.add_argument("--rounds", type=int, default=3)
    words.add_argument("--folder", type=Path)
    said = words.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = said.folder or Path(place) / "shop"
        if not folder.exists():
            big_shop.make(folder, **(SMALL if said.small else big_shop.LARGE))
        race = measure(folder, console_script(), said.rounds)
        report(race)
    for name in race.wrong:
        print(f"not the same: {name}")
    return 1 if race.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
