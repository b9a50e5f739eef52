"""How long ``collect`` of an unchanged stick takes beside ``sha256sum`` of the same files.

``python tests/benchmarks/coming_home.py FOLDER [FILES] [BYTES]``: a shop of that many released programs is made in FOLDER,
its three machines' programs are exported by the console script to a stick there, and both sides are run in turn, three
times each, as whole processes. Every file must be ``as-exported``, else the figures mean nothing and it ends with 1.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from tests.benchmarks import big_shop
from tests.benchmarks.measure import Contender, interleaved
from tests.benchmarks.run import console_script

FILES, BYTES, RUNS = 500, 200_000_000, 3
ROOT = Path(__file__).resolve().parents[2]
MAKE = "import sys, pathlib; from tests.benchmarks import coming_home as c; c.make(pathlib.Path(sys.argv[1]), *map(int, sys.argv[2:]))"
AT = {"PROVEOUT_NOW": big_shop.NOW}


def long_program(size: int) -> big_shop.Program:
    """A facing program of about ``size`` bytes; every number and revision has bytes of its own."""

    def text(number: int, revision: int) -> bytes:
        head, tail = big_shop.program_text(number, revision).split(b"G00 Z50. M09", 1)
        row = b"N%06d G01 X%d.125 Y%d.25 F300.\n"
        length = len(row % (0, number, revision)) + 2
        rows = b"".join(row % (at, at % 97 + number % 89, at % 53) for at in range(size // length))
        return head + rows + b"G00 Z50. M09" + tail

    return text


def make(folder: Path, files: int, total: int) -> tuple[Path, Path]:
    """The shop, and the stick everything of it was exported to."""
    shop, stick = folder / "shop", folder / "STICK-1"
    big_shop.make(shop, jobs=files, rounds=1, exports=0, runs=0, program=long_program(max(total // files, 1)))
    stick.mkdir()
    for machine in big_shop.MACHINES:
        words = ["-C", str(shop), "export", "--machine", machine, "--to", str(stick), "--by", "ss", "--yes"]
        subprocess.run([*console_script(), *words], check=True, capture_output=True, env={**os.environ, **AT})
    return shop, stick


def race(shop: Path, stick: Path, runs: int) -> tuple[Contender, Contender, dict[str, int]]:
    """Ours, the peer, and how many files had each verdict."""
    words = ["-C", str(shop), "collect", str(stick), "--dry-run", "--json"]
    size = sum(path.stat().st_size for path in stick.rglob("*.NC"))
    ours = Contender("proveout collect", [*console_script(), *words], environment=AT, size=size)
    line = f"find '{stick}' -type f -print0 | xargs -0 sha256sum"
    peer = Contender("sha256sum", ["sh", "-c", line], size=size)
    interleaved([ours, peer], runs)
    verdicts: dict[str, int] = {}
    seen = subprocess.run(ours.argv, check=False, stdout=subprocess.PIPE, env={**os.environ, **AT}).stdout
    for one in json.loads(seen)["files"]:
        verdicts[one["verdict"]] = verdicts.get(one["verdict"], 0) + 1
    return ours, peer, verdicts


def main(words: list[str]) -> tuple[str, bool]:
    """Measure; the line that says the ratio, and whether every file had its right verdict."""
    count = int(words[1]) if len(words) > 1 else FILES
    total = int(words[2]) if len(words) > 2 else BYTES
    work = Path(words[0]) / f"home-benchmark-{os.getpid()}"
    work.mkdir(parents=True)
    try:
        # in a process of its own: what that one takes of memory would count as that of those it is compared with
        words = [sys.executable, "-c", MAKE, str(work), str(count), str(total)]
        subprocess.run(words, check=True, env={**os.environ, "PYTHONPATH": str(ROOT)})
        shop, stick = work / "shop", work / "STICK-1"
        ours, peer, verdicts = race(shop, stick, RUNS)
    finally:
        shutil.rmtree(work, ignore_errors=True)
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    line = (
        f"{count} files, {ours.size / 1e6:.0f} MB: sha256sum {peer.best:.2f} s, collect {ours.best:.2f} s "
        f"({ours.memory / 2**20:.0f} MB), ratio {ours.best / peer.best:.2f} "
        f"(median {ours.middle / peer.middle:.2f}, load {load})"
    )
    return line, verdicts == {"as-exported": count}


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("say where: python tests/benchmarks/coming_home.py FOLDER [FILES] [BYTES]")
    said, right = main(sys.argv[1:])
    sys.stdout.write(said + "\n")
    sys.exit(0 if right else "not every file was as exported: the figures mean nothing")
