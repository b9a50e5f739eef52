"""Speed of ``proveout summary`` on long programs, in blocks a second, beside other readers of G code.

    python tests/benchmarks/summary.py [--blocks 2000000] [--rounds 3] [--folder DIR] [--peers] [--json]

Two programs, a surface of straight blocks and pockets of arcs, are summed up by the console script, compiled and in plain
Python, as whole processes. A short form of them, spelled so that all can read it (no number ends with its point, no
tool changes), is given to the RS274/NGC interpreter of ``tests/oracle/fetch``, if it is there, and with ``--peers`` to
two general-purpose parsers of G code, which are installed into a throw-away environment for it. They do less: they
take lines apart, and sum up nothing. Nothing here fails by time; a wrong number of blocks is told.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import arcing, surfacing
from tests.benchmarks.measure import Contender, interleaved
from tests.oracle import interpreter, machine

MAKERS = {"surface": (surfacing.write, 34.4), "arcs": (arcing.write, 29.8)}
"""How a program is written, and about how many bytes a block of it takes."""

PLAIN = {"PROVEOUT_PURE": "1"}
SHORT = 20_000
_TRAILING_POINT = re.compile(r"\.(?![0-9])")
_NOT_FOR_ALL = re.compile(r"^[%(O]|M6|G43")
PARSERS = {
    "gcodeparser": "import sys; from gcodeparser import GcodeParser; GcodeParser(open(sys.argv[1]).read()).lines",
    "pygcode": "import sys; from pygcode import Line; [Line(text.rstrip()) for text in open(sys.argv[1])]",
}


@dataclass(frozen=True, slots=True)
class Race:
    """Contenders over one program of so many blocks; the first is ours."""

    name: str
    blocks: int
    contenders: list[Contender]

    def rate(self, one: Contender) -> float:
        """Blocks a second of the quickest run, start of the process included."""
        return self.blocks / one.best

    def text(self) -> str:
        """For people."""
        lines = [f"summary of {self.name}, {self.blocks} blocks"]
        for one in self.contenders:
            memory = f"{one.memory / 2**20:6.0f} MB" if one.memory else "       -"
            ratio = one.best / self.contenders[0].best
            lines.append(
                f"  {one.name:38} best {one.best:7.3f} s  {self.rate(one) / 1e6:8.3f} M blocks/s  x {ratio:6.2f} {memory}"
            )
        return "\n".join(lines)

    def data(self) -> list[dict[str, object]]:
        """For scripts."""
        return [
            {
                "name": one.name,
                "seconds": one.best,
                "blocks_per_second": self.rate(one),
                "ratio": one.best / self.contenders[0].best,
                "memory": one.memory,
            }
            for one in self.contenders
        ]


def ours(script: list[str], program: Path) -> list[Contender]:
    """The console script, compiled and plain."""
    words = [*script, "summary", "--json", str(program)]
    return [
        Contender("proveout summary", words),
        Contender("proveout summary, plain Python", words, environment=PLAIN),
    ]


def for_all(program: Path, to: Path) -> None:
    """The first blocks of a program in a form that all can read."""
    with program.open(encoding="ascii") as lines:
        spelled = (_TRAILING_POINT.sub(".0", line) for line in lines if not _NOT_FOR_ALL.search(line))
        kept = [*islice(spelled, SHORT - 2)]
    to.write_text("".join(["G21 G90 G0 X0 Y0 Z0\n", *kept, "M2\n"]), encoding="ascii")


def others(program: Path, folder: Path, python: Path | None) -> list[Contender]:
    """The interpreter and the parsers, as far as they are there."""
    found: list[Contender] = []
    path = interpreter.find()
    if path:
        (folder / "tools").write_text(machine.tool_table())
        (folder / "variables").write_text(machine.variables())
        words = [path, "-t", str(folder / "tools"), "-v", str(folder / "variables"), "-n", "2", "-g"]
        found.append(Contender("RS274/NGC interpreter", [*words, str(program)]))
    if python:
        found += [
            Contender(name, [str(python), "-W", "ignore", "-c", code, str(program)])
            for name, code in PARSERS.items()
        ]
    return found


def peers(folder: Path) -> Path | None:
    """An environment with the parsers in it; None where it cannot be had."""
    place = folder / "peers"
    for words in (
        [sys.executable, "-m", "venv", str(place)],
        [str(_python(place)), "-m", "pip", "install", "--quiet", *PARSERS],
    ):
        if subprocess.run(words, capture_output=True, check=False).returncode:
            return None
    return _python(place)


def _python(place: Path) -> Path:
    return place / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def races(
    script: list[str], folder: Path, blocks: int, rounds: int, python: Path | None = None
) -> list[Race]:
    """All races on freshly made programs."""
    made = []
    for name, (write, size) in MAKERS.items():
        long, short = folder / f"{name}.nc", folder / f"{name}-short.nc"
        lines = write(long, int(blocks * size))
        for_all(long, short)
        race = Race(name, lines, ours(script, long))
        interleaved(race.contenders, rounds)
        beside = Race(f"{name}, short", len(short.read_bytes().splitlines()), ours(script, short))
        beside.contenders.extend(others(short, folder, python))
        interleaved(beside.contenders, rounds)
        made += [race, beside]
    return made


def wrong_answers(found: list[Race]) -> list[str]:
    """What was summed up wrong: both ways of ours must say the same, and have run every block."""
    wrong = []
    for race in found:
        compiled, plain = (json.loads(one.output) for one in race.contenders[:2])
        if compiled != plain:
            wrong.append(f"summary of {race.name}: compiled and plain differ")
        if not race.blocks - 2 <= compiled["blocks"] <= race.blocks:
            wrong.append(f"summary of {race.name}: {compiled['blocks']} blocks of {race.blocks} lines")
    return wrong


def main() -> int:
    """Measure and print; status 1 if an answer was wrong."""
    from tests.benchmarks.run import console_script

    parser = argparse.ArgumentParser(description="Measure proveout summary beside other readers of G code.")
    parser.add_argument("--blocks", type=int, default=2_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--folder", type=Path, help="where the programs go; a temporary folder if not named")
    parser.add_argument(
        "--peers", action="store_true", help="install two parsers into a throw-away environment"
    )
    parser.add_argument("--json", action="store_true")
    call = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="bench-", dir=call.folder) as name:
        folder = Path(name)
        python = peers(folder) if call.peers else None
        if call.peers and python is None:
            print("the parsers could not be installed", file=sys.stderr)
        found = races(console_script(), folder, call.blocks, call.rounds, python)
    wrong = wrong_answers(found)
    if call.json:
        print(json.dumps({**{race.name: race.data() for race in found}, "wrong": wrong}, indent=2))
    else:
        print("\n".join([*(race.text() for race in found), *(f"WRONG: {line}" for line in wrong)]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
