"""The documents say what the code does: every command shown is run, every verb and key is listed."""

import contextlib
import io
import re
import tomllib
from pathlib import Path

import pytest

from tests.reference import with_reference
from tracker import __version__
from tracker.cli.app import named_verb
from tracker.cli.entry import main
from tracker.cli.verbs import VERBS

CONSOLE = re.compile(r"```console\n(.*?)```", re.DOTALL)
MARK = re.compile(r"  # exit (?P<statuses>[\d or]+)$")


def shown(text: str) -> list[tuple[list[str], set[int]]]:
    """Commands of the console blocks, in order, each with the exit statuses it may have."""
    found = []
    for block in CONSOLE.findall(text):
        for line in block.splitlines():
            mark = MARK.search(line)
            command = MARK.sub("", line).removeprefix("$ proveout ")
            statuses = {int(s) for s in mark["statuses"].split(" or ")} if mark else {0}
            found.append((words_of(command), statuses))
    return found


def words_of(command: str) -> list[str]:
    return [quoted or plain for quoted, plain in re.findall(r'"([^"]*)"|(\S+)', command)]


def test_the_reference_is_the_code_s(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    assert with_reference(text) == text, "run: python -m tests.reference"


def test_every_verb_stands_in_the_readme(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    assert [verb.name for verb in VERBS if f"`{verb.name}`" not in text] == []


def test_every_command_of_the_readme_exists(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    for verb in re.findall(r"`proveout ([a-z]+)\b(?! \d)", text):
        assert named_verb([verb]) == verb


def test_every_command_shown_ends_as_shown(
    project: Path, threepenny: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    commands = shown((project / "README.md").read_text(encoding="utf-8"))
    assert len(commands) > 20
    monkeypatch.chdir(threepenny)
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    program = threepenny / "jobs/4502/op10/O1201.nc"
    program.write_bytes(program.read_bytes().replace(b"S7000 M3", b"S6500 M3"))
    ended = []
    for words, statuses in commands:
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = main(words)
        if status not in statuses:
            ended.append((words, status, err.getvalue() or out.getvalue()))
    assert ended == []


def test_the_map_names_every_room(project: Path) -> None:
    text = (project / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [p.name for p in (project / "tracker").iterdir() if p.is_dir() and (p / "__init__.py").exists()]
    assert [room for room in rooms if f"`{room}/`" not in text] == []
    assert len(rooms) >= 9


def test_one_version_everywhere(project: Path) -> None:
    stated = tomllib.loads((project / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert stated == __version__
