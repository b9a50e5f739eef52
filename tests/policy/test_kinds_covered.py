"""What covers a step of each kind, by the lists a shop starts with: every kind once, one row a kind."""

import pytest

from tests.policy.table import ask
from tracker.nc import kinds

# what was done after the change of T4: nothing | a desk review | T4 proved again | proved in full
TABLE = """
numbering         carried   carried   carried   proven
wording           carried   carried   carried   proven
format            carried   carried   carried   proven
precall           unproven  carried   carried   proven
coolant           unproven  carried   carried   proven
dwell             unproven  carried   carried   proven
stop              unproven  carried   carried   proven
slower            unproven  carried   carried   proven
drawing           unproven  carried   carried   proven
sheet-text        unproven  carried   carried   proven
motion            unproven  unproven  carried   proven
feed              unproven  unproven  carried   proven
speed             unproven  unproven  carried   proven
tool              unproven  unproven  carried   proven
offset            unproven  unproven  carried   proven
stop-removed      unproven  unproven  carried   proven
sheet-tool        unproven  unproven  carried   proven
sheet-offset      unproven  unproven  carried   proven
flow              unproven  unproven  unproven  proven
mode              unproven  unproven  unproven  proven
program-number    unproven  unproven  unproven  proven
program-added     unproven  unproven  unproven  proven
program-removed   unproven  unproven  unproven  proven
post              unproven  unproven  unproven  proven
other             unproven  unproven  unproven  proven
a-kind-to-come    unproven  unproven  unproven  proven
"""
ROWS = [line.split() for line in TABLE.strip().splitlines()]
DONE = ("", "| 02-11 review r2<r1 dg", "| 02-11 proof r2 MILL2 kp tools=4", "| 02-11 proof r2 MILL2 kp")


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_kind(row):
    kind, *states = row
    text = f"02-02 r1 np | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np {kind} T4"
    assert [ask(f"{text} {done}", "r2 MILL2 02-12")[0] for done in DONE] == states


def test_every_kind_has_its_row():
    known = {value for name, value in vars(kinds).items() if name.isupper() and isinstance(value, str)}
    assert known == {row[0] for row in ROWS} - {"a-kind-to-come"}


@pytest.mark.parametrize("beside", [row[0] for row in ROWS])
def test_words_beside_a_kind_change_nothing(beside):
    text = f"02-02 r1 np | 02-04 proof r1 MILL2 ss | 02-10 r2<r1 np {beside},numbering,wording,format T4"
    states = next(row[1:] for row in ROWS if row[0] == beside)
    assert [ask(f"{text} {done}", "r2 MILL2 02-12")[0] for done in DONE] == states
