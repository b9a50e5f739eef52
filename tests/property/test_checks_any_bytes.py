"""Whatever the bytes, the checks end in a result, and what they say does not depend on the spelling."""

from hypothesis import given
from hypothesis import strategies as st

from tests.checks.subjects import JOB, subject
from tests.checks.variations import MEANING_THE_SAME
from tracker.checks.check import check
from tracker.checks.examples import MILL, MILLING, SHEET
from tracker.checks.subject import ProgramIn, Subject
from tracker.records.shop import Checks

PIECES = [
    *MILLING.split("\n"),
    "X#1",
    "G65 P9001",
    "M98 P1001",
    "M99",
    "GOTO 10",
    "/",
    "%",
    "(",
    "O",
    "T",
    "G10 L2 P1",
]


def bytes_of(data: bytes) -> Subject:
    main = ProgramIn(path="m.nc", number=None, data=data)
    return Subject(job=JOB, operation=SHEET, machine=MILL, programs=(main,), checks=Checks())


@given(st.binary(max_size=200))
def test_any_bytes(data):
    assert check(bytes_of(data)).checks


@given(st.lists(st.sampled_from(PIECES), max_size=40))
def test_any_mixture_of_lines(lines):
    result = check(bytes_of("\n".join(lines).encode("latin-1")))
    for one in result.findings:
        assert one.line is None or 1 <= one.line <= max(1, len(lines))


@given(st.data())
def test_a_line_left_out_is_the_same_fault_in_other_spellings(data):
    """With one line of a clean program left out, a spelling that keeps the lines apart finds the same rules."""
    lines = MILLING.split("\n")
    at = data.draw(st.integers(0, len(lines) - 1))
    text = "\n".join(lines[:at] + lines[at + 1 :])
    change = data.draw(st.sampled_from(MEANING_THE_SAME[:16]))
    plain = {one.rule for one in check(subject(text)).findings}
    spelled = {one.rule for one in check(subject(change(text))).findings}
    assert spelled == plain, f"{change.__name__}:\n{text}"
