"""The boards of the sample shop on the days its history speaks of, by the records its commands left."""

from datetime import UTC, datetime

import pytest

from tracker.errors import Refused
from tracker.policy.find import number_of, revisions
from tracker.policy.standing import Judge, standing
from tracker.services.naming import parse_named
from tracker.services.release import release
from tracker.services.released import Releases
from tracker.wiring import open_desk

# day | operation | revision | machine | state | words of the reason
BOARDS = [
    ("2025-12-01", "4488/op10", 1, "LATHE1", "proven", "proven by kp 17 Jan 2024 on LATHE1"),
    ("2026-01-16", "4488/op10", 1, "LATHE1", "proven", "proven by kp"),
    ("2026-01-17", "4488/op10", 1, "LATHE1", "lapsed", "lapsed 17 Jan 2026"),
    ("2026-02-03", "4471/op10", 1, "MILL2", "rejected", "rejected on MILL2 by ss 3 Feb 2026 (program): T4 packs chips"),
    ("2026-02-05", "4471/op20", 1, "MILL2", "held", "held by dg 5 Feb 2026: thickness gauge out of calibration"),
    ("2026-02-05", "4471/op10", 2, "MILL2", "proven", "proven by ss 4 Feb 2026 on MILL2"),
    ("2026-02-06", "4471/op20", 1, "MILL2", "proven", "proven by ss 4 Feb 2026"),
    ("2026-02-16", "4471/op10", 3, "MILL2", "unproven", "r2 to r3 changed slower (T4): a desk review is owed"),
    ("2026-02-17", "4471/op10", 3, "MILL2", "carried", "slower (T4): desk review dg 17 Feb 2026"),
    ("2026-02-18", "4471/op10", 4, "MILL2", "carried", "carried over from r2, proved 4 Feb 2026 on MILL2"),
    ("2026-02-23", "4471/op10", 5, "MILL2", "unproven", "r4 to r5 changed motion (T5)"),
    ("2026-02-23", "4471/op10-m3", 1, "MILL3", "unproven", "never proved on MILL3"),
    ("2026-02-24", "4471/op10", 5, "MILL2", "carried", "T5 proved again kp 24 Feb 2026"),
    ("2026-03-17", "4502/op10", 1, "MILL3", "proven", "proven by kp 4 Mar 2026 on MILL3"),
    ("2026-03-20", "4471/op10", 5, "MILL2", "carried", "Treat T4, T5 as a first run."),
    ("2026-03-20", "4471/op10", 1, "MILL2", "rejected", "rejected on MILL2"),
    ("2026-03-20", "4471/op10-m3", 1, "MILL3", "proven", "proven by ss 12 Mar 2026 on MILL3"),
    ("2026-03-20", "4471/op20", 1, "MILL2", "held", "held by dg 19 Mar 2026: customer asks about the edge break"),
    ("2026-03-20", "4488/op10", 1, "LATHE1", "lapsed", "24 months since the last proof 17 Jan 2024"),
    ("2026-03-20", "4502/op10", 1, "MILL3", "withdrawn", "withdrawn by dg 18 Mar 2026 (release 1): customer found the grip"),
    ("2026-03-20", "4502/op10", 2, "MILL3", "unproven", "it came from r1, which is withdrawn: nothing is carried over"),
]  # fmt: skip


@pytest.fixture
def desk(threepenny_once, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    return open_desk(str(threepenny_once))


@pytest.mark.parametrize(("day", "operation", "revision", "machine", "state", "words"), BOARDS)
def test_boards(desk, day, operation, revision, machine, state, words):
    ledger = desk.repo.ledger()
    job, _, op = operation.partition("/")
    (stored,) = [s for s in revisions(ledger, job, op) if number_of(s.name) == revision]
    moment = datetime.fromisoformat(day).replace(hour=12, tzinfo=UTC)
    found = standing(ledger, stored, ledger.shop.machine(machine), moment)
    assert (found.state, words in found.reason) == (state, True), found.reason


def test_releases(desk):
    ledger = desk.repo.ledger()
    releases = Releases(desk.repo, ledger, Judge(ledger, desk.clock.now()))
    assert releases.jobs == ("4471", "4502")
    found = releases.of("4471")
    assert (found.latest.number, found.why_none, found.passed_over) == (2, None, ())
    assert set(found.latest.operations) == {"op10", "op20"}
    assert "withdrawn by dg 18 Mar 2026" in releases.of("4502").why_none


@pytest.mark.parametrize(
    ("job", "words", "clears"),
    [
        ("4488", "lapsed 17 Jan 2026", "proveout prove 4488 --again --machine LATHE1"),
        ("4471", "held by dg 19 Mar 2026", 'proveout lift 4471/op20 --by INITIALS -m "why"'),
        ("4502", "it came from r1, which is withdrawn", "proveout prove 4502 --machine MILL3"),
    ],
)
def test_refused_releases(desk, job, words, clears):
    with pytest.raises(Refused) as caught:
        release(desk, parse_named(job), by="dg", dry_run=True)
    (reason,) = caught.value.reasons
    assert words in reason
    assert f"clear it: {clears}" in reason
