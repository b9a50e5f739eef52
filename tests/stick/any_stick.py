"""Sticks between an office and two machines, drawn by lot: nothing of anybody's is lost, and nothing passes for what it is not.

Whatever is exported, changed at a control, copied, collected, held and withdrawn: no file that is not ours, or not as we
wrote it, is touched by any call; a collect writes nothing on a stick and a dry run nothing at all; and no text is called
what was released, or the same code, whose code is that of no revision. Two clones share when they like, and records are
struck: a withdraw still calls in what its clone wrote, and an edit is taken in only over a text it was made of.
"""

import hashlib
import json
import random
import tomllib
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from tests.fakes.shop_folder import SHOP as ONE_MILL
from tests.fakes.shop_folder import ShopFolder, git
from tracker.nc.scan import identity

BEGIN = datetime(2026, 2, 2, 9, 0, tzinfo=UTC)
POLICY = """[policy]
two_person = false
group_first_piece = false
prior_until = 2026-12-31
"""
MILL1 = """group = "MILLS"
line_end = "lf"
characters = "ascii-upper"
names_8_3 = true
[[machines]]
id = "MILL1"
type = "mill"
units = "inch"
group = "MILLS"
file_name = "O{number:04}.NC"
line_end = "crlf"
"""
SHOP = ONE_MILL.replace("[[people]]", f"{POLICY}[[people]]", 1) + MILL1
"""MILL2 takes short names and large letters only; a proof on one counts on the other."""
JOB = """format = 1
[job]
number = "{job}"
[[operations]]
id = "op10"
program = "op10/O{job}.nc"
machines = ["MILL1", "MILL2"]
units = "inch"
[[operations.tools]]
number = 4
stick_out = 2.5
"""
PROGRAM = (
    "%\nO{job} (Bracket {job})\nN10 G20\nN20 G0 G17 G40 G80 G90\nN30 T4 M6\nN40 G54 G0 X1. Y1. S2000 M3\nN50 G43 H4 Z1. M8\n"
    "N60 G98 G83 X1. Y1. Z-1.16 R0.1 Q0.15 F{feed}\nN70 G80\nN80 G0 Z1. M9\nN90 M98 P8001\nN100 M30\n%\n"
)
COMMON = "%\nO8001 (Home)\nN10 G91 G28 Z0.\nN20 G90\nN30 M99\n%\n"
JOBS = ("4001", "4002", "4003")
MACHINES = ("MILL1", "MILL2")
STICKS = ("BLUE-1", "RED-2")
STATUSES = (0, 1, 2, 4)
IS_OF_RECORD = {"as-exported", "same-code", "stale", "withdrawn", "for-proving"}
APART = ("FOR-PROVING", "DEVIATION")
IS_OTHER = {"changed-code", "incomplete", "damaged", "unknown"}

Files = dict[str, bytes]


class Broken(AssertionError):  # noqa: N818 - what the test says
    """Something that must hold does not; says after which calls."""


class Sticks:
    """One shop in two clones that share late, two sticks."""

    def __init__(self, place: Path, seed: int, capsys, monkeypatch) -> None:
        self.lot = random.Random(seed)
        self.place, self.seed, self.now = place, seed, BEGIN
        self.shop = ShopFolder(place / "shop", capsys, monkeypatch)
        self.wrote: set[bytes] = set()
        # where the bytes were last written by a call, and at which clone; codes of what a text was made of at a control
        self.wrote_at: dict[bytes, list[ShopFolder]] = {}
        self.lay: dict[Path, tuple[bytes, ShopFolder]] = {}
        self.lay_for: dict[Path, str] = {}  # the machine the last export there was for
        self.was: dict[bytes, set[str]] = {}
        self.shops = [self.shop]
        self.made_with = capsys, monkeypatch
        self.in_hand: str | None = None  # the stick the newest call looked at
        self.log: list[str] = []
        self.counts: dict[str, list[int]] = {}
        self.drawn = 0

    def begin(self) -> None:
        self.shop.folder.mkdir(parents=True)
        self.shop.at(self.said_now())
        self.shop.put("shop.toml", SHOP)
        self.shop.run("init", ".", "--name", "Test shop")
        self.shop.put("common/O8001.nc", COMMON)
        for job in JOBS:
            self.shop.put(f"jobs/{job}/job.toml", JOB.format(job=job))
            self.shop.put(f"jobs/{job}/op10/O{job}.nc", PROGRAM.format(job=job, feed="15."))
        self.shop.run("checkin", "--all", "-m", "first issue", "--by", "np", "--yes")
        for name in (*STICKS, "EMPTY"):  # the last one stays empty
            (self.place / name).mkdir()
        for job in JOBS[:2]:
            self.proved(job)
            self.released(job)
        git(self.place, "init", "-q", "--bare", "-b", "main", "hub.git")
        self.shop.git("remote", "add", "origin", "../hub.git")
        self.shop.run("share", "--by", "np")
        git(self.place, "clone", "-q", "hub.git", "second")
        self.shops.append(ShopFolder(self.place / "second", *self.made_with))

    def said_now(self) -> str:
        return self.now.strftime("%Y-%m-%dT%H:%M:%SZ")

    # what lies on the sticks

    def stick(self) -> Path:
        self.in_hand = self.lot.choice(STICKS)
        return self.place / self.in_hand

    def lies(self) -> dict[Path, bytes]:
        """Every file on both sticks."""
        return {
            path: path.read_bytes()
            for name in STICKS
            for path in sorted((self.place / name).rglob("*"))
            if path.is_file()
        }

    def homes(self) -> dict[str, str]:
        """The folder of each machine, as shop.toml has it at this clone."""
        machines = tomllib.loads((self.shop.folder / "shop.toml").read_text("utf-8"))["machines"]
        return {one["id"]: one.get("folder", one["id"]) for one in machines}

    def some_program(self) -> Path | None:
        found = [path for path in self.lies() if path.suffix == ".NC"]
        return self.lot.choice(found) if found else None

    def recorded(self) -> set[str]:
        """The codes of all programs of all revisions."""
        return {file["fingerprint"] for file in self.files()}

    def files(self, shops: Sequence[ShopFolder] = ()) -> list[dict]:
        """The programs of all revisions, as recorded."""
        return [
            file
            for shop in shops or [self.shop]
            for path in shop.folder.glob("jobs/*/records/*/r????-????????.toml")
            for file in tomllib.loads(path.read_text("utf-8"))["files"]
        ]

    def is_ours(self, data: bytes) -> bool:
        """Whether we wrote it, or hold it as a revision: then nothing is lost with it."""
        return data in self.wrote or hashlib.sha256(data).hexdigest() in {
            file["raw_sha256"] for file in self.files(self.shops)
        }

    def code(self, data: bytes) -> str:
        return identity(data).fingerprint

    # calls

    def call(self, *words: str, may_write: bool = False) -> tuple[int, dict]:
        """A call, and what must hold of every one."""
        before, head = self.lies(), self.shop.git("rev-parse", "HEAD")
        self.shop.at(self.said_now())
        status, out, err = self.shop.call(*words, "--json")
        self.log.append(f"{self.said_now()}: {status} {' '.join(map(repr, words))}")
        self.counts.setdefault(words[0], [0, 0])[bool(status)] += 1
        try:
            said = json.loads(out)
        except ValueError:
            raise self.broken(f"answered no JSON: {out!r} {err!r}") from None
        if "error" in said:
            self.log[-1] += f"   -> {said['error']['name']}: {said['error']['message']}"
        if status not in STATUSES:
            raise self.broken(f"ended with {status}: {err}")
        after = self.lies()
        for path, data in before.items():
            if after.get(path) != data and (not may_write or not self.is_ours(data)):
                raise self.broken(f"{path} was not ours, or not as we wrote it, and was touched")
        if not may_write and after != before:
            raise self.broken(f"wrote on a stick: {sorted(after.keys() - before.keys())}")
        if "--dry-run" in words and self.shop.git("rev-parse", "HEAD") != head:
            raise self.broken("a dry run recorded something")
        self.wrote |= {data for path, data in after.items() if before.get(path) != data}
        for path in after:
            if before.get(path) != after[path]:
                self.lay[path] = after[path], self.shop
                self.wrote_at.setdefault(after[path], []).append(self.shop)
        return status, said

    def broken(self, why: str) -> Broken:
        return Broken(f"seed {self.seed}\n" + "\n".join(self.log[-70:]) + f"\n{why}")

    # the office

    def proved(self, job: str) -> None:
        piece = ("--first-piece", "report 1", "--answers", self.shop.answers(), "--yes")
        machine = self.lot.choice(MACHINES)
        self.call("prove", f"{job}/op10", "--machine", machine, "--by", "ss", "--accept", *piece)

    def released(self, job: str) -> None:
        self.call("release", job, "--by", "dg", "-m", "go", "--yes")

    def unique(self) -> str:
        """A feed nobody had before."""
        self.drawn += 1
        return f"13.{self.drawn:03}"
