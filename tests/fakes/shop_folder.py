"""A shop in a real folder with real git, driven through the command line."""

import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, ClassVar

from tracker.cli.entry import main

SHOP = """format = 1
[shop]
name = "Test shop"
timezone = "Europe/London"
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@shop.example"
roles = ["programmer"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@shop.example"
roles = ["setup"]
[[people]]
initials = "dg"
name = "Dell Gauge"
email = "dg@shop.example"
roles = ["quality"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
file_name = "O{number:04}.NC"
"""
JOB = """format = 1
[job]
number = "4471"
drawing_revision = "C"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
[[operations.tools]]
number = 4
stick_out = 2.5
"""
MAIN = (
    "%\nO1001 (PLATE)\nN10 G20\nN20 G0 G17 G40 G80 G90\nN30 T4 M6\nN40 G54 G0 X1. Y1. S2000 M3\nN50 G43 H4 Z1. M8\n"
    "N60 G98 G83 X1. Y1. Z-1.16 R0.1 Q0.15 F15.\nN70 G80\nN80 G0 Z1. M9\nN90 M98 P1002\nN100 M30\n%\n"
)
SUB = "%\nO1002 (HOME)\nN10 G91 G28 Z0.\nN20 G90\nN30 M99\n%\n"
JOB_PATH, PROGRAM, CALLED = "jobs/4471/job.toml", "jobs/4471/op10/O1001.nc", "common/O1002.nc"
STEPS = (*(f"P{n}" for n in range(11)), "P12", "P13")
FIGURES = {"P1": 15, "P7": 3.0, "P8": 25, "P9": 100, "P10": 6.2}


def git(folder: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], cwd=folder, capture_output=True, text=True, check=True)
    return done.stdout.strip()


class ShopFolder:
    """A folder and a clock; calls the command line in it."""

    kept_in: ClassVar[Path | None] = None  # of this run of the tests; None: where temporary files lie
    _made: ClassVar[dict[object, tuple[Path, str | None]]] = {}

    def __init__(self, folder: Path, capsys, monkeypatch) -> None:
        self.folder = folder
        self._capsys = capsys
        self._monkeypatch = monkeypatch

    def at(self, moment: str) -> None:
        self._monkeypatch.setenv("PROVEOUT_NOW", moment)

    def call(self, *words: str) -> tuple[int, str, str]:
        got = main(["-C", str(self.folder), *words])
        out, err = self._capsys.readouterr()
        assert "Traceback" not in out + err
        return got, out, err

    def run(self, *words: str, status: int = 0) -> str:
        got, out, err = self.call(*words)
        assert got == status, f"{words} ended with {got}\n{out}\n{err}"
        return out + err

    def json(self, *words: str, status: int = 0) -> dict[str, Any]:
        return json.loads(self.run(*words, "--json", status=status))

    def rows(self, *words: str) -> list[dict[str, Any]]:
        return self.json("status", *words)["operations"]

    def put(self, path: str, text: str | bytes) -> None:
        target = self.folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(text.encode() if isinstance(text, str) else text)

    def git(self, *words: str) -> str:
        return git(self.folder, *words)

    def commits(self) -> int:
        return int(self.git("rev-list", "--count", "--all"))

    def fill(self) -> None:
        """The files of job 4471."""
        self.put(JOB_PATH, JOB)
        self.put(PROGRAM, MAIN)
        self.put(CALLED, SUB)

    def begin(self, shop: str = SHOP) -> None:
        """A shop whose job 4471 is checked in as r1."""
        self.put("shop.toml", shop)
        self.run("init", ".", "--name", "Test shop")
        self.fill()
        self.run("checkin", "4471", "-m", "first issue", "--by", "np")

    def brought_by(self, steps: Callable[["ShopFolder"], None]) -> "ShopFolder":
        """This shop, in a new folder, as ``steps`` make it; made once, then copied with all that lies beside it."""
        place, now = self.folder.parent, os.environ.get("PROVEOUT_NOW")
        known = (steps, self.folder.name, now)
        if known not in self._made:
            self.folder.mkdir()
            steps(self)
            aside = Path(tempfile.mkdtemp(dir=self.kept_in)) / "as made"
            shutil.copytree(place, aside, symlinks=True)
            self._made[known] = aside, os.environ.get("PROVEOUT_NOW")
            return self
        aside, then = self._made[known]
        shutil.copytree(aside, place, symlinks=True, dirs_exist_ok=True)
        self.git("update-index", "-q", "--refresh")
        if then is not None:
            self.at(then)
        return self

    def prove(self, by: str = "ss", revision: str = "r1") -> None:
        """An accepted full proof on MILL2."""
        self.run(
            *("prove", f"4471/op10@{revision}", "--machine", "MILL2", "--by", by, "--accept"),
            *("--first-piece", "report 2231", "--answers", self.answers(), "--yes"),
        )

    def answers(self) -> str:
        """A filled-in form beside the shop; its path."""
        text = ""
        for step in STEPS:
            text += f"[{step}]\ndone = true\n" + (f"value = {FIGURES[step]}\n" if step in FIGURES else "")
        path = self.folder.parent / "answers.toml"
        path.write_text(text, encoding="utf-8")
        return str(path)
