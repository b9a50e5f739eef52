"""What a setup person and quality read on 80 columns: no word cut, no line that contradicts another, no wrong next step."""

import re

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program
from tracker.cli.boundary import for_terminal
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.reports.where import as_json
from tracker.services.naming import parse_named
from tracker.services.where import where

pytest.importorskip("pty")
from tests.fakes.terminal import Terminal

NOW = {"PROVEOUT_NOW": "2026-03-20T13:00:00Z"}


def flat(text):
    return " ".join(text.split())


@pytest.fixture
def shop(monkeypatch) -> StickShop:
    made = exported_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    monkeypatch.setattr(Frame, "view", lambda self, **_: made.desk())
    return made


def said(capsys, *words, status=0):
    capsys.readouterr()
    ended = main(list(words))
    out, err = capsys.readouterr()
    assert ended == status, out + err
    return out + err


# -- errors on a terminal ---------------------------------------------------------------------------------------------


def test_an_error_on_a_terminal_cuts_no_word(threepenny_once):
    words = ("release", "4471", "--by", "dg", "--yes")
    status, screen = Terminal(threepenny_once, *words, columns=80, world=NOW).end()
    assert status == 1
    lines = screen.replace("\r", "").splitlines()
    assert '    (clear it: proveout lift 4471/op20 --by INITIALS -m "why")' in lines
    assert all(len(line) < 80 for line in lines)
    assert "customer asks about the edge break, answer due 23 Mar; proven by ss 4 Feb 2026" in flat(screen)


def test_what_is_copied_stays_whole():
    path, command = (
        "/a/b c/" + "d" * 90,
        'proveout lift 4471/op20 --by INITIALS -m "why it may be used again, in a sentence"',
    )
    text = f"{'word ' * 30}[name]\n  --> {path}\n  - {'why ' * 30}(clear it: {command})\n  fix: run it again: {command}\n"
    lines = for_terminal(text, 60).splitlines()
    assert f"  --> {path}" in lines
    assert f"  fix: run it again: {command}" in lines
    assert f"    (clear it: {command})" in lines
    kept = {f"  --> {path}", f"  fix: run it again: {command}", f"    (clear it: {command})"}
    assert all(len(line) < 60 for line in lines if line not in kept)
    assert flat("\n".join(lines)) == flat(text)


def test_off_a_terminal_an_error_has_its_lines(threepenny_once, capsys):
    text = said(capsys, "-C", str(threepenny_once), "release", "4471", "--by", "dg", "--yes", status=1)
    (reason,) = [line for line in text.splitlines() if line.startswith("  - ")]
    assert reason.endswith('(clear it: proveout lift 4471/op20 --by INITIALS -m "why")')


# -- lines that hold beside each other --------------------------------------------------------------------------------


def test_the_state_is_said_once(threepenny_once, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])
    text = said(capsys, "-C", str(threepenny_once), "status", "--machine", "MILL3")
    assert "UNPROVEN\n    it came from r1, which is withdrawn: nothing is carried over\n" in text


def test_what_may_not_run_is_told_in_these_words(threepenny_once, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])
    text = said(capsys, "-C", str(threepenny_once), "status", "--may-run", "--machine", "MILL2")
    assert "may not run: MILL2: 4471/op20 r1: held by dg 19 Mar 2026" in text


def test_of_a_stopped_text_nothing_is_said_of_how_to_run_it(shop, capsys):
    shop.save("jobs/4471/op10/O1001.nc", edited(program(1001, sub=1002), (b"F15.", b"F14.")))
    shop.check_in("4471/op10", reason="slower")
    said(capsys, "review", "4471/op10@r2", "--by", "dg", "-m", "slower, T4 only", "--yes")
    carried = said(capsys, "show", "4471/op10@r2")
    assert "CARRIED over from r1" in flat(carried)
    assert "r2 itself was not run in full. Treat T4 as a first run. Covered by: slower (T4)" in flat(carried)
    shop.hold("4471/op10")
    held = flat(said(capsys, "show", "4471/op10@r2"))
    assert "HELD by dg" in held
    assert "carried over from r1, proved" in held
    assert "r2 itself was not run in full" in held
    assert "Treat T4" not in held


def test_a_prove_out_of_some_tools_is_never_listed_as_one_of_all(shop):
    shop.prove("4471/op10", tools=("3", "4"))
    shop.prove("4471/op10", again=True)
    rows = [one["words"] for one in as_json(where(shop.desk(), parse_named("4471/op10")))["places"]]
    assert [words for words in rows if words.startswith("accepted")] == [
        "accepted",
        "accepted, of T3, T4",
        "accepted, short form",
    ]


def test_home_from_its_prove_out_a_text_is_told_what_comes_next(shop):
    shop.save("jobs/4471/op10/O1001.nc", edited(program(1001, sub=1002), (b"Z-0.5", b"Z-0.6")))
    shop.check_in("4471/op10", reason="deeper")
    shop.for_proving("4471/op10")
    path = "MILL2/FOR-PROVING/O1001.NC"

    def message():
        return next(one.message for one in shop.collect().files if one.file == path)

    assert message().endswith(" by ss, UNPROVEN, for its prove-out only")
    shop.prove("4471/op10")
    assert message().endswith("for its prove-out only; proven by now: have it released")
    shop.release("4471")
    assert message().endswith("for its prove-out only; it is released: export it plainly")


# -- tables and questions ---------------------------------------------------------------------------------------------


def test_why_a_file_leaves_stands_on_a_line_of_its_own(shop, tmp_path, capsys):
    stick = tmp_path / "BLUE-1"
    stick.mkdir()
    words = ["export", "--machine", "MILL2", "--to", str(stick), "--by", "ss"]
    shop.save("jobs/4471/op10/O1001.nc", edited(program(1001, sub=1002), (b"Z-0.5", b"Z-0.6")))
    shop.check_in("4471/op10", reason="deeper")
    said(capsys, *words[:1], "--for-proving", "4471/op10", *words[1:])
    shop.prove("4471/op10")
    shop.release("4471")
    lines = said(capsys, *words).splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("MILL2/FOR-PROVING/O1001.NC"))
    assert lines[at].split() == ["MILL2/FOR-PROVING/O1001.NC", "leaves"]
    assert lines[at + 1] == "    was for its prove-out; r2 (release 2) is released"


def test_quality_sees_what_it_recalls_before_it_does(threepenny_once, tmp_path):
    words = ("withdraw", "4471@2", "--by", "dg", "-m", "edge break too large")
    terminal = Terminal(threepenny_once, *words, columns=80, world=NOW)
    terminal.until("[y/N]")
    terminal.press("n\n")
    status, screen = terminal.end()
    assert status == 1
    assert "Withdraw release 2 of 4471: op10 r5, op20 r1? It may run nowhere any more." in flat(screen)
    assert "nothing was recorded" in flat(screen)


def test_the_effect_names_its_units(threepenny_once, capsys):
    text = said(capsys, "-C", str(threepenny_once), "compare", "4471/op10@r4", "4471/op10@r5")
    assert re.search(r"^What O1001\.nc does, lengths in inch, was -> is:$", text, re.MULTILINE)


def test_a_day_in_a_list_is_written_as_people_do(threepenny_once, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW["PROVEOUT_NOW"])
    words = ("-C", str(threepenny_once), "audit", "--list", "lapse")
    assert "4488/op10@r1  LATHE1  17 Jan 2026  lapsed" in said(capsys, *words)
    assert '"lapses": "2026-01-17"' in said(capsys, *words, "--json")
    assert "2026-01-17" in said(capsys, *words, "--csv")


def test_history_of_a_day_says_where_a_machine_is_asked(threepenny_once, capsys):
    words = ("history", "--machine", "MILL2", "--on", "2026-03-12")
    text = said(capsys, "-C", str(threepenny_once), *words, status=2)
    assert "proveout where --machine ID --on DATE" in text
