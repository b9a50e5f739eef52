"""What a standing is: a state, its reason in words, what it rests on, and what would clear what is in the way."""

from datetime import date

from tracker.frozen import dataclass
from tracker.records.stored import Stored

WITHDRAWN = "withdrawn"
HELD = "held"
REJECTED = "rejected"
LAPSED = "lapsed"
UNPROVEN = "unproven"
CARRIED = "carried"
PROVEN = "proven"
PRECEDENCE = (WITHDRAWN, HELD, REJECTED, LAPSED, UNPROVEN, CARRIED, PROVEN)
"""Of several, the first one is the state; the reason names all."""
USABLE = frozenset({PROVEN, CARRIED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One thing that was found: the state it makes, in words, and what clears it (a command), if anything can."""

    state: str
    words: str
    clears: str | None = None
    records: tuple[Stored, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Of a revision on a machine on a day.

    Attributes:
        state: one of `PRECEDENCE`.
        reason: in words, all causes, the deciding one first.
        causes: the same one by one.
        relied_on: the records a usable (or lapsed) standing rests on: the full proof, what stands behind it, reviews,
            proofs of sections, the lift of a stop, the run or short proof that renewed it. Oldest first.
        base: the full proof at the root, or None.
        chain: names of the revisions from the proved one to this one; just this one when it was proved itself.
        first_run_tools: tools to treat as a first run; ``("all",)`` when the sections could not be told.
        first_piece: why the next run there asks for a first piece, or None.
        limits: what the proofs relied on are limited to.
        lapses: first day on which it counts as lapsed, or None.
        notes: what else a person should know: a prove-out not finished, entered late, another revision beside it.
    """

    state: str
    reason: str
    causes: tuple[Cause, ...] = ()
    relied_on: tuple[Stored, ...] = ()
    base: Stored | None = None
    chain: tuple[str, ...] = ()
    first_run_tools: tuple[str, ...] = ()
    first_piece: str | None = None
    limits: tuple[str, ...] = ()
    lapses: date | None = None
    notes: tuple[str, ...] = ()

    @property
    def usable(self) -> bool:
        """Whether it may be run there as far as proof goes (a release is asked for besides)."""
        return self.state in USABLE

    @property
    def clears(self) -> tuple[str, ...]:
        """What would clear what is in the way, one command a cause."""
        return tuple(
            dict.fromkeys(c.clears for c in self.causes if c.state not in USABLE and c.clears is not None)
        )


def standing_words(state: str, reason: str) -> str:
    """``PROVEN by ss 4 Feb 2026``: the state in capitals, once, then its reason."""
    rest = reason.removeprefix(state).lstrip(" :-")
    joint = " " if reason.startswith(f"{state} ") else ": "
    return f"{state.upper()}{joint if rest else ''}{rest}"
