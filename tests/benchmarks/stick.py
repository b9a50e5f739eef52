"""How long the copy to a stick takes beside ``cp -r`` + ``sync`` of the same bytes and one read-back of them.

``python tests/benchmarks/stick.py FOLDER [FILES] [BYTES]``: FOLDER lies on the medium in question. Both sides run in
turn, three times each, into fresh folders; the best of each is set side by side. Measured is the copy alone (temporary
names, sync, read back, rename, read back), not the shaping of texts and not the record.
"""

import hashlib
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

from tracker.services.ports_stick import ToWrite
from tracker.stick.medium import open_medium

FILES, BYTES, RUNS = 500, 200_000_000, 3


def programs(files: int, total: int) -> list[ToWrite]:
    """That many programs of equal size, each with bytes of its own."""
    size = max(total // files, 16)
    made = []
    for number in range(files):
        line = b"N%06d X%d. Y0.5\r\n" % (number, number)
        data = (line * (size // len(line) + 1))[:size]
        made.append(
            ToWrite(path=f"MILL2/O{number:05}.NC", data=data, sha256=hashlib.sha256(data).hexdigest())
        )
    return made


def ours(target: Path, files: list[ToWrite]) -> float:
    """Seconds of the copy an export makes."""
    target.mkdir()
    begun = time.perf_counter()
    open_medium(target).stage(files).finish()
    return time.perf_counter() - begun


def plain(source: Path, target: Path) -> float:
    """Seconds of ``cp -r``, ``sync`` and one reading of every byte, from the medium and not from memory."""
    begun = time.perf_counter()
    subprocess.run(["cp", "-r", str(source), str(target)], check=True)
    os.sync()
    for path in sorted(target.rglob("*.NC")):
        with path.open("rb", buffering=0) as file:
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
            file.read()
    return time.perf_counter() - begun


def main(words: list[str]) -> str:
    """Measure, and the line that says the ratio."""
    folder = Path(words[0])
    count = int(words[1]) if len(words) > 1 else FILES
    total = int(words[2]) if len(words) > 2 else BYTES
    files = programs(count, total)
    work = folder / f"stick-benchmark-{os.getpid()}"
    source = work / "source"
    (source / "MILL2").mkdir(parents=True)
    try:
        for file in files:
            (source / file.path).write_bytes(file.data)
        os.sync()
        times: tuple[list[float], list[float]] = ([], [])
        for run in range(RUNS):
            times[0].append(plain(source, work / f"plain{run}"))
            times[1].append(ours(work / f"ours{run}", files))
            shutil.rmtree(work / f"plain{run}")
            shutil.rmtree(work / f"ours{run}")
    finally:
        shutil.rmtree(work, ignore_errors=True)
    cp, copy = min(times[0]), min(times[1])
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"
    return f"{count} files, {total / 1e6:.0f} MB: cp -r + sync + read back {cp:.2f} s, ours {copy:.2f} s, ratio {copy / cp:.2f} (load {load})"


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("say where: python tests/benchmarks/stick.py FOLDER [FILES] [BYTES]")
    sys.stdout.write(main(sys.argv[1:]) + "\n")
