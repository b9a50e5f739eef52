"""The sample shop's history through the real commands, and the boards worked out by hand for several days."""

import contextlib
import io
import json
import os
import subprocess
from datetime import datetime
from pathlib import Path

import pytest

from tracker.cli.entry import main
from tracker.clock import parse_time
from tracker.policy.find import find_revision
from tracker.policy.standing import standing
from tracker.services.naming import parse_named
from tracker.wiring import open_desk

TODAY = "2026-03-20T13:00:00Z"

# day, revision, machine, standing, words the reason holds; worked out by hand from the history
BOARDS = """
2024-01-16  4488/op10@r1     LATHE1  unproven   never proved on LATHE1
2024-01-17  4488/op10@r1     LATHE1  proven     proven by kp 17 Jan 2024
2025-12-01  4488/op10@r1     LATHE1  proven     proven by kp 17 Jan 2024
2026-01-16  4488/op10@r1     LATHE1  proven     proven by kp 17 Jan 2024
2026-01-17  4488/op10@r1     LATHE1  lapsed     24 months
2026-02-02  4471/op10@r1     MILL2   unproven   never proved on MILL2
2026-02-03  4471/op10@r1     MILL2   rejected   T4 packs chips
2026-02-05  4471/op10@r1     MILL2   rejected   by ss 3 Feb 2026
2026-02-05  4471/op10@r2     MILL2   proven     proven by ss 4 Feb 2026
2026-02-05  4471/op20@r1     MILL2   held       held by dg 5 Feb 2026
2026-02-06  4471/op20@r1     MILL2   proven     proven by ss 4 Feb 2026
2026-02-16  4471/op10@r3     MILL2   unproven   T4
2026-02-17  4471/op10@r3     MILL2   carried    desk review dg 17 Feb 2026
2026-02-18  4471/op10@r4     MILL2   carried    carried over from r2
2026-02-23  4471/op10@r5     MILL2   unproven   T5
2026-02-24  4471/op10@r5     MILL2   carried    T5 proved again kp 24 Feb 2026
2026-03-04  4502/op10@r1     MILL3   proven     proven by kp 4 Mar 2026
2026-03-11  4471/op10-m3@r1  MILL3   unproven   never proved on MILL3
2026-03-12  4471/op10-m3@r1  MILL3   proven     proven by ss 12 Mar 2026
2026-03-18  4502/op10@r1     MILL3   withdrawn  12 pieces set aside
2026-03-18  4502/op10@r2     MILL3   unproven   it came from r1, which is withdrawn
2026-03-18  4471/op20@r1     MILL2   proven     proven by ss 4 Feb 2026
2026-03-20  4471/op10@r5     MILL2   carried    Treat T4, T5 as a first run
2026-03-20  4471/op10-m3@r1  MILL3   proven     proven by ss 12 Mar 2026
2026-03-20  4471/op20@r1     MILL2   held       answer due 23 Mar
2026-03-20  4488/op10@r1     LATHE1  lapsed     17 Jan 2026
2026-03-20  4502/op10@r2     MILL3   unproven   nothing is carried over
2026-03-20  4502/op10@r1     MILL3   withdrawn  by dg 18 Mar 2026
2026-03-20  4471/op10@r1     MILL2   rejected   stopped in the second hole
"""
ROWS = [tuple(line.split(maxsplit=4)) for line in BOARDS.strip().splitlines()]


def call(
    monkeypatch: pytest.MonkeyPatch, folder: Path, *words: str, now: str = TODAY
) -> tuple[int, str, str]:
    monkeypatch.setenv("PROVEOUT_NOW", now)
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(["-C", str(folder), *words])
    return status, out.getvalue(), err.getvalue()


@pytest.mark.parametrize(("day", "named", "machine", "state", "words"), ROWS)
def test_the_board_of_a_day(
    threepenny: Path, day: str, named: str, machine: str, state: str, words: str
) -> None:
    ledger = open_desk(str(threepenny)).repo.ledger()
    name = parse_named(named)
    revision = find_revision(ledger, name, name.operation)
    of_shop = ledger.shop.machine(machine)
    moment = datetime.fromisoformat(f"{day}T22:00:00+00:00")
    found = standing(ledger, revision, of_shop, moment)
    assert (found.state, words in found.reason) == (state, True), found.reason


def test_status_today(threepenny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    status, out, err = call(monkeypatch, threepenny, "status", "--json")
    assert (status, err) == (0, "")
    rows = {
        (row["job"], row["operation"], row["machine"]): (
            row["revision"],
            row["standing"],
            row["released"],
            row["may_run"],
        )
        for row in json.loads(out)["operations"]
    }
    assert rows == {
        ("4471", "op10", "MILL2"): ("r5", "carried", 2, True),
        ("4471", "op10-m3", "MILL3"): ("r1", "proven", None, False),
        ("4471", "op20", "MILL2"): ("r1", "held", 2, False),
        ("4488", "op10", "LATHE1"): ("r1", "lapsed", None, False),
        ("4502", "op10", "MILL3"): ("r2", "unproven", None, False),
    }


def test_what_may_run_on_mill2_today(threepenny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, out, _ = call(monkeypatch, threepenny, "status", "--may-run", "--machine", "MILL2", "--json")
    assert [(r["job"], r["operation"], r["revision"]) for r in json.loads(out)["operations"]] == [
        ("4471", "op10", "r5")
    ]


@pytest.mark.parametrize(
    ("job", "says", "clears"),
    [
        ("4488", "lapsed", "proveout prove 4488"),
        ("4471", "held by dg", "proveout lift 4471/op20"),
    ],
)
def test_two_releases_are_refused_for_different_reasons(
    threepenny: Path, monkeypatch: pytest.MonkeyPatch, job: str, says: str, clears: str
) -> None:
    before = tags(threepenny)
    status, _, err = call(monkeypatch, threepenny, "release", job, "--by", "dg", "--yes")
    assert status == 1
    assert says in err
    assert clears in err
    assert tags(threepenny) == before


def test_all_events_are_in_the_history(threepenny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, out, _ = call(monkeypatch, threepenny, "history", "--json")
    events = [event["event"] for event in json.loads(out)["events"]]
    counts = {event: events.count(event) for event in sorted(set(events))}
    counts.pop("shop", None)
    assert counts == {
        "collect": 1,
        "export": 1,
        "hold": 2,
        "lift": 1,
        "proof": 7,
        "release": 3,
        "review": 1,
        "revision": 10,
        "withdraw": 1,
    }


def test_the_shop_is_a_plain_repository_with_nothing_left_lying_about(threepenny: Path) -> None:
    state = subprocess.run(
        ["git", "status", "--porcelain"], cwd=threepenny, capture_output=True, text=True, check=True
    ).stdout
    assert [line for line in state.splitlines() if "sticks/" not in line] == []
    assert (
        subprocess.run(
            ["git", "fsck", "--strict"], cwd=threepenny, capture_output=True, check=False
        ).returncode
        == 0
    )


def test_audit_of_the_demo_finds_nothing_wrong(threepenny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    status, out, _ = call(monkeypatch, threepenny, "audit", "--json")
    report = json.loads(out)
    serious = [p for p in report["problems"] if p["severity"] != "info"]
    assert (status, serious) == (0, [])
    assert report["checked"]["releases"] == 3


def tags(shop: Path) -> str:
    return subprocess.run(
        ["git", "for-each-ref"], cwd=shop, capture_output=True, text=True, check=True
    ).stdout


def test_a_folder_that_holds_something_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    status, _, err = call(monkeypatch, tmp_path, "demo", str(tmp_path))
    assert status == 2
    assert "not-empty" in err
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_times_are_the_history_s(threepenny: Path) -> None:
    times = subprocess.run(
        ["git", "log", "--reverse", "--format=%cI"],
        cwd=threepenny,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert [parse_time(t) for t in times] == sorted(parse_time(t) for t in times)
    assert parse_time(times[-1]) == parse_time("2026-03-19T07:40:00Z")


def test_the_demo_may_lie_in_a_checkout_of_something_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it does when it is made where this program was cloned to; nothing of it becomes a file of that checkout."""
    monkeypatch.delenv("GIT_CEILING_DIRECTORIES", raising=False)
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True)
    assert main(["-q", "-C", str(tmp_path), "demo", "shop", "--no-tour"]) == 0
    assert "GIT_CEILING_DIRECTORIES" not in os.environ
    assert Path(open_desk(str(tmp_path / "shop")).repo.root).samefile(tmp_path / "shop")
    staged = subprocess.run(["git", "-C", str(tmp_path), "ls-files"], capture_output=True, check=True)
    assert staged.stdout == b""
