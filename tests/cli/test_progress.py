"""The line that says how far a call is: on a terminal only, not before a second has gone by, and gone at the end."""

import io

import pytest

from tracker.cli.progress import progress
from tracker.services.progress import told


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def run(stream, seconds, hidden=False):
    clock = iter(seconds)
    with progress(stream=stream, now=lambda: next(clock), hidden=hidden) as tell:
        seen = list(told(["a", "b", "c"], "releases", tell))
    assert seen == ["a", "b", "c"]
    return stream.getvalue()


def test_it_is_shown_after_a_second_and_taken_away():
    said = run(Terminal(), [0.0, 0.5, 1.2, 1.25])
    assert said.startswith("\rreleases [########................] 1 of 3")
    assert said.count("of 3") == 1
    assert said.endswith("\r")
    assert said.rsplit("\r", 2)[1].strip() == ""


def test_a_quick_call_shows_nothing():
    assert run(Terminal(), [0.0, 0.1, 0.2, 0.3]) == ""


@pytest.mark.parametrize(("stream", "hidden"), [(io.StringIO(), False), (Terminal(), True)])
def test_nothing_where_nobody_looks(stream, hidden):
    assert run(stream, [0.0, 5.0, 6.0, 7.0], hidden) == ""
