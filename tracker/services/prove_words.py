"""What is said before a prove-out, by how the text stands: on the screen, in the form, on the sheet and the stick.

The details of a standing (carried over from what, which tools are a first run) stand in its reason, beside this.
"""

from tracker.policy.states import CARRIED, LAPSED, PROVEN, REJECTED, UNPROVEN

_BEFORE = {
    UNPROVEN: "Not proved on {machine}.",
    CARRIED: "{revision} itself was not proved in full on {machine}.",
    LAPSED: "The proof on {machine} has lapsed.",
    REJECTED: "Rejected, and not proved on {machine} since.",
    PROVEN: "Proved on {machine} before.",
}
_HOW = "Raise, single block, low rapid, hand on feed hold, read distance-to-go at every approach."


def proving_words(machine: str, revision: str, state: str) -> str:
    """What is said before a prove-out of ``revision`` (``r5``) on ``machine``, where it stands as ``state``."""
    before = _BEFORE.get(state, "").format(machine=machine, revision=revision)
    return f"{before} {_HOW}".lstrip()
