"""How runs are judged that an audit asks about: at the run where its time is known, else at the end of its day."""

import pytest

from tests.policy.rows import read
from tracker.policy.at_run import RunJudges
from tracker.records.events import RanRecord
from tracker.services.audit_runs import audit_runs

R1 = "02-02 r1 np"
STOOD = f"{R1} | 02-04 proof r1 MILL2 ss"
RUN = "02-05@10:00 ran r1 MILL2 kp"
BACK = "02-05@16:00 ran r1 MILL2 kp at=02-05@10:00"

RUNS = {
    # what came after it
    "held in the afternoon": (f"{STOOD} | {RUN} | 02-05@14:00 hold r1 dg", None),
    "its machine held in the afternoon": (f"{STOOD} | {RUN} | 02-05@14:00 hold MILL2 dg crash", None),
    "withdrawn in the afternoon": (
        f"{STOOD} | 02-04 release 1 dg r1 | {RUN} | 02-05@14:00 withdraw 1 dg",
        None,
    ),
    "rejected in the afternoon": (f"{STOOD} | {RUN} | 02-05@14:00 proof r1 MILL2 ss rejected", None),
    "held in the same second, after it": (f"{STOOD} | {RUN} | 02-05@10:00 hold r1 dg", None),
    "held after it by a clock that is behind": (f"{STOOD} | {RUN} | 02-05@09:00 hold r1 dg", None),
    "proved in the afternoon": (f"{R1} | {RUN} | 02-05@14:00 proof r1 MILL2 ss", "never proved"),
    "countersigned in the afternoon": (
        f"02-02 r1 bb | 02-04 proof r1 MILL2 bb | {RUN} | 02-05@14:00 countersign kp",
        "second person",
    ),
    "its proof struck in the afternoon": (f"{STOOD} | {RUN} | 02-05@14:00 strike ss of=2", None),
    "lifted in the afternoon": (f"{STOOD} | 02-05@08:00 hold r1 dg | {RUN} | 02-05@14:00 lift dg", "held"),
    # what was there before it
    "held in the morning": (f"{STOOD} | 02-05@08:00 hold r1 dg | {RUN}", "held"),
    "held in the morning, on another branch": (f"{STOOD} | ~ 02-05@08:00 hold r1 dg | {RUN}", "held"),
    "held later, on another branch": (f"{STOOD} | ~ 02-05@14:00 hold r1 dg | {RUN}", None),
    "held before it by a clock that is ahead": (f"{STOOD} | 02-05@11:00 hold r1 dg | {RUN}", "held"),
    "proved before it by a clock that is ahead": (f"{R1} | 02-05@11:00 proof r1 MILL2 ss | {RUN}", None),
    "proved in the morning": (f"{R1} | 02-05@08:00 proof r1 MILL2 ss | {RUN}", None),
    "lifted before it": (f"{STOOD} | 02-04@09:00 hold r1 dg | 02-05@08:00 lift dg | {RUN}", None),
    # what is written down later than it happened
    "its proof written down after it": (
        f"{R1} | {RUN} | 02-05@14:00 proof r1 MILL2 ss at=02-05@08:00",
        None,
    ),
    "proved and run, then written down": (
        f"{R1} | 02-05@15:00 proof r1 MILL2 ss at=02-05@08:00 | {BACK}",
        None,
    ),
    "run, proved, then written down": (f"{R1} | 02-05@14:00 proof r1 MILL2 ss | {BACK}", "never proved"),
    "written down when it was held since": (f"{STOOD} | 02-05@14:00 hold r1 dg | {BACK}", None),
    "written down after it was held": (f"{STOOD} | 02-05@08:00 hold r1 dg | {BACK}", "held"),
    "a hold by mistake with a line through it": (
        f"{STOOD} | 02-05@08:00 hold r1 dg | {RUN} | 02-05@14:00 strike dg of=3",
        None,
    ),
    # put down by mistake
    "with a line through it": (f"{R1} | {RUN} | 02-06@14:00 strike kp", None),
    "with a line through it that somebody else made": (
        f"{R1} | {RUN} | 02-06@14:00 strike ss",
        "never proved",
    ),
    "with a line through that line": (
        f"{R1} | {RUN} | 02-06@14:00 strike kp | 02-07 strike kp",
        "never proved",
    ),
    # a day alone is known
    "of a day before, held that day": (
        f"{STOOD} | 02-05@14:00 hold r1 dg | 02-06@08:00 ran r1 MILL2 kp day=02-05",
        "held",
    ),
    "of a day before, proved that day": (
        f"{R1} | 02-05@14:00 proof r1 MILL2 ss | 02-06@08:00 ran r1 MILL2 kp day=02-05",
        None,
    ),
    "of a day before, held since": (
        f"{STOOD} | 02-06@07:00 hold r1 dg | 02-06@08:00 ran r1 MILL2 kp day=02-05",
        None,
    ),
    "its time of a day before, held later that day": (
        f"{STOOD} | 02-05@14:00 hold r1 dg | 02-07@08:00 ran r1 MILL2 kp at=02-05@10:00",
        None,
    ),
    "at half past midnight where the shop is": (
        f"{STOOD} | 02-03 shop zone=Asia/Tokyo | 02-05@15:30 ran r1 MILL2 kp day=02-06 | 02-05@20:00 hold r1 dg",
        None,
    ),
}


@pytest.mark.parametrize(("rows", "words"), RUNS.values(), ids=RUNS)
def test_a_run(rows: str, words: str | None):
    ledger = read(rows).ledger()
    runs = [(one, one.record) for one in ledger.records if isinstance(one.record, RanRecord)]
    found = list(audit_runs(ledger, runs))
    assert [(one.problem, one.where) for one in found] == (
        [] if words is None else [("ran-not-usable", runs[0][0].path)]
    )
    assert all(words in one.message for one in found)


def test_runs_with_nothing_between_them_have_one_judge():
    rows = f"{STOOD} | {RUN} | 02-05@10:30 ran r1 MILL2 kp | 02-05@14:00 hold r1 dg | 02-05@15:00 ran r1 MILL2 kp"
    ledger = read(rows).ledger()
    judges = RunJudges(ledger)
    first, second, third = [
        judges.of(one, one.record) for one in ledger.records if isinstance(one.record, RanRecord)
    ]
    assert first is second
    assert third is not first
