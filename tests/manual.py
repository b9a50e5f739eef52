"""What README.md and the pages of the manual show is what the commands answer: ``python -m tests.manual`` writes it anew.

A document shows commands (``$ proveout ...``, ``$ git ...``) with their answer under them, in a console block of README.md or
set in by four columns in a page of `tracker.reports.manual`. Each document is gone through from top to bottom in a fresh
copy of the sample shop, on the day its history ends. ``Change `A` to `B` in `FILE` `` is done where it stands, ``Fill in `FORM` `` too. Of a long answer
the first lines are shown, and how many are left out. An exit status other than 0 stands behind the command.

Normalised are the folder everything happens in (``/srv``), versions, which scanner reads, sizes as git packs, and what hangs
on who made the sample shop: ids of its commits and the sum over them.
"""

import contextlib
import io
import os
import re
import shlex
import shutil
import subprocess
import tempfile
import tomllib
from collections.abc import Iterator
from importlib import import_module, reload
from pathlib import Path

import pytest

from tests.fakes.shop_folder import FIGURES
from tracker import __version__
from tracker.cli.entry import main
from tracker.reports.manual import PAGES

PROJECT = Path(__file__).parents[1]
README = PROJECT / "README.md"
NOW = "2026-03-20T13:00:00Z"
COLUMNS = 80
MOST_LINES = 16
"""An answer of more lines is shown up to `HEAD` lines."""
HEAD = 10
OLD = {
    "O4511.NC": "%\nO4511 (BRACKET)\nG20 G90 G17 G40 G49 G80\nT3 M6 (3/8 DRILL)\nG54 G0 X1. Y1. S1800 M3\nG43 H3 Z1. M8\n"
    "G98 G81 Z-0.9 R0.1 F9.\nX2.\nG80 M9\nG91 G28 Z0.\nM30\n%\n",
    "O4512.NC": "%\nO4512 (COVER)\nG20 G90 G17 G40 G49 G80\nT5 M6 (1/2 END MILL)\nG54 G0 X0. Y-1. S2200 M3\nG43 H5 Z1. M8\n"
    "G1 Z-0.25 F20.\nY3.\nG0 Z1. M9\nG91 G28 Z0.\nM30\n%\n",
}
"""Programs somebody had before there was a record, in the folder ``old`` beside the shop."""
LENGTH = 60
"""Of the path documents are gone through in."""
EDIT = re.compile(r"[Cc]hange\s+`([^`]+)`\s+to\s+`([^`]+)`\s+in\s+`([^`]+)`", re.DOTALL)
FILL = re.compile(r"Fill in\s+`([^`]+)`")
COMMAND = re.compile(r"\$ ((?:proveout|git|ssh-keygen) .*?)(?:  # exit \d+)?$")
WORLD = {
    "PROVEOUT_NOW": NOW,
    "COLUMNS": str(COLUMNS),
    "GIT_AUTHOR_NAME": "Test Person",
    "GIT_AUTHOR_EMAIL": "test@example.invalid",
    "GIT_COMMITTER_NAME": "Test Person",
    "GIT_COMMITTER_EMAIL": "test@example.invalid",
    "GIT_CONFIG_NOSYSTEM": "1",
    "TZ": "UTC",
    "LC_ALL": "C.UTF-8",
}


def readme_now(text: str, place: Path) -> str:
    """README.md with every console block as it is answered now; ``place`` holds a folder ``threepenny``."""
    parts = re.split(r"(```console\n.*?```)", text, flags=re.DOTALL)
    return "".join(
        "\n".join(["```console", *answered(part.splitlines()[1:-1], place), "```"])
        if part.startswith("```console")
        else edited(part, place)
        for part in parts
    )


def page_now(text: str, place: Path) -> str:
    """A page of the manual with every answer as it is now."""
    lines: list[str] = []
    told: list[str] = []
    for block in blocks(text):
        if block[0].startswith("    $ "):
            edited("\n".join(told), place)
            told = []
            shown = [line.removeprefix("    ") for line in block]
            lines += [f"    {line}".rstrip() for line in answered(shown, place)]
        else:
            lines += block
            told += block
    return "\n".join(lines) + "\n"


def blocks(text: str) -> Iterator[list[str]]:
    """Runs of lines: those from a command to the last line that is set in, and those between."""
    run: list[str] = []
    inside = False
    for line in text.splitlines():
        starts = line.startswith("    $ ") and not inside
        ends = inside and line and not line.startswith("    ")
        if (starts or ends) and run:
            blank = []
            while ends and run and not run[-1]:
                blank.append(run.pop())
            yield run
            run = blank
        if starts or ends:
            if run and starts:
                yield run
                run = []
            inside = starts
        run.append(line)
    if run:
        yield run


def edited(text: str, place: Path) -> str:
    """Do what the text tells to change; gives the text back."""
    for old, new, name in EDIT.findall(text):
        path = place / "threepenny" / name
        data = path.read_bytes()
        assert data.count(old.encode()) == 1, f"{name}: {old!r} stands there {data.count(old.encode())} times"
        path.write_bytes(data.replace(old.encode(), new.encode()))
    for name in FILL.findall(text):
        form = tomllib.loads((place / "threepenny" / name).read_text(encoding="utf-8"))
        assert set(form) >= {"P0", "P13"}
        filled = [
            f"[{step}]\ndone = true\n" + (f"value = {FIGURES[step]}\n" if "value" in form[step] else "")
            for step in form
        ]
        (place / "threepenny" / name).write_text("\n".join(filled), encoding="utf-8")
    return text


def answered(lines: list[str], place: Path) -> Iterator[str]:
    """The commands among ``lines``, each with its answer under it."""
    for line in lines:
        found = COMMAND.match(line)
        if found is None:
            assert not line.startswith("$ "), f"no command the tests can run: {line}"
            continue
        status, said = call(shlex.split(found[1]), place)
        yield f"$ {found[1]}" + (f"  # exit {status}" if status else "")
        yield from shortened([one.rstrip() for one in same_everywhere(said, place).splitlines()])


@contextlib.contextmanager
def laid_out(shop: Path) -> Iterator[Path]:
    """A place to go through a document in: a copy of the shop; beside it a stick, a disk for backups, a folder for keys, old programs.

    Its path is of one length everywhere: sentences that name it are folded.
    """
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "p" * (LENGTH - len(folder) - 1))
        assert len(str(place)) == LENGTH, f"the folder of temporary files has too long a name: {folder}"
        yield _laid_out(shop, place)


def _laid_out(shop: Path, place: Path) -> Path:
    shutil.copytree(shop, place / "threepenny", symlinks=True)
    for name in ("STICK", "backups", "keys"):
        (place / name).mkdir()
    (place / "old").mkdir()
    for name, text in OLD.items():
        (place / "old" / name).write_text(text, encoding="ascii")
    return place


def call(words: list[str], place: Path) -> tuple[int, str]:
    """Exit status and all that is said, standard output first."""
    if words[0] != "proveout":
        done = subprocess.run(words, cwd=place / "threepenny", capture_output=True, text=True, check=False)
        return done.returncode, done.stdout + done.stderr
    out, err = Said(), Said()
    with (
        contextlib.chdir(place / "threepenny"),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        status = main(words[1:])
    return status, out.getvalue() + err.getvalue()


class Said(io.StringIO):
    """What a call writes; no terminal."""


def shortened(lines: list[str]) -> list[str]:
    """A long answer by its first lines; more follow it."""
    if len(lines) <= MOST_LINES:
        return lines
    return [*lines[:HEAD], f"... and {len(lines) - HEAD} more lines"]


def same_everywhere(said: str, place: Path) -> str:
    """What is said without what hangs on this machine."""
    said = said.replace("\ufeff", "").replace(str(place.resolve()), "/srv").replace(str(place), "/srv")
    said = said.replace(f"proveout {__version__}", "proveout VERSION")
    said = re.sub(r"Python \d+\.\d+\.\d+\S*", "Python VERSION", said)
    said = re.sub(r"git \d+\.\d+\.\d+\S*", "git VERSION", said)
    said = re.sub(r"\w+( +scanner +)the \w+ scanner reads programs.*", r"on\1a scanner reads programs", said)
    said = re.sub(
        r"^object [0-9a-f]{40}$", "object COMMIT", said, flags=re.MULTILINE
    )  # names who made the demo
    said = re.sub(r'keys =\s+\["ssh-ed25519\s+[^"]+"\]', 'keys = ["ssh-ed25519 KEY"]', said)
    said = re.sub(r"^[0-9a-f]{64}$", "SHA256", said, flags=re.MULTILINE)  # of a package with those commits
    said = re.sub(r"references, [\d,]+ bytes", "references, SIZE bytes", said)  # as this git packs them
    return re.sub(r"(ssh-keygen +)/\S+", r"\1/usr/bin/ssh-keygen", said)


@contextlib.contextmanager
def world(home: Path) -> Iterator[None]:
    """The world documents are written in: a home of its own, a set clock, a width."""
    with pytest.MonkeyPatch.context() as own:
        for name in [n for n in os.environ if n.startswith(("GIT_", "PROVEOUT_"))]:
            own.delenv(name)
        for name, value in {**WORLD, "HOME": str(home), "GIT_CONFIG_GLOBAL": str(home / "gitconfig")}.items():
            own.setenv(name, value)
        yield


def _write_all() -> None:
    with tempfile.TemporaryDirectory() as folder, world(Path(folder)):
        once = Path(folder, "once")
        assert main(["-q", "demo", str(once), "--no-tour"]) == 0

        with laid_out(once) as place:
            text = readme_now(README.read_text(encoding="utf-8"), place)
        README.write_text(text, encoding="utf-8", newline="\n")
        for name in PAGES:
            module = reload(import_module(f"tracker.reports.manual_{name}"))
            path = Path(str(module.__file__))
            source, old = path.read_text(encoding="utf-8"), module.TEXT
            assert source.count(old) == 1
            with laid_out(once) as place:
                path.write_text(source.replace(old, page_now(old, place)), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    _write_all()
