"""What the local hook costs, as wall time of ``git update-ref`` with it and without, in one run.

    python tests/benchmarks/hook.py [--rounds 9]

Four cases on the sample shop: another reference; a release tag that this clone has derived before (``release`` derives
it before it makes the tag); the same tag seen for the first time; and each without the hook. The lowest and the median
of the rounds are shown; nothing fails by time. What is checked is that the gate did open, and that it does not open for
a tag that names no record.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

REF = "refs/tags/release/4471/2"
OTHER = "refs/heads/side"
PAST = ("-c", "core.hooksPath=/nowhere")


def git(folder: Path, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """One call of git; its answer as text."""
    return subprocess.run(["git", *words], cwd=folder, capture_output=True, text=True, check=check)


def timed(folder: Path, ref: str, value: str, *, hook: bool, forget: bool, rounds: int) -> list[float]:
    """Milliseconds of making a reference, which is taken away before each round."""
    found = []
    for _ in range(rounds):
        git(folder, *PAST, "update-ref", "-d", ref)
        if forget:
            shutil.rmtree(folder / ".git/proveout/derived", ignore_errors=True)
        began = time.perf_counter()
        git(folder, *(() if hook else PAST), "update-ref", ref, value)
        found.append((time.perf_counter() - began) * 1000)
    return found


def main() -> int:
    """Build the sample shop, race, print; 1 if the gate was wrong."""
    from tracker.cli.entry import main as proveout

    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--rounds", type=int, default=9)
    rounds = options.parse_args().rounds
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "shop"
        if proveout(["-q", "demo", str(folder), "--no-tour"]) or proveout(["-C", str(folder), "install"]):
            return 1
        tag = git(folder, "rev-parse", REF).stdout.strip()
        head = git(folder, "rev-parse", "HEAD").stdout.strip()
        timed(folder, REF, tag, hook=True, forget=False, rounds=1)
        for name, ref, value, forget in (
            ("another reference", OTHER, head, False),
            ("release tag, derived before", REF, tag, False),
            ("release tag, first seen", REF, tag, True),
        ):
            with_hook = timed(folder, ref, value, hook=True, forget=forget, rounds=rounds)
            without = timed(folder, ref, value, hook=False, forget=False, rounds=rounds)
            more = min(with_hook) - min(without), statistics.median(with_hook) - statistics.median(without)
            sys.stdout.write(f"{name:30} {more[0]:7.1f} ms more (median {more[1]:.1f})\n")
        bogus = git(folder, "tag", "-a", "-m", "x", "release/4471/3", check=False)
        return 0 if bogus.returncode else 1


if __name__ == "__main__":
    raise SystemExit(main())
