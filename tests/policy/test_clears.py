"""What would clear what is in the way, in the order it is told: `status` names the first of them as what comes next."""

import pytest

from tests.policy.row_events import day_of
from tests.policy.rows import read
from tracker.policy.standing import standing

R1 = "02-02 r1 np | 02-04 proof r1 MILL2 ss"
FULL = "proveout prove 4471 --machine MILL2"
OLD_TOOL = "proveout prove 4471@r2 --machine MILL2 --tools 1"
READ = 'proveout review 4471 --by INITIALS -m "why"'
READ_OLD = 'proveout review 4471@r2 --by INITIALS -m "why"'

CLEARS = {
    # nobody mounts r2 to prove it where r3 is what runs
    "a tool of the text before": (
        f"{R1} | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 np wording",
        (FULL,),
    ),
    "a tool of the text before, and reading": (
        f"{R1} | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 np coolant T2",
        (FULL,),
    ),
    "the text before in full": (
        f"{R1} | 02-05 r2<r1 np flow | 02-06 r3<r2 np coolant T2",
        (FULL,),
    ),
    "held besides": (
        f"{R1} | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 np wording | 02-07 hold r3 dg",
        ('proveout lift 4471@r3 --by INITIALS -m "why"', FULL),
    ),
    # what is less work than proving it in full stays first
    "reading the text before": (
        f"{R1} | 02-05 r2<r1 np coolant T1 | 02-06 r3<r2 np coolant T1",
        (READ_OLD, READ),
    ),
    "reading the text before, and a tool of this one": (
        f"{R1} | 02-05 r2<r1 np coolant T1 | 02-06 r3<r2 np motion T1",
        (READ_OLD, f"{FULL} --tools 1"),
    ),
    "a tool of this one": (
        f"{R1} | 02-05 r2<r1 np wording | 02-06 r3<r2 np motion T1",
        (f"{FULL} --tools 1",),
    ),
    # a section proved of a text nobody proved is no proof of it
    "a text nobody proved, changed": (
        "02-02 r1 np | 02-05 r2<r1 np wording | 02-06 r3<r2 np motion T1",
        (FULL,),
    ),
    "a text that came from one that was rejected, changed": (
        "02-02 r1 np | 02-04 proof r1 MILL2 ss rejected | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 np motion T1",
        (FULL,),
    ),
    "a second person behind its own proof": (
        f"{R1} | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 bb wording | 02-07 proof r3 MILL2 bb",
        ('proveout countersign 4471 --machine MILL2 --by INITIALS -m "why"', OLD_TOOL),
    ),
}


@pytest.mark.parametrize(("rows", "clears"), CLEARS.values(), ids=CLEARS)
def test_what_clears(rows: str, clears: tuple[str, ...]):
    known = read(rows)
    machine = known.shop.machine("MILL2")
    assert machine is not None
    assert standing(known.ledger(), known.find("r3"), machine, day_of("03-01")).clears == clears


def test_what_is_asked_about_the_text_before_is_said_of_it():
    known = read(f"{R1} | 02-05 r2<r1 np motion T1 | 02-06 r3<r2 np wording")
    machine = known.shop.machine("MILL2")
    assert machine is not None
    assert standing(known.ledger(), known.find("r2"), machine, day_of("03-01")).clears == (OLD_TOOL,)


@pytest.mark.parametrize("rows", [rows for rows, clears in CLEARS.values() if FULL in clears])
def test_the_full_proof_does_for_all_of_them(rows: str):
    lifted = " | 02-08 lift dg" if "hold" in rows else ""
    known = read(f"{rows}{lifted} | 02-09 proof r3 MILL2 ss")
    machine = known.shop.machine("MILL2")
    assert machine is not None
    found = standing(known.ledger(), known.find("r3"), machine, day_of("03-01"))
    assert (found.state, found.clears) == ("proven", ())
