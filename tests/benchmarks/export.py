"""How long a whole ``proveout export`` takes beside ``cp -r`` + ``sync`` of the same bytes and one read-back of them.

``python tests/benchmarks/export.py FOLDER [PROGRAMS] [BYTES] [SHOP]``: FOLDER lies on the medium in question, or is a
figure: a medium made for it, of so many million bytes a second (`slow_stick`), ``100`` say. The shop (jobs
of five operations, each released once) lies in the folder SHOP, else there too. The console script is run as a person
runs it, in a process of its own, in turn with the plain copy. Set side by side are the median of the ratios of pairs
that ran one after the other, and the best run of each side; processor seconds (children's too) say what hangs least on
who else is at work, and so does the most memory one of our runs took. The parts are those of one run more, inside this
interpreter, each by the clock: what is derived again, read, shaped and written ahead of the plan, copied, recorded;
several go on at once, so that they add up to more than the whole.
"""

import contextlib
import importlib
import io
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import big_shop
from tests.benchmarks.run import console_script
from tests.benchmarks.slow_stick import slow_stick
from tests.benchmarks.stick import plain
from tracker.cli.entry import main as proveout

PROGRAMS, BYTES, RUNS, OPERATIONS = 500, 200_000_000, 5, 5
MACHINE = big_shop.MACHINES[1]
_PARTS = (
    ("derived", "tracker.services.usable", "Board.on_machine"),
    ("read", "tracker.services.export", "gather"),
    ("shaped", "tracker.stick.layout", "StickShaper.shape_one"),
    ("ahead", "tracker.stick.copying", "StagedFiles.write"),
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


def ours(shop: Path, stick: Path) -> tuple[float, float]:
    """Seconds of the console script, and the most memory it took in MB (Linux: VmHWM of proc(5), else 0)."""
    stick.mkdir()
    most = 0
    with tempfile.TemporaryFile() as said:
        begun = time.perf_counter()
        process = subprocess.Popen([*console_script(), *export_words(shop, stick)], stdout=said, stderr=said)
        while process.poll() is None:
            most = max(most, _memory(process.pid))
            time.sleep(0.005)
        seconds = time.perf_counter() - begun
        if process.returncode:
            said.seek(0)
            sys.exit(f"export ended with {process.returncode}: {said.read()[-800:].decode()}")
    return seconds, most / 1000


def _memory(process: int) -> int:
    """The most memory a process has taken by now, in KB; what wait4(2) tells counts what it was forked from."""
    with contextlib.suppress(OSError):
        for line in (
            Path(f"/proc/{process}/status").read_text(encoding="ascii", errors="replace").splitlines()
        ):
            if line.startswith("VmHWM"):
                return int(line.split()[1])
    return 0


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
    if words[0].isdecimal():
        place = Path(words[3]) if len(words) > 3 else Path(tempfile.gettempdir())
        place.mkdir(parents=True, exist_ok=True)
        counts = [*words[1:3], *map(str, (PROGRAMS, BYTES)[len(words[1:3]) :])]
        with slow_stick(int(words[0]), place) as slow:
            return main([str(slow), *counts, str(place)])
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
        processor, memory = 0.0, [0.0]
        for run in range(RUNS):
            times[0].append(plain(work / "stick", work / f"plain{run}"))
            fresh(shop, used)
            os.sync()
            before = _processor()
            seconds, most = ours(used, work / f"ours{run}")
            times[1].append(seconds)
            memory.append(most)
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
        f"({processor:.2f} s of processor, {max(memory):.0f} MB of memory at most), ratio {whole / copy:.2f} (median of pairs {middle:.2f}, load {load})"
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
