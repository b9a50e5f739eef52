"""What an audit found not to hold: a value, never an exception."""

from dataclasses import dataclass

REFUSE = "refuse"
WARN = "warn"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that does not hold.

    ``problem`` is its plain name, ``severity`` refuse (the record itself is in doubt) or warn, ``where`` a path, a
    reference or a state, ``message`` one sentence.
    """

    problem: str
    severity: str
    where: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What a part of an audit found, and the names of all that held (`Evidence.note_derived` keeps them)."""

    problems: tuple[Problem, ...] = ()
    held: frozenset[str] = frozenset()
