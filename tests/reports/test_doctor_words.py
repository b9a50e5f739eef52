"""How ``doctor`` ends: "everything" is said of everything only."""

import io
from datetime import UTC, datetime

import pytest
from rich.console import Console

from tracker.reports.doctor import print_text
from tracker.services.doctor import DoctorReport
from tracker.services.doctor_points import Point

ENDS = {
    "": "Everything is set up.",
    "backup": "Nothing has to be put right. Advice: backup.",
    "backup scanner": "Nothing has to be put right. Advice: backup, scanner.",
    "hook": "To put right: hook.",
    "hook backup": "To put right: hook. Advice: backup.",
    "people?": "Could not be told: people.",
    "people? backup": "Could not be told: people. Advice: backup.",
}
ADVICE = ("backup", "scanner")


@pytest.mark.parametrize(("wrong", "said"), ENDS.items(), ids=[key or "nothing" for key in ENDS])
def test_how_it_ends(wrong: str, said: str):
    states = {word.rstrip("?"): "could not tell" if word.endswith("?") else "off" for word in wrong.split()}
    points = tuple(
        Point(name=name, state=states.get(name, "on"), says="seen", advice=name in ADVICE)
        for name in ("hook", "people", *ADVICE)
    )
    out = io.StringIO()
    console = Console(file=out, width=80, markup=False)
    print_text(DoctorReport(root="shop", points=points, now=datetime(2026, 3, 20, tzinfo=UTC)), console)
    assert " ".join(out.getvalue().splitlines()[len(points) + 1 :]) == said
