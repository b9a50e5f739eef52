"""Rows of plain cutting moves that reach the checks in bulk tell them what they are told block by block."""

from contextlib import contextmanager

import pytest
from hypothesis import given, settings

from tests.checks.subjects import clean_of, subject, tripping_of
from tests.machining.quick_cases import programs, rows
from tracker.checks.check import check
from tracker.checks.examples import MILLING
from tracker.checks.panel import Panel
from tracker.checks.registry import RULES
from tracker.checks.watch import Stretch
from tracker.frozen import replace
from tracker.machining import quick, thin
from tracker.machining.run_through import run, run_rows
from tracker.machining.setting import Setting
from tracker.machining.texts import NotThinError
from tracker.nc import scan

KNOWN = Setting(lathe=False, units="inch", decimal="calculator", most_blocks=2000)
SURFACE = "".join(f"N{n} X{n * 0.0123:.4f} Y{n % 9 * 0.1:.4f} Z-{n % 7 * 0.03:.4f}\n" for n in range(1, 300))


@contextmanager
def rows_of(shortest):
    was, thin.SHORTEST = thin.SHORTEST, shortest
    try:
        yield
    finally:
        thin.SHORTEST = was


def spelled(one):
    """As text; of a set, whose members come in an order of their own, in alphabetical order."""
    if isinstance(one, Stretch):
        return f"{sorted(one.letters)} {replace(one, letters=frozenset())}"
    return repr(one)


class Noting(Panel):
    """Writes down all that the rules are asked, the bulk of a row as what it comes to."""

    def __init__(self, one):
        super().__init__(one, RULES)
        self.asked = []
        self.taken = 0

    def _ask(self, name, *what):
        self.asked.append((name, *(spelled(one) for one in what)))
        super()._ask(name, *what)

    def row(self, row, control):
        self.taken += row.moves
        super().row(row, control)


def told(one, way):
    panel = Noting(one)
    data = one.main.data
    panel.close(run(data, KNOWN, [panel]) if way is run else run_rows(data, KNOWN, panel))
    return panel


def agree(data):
    one = subject(data.decode("latin-1"))
    wanted = told(one, run)
    for shortest in (1, 3):
        with rows_of(shortest):
            try:
                found = told(one, run_rows)
            except NotThinError:
                continue
        assert found.asked == wanted.asked
        assert found.said.findings == wanted.said.findings
        assert found.said.unknown == wanted.said.unknown


@given(rows())
@settings(max_examples=100)
def test_rows_made_up(data):
    agree(data)


@given(programs())
def test_programs_made_up(data):
    agree(data)


def test_a_surface_comes_in_bulk():
    text = MILLING.replace("M30", "G1 X0. Y0. Z0. F20.\n" + SURFACE + "G0 Z1.\n" + SURFACE + "M30")
    agree(text.encode())
    taken = told(subject(text), run_rows).taken
    assert taken > 290 if quick.is_compiled() else taken == 0


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_every_rule_finds_the_same(rule):
    for one in (clean_of(rule), tripping_of(rule)):
        scan.use(plain=True)
        try:
            wanted = check(one)
        finally:
            scan.use(plain=False)
        with rows_of(1):
            assert check(one) == wanted


def test_a_label_in_a_row_has_the_run_begun_anew():
    text = MILLING.replace("M30", "GOTO 250\n" + SURFACE + "M30")
    wanted = check(subject(text))
    scan.use(plain=True)
    try:
        assert check(subject(text)) == wanted
    finally:
        scan.use(plain=False)
    if quick.is_compiled():
        with pytest.raises(NotThinError):
            told(subject(text), run_rows)
