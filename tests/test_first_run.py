"""The first ten minutes of README.md, run as they stand there: every command, every line that is shown, what is typed."""

import re
import sys
from pathlib import Path

import pytest

from tests.fakes.first_day import lay_down, programs
from tests.fakes.shop_folder import FIGURES, STEPS, git
from tests.fakes.typed import Typed
from tests.test_docs import words_of
from tracker.cli.entry import main

BLOCK = re.compile(r"```(?P<kind>first-run|toml first-run)\n(?P<text>.*?)```", re.DOTALL)
MOST_COMMANDS = 15
ID = "A0109674"


def steps(readme: str) -> list[tuple[str, list[str]]]:
    """What is done, in order: a command with the lines shown under it, or ``edit`` with those that are added."""
    found: list[tuple[str, list[str]]] = []
    for block in BLOCK.finditer(readme):
        if block["kind"] != "first-run":
            found.append(("edit", block["text"].splitlines()))
            continue
        for line in block["text"].splitlines():
            if line.startswith("$ proveout "):
                found.append((line.removeprefix("$ proveout "), []))
            else:
                found[-1][1].append(line)
    return found


def typed(command: str) -> str:
    """What a person types while a command asks."""
    if command.startswith("prove "):
        answers = [
            line for step in STEPS for line in ("y", *([str(FIGURES[step])] if step in FIGURES else []))
        ]
        return "\n".join([*answers, ID, ""])
    return "y\n" if command.startswith("release ") else ""


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A PC that git knows a person of, a stick, and a folder of programs."""
    config = tmp_path / "gitconfig"
    config.write_text("[user]\nname = Sol Shim\nemail = sol@shop.example\n", encoding="utf-8")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(config))
    for role in ("AUTHOR", "COMMITTER"):
        monkeypatch.delenv(f"GIT_{role}_NAME", raising=False)
        monkeypatch.delenv(f"GIT_{role}_EMAIL", raising=False)
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    folder = tmp_path / "Shim Machine"
    (folder / "STICK").mkdir(parents=True)
    lay_down(folder / "programs")
    monkeypatch.chdir(folder)
    return folder


def test_the_run_is_short(project: Path) -> None:
    run = steps((project / "README.md").read_text(encoding="utf-8"))
    assert 8 <= sum(1 for command, _ in run if command != "edit") < MOST_COMMANDS
    assert sum(len(lines) for _, lines in run) > 20


def test_every_line_of_it_is_true(project: Path, office: Path, capsys, monkeypatch) -> None:
    for command, shown in steps((project / "README.md").read_text(encoding="utf-8")):
        if command == "edit":
            with (office / "shop.toml").open("a", encoding="utf-8") as file:
                file.write("\n" + "\n".join(shown) + "\n")
            continue
        with monkeypatch.context() as now:
            now.setattr(sys, "stdin", Typed(typed(command)))
            status = main(words_of(command))
        out, err = capsys.readouterr()
        assert status == 0, f"{command}\n{out}\n{err}"
        streams = [one_line(out), one_line(err)]  # what is asked stands on the second
        for line in shown:
            for part in filter(None, map(one_line, line.split("..."))):
                says = next((at for at, said in enumerate(streams) if part in said), None)
                assert says is not None, f"{command}: {part!r} is not said, or not there, in\n{out}\n{err}"
                streams[says] = streams[says].partition(part)[2]
    it_holds(office)


def it_holds(office: Path) -> None:
    """The programs are what they were, the proof is one person's, and the stick carries the released one alone."""
    for name, data in programs().items():
        assert (office / "programs" / name).read_bytes() == data
    assert git(office, "tag") == "release/cam/1"
    there = sorted(
        p.relative_to(office / "STICK").as_posix() for p in (office / "STICK").rglob("*") if p.is_file()
    )
    assert there == ["MILL1/O1601.NC", "MILL1/PROVEOUT.JSON", "MILL1/READ-ME.TXT"]
    on_stick = (office / "STICK/MILL1/O1601.NC").read_bytes()
    assert b"(ID A0109674 CAM OP10 R1 REL 1 MILL1)" in on_stick
    assert git(office, "status", "--porcelain", "--", "programs", "jobs", "records", "shop.toml") == ""
    assert len(programs()) == 12
