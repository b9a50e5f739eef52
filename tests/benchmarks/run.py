"""Speed of the console script beside common tools, as ratios taken in one run.

    python tests/benchmarks/run.py [--megabytes 50] [--rounds 3] [--folder DIR] [--json]

Three comparisons, each of whole processes:

- ``proveout fingerprint`` of a surfacing program against stripping it with sed and hashing the rest;
- ``proveout compare`` of a renumbered pair with one edit against ``git diff --no-index -w``;
- the start of the fast lane against an interpreter that does nothing.

Times depend on the machine and on who else uses it; nothing here fails by time. What it does check, and ends with
status 1 over, is the answers: the right file must have the right fingerprint, and one edit must be one change.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import surfacing
from tests.benchmarks.measure import Contender, interleaved

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
    ours = Contender("proveout fingerprint", [*script, "fingerprint", "--json", str(first)])
    peer = Contender("sed | sha256sum", ["sh", "-c", SED.format(first)])
    interleaved([ours, peer], rounds)
    return [ours, peer]


def compare_race(script: list[str], first: Path, other: Path, rounds: int) -> list[Contender]:
    """Ours first, then the peer."""
    ours = Contender("proveout compare", [*script, "compare", "--json", str(first), str(other)])
    peer = Contender("git diff -w", ["git", "diff", "--no-index", "-w", str(first), str(other)])
    interleaved([ours, peer], rounds)
    return [ours, peer]


def start_race(script: list[str], small: Path, rounds: int) -> list[Contender]:
    """The fast-lane verbs, and last the interpreter on its own."""
    starts = [
        Contender("proveout --version", [*script, "--version"]),
        Contender("proveout fingerprint (20 KB)", [*script, "fingerprint", str(small)]),
        Contender("proveout normalize (20 KB)", [*script, "normalize", str(small)]),
        Contender("proveout normalize --for-git (20 KB)", [*script, "normalize", "--for-git", str(small)]),
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
        ratio = one.best / base.best
        lines.append(
            f"  {one.name:38} best {one.best:7.3f} s  median {one.middle:7.3f} s  x {ratio:5.2f} {memory}"
        )
    return "\n".join(lines)


def as_data(contenders: list[Contender]) -> list[dict[str, object]]:
    """The same for scripts."""
    base = contenders[-1].best
    return [
        {"name": one.name, "seconds": one.best, "ratio": one.best / base, "memory": one.memory}
        for one in contenders
    ]


def measure(folder: Path, size: int, rounds: int) -> tuple[dict[str, list[Contender]], list[str]]:
    """Run all races on freshly made programs; the contenders by race, and the wrong answers."""
    script = console_script()
    files = programs(folder, size)
    small = folder / "small.nc"
    surfacing.write(small, 20_000)
    races = {
        "fingerprint": fingerprint_race(script, files[0], rounds),
        "compare": compare_race(script, files[0], files[2], rounds),
        "start": start_race(script, small, max(rounds * 3, 5)),
    }
    return races, wrong_answers(script, files, races["compare"][0])


def main() -> int:
    """Measure and print; status 1 if an answer was wrong."""
    parser = argparse.ArgumentParser(description="Measure proveout beside common tools.")
    parser.add_argument("--megabytes", type=float, default=50.0)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--folder", type=Path, help="where the programs go; a temporary folder if not named")
    parser.add_argument("--json", action="store_true")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-", dir=call.folder) as folder:
        races, wrong = measure(Path(folder), int(call.megabytes * 1_000_000), call.rounds)
    if call.json:
        print(json.dumps({name: as_data(race) for name, race in races.items()} | {"wrong": wrong}, indent=2))
    else:
        print("\n".join(table(name, race) for name, race in races.items()))
        print("\n".join(f"WRONG: {line}" for line in wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
