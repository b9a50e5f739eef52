"""Speed of the console script beside common tools, as ratios taken in one run.

    python tests/benchmarks/run.py [--megabytes 50] [--rounds 3] [--folder DIR] [--peers] [--json]

Comparisons of whole processes, taken in turn:

- ``proveout fingerprint`` of a surfacing program against stripping it with sed and hashing the rest; of a fifth of it
  the same in plain Python;
- ``proveout compare`` of a renumbered pair with one edit against ``git diff --no-index -w``;
- the start of the fast lane, and ``proveout status`` of the sample shop, against an interpreter that does nothing;
- ``git update-ref`` with the local hook against the same without it;
- ``proveout summary`` of a surface and of arcs, compiled and plain, in blocks a second (`tests.benchmarks.summary`).

Times depend on the machine and on who else uses it; nothing here fails by time. What it does check, and ends with
status 1 over, is the answers: the right file must have the right fingerprint, and one edit must be one change.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import hook, summary, surfacing
from tests.benchmarks.measure import Contender, interleaved

AT = {"PROVEOUT_NOW": "2026-03-20T13:00:00Z"}
"""The moment the sample shop's history leads up to."""

BYTES_A_BLOCK = 25
"""Programs to be summed up have so many blocks that 50 MB mean two millions."""

SED = r"LC_ALL=C sed -E 's/^N[0-9]+ ?//; s/\([^)]*\)//g' '{}' | sha256sum"


def console_script() -> list[str]:
    """The installed script beside this interpreter, or the package run as a module."""
    found = shutil.which("proveout", path=str(Path(sys.executable).parent))
    return [found] if found else [sys.executable, "-m", "tracker"]


def programs(folder: Path, size: int) -> tuple[Path, Path, Path]:
    """A program, the same renumbered, and the same renumbered with one coordinate changed."""
    first, same, other = (folder / name for name in ("first.nc", "same.nc", "other.nc"))
    surfacing.write(first, size)
    surfacing.write(same, size, step=2)
    surfacing.write(other, size, step=2, edited=True)
    return first, same, other


def fingerprint_race(script: list[str], first: Path, rounds: int) -> list[Contender]:
    """Ours first, then the peer."""
    size = first.stat().st_size
    ours = Contender("proveout fingerprint", [*script, "fingerprint", "--json", str(first)], size=size)
    peer = Contender("sed | sha256sum", ["sh", "-c", SED.format(first)], size=size)
    interleaved([ours, peer], rounds)
    return [ours, peer]


def plain_race(script: list[str], part: Path, rounds: int) -> list[Contender]:
    """The plain reading first, then the peer."""
    size = part.stat().st_size
    words = [*script, "fingerprint", "--json", str(part)]
    plain = {"PROVEOUT_PURE": "1"}
    ours = Contender("proveout fingerprint, plain Python", words, environment=plain, size=size)
    peer = Contender("sed | sha256sum", ["sh", "-c", SED.format(part)], size=size)
    interleaved([ours, peer], rounds)
    return [ours, peer]


def compare_race(script: list[str], first: Path, other: Path, rounds: int) -> list[Contender]:
    """Ours first, then the peer."""
    ours = Contender("proveout compare", [*script, "compare", "--json", str(first), str(other)])
    peer = Contender("git diff -w", ["git", "diff", "--no-index", "-w", str(first), str(other)])
    interleaved([ours, peer], rounds)
    return [ours, peer]


def sample_shop(script: list[str], folder: Path) -> Path:
    """The sample shop with its history, in a new folder."""
    shop = folder / "shop"
    subprocess.run([*script, "demo", str(shop), "--no-tour"], check=True, capture_output=True)
    return shop


def start_race(script: list[str], small: Path, shop: Path, rounds: int) -> list[Contender]:
    """The fast-lane verbs, and last the interpreter on its own."""
    starts = [
        Contender("proveout --version", [*script, "--version"]),
        Contender("proveout fingerprint (20 KB)", [*script, "fingerprint", str(small)]),
        Contender("proveout normalize (20 KB)", [*script, "normalize", str(small)]),
        Contender("proveout normalize --for-git (20 KB)", [*script, "normalize", "--for-git", str(small)]),
        Contender("proveout status (sample shop)", [*script, "-C", str(shop), "status"], environment=AT),
        Contender("python -c pass", [sys.executable, "-c", "pass"]),
    ]
    interleaved(starts, rounds)
    return starts


def wrong_answers(script: list[str], files: tuple[Path, Path, Path], comparison: Contender) -> list[str]:
    """What the timed commands got wrong; empty if all is well."""
    wrong = []
    marks = Contender("marks", [*script, "fingerprint", "--json", *map(str, files)])
    interleaved([marks], 1)
    first, same, other = (entry["fingerprint"] for entry in json.loads(marks.output)["files"])
    if first != same:
        wrong.append("renumbering changed the fingerprint")
    if first == other:
        wrong.append("an edit did not change the fingerprint")
    changes = [change for change in json.loads(comparison.output)["changes"] if change["old"]]
    if len(changes) != 1:
        wrong.append(f"one edit is reported as {len(changes)} changes")
    return wrong


def table(title: str, contenders: list[Contender]) -> str:
    """Lines for people: time, ratio to the last contender, memory."""
    base = contenders[-1]
    lines = [title]
    for one in contenders:
        memory = f"{one.memory / 2**20:6.0f} MB" if one.memory else "       -"
        rate = f" {one.rate:6.1f} MB/s" if one.size else ""
        lines.append(
            f"  {one.name:38} best {one.best:7.3f} s  median {one.middle:7.3f} s"
            f"  x {one.best / base.best:5.2f} (median {one.middle / base.middle:5.2f}) {memory}{rate}"
        )
    return "\n".join(lines)


def costs_table(costs: list[hook.Cost]) -> str:
    """What the hook adds, for people."""
    lines = [f"  {one.name:38} best {one.best:7.1f} ms  median {one.middle:7.1f} ms more" for one in costs]
    return "\n".join(["hook", *lines])


def as_data(contenders: list[Contender]) -> list[dict[str, object]]:
    """The same for scripts."""
    base = contenders[-1]
    return [
        {
            "name": one.name,
            "seconds": one.best,
            "ratio": one.best / base.best,
            "median_ratio": one.middle / base.middle,
            "memory": one.memory,
            **({"megabytes_per_second": one.rate} if one.size else {}),
        }
        for one in contenders
    ]


def costs_data(costs: list[hook.Cost]) -> list[dict[str, object]]:
    """The same of the hook."""
    return [{"name": one.name, "best_ms": one.best, "median_ms": one.middle} for one in costs]


@dataclass(frozen=True, slots=True)
class Measured:
    """The contenders by race, what the hook adds, summaries of long programs, and the wrong answers."""

    races: dict[str, list[Contender]]
    costs: list[hook.Cost]
    summaries: list[summary.Race]
    wrong: list[str]

    def text(self) -> str:
        """For people."""
        tables = [table(name, race) for name, race in self.races.items()]
        tables += [costs_table(self.costs), *(race.text() for race in self.summaries)]
        return "\n".join([*tables, *(f"WRONG: {line}" for line in self.wrong)])

    def data(self) -> dict[str, object]:
        """For scripts."""
        races = {name: as_data(race) for name, race in self.races.items()}
        summaries = {f"summary of {race.name}": race.data() for race in self.summaries}
        return {**races, "hook": costs_data(self.costs), **summaries, "wrong": self.wrong}


def measure(folder: Path, size: int, rounds: int, *, peers: bool = False) -> Measured:
    """Run all races on freshly made programs; ``peers`` are installed for it."""
    script = console_script()
    files = programs(folder, size)
    small, part = folder / "small.nc", folder / "part.nc"
    surfacing.write(small, 20_000)
    surfacing.write(part, size // 5)
    shop = sample_shop(script, folder)
    often = max(rounds * 3, 5) if rounds > 1 else 2  # one round is a try of the script, not a measurement
    races = {
        "fingerprint": fingerprint_race(script, files[0], rounds),
        "plain": plain_race(script, part, rounds),
        "compare": compare_race(script, files[0], files[2], rounds),
        "start": start_race(script, small, shop, often),
    }
    costs, wrong = hook.race(script, shop, often)
    python = summary.peers(folder) if peers else None
    summaries = summary.races(script, folder, size // BYTES_A_BLOCK, rounds, python)
    wrong += wrong_answers(script, files, races["compare"][0]) + summary.wrong_answers(summaries)
    return Measured(races, costs, summaries, wrong)


def main() -> int:
    """Measure and print; status 1 if an answer was wrong."""
    parser = argparse.ArgumentParser(description="Measure proveout beside common tools.")
    parser.add_argument("--megabytes", type=float, default=50.0)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--folder", type=Path, help="where the programs go; a temporary folder if not named")
    parser.add_argument("--peers", action="store_true", help="install parsers of G code to compare with")
    parser.add_argument("--json", action="store_true")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-", dir=call.folder) as folder:
        found = measure(Path(folder), int(call.megabytes * 1_000_000), call.rounds, peers=call.peers)
    print(json.dumps(found.data(), indent=2) if call.json else found.text())
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
