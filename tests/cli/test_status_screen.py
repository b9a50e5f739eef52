"""``status`` as somebody sees it: on real terminals of 80 and 160 columns, with colour and without, narrowed, watched."""

import csv
import io
import json
import re
from pathlib import Path

import pytest
from rich.console import Console

from tests.fakes.shop_folder import git
from tracker.cli.entry import main
from tracker.cli.watch import page_now, watch
from tracker.errors import BadCall, CouldNot
from tracker.reports.status_counts import MOST_SHOWN, STOPS
from tracker.reports.table import say

pytest.importorskip("pty")
from tests.fakes.terminal import Terminal

NOW = {"PROVEOUT_NOW": "2026-03-20T13:00:00Z"}
ACCENT, BACK = "\x1b[1;31m", "\x1b[0m"
LOOKED = "Ctrl-C ends"
COUNTS = "5 rows: 1 held, 1 lapsed, 1 unproven, 1 carried, 1 proven; 2 may run."


@pytest.fixture
def said(threepenny_once, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])

    def ask(*words, status=0):
        capsys.readouterr()
        ended = main(["-C", str(threepenny_once), "status", *words])
        out, err = capsys.readouterr()
        assert ended == status, err
        return out + err

    return ask


@pytest.mark.parametrize("before", [(), ("--key", "none")], ids=["quick lane", "full lane"])
@pytest.mark.parametrize("columns", [80, 160])
def test_what_stops_stands_out_and_is_said_in_words_too(threepenny_once, columns, before):
    status, screen = Terminal(threepenny_once, *before, "status", columns=columns, world=NOW).end()
    assert status == 0
    accented = re.findall(re.escape(ACCENT) + "(.*)" + re.escape(BACK), screen)
    assert [line.split()[0] for line in accented] == ["4471/op20"]
    assert all(line.endswith(" HELD") for line in accented)
    plain = screen.replace(ACCENT, "").replace(BACK, "")
    assert "\x1b" not in plain
    lines = plain.splitlines()
    assert max(map(len, lines)) <= columns
    assert plain.isascii()  # nothing is drawn that a screen reader would have to spell


@pytest.mark.parametrize("world", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
@pytest.mark.parametrize("before", [(), ("--key", "none")], ids=["quick lane", "full lane"])
def test_without_colour_every_word_is_the_same(threepenny_once, world, before):
    status, screen = Terminal(threepenny_once, *before, "status", world={**NOW, **world}).end()
    _, coloured = Terminal(threepenny_once, *before, "status", world=NOW).end()
    assert status == 0
    assert screen == coloured.replace(ACCENT, "").replace(BACK, "")
    assert "\x1b" not in screen


def test_no_color_is_an_option_too(threepenny_once):
    _, screen = Terminal(threepenny_once, "--no-color", "status", world=NOW).end()
    assert "\x1b" not in screen
    assert " HELD" in screen


def test_it_opens_with_how_many_stand_how(said):
    assert said().splitlines()[0] == COUNTS.replace("2 may", "1 may")


def test_it_is_narrowed_by_standing(said):
    assert [
        row["standing"] for row in json.loads(said("--standing", "HELD, lapsed", "--json"))["operations"]
    ] == [
        "held",
        "lapsed",
    ]
    table = list(csv.DictReader(io.StringIO(said("--standing", "held", "--csv").lstrip("\ufeff"))))
    assert [(row["operation"], row["standing"]) for row in table] == [("op20", "held")]
    assert "Nothing is rejected or withdrawn here.\n" in said("--standing", "rejected,withdrawn")
    assert "4502/op10" not in said("--standing", "unproven", "--job", "4471")
    may_run = json.loads(said("--may-run", "--standing", "carried", "--json"))["operations"]
    assert [row["operation"] for row in may_run] == ["op10"]
    assert json.loads(said("--may-run", "--standing", "proven", "--json"))["operations"] == []


@pytest.mark.parametrize("named", ["mill2", "Mill2", "MILL2"])
def test_a_machine_is_found_whatever_the_letter_case(said, named):
    rows = json.loads(said("--machine", named, "--json"))["operations"]
    assert [row["operation"] for row in rows] == ["op10", "op20"]


@pytest.mark.parametrize("word", ["gone", "", "held,,lapsed"])
def test_a_standing_there_is_not(said, word):
    text = said("--standing", word, status=2)
    assert "[unknown-standing]" in text
    assert "withdrawn, held, rejected, lapsed, unproven, carried, proven" in text


def many(folder: Path, jobs: int) -> Path:
    """The sample shop with so many more jobs that nobody has checked in."""
    for number in range(jobs):
        job = folder / f"jobs/{5000 + number}"
        (job / "op10").mkdir(parents=True)
        (job / "op10/O1.nc").write_bytes(b"O1\nM30\n")
        text = f'format = 1\n[job]\nnumber = "{5000 + number}"\n[[operations]]\nid = "op10"\nprogram = "op10/O1.nc"\n'
        (job / "job.toml").write_text(text + 'machines = ["MILL2"]\n', encoding="utf-8")
    git(folder, "add", "jobs")
    git(folder, "commit", "-q", "-m", "many jobs")
    return folder


def test_of_very_many_rows_a_terminal_shows_counts_and_what_stops(threepenny, capsys, monkeypatch):
    folder = many(threepenny, MOST_SHOWN)
    status, screen = Terminal(folder, "--no-color", "status", world=NOW).end()
    assert status == 0
    lines = screen.splitlines()
    assert lines[0].startswith(f"{MOST_SHOWN + 5} rows: 1 held, 1 lapsed, {MOST_SHOWN + 1} unproven")
    assert lines[1].split() == ["machine", "held", "lapsed", "unproven", "carried", "proven", "may", "run"]
    counts = {line.split()[0]: line.split()[1:] for line in lines[2:5]}
    assert counts == {
        "LATHE1": ["0", "1", "0", "0", "0", "0"],
        "MILL2": ["1", "0", str(MOST_SHOWN), "1", "0", "1"],
        "MILL3": ["0", "0", "1", "0", "1", "0"],
    }
    assert (
        f"{MOST_SHOWN + 4} rows are not shown. To narrow: --standing held, --job JOB, --machine ID." in screen
    )
    assert [line.split()[-1] for line in lines if re.match(r"\d+/op", line)] == ["HELD"]
    assert max(map(len, lines)) <= 80
    _, everything = Terminal(folder, "--no-color", "status", "--all", world=NOW).end()
    assert len(re.findall(r"^\d+/op", everything, re.MULTILINE)) == MOST_SHOWN + 5
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])
    assert main(["-C", str(folder), "status"]) == 0  # not a terminal: what grep reads lacks nothing
    assert len(re.findall(r"^\d+/op", capsys.readouterr().out, re.MULTILINE)) == MOST_SHOWN + 5


def test_the_stops_are_those_somebody_made():
    assert {"held", "rejected", "withdrawn"} == STOPS


def test_watching_shows_what_changed_and_ends_with_130(threepenny, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])
    call = Terminal(threepenny, "status", "--watch", "--job", "4502", rows=12, world=NOW)
    assert "HELD" not in call.until(LOOKED)
    hold = ["hold", "4502/op10", "--by", "dg", "-m", "waiting", "--yes"]
    assert main(["-C", str(threepenny), *hold]) == 0
    assert "HELD" in call.until("held by dg")
    call.press("\x03")
    status, screen = call.end()
    assert status == 130
    assert screen.index("\x1b[?1049h") < screen.index("4502/op10")  # a screen of its own ...
    assert screen.rindex("\x1b[?1049l") > screen.rindex("4502/op10")  # ... is given back
    assert "\x1b[2J" not in screen.partition("4502/op10")[2]  # nothing is wiped between two looks
    assert screen.endswith("Interrupted.\n")


@pytest.mark.parametrize("words", [("--json",), ("--csv",)])
def test_watching_is_for_a_screen(said, words):
    assert "wrong-call" in said("--watch", *words, status=2)


def test_watching_needs_a_terminal(said):
    assert "[not-a-terminal]" in said("--watch", status=2)


def test_a_terminal_that_cannot_go_back_is_refused(threepenny_once):
    status, screen = Terminal(threepenny_once, "status", "--watch", world={**NOW, "TERM": "dumb"}).end()
    assert (status, "[not-a-terminal]" in screen) == (2, True)


def test_a_wrong_call_is_told_before_anything_is_watched(threepenny_once):
    status, screen = Terminal(threepenny_once, "status", "--watch", "--machine", "MILL9", world=NOW).end()
    assert (status, "[unknown-machine]" in screen, "\x1b[?1049h" in screen) == (2, True, False)


def test_a_look_that_fails_is_shown_and_the_next_one_tried(monkeypatch):
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    raw = io.StringIO()
    console = Console(file=raw, force_terminal=True, width=80, height=10)
    looks = iter([None, CouldNot("locked", "somebody is at work", fix="wait"), None])

    def look(page):
        fault = next(looks)
        if fault is not None:
            raise fault
        say(page, "it stands")

    waits = iter([None])

    def wait(seconds):
        if next(waits, "end") == "end":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        watch(console, look, wait)
    assert raw.getvalue().index("somebody is at work  [locked]") < raw.getvalue().index("it stands")


def test_what_does_not_fit_is_counted():
    console = Console(file=io.StringIO(), width=80, height=6)
    lines = str(page_now(console, lambda page: say(page, *map(str, range(20))))).splitlines()
    assert lines == [*"0123", "... and 16 more lines; --standing, --job and --machine narrow", lines[-1]]
    assert LOOKED in lines[-1]
    full = str(page_now(console, lambda page: say(page, *"01234"))).splitlines()
    assert full[:-1] == [*"01234"]


def test_a_first_look_that_fails_is_an_error(monkeypatch):
    def look(page):
        raise BadCall("unknown-machine", "no")

    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    with pytest.raises(BadCall):
        watch(Console(file=io.StringIO(), force_terminal=True), look)
