"""How long a whole ``proveout export`` takes beside ``cp -r`` + ``sync`` of the same bytes and one read-back of them.

``python tests/benchmarks/export.py FOLDER [PROGRAMS] [BYTES] [SHOP]``: FOLDER lies on the medium in question. The shop (jobs
of five operations, each released once) lies in the folder SHOP, else there too. The console script is run as a person
runs it, in a process of its own, in turn with the plain copy. Set side by side are the median of the ratios of pairs
that ran one after the other, and the best run of each side; processor seconds (children's too) say what hangs least on
who else is at work. The parts are those of one run more, inside this interpreter, each by the clock: what is derived
again, what is read, shaped, copied, recorded.
"""

import contextlib
import importlib
import io
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import big_shop
from tests.benchmarks.run import console_script
from tests.benchmarks.stick import plain
from tracker.cli.entry import main as proveout

PROGRAMS, BYTES, RUNS, OPERATIONS = 500, 200_000_000, 5, 5
MACHINE = big_shop.MACHINES[1]
_PARTS = (
    ("derived", "tracker.services.usable", "Board.on_machine"),
    ("read", "tracker.services.export", "gather"),
    ("shaped", "tracker.stick.layout", "StickShaper.shape"),
    ("copied", "tracker.stick.medium", "FolderMedium.stage"),
    ("named", "tracker.stick.copying", "StagedFiles.finish"),
    ("recorded", "tracker.services.export_write", "put_down"),
)


def long_text(size: int) -> Callable[[int, int], bytes]:
    """A text of about ``size`` bytes: the short program of the shop with many more passes of one feed."""

    def text(number: int, revision: int) -> bytes:
        short = big_shop.program_text(number, revision)
        line = b"G01 X%d.5 Y%d.25\n"
        rows = range(max(size - len(short), 0) // 18)
        more = b"".join(line % (number % 90 + row % 10, row % 89) for row in rows)
        return short.replace(b"G00 Z50. M09\n", more + b"G00 Z50. M09\n")

    return text


def make_shop(folder: Path, programs: int, total: int) -> None:
    """That many programs that may run on one machine, ``total`` bytes of them together."""
    text = long_text(total // programs)
    kept: tuple[str, ...] = big_shop.MACHINES
    vars(big_shop)["MACHINES"] = (MACHINE,)
    try:
        big_shop.make(
            folder,
            jobs=max(programs // OPERATIONS, 1),
            rounds=1,
            exports=0,
            operations=OPERATIONS,
            program=text,
        )
    finally:
        vars(big_shop)["MACHINES"] = kept


def export_words(shop: Path, stick: Path) -> list[str]:
    """The call."""
    return ["-C", str(shop), "export", "--machine", MACHINE, "--to", str(stick), "--by", "ss", "--json"]


def ours(shop: Path, stick: Path) -> float:
    """Seconds of the console script, and the repository as it was afterwards."""
    stick.mkdir()
    begun = time.perf_counter()
    done = subprocess.run(
        [*console_script(), *export_words(shop, stick)], check=False, capture_output=True, text=True
    )
    seconds = time.perf_counter() - begun
    if done.returncode:
        sys.exit(f"export ended with {done.returncode}: {done.stdout[-400:]} {done.stderr[-400:]}")
    return seconds


def parts(shop: Path, stick: Path) -> dict[str, float]:
    """Seconds of each part of one export in this process."""
    stick.mkdir()
    spent: dict[str, float] = {}
    with contextlib.ExitStack() as stack:
        for part, module, name in _PARTS:
            stack.enter_context(_timed(spent, part, module, name))
        stack.enter_context(contextlib.redirect_stdout(io.StringIO()))
        begun = time.perf_counter()
        status = proveout(export_words(shop, stick))
        spent["all"] = time.perf_counter() - begun
    if status:
        sys.exit(f"export ended with {status}")
    return spent


@contextlib.contextmanager
def _timed(spent: dict[str, float], part: str, module: str, name: str) -> Iterator[None]:
    """Adds up the seconds spent in a function of ours while it lasts."""
    owner: object = importlib.import_module(module)
    above, last = name.split(".")[:-1], name.split(".")[-1]
    for one in above:
        owner = getattr(owner, one)
    real = getattr(owner, last)

    def timed(*args: object, **more: object) -> object:
        begun = time.perf_counter()
        try:
            return real(*args, **more)
        finally:
            spent[part] = spent.get(part, 0.0) + time.perf_counter() - begun

    setattr(owner, last, timed)
    try:
        yield
    finally:
        setattr(owner, last, real)


def fresh(shop: Path, place: Path) -> Path:
    """The shop as it was before any export: each adds a record, and a commit."""
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(shop, place, symlinks=True)
    return place


def main(words: list[str]) -> str:
    """Measure, and the lines that say the ratio and its parts."""
    folder = Path(words[0])
    count = int(words[1]) if len(words) > 1 else PROGRAMS
    total = int(words[2]) if len(words) > 2 else BYTES
    work = folder / f"export-benchmark-{os.getpid()}"
    office = (Path(words[3]) if len(words) > 3 else folder) / f"export-shop-{os.getpid()}"
    os.environ["PROVEOUT_NOW"] = big_shop.NOW
    work.mkdir(parents=True)
    try:
        shop, used = office / "shop", office / "used"
        make_shop(shop, count, total)
        spent = parts(fresh(shop, used), work / "stick")
        times: tuple[list[float], list[float]] = ([], [])
        processor = 0.0
        for run in range(RUNS):
            times[0].append(plain(work / "stick", work / f"plain{run}"))
            fresh(shop, used)
            os.sync()
            before = _processor()
            times[1].append(ours(used, work / f"ours{run}"))
            processor += (_processor() - before) / RUNS
            shutil.rmtree(work / f"plain{run}")
            shutil.rmtree(work / f"ours{run}")
    finally:
        shutil.rmtree(work, ignore_errors=True)
        shutil.rmtree(office, ignore_errors=True)
    copy, whole = min(times[0]), min(times[1])
    middle = statistics.median(mine / theirs for theirs, mine in zip(*times, strict=True))
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    head = (
        f"{count} programs, {total / 1e6:.0f} MB: cp -r + sync + read back {copy:.2f} s, export {whole:.2f} s "
        f"({processor:.2f} s of processor), ratio {whole / copy:.2f} (median of pairs {middle:.2f}, load {load})"
    )
    return head + "\nparts: " + ", ".join(f"{part} {seconds:.2f} s" for part, seconds in spent.items())


def _processor() -> float:
    """Processor seconds of all children so far."""
    spent = os.times()
    return spent.children_user + spent.children_system


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("say where: python tests/benchmarks/export.py FOLDER [PROGRAMS] [BYTES] [SHOP]")
    sys.stdout.write(main(sys.argv[1:]) + "\n")
