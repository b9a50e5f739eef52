"""Sticks between office and machines, drawn by lot (`tests.stick.any_stick`). ``PROVEOUT_YEARS=200`` tries so many."""

import os

import pytest

from tests.stick.any_stick import Sticks
from tests.stick.any_stick_event import step
from tests.stick.any_stick_recall import Recalls

TRIES = int(os.environ.get("PROVEOUT_YEARS", "4"))
STEPS = 48


@pytest.mark.parametrize("number", range(1, TRIES + 1))
def test_nothing_is_lost_on_a_stick_and_nothing_passes_for_what_it_is_not(
    number, tmp_path, capsys, monkeypatch
):
    for name, text in (
        ("HOME", tmp_path),
        ("GIT_CONFIG_GLOBAL", tmp_path / "gitconfig"),
        ("GIT_CONFIG_NOSYSTEM", 1),
    ):
        monkeypatch.setenv(name, str(text))
    place = tmp_path / "Werkstatt Süd"
    place.mkdir()
    sticks = Sticks(place, number, capsys, monkeypatch)
    sticks.begin()
    recalls = Recalls(sticks)
    for _ in range(STEPS):
        step(sticks)
        recalls.note()
        recalls.hold()
    if number > 4:
        return  # of a day by lot alone nobody can say what it comes to
    done = {verb for verb, (went, _) in sticks.counts.items() if went}
    assert {"export", "checkin"} <= done
