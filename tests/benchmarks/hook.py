"""What the local hook costs, as wall time of ``git update-ref`` with it and without, in one interleaved run.

    python tests/benchmarks/hook.py [--rounds 9]

Three cases on the sample shop: another reference; a release tag that this clone has derived before (``release`` derives
it before it makes the tag); the same tag seen for the first time, here and in a larger shop, there also when none of its
records was read here before. Nothing fails by time. What is checked is that the gate did open, and that it does not open
for a tag that names no record.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks import big_shop

RELEASES = "refs/tags/release/"
REF = "refs/tags/release/4471/2"
OTHER = "refs/heads/side"
PAST = ("-c", "core.hooksPath=/nowhere")


@dataclass(slots=True)
class Cost:
    """One case: seconds of every round with the hook and without it."""

    name: str
    ref: str
    value: str
    forgets: tuple[str, ...] = ()
    with_hook: list[float] = field(default_factory=list)
    without: list[float] = field(default_factory=list)

    @property
    def best(self) -> float:
        """Milliseconds the hook adds, by the quickest rounds."""
        return (min(self.with_hook) - min(self.without)) * 1000

    @property
    def middle(self) -> float:
        """Milliseconds the hook adds, by the medians."""
        return (statistics.median(self.with_hook) - statistics.median(self.without)) * 1000


def git(folder: Path, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """One call of git; its answer as text."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return subprocess.run(
        ["git", *words], cwd=folder, capture_output=True, text=True, check=check, env=environment
    )


def seconds(folder: Path, case: Cost, *, hook: bool) -> float:
    """How long the making of a reference takes that was taken away before."""
    git(folder, *PAST, "update-ref", "-d", case.ref)
    for note in case.forgets:
        noted = folder / ".git/proveout" / note
        shutil.rmtree(noted) if noted.is_dir() else noted.unlink(missing_ok=True)
    began = time.perf_counter()
    git(folder, *(() if hook else PAST), "update-ref", case.ref, case.value)
    return time.perf_counter() - began


def race(script: list[str], shop: Path, rounds: int) -> tuple[list[Cost], list[str]]:
    """Install the hook in a sample shop and measure; the costs, and what the gate did wrong."""
    subprocess.run([*script, "-C", str(shop), "install"], check=True, capture_output=True)
    tag = git(shop, "rev-parse", REF).stdout.strip()
    head = git(shop, "rev-parse", "HEAD").stdout.strip()
    cases = [
        Cost("another reference", OTHER, head),
        Cost("release tag, derived before", REF, tag),
        Cost("release tag, first seen", REF, tag, forgets=("derived",)),
    ]
    for number in range(rounds + 1):
        for case in cases:
            seconds(shop, cases[1], hook=True)  # so that the tag is known, whatever the case before forgot
            taken = [seconds(shop, case, hook=hook) for hook in (True, False)]
            if number:  # the first round only fills the caches
                case.with_hook.append(taken[0])
                case.without.append(taken[1])
    bogus = git(shop, "tag", "-a", "-m", "x", "release/4471/3", check=False)
    return cases, [] if bogus.returncode else ["the hook let a release tag without a record pass"]


def larger(script: list[str], shop: Path, rounds: int) -> list[Cost]:
    """The same for the newest release tag, first seen, of a shop with some 500 records, read before and never read."""
    big_shop.make(shop, jobs=25, rounds=5)
    subprocess.run([*script, "-C", str(shop), "install"], check=True, capture_output=True)
    newest = git(shop, "for-each-ref", "--sort=-creatordate", "--format=%(refname) %(objectname)", RELEASES)
    ref, _, tag = newest.stdout.split("\n", 1)[0].partition(" ")
    records = len([name for name in git(shop, "ls-files").stdout.split("\n") if "records/" in name])
    cases = [
        Cost(f"the same, shop of {records} records", ref, tag, forgets=("derived",)),
        Cost("the same, none of them read before", ref, tag, forgets=("derived", "read-before")),
    ]
    for number in range(rounds + 1):
        for case in cases:
            taken = [seconds(shop, case, hook=hook) for hook in (True, False)]
            if number:
                case.with_hook.append(taken[0])
                case.without.append(taken[1])
    return cases


def main() -> int:
    """Build the sample shop, race, print; 1 if the gate was wrong."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--rounds", type=int, default=9)
    rounds = options.parse_args().rounds
    from tests.benchmarks.run import console_script, costs_table, sample_shop

    with tempfile.TemporaryDirectory() as place:
        script = console_script()
        cases, wrong = race(script, sample_shop(script, Path(place)), rounds)
        cases.extend(larger(script, Path(place) / "larger", rounds))
    print("\n".join([costs_table(cases), *wrong]))
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
