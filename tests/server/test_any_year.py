"""Years of two clones drawn by lot (`tests.server.any_year`): half of them share through a bare repository while the clock
goes on for months, half through a guarded one by the clock there is.

``PROVEOUT_YEARS=200`` tries so many of each; a year that went wrong names its number and its last calls.
"""

import os

import pytest

from tests.server.any_year import Year

YEARS = int(os.environ.get("PROVEOUT_YEARS", "4"))
STEPS, BETWEEN = 72, 12


@pytest.fixture
def begun(tmp_path, capsys, monkeypatch):
    """Gives a year, begun."""
    for name, text in (
        ("HOME", tmp_path),
        ("GIT_CONFIG_GLOBAL", tmp_path / "gitconfig"),
        ("GIT_CONFIG_NOSYSTEM", 1),
    ):
        monkeypatch.setenv(name, str(text))

    def begin(number: int, *, guarded: bool) -> Year:
        year = Year(tmp_path / "Werkstatt Süd", number, capsys, monkeypatch, guarded=guarded)
        year.place.mkdir()
        year.begin()
        return year

    return begin


@pytest.mark.parametrize("guarded", [False, True], ids=["open", "guarded"])
@pytest.mark.parametrize("number", range(1, YEARS + 1))
def test_whatever_the_verbs_let_through_is_whole_for_everybody(begun, number, guarded):
    year = begun(number, guarded=guarded)
    for day in range(STEPS // BETWEEN):
        for _ in range(BETWEEN):
            year.step()
        assert year.meet() == [], year.told(f"after {day + 1} meetings")
    done = {verb for verb, (went, _) in year.counts.items() if went}
    assert {"checkin", "prove", "share", "status"} <= done
