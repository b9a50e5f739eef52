"""The line that says how far a call is: on a terminal only, not before a second has gone by, and gone at the end."""

import errno
import io
import os
import threading
import time

import pytest
import typer

from tracker.cli.frame import Frame
from tracker.cli.progress import _Line, hush, hushed, progress
from tracker.services.progress import bytes_told, phase, told


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class Clock:
    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        return self.at


def until(seen) -> None:
    """Wait for what another thread does."""
    for _ in range(1000):
        if seen():
            return
        time.sleep(0.005)
    pytest.fail("it never came")


def run(stream, clock, hidden=False, later=2.0):
    with progress(stream=stream, now=clock, hidden=hidden, every=0.001) as tell:
        items = told(["a", "b", "c"], "releases", tell)
        assert [next(items), next(items)] == ["a", "b"]
        clock.at = later
        if later > 1 and stream.isatty() and not hidden:
            until(lambda: "of 3" in stream.getvalue())
        else:
            time.sleep(0.02)
    return stream.getvalue()


def drawn(line, out, clock, at):
    """What stands there once the line was drawn at that moment."""
    clock.at = at
    line.draw()
    return out.getvalue().rsplit("\r", 1)[-1].rstrip()


@pytest.fixture
def shown():
    out, clock = Terminal(), Clock()
    return _Line(out, clock), out, clock


def test_it_is_shown_after_a_second_and_taken_away():
    said = run(Terminal(), Clock())
    assert said.startswith("\rreleases [########................] 1 of 3")
    assert said.endswith("\r")
    assert said.rsplit("\r", 2)[1].strip() == ""


def test_a_quick_call_shows_nothing():
    assert run(Terminal(), Clock(), later=0.9) == ""


@pytest.mark.parametrize(("stream", "hidden"), [(io.StringIO(), False), (Terminal(), True)])
def test_nothing_where_nobody_looks(stream, hidden):
    assert run(stream, Clock(), hidden) == ""


def test_what_was_told_before_the_second_is_shown_while_nothing_more_is_told(shown):
    line, out, clock = shown
    line.tell("writing through O1001.NC", 0, 3)
    assert drawn(line, out, clock, 0.9) == ""
    assert drawn(line, out, clock, 1.1) == "writing through O1001.NC [........................] 0 of 3"
    assert drawn(line, out, clock, 5.2) == "writing through O1001.NC, 4 s [........................] 0 of 3"
    line.tell("writing through O1002.NC", 1, 3)
    assert drawn(line, out, clock, 5.3) == "writing through O1002.NC [########................] 1 of 3"


def test_a_long_file_moves_within_the_count_and_a_phase_ends_it(shown):
    line, out, clock = shown
    line.tell("reading A.NC", 1, 3)
    assert drawn(line, out, clock, 1.5) == "reading A.NC [########................] 1 of 3"
    bytes_told("reading A.NC", 1_500_000_000, 3_000_000_000, line.tell)
    assert drawn(line, out, clock, 2) == "reading A.NC, 1,500 of 3,000 MB [############............] 1 of 3"
    line.tell("reading B.NC", 2, 3)
    assert drawn(line, out, clock, 2.1) == "reading B.NC [################........] 2 of 3"
    phase(line.tell, "recording the export")
    assert drawn(line, out, clock, 3) == "recording the export"
    line.tell("B.NC", 0, 0)
    assert drawn(line, out, clock, 4) == "B.NC"


def test_a_shorter_line_leaves_nothing_of_a_longer_one(shown):
    line, out, clock = shown
    line.tell("reading a long name", 1, 2)
    long = drawn(line, out, clock, 2)
    phase(line.tell, "short")
    assert drawn(line, out, clock, 3) == "short"
    assert out.getvalue().endswith(f"\rshort{' ' * (len(long) - len('short'))}")


def test_whoever_prints_or_asks_takes_it_away_until_something_is_told_again():
    out, clock = Terminal(), Clock()
    with progress(stream=out, now=clock, every=0.001) as tell:
        phase(tell, "recording")
        clock.at = 2
        until(lambda: "recording" in out.getvalue())
        hush()
        seen = out.getvalue()
        assert seen.endswith(f"\r{' ' * len('recording')}\r")
        clock.at = 9
        time.sleep(0.02)
        assert out.getvalue() == seen  # a question may stand there now
        phase(tell, "naming")
        until(lambda: "naming" in out.getvalue())
    hush()
    assert out.getvalue().endswith(f"\r{' ' * len('naming')}\r")


def test_while_somebody_is_asked_it_is_away_and_then_what_it_was():
    out, clock = Terminal(), Clock()
    with progress(stream=out, now=clock, every=0.001) as tell:
        tell("recording", 1, 2)
        clock.at = 2
        until(lambda: "recording" in out.getvalue())
        with hushed():
            seen = out.getvalue()
            time.sleep(0.02)
            assert out.getvalue() == seen
        until(lambda: "recording [############............] 1 of 2" in out.getvalue()[len(seen) :])


@pytest.mark.parametrize("how", ["prints", "asks", "confirms"])
def test_a_verb_that_prints_or_asks_has_the_screen_to_itself(monkeypatch, how):
    out, clock, frame = Terminal(), Clock(), Frame()
    monkeypatch.setattr("sys.stdin", Terminal())
    seen = []

    def asked(*words, **more):
        before = out.getvalue()
        time.sleep(0.02)
        seen.append(before.rsplit("\r", 1)[-1] + out.getvalue()[len(before) :])
        return "y"

    monkeypatch.setattr(typer, "prompt", asked)
    monkeypatch.setattr(typer, "confirm", asked)
    with progress(stream=out, now=clock, every=0.001) as tell:
        phase(tell, "recording")
        clock.at = 2
        until(lambda: "recording" in out.getvalue())
        if how == "prints":
            frame.console(error=True)
            asked()
        elif how == "asks":
            frame.ask("Your initials", flag="--by INITIALS")
        else:
            frame.confirm("Put it down?")
    assert seen == [""]


@pytest.mark.parametrize("columns", [10, 30, 50, 80, 200])
def test_it_never_fills_a_line_of_the_terminal(shown, monkeypatch, columns):
    line, out, clock = shown
    monkeypatch.setattr(out, "fileno", lambda: 2, raising=False)
    monkeypatch.setattr(os, "get_terminal_size", lambda handle: os.terminal_size((columns, 24)))
    line.tell(f"reading MILL2/{'FOLDER/' * 12}O4471.NC", 41, 500)
    said = drawn(line, out, clock, 2)
    assert len(said) < columns
    if columns >= 30:
        assert said.startswith("reading ")
        assert "O4471.NC" in said
        assert "41 of 500" in said


def test_a_name_that_would_steer_the_terminal_does_not(shown):
    line, out, clock = shown
    line.tell("reading \x1b[2J\r\udcff.NC", 0, 0)
    assert drawn(line, out, clock, 2) == "reading ?[2J??.NC"


def test_a_screen_that_is_gone_ends_the_line_and_not_the_call():
    class Gone(Terminal):
        def write(self, text):
            if "naming" in text or self.getvalue():
                raise OSError(errno.EIO, "input/output error")
            return super().write(text)

    clock, out = Clock(), Gone()
    with progress(stream=out, now=clock, every=0.001) as tell:
        before = threading.active_count()
        phase(tell, "recording")
        clock.at = 2
        until(lambda: out.getvalue() and threading.active_count() < before)
