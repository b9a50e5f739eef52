"""What a proof kept on paper has to say before it is worth anything: where the paper lies, and a day that can be read.

`prove --prior` asks by these rules before it writes, and standing, a gate and an audit by the same ones before they count it:
a record that was written by hand is worth no more than one the verb would write.
"""

from collections.abc import Mapping
from datetime import date

from tracker.records.events import ProofRecord

_LEAST = 4
"""Letters of a word that may say where the paper lies."""


def says_where(evidence: object) -> bool:
    """Whether these words may say where the paper lies."""
    return isinstance(evidence, str) and len(" ".join(evidence.split())) >= _LEAST


def last_run_of(prior: Mapping[str, object]) -> date | None:
    """The day of the last run the paper shows, None where it names none; ValueError where that is no day."""
    said = prior.get("last_run")
    if said is None:
        return None
    if not isinstance(said, str):
        raise ValueError(f"{said!r} is no day")
    return date.fromisoformat(said)


def paper_lacks(proof: ProofRecord) -> str | None:
    """Why a proof kept on paper is worth nothing by what it says itself, in words behind "the proof by ..."; None: it is."""
    prior = proof.prior or {}
    if not says_where(prior.get("evidence")):
        return "was kept on paper, and does not say where the paper lies"
    if proof.tools or proof.again:
        return "was kept on paper, and paper is taken in for a whole prove-out only"
    try:
        last_run_of(prior)
    except ValueError:
        return "was kept on paper, and its last run is no day that can be read"
    return None
