"""Reads the tables of standing in ``tables/``: what happened, what is asked, the answer.

A file is a theme. ``NAME = rows`` gives a name to rows that open many cases. A case is its name, rows written as
``rows.py`` says (set in), and questions, each with the state and words of the reason::

    lifted by quality
        R1 | 02-05 hold op10 kp | 02-06 lift dg
        ? r1 MILL2 02-05: held: held by kp 5 Feb 2026
        ? r1 MILL2 02-06: proven: proven by ss -not- held

``...`` stands between words that have others between them, ``-not-`` before words that must not be there. ``op*:r1`` asks
the same of seven operations. ``? release 02-08: yes: op10 on MILL2`` and ``? release 02-08: no: words`` ask whether the
job may be released as its newest revisions are.
"""

import re
from dataclasses import dataclass
from pathlib import Path

from tests.policy.row_events import day_of
from tests.policy.rows import SEVEN, Rows, read
from tracker.policy.release_rules import OperationFacts, decide
from tracker.policy.standing import Judge, standing
from tracker.policy.states import PRECEDENCE

FOLDER = Path(__file__).parent / "tables"
SIGNATURES = FOLDER / "signatures.txt"  # of another form, read by test_signed.py
STATES = (*PRECEDENCE, "yes", "no")
NAMED = re.compile(r"([A-Z][A-Z0-9]*) = (.*)")


@dataclass(frozen=True, slots=True)
class Case:
    """One case: questions are (asked, state, words)."""

    theme: str
    name: str
    rows: str
    questions: tuple[tuple[str, str, str], ...]


def cases() -> list[Case]:
    """Every case of every file, in order."""
    return [case for path in sorted(FOLDER.glob("*.txt")) if path != SIGNATURES for case in read_table(path)]


def read_table(path: Path) -> list[Case]:
    """The cases of one file; ValueError names what cannot be read."""
    named: dict[str, str] = {}
    found: list[Case] = []
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        lines = [line for line in block.splitlines() if line.strip() and not line.startswith("#")]
        given = [NAMED.fullmatch(line) for line in lines]
        named |= {match[1]: match[2] for match in given if match}
        rest = [line for line, match in zip(lines, given, strict=True) if not match]
        if rest:
            found.append(read_case(path, rest, named))
    return found


def read_case(path: Path, lines: list[str], named: dict[str, str]) -> Case:
    name, *inside = lines
    questions = [line.strip()[1:].strip() for line in inside if line.strip().startswith("?")]
    rows = " ".join(line.strip() for line in inside if not line.strip().startswith("?"))
    rows = " | ".join(named.get(row.strip(), row.strip()) for row in rows.split("|"))
    split = [tuple(question.split(": ", 2)) for question in questions]
    if name.startswith(" ") or not split or any(len(one) != 3 or one[1] not in STATES for one in split):
        raise ValueError(f"{path.name}: {name}: a case is a name, rows and '? what: state: words'")
    return Case(theme=path.stem, name=name, rows=rows, questions=tuple(split))


def answer(rows: Rows, asked: str) -> tuple[str, str]:
    """The state and the reason in words; of ``op*`` those all seven agree on, else every one of them."""
    if asked.startswith("release"):
        return release(rows, asked.split()[1])
    if "op*" not in asked:
        return standing_of(rows, asked)
    found = {standing_of(rows, asked.replace("op*", operation)) for operation in SEVEN}
    states = sorted({state for state, _ in found})
    return ", ".join(states), " / ".join(sorted(words for _, words in found))


def standing_of(rows: Rows, asked: str) -> tuple[str, str]:
    name, machine, day = asked.split()
    ledger = rows.ledger()
    known = next(v.shop.machine(machine) for v in reversed(rows.shops) if v.shop.machine(machine))
    found = standing(ledger, rows.find(name), known, day_of(day))
    said = "; ".join((found.reason, *(f"limit {words}" for words in found.limits)))
    return found.state, said


def release(rows: Rows, day: str) -> tuple[str, str]:
    """Whether the job as its newest revisions are may be released, and what stands or what is in the way."""
    ledger = rows.ledger()
    facts = [facts_of(rows, *one) for one in rows.sheets]
    decided = decide(ledger, Judge(ledger, day_of(day)), rows.job, f"jobs/{rows.job}", facts)
    if decided.reasons:
        return "no", "; ".join(str(reason) for reason in decided.reasons)
    stands = (
        f"{one.facts.operation} on {', '.join(name for name, _ in one.usable)}" for one in decided.included
    )
    return "yes", "; ".join(stands)


def facts_of(rows: Rows, operation: str, alternative: str, machines: str) -> OperationFacts:
    """An operation as its newest revision has it."""
    newest = next(
        (
            s.record
            for s in reversed(rows.stored)
            if s.in_hand and s.record.EVENT == "revision" and s.record.operation == operation
        ),
        None,
    )
    named = {"operation": operation, "alternative_to": alternative or None}
    if newest is None:
        return OperationFacts(**named, machines=tuple(machines.split("+")))
    return OperationFacts(
        **named,
        machines=tuple(machines.split("+")),
        files=newest.files,
        sheet_fingerprint=newest.sheet_fingerprint,
        fingerprint=newest.operation_fingerprint,
        rule_version=newest.rule_version,
    )


def agrees(said: str, words: str) -> bool:
    """Whether the reason has these words in this order, and none of those after ``-not-``."""
    wanted, *unwanted = (part.strip() for part in words.split("-not-"))
    place = 0
    for part in wanted.split("..."):
        place = said.find(part.strip(), place)
        if place < 0:
            return False
        place += len(part.strip())
    return not any(part in said for part in unwanted)


def ask(text: str, asked: str) -> tuple[str, str]:
    """The answer to one question on these rows."""
    return answer(read(text), asked)
