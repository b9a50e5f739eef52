"""Verbs that look back on a shop of many years, as ratios to plain git on the same repository in the same run.

    python tests/benchmarks/looking_back.py [--small] [--rounds 3] [--folder DIR]

Whole processes, each with its wall and processor time (those of the git it starts included):

- ``status``, ``history`` of one job and ``where`` while the index is made, out of it, and after one commit, beside
  ``git log --raw`` of all history, ``history`` out of the index beside the same of one job's folder;
- ``audit`` with no note and no index, the same with ``--integrity``, of a state it has seen, and after one commit, beside ``git fsck``.

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


ONE_JOB = [*LOG, "--", "jobs/1001", "records"]
PEERS = {"git log --raw": LOG, "git log of a job": ONE_JOB, "git fsck": ["fsck", "--no-progress"]}
"""What plain git does that tells the same, or at least has to look at the same objects."""


class Race:
    """One shop, and what was measured on it."""

    def __init__(self, folder: Path, script: list[str], rounds: int) -> None:
        self.folder = folder
        self.rounds = rounds
        self.wrong: list[str] = []
        self.times: dict[str, Contender] = {}
        self.peer: dict[str, str] = {}
        self._script = script
        self._holds = 0
        self._environment = {**os.environ, "PROVEOUT_NOW": NOW, "LC_ALL": "C"}
        self._environment.pop(
            "PYTHONDONTWRITEBYTECODE", None
        )  # an installed program has its modules compiled
        for name, words in PEERS.items():
            self.times[name] = Contender(name, ["git", "-C", str(folder), *words])

    def ours(
        self, name: str, *words: str, peer: str, times: int = 1, commit: bool = False, anew: bool = False
    ) -> str:
        """Time a call of the tool, each time beside its peer, so that a slow spell of the machine meets both.

        ``commit``: behind a commit each time; ``anew``: without the index. Returns the SHA-256 of all it said last.
        """
        contender = Contender(name, [*self._script, "-C", str(self.folder), *words])
        self.times[name], self.peer[name] = contender, peer
        for _ in range(times):
            if commit:
                self._commit()
            if anew:
                self.forget("index")
            run_once(self.times[peer], self._environment)
            run_once(contender, self._environment)
        return contender.sha256

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

    def agree(self, name: str, first: str, second: str) -> None:
        """Two answers that must be the same."""
        if first != second:
            self.wrong.append(name)

    def commits(self) -> int:
        """How many there are by now."""
        argv = ["git", "-C", str(self.folder), "rev-list", "--count", "--all"]
        return int(subprocess.run(argv, env=self._environment, check=True, capture_output=True).stdout)


def measure(folder: Path, script: list[str], rounds: int) -> Race:
    """Everything, in turn."""
    race = Race(folder, script, rounds)
    for name, words, peer in (
        ("status", ["status"], "git log --raw"),
        ("history", ["history", "1001"], "git log of a job"),
        ("where", ["where", "1001/op10"], "git log --raw"),
    ):
        made = race.ours(f"{name}, index made", *words, peer="git log --raw", anew=True)
        race.agree(name, made, race.ours(f"{name}, from the index", *words, peer=peer, times=rounds))
        later = race.ours(f"{name}, after a commit", *words, peer=peer, times=rounds, commit=True)
        anew = race.ours(f"{name}, index made again", *words, peer="git log --raw", anew=True)
        race.agree(f"{name} after a commit", later, anew)
    race.forget("index", "audit", "packs")
    race.ours("audit --integrity, cold", "audit", "--integrity", peer="git fsck")
    race.forget("index", "audit", "packs")
    cold = race.ours("audit, cold", "audit", peer="git fsck")
    found = race.times["audit, cold"].output
    race.agree("audit", cold, race.ours("audit, the same state", "audit", peer="git fsck", times=rounds))
    race.ours("audit, after a commit", "audit", peer="git fsck", times=rounds, commit=True)
    if b"No problem found" not in found:
        race.wrong.append("audit found something")
    return race


def report(race: Race) -> None:
    """A row a call: best wall and processor seconds, both as multiples of its peer's, and how quick the index is made."""
    print(f"{'call':28} {'wall s':>8} {'cpu s':>8} {'x wall':>8} {'x cpu':>8}  peer")
    for name, one in race.times.items():
        peer = race.times[race.peer.get(name, name)]
        ratios = f"{one.best / peer.best:8.2f} {min(one.cpu) / max(min(peer.cpu), 0.001):8.2f}"
        print(f"{name:28} {one.best:8.2f} {min(one.cpu):8.2f} {ratios}  {race.peer.get(name, '')}")
    made = race.times["history, index made again"]
    commits = race.commits()
    rates = f"{commits / made.best:.0f} commits/s, {commits / max(min(made.cpu), 0.001):.0f} a second of processor"
    print(f"index of {commits} commits made for history: {rates}")


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
