"""Our runs against those of an interpreter of RS274/NGC written by others.

Every program in ``programs/`` is run by both on one machine (`tests.oracle.machine`); moves, extents, lengths, rates,
tool changes and stops agree, or are in `tests.oracle.differences` with the clause that says why. Where the interpreter
is not here (``tests/oracle/fetch`` gets it) its recorded answers serve.
"""

import dataclasses
import math
import os
from functools import cache

import pytest

from tests.oracle.canon import read
from tests.oracle.compare import COARSE, NEAR, near, paired
from tests.oracle.differences import DIFFERENCES
from tests.oracle.interpreter import PROGRAMS, RECORDED, answer, find, skips
from tests.oracle.machine import setting
from tests.oracle.ours import ours
from tests.oracle.random_programs import random_program
from tests.oracle.steps import Told, extents
from tracker.machining.summarise import summarise

NAMES = sorted(path.stem for path in PROGRAMS.glob("*.ngc"))
REFUSED = [name for name in NAMES if name.startswith("refused_")]
RUN = [name for name in NAMES if name not in REFUSED]
ALIKE = [name for name in RUN if name not in DIFFERENCES]


@pytest.fixture
def interpreter() -> str:
    """Path of the interpreter; the test skips without it, and fails under ``.ci/run``."""
    path = find()
    if path is not None:
        return path
    words = "the interpreter is not here, its recorded answers serve (tests/oracle/fetch gets it)"
    if os.environ.get("PROVEOUT_NO_SKIPS"):
        pytest.fail(words)
    pytest.skip(words)


def text_of(name: str) -> str:
    return (PROGRAMS / f"{name}.ngc").read_text(encoding="ascii")


@cache
def recorded(name: str) -> Told:
    return read((RECORDED / f"{name}.txt").read_text(encoding="ascii"))


@cache
def run_of(name: str) -> Told:
    return ours(text_of(name), recorded(name).units, skip=skips(name))


def test_enough_programs_agree() -> None:
    assert len(ALIKE) > 100
    assert sum(len(recorded(name).steps) for name in ALIKE) > 1500
    assert sorted(path.stem for path in RECORDED.glob("*.txt")) == NAMES
    assert set(DIFFERENCES) <= set(RUN)


@pytest.mark.parametrize("name", ALIKE)
def test_runs_agree(name: str) -> None:
    assert recorded(name).error is None
    assert near(recorded(name), run_of(name)) == []


@pytest.mark.parametrize("name", sorted(DIFFERENCES))
def test_runs_differ_as_written_down(name: str) -> None:
    difference = DIFFERENCES[name]
    assert recorded(name).error is None
    assert near(recorded(name), run_of(name))[0] == difference.first, difference.why
    assert bool(run_of(name).not_followed) == difference.named
    assert bool(run_of(name).guesses) == difference.guessed


@pytest.mark.parametrize("name", REFUSED)
def test_what_the_interpreter_refuses_is_named(name: str) -> None:
    """It stops there; ours says what cannot be followed, and agrees on all that came before."""
    theirs, our = recorded(name), run_of(name)
    assert theirs.error is not None
    assert our.not_followed
    moves = theirs.steps
    pairs, _ = paired(moves, our.steps[: len(moves)], NEAR[theirs.units])
    assert [a for a, _ in pairs] == moves


@pytest.mark.parametrize("name", ALIKE)
def test_a_wrong_move_would_be_found(name: str) -> None:
    """The comparison is worth something: a move left out, another place, another order are seen."""
    theirs, our = recorded(name), run_of(name)
    goes = [at for at, step in enumerate(our.steps) if (step.length or 0) > 0.02]
    if not goes:
        assert name in ("nothing", "words_without_motion")
        return
    for at in {goes[0], goes[-1], goes[len(goes) // 2]}:
        step = our.steps[at]
        steps = our.steps
        lost = dataclasses.replace(our, steps=steps[:at] + steps[at + 1 :])
        moved = dataclasses.replace(step, end=(*[0.01 + (v or 0.0) for v in step.end[:3]], *step.end[3:]))
        assert near(theirs, dataclasses.replace(our, steps=[*steps[:at], moved, *steps[at + 1 :]])) != []
        assert near(theirs, lost) != [] or step.start[3:] != step.end[3:]


@pytest.mark.parametrize("name", ALIKE)
def test_sums_of_the_summary_agree(name: str) -> None:
    """What ``summary`` says of the whole program, against the interpreter's moves added up."""
    theirs, our = recorded(name), run_of(name)
    slack = COARSE if theirs.coarse else NEAR[theirs.units]
    pairs, _ = paired(theirs.steps, our.steps, slack)
    told = summarise(text_of(name).encode(), setting(theirs.units, skip=skips(name)))
    assert told.not_followed == ()
    feeds = [a for a, b in pairs if a.kind in ("feed", "arc") and b.length is not None]
    turns = sum(abs(step.turns) for step in feeds)
    assert told.cutting_length == pytest.approx(
        math.fsum(step.length for step in feeds), abs=slack * (1 + len(feeds) + 6 * turns)
    )
    rapids = [a.length for a, b in pairs if a.kind == "rapid" and b.length is not None]
    assert told.rapid_length == pytest.approx(math.fsum(rapids), abs=slack * (1 + len(rapids)))
    assert told.dwell_minutes == pytest.approx(math.fsum(a.seconds or 0 for a, _ in pairs) / 60, abs=1e-4)
    placed = [a for a, b in pairs if not b.machine and None not in (*b.start[:3], *b.end[:3])]
    for axis, (low, high) in enumerate(extents(placed)):
        reach = [r for tool in told.tools if (r := (tool.x, tool.y, tool.z)[axis]) is not None]
        assert min(r[0] for r in reach) == pytest.approx(low, abs=2 * slack)
        assert max(r[1] for r in reach) == pytest.approx(high, abs=2 * slack)


@pytest.mark.parametrize(
    ("name", "length"),
    [
        ("contour_outline", 13 + 5 * math.pi / 2),  # NISTIR 6556 table 12
        ("contour_tool_path", 13 + 13 * math.pi / 4),  # table 13
        ("contour_compensated", 13 + 5 * math.pi / 2 + 2),  # table 12, and 2 away by feed
    ],
)
def test_lengths_of_contours(name: str, length: float) -> None:
    fed = [step.length for step in run_of(name).steps if step.kind in ("feed", "arc")]
    assert math.fsum(fed) == pytest.approx(length, abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_recorded_answers_are_those_of_the_interpreter(name: str) -> None:
    """Where it is here; without it this test holds the recorded answer against its program's existence only."""
    assert recorded(name) is not None
    path = find()
    if path is not None:
        live = read(answer(text_of(name), path, skip=skips(name)))
        assert dataclasses.replace(live, error=bool(live.error)) == dataclasses.replace(
            recorded(name), error=bool(recorded(name).error)
        )


@pytest.mark.parametrize("part", range(8))
def test_random_programs_agree(part: int, interpreter: str) -> None:
    """32 programs each, the same every time; ORACLE_SEED begins elsewhere."""
    first = int(os.environ.get("ORACLE_SEED", "0"))
    moves = 0
    for seed in range(first + 32 * part, first + 32 * (part + 1)):
        program = random_program(seed)
        theirs = read(answer(program, interpreter))
        assert theirs.error is None, (seed, program)
        assert near(theirs, ours(program, theirs.units)) == [], (seed, program)
        moves += len(theirs.steps)
    assert moves > 800
