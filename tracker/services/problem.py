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
