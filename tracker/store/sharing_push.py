"""What git and the server answered to a push, in its machine-readable form (``git push --porcelain``). Pure."""

import re
from collections.abc import Sequence

from tracker.services.ports_share import Pushed
from tracker.store.git_faults import FULL, NO_LOCK

_CLOSED = re.compile(r"Read-only file system|[Pp]ermission denied")
# of a reference that was not moved: somebody else was faster, and trying again on top of theirs may do
_RACE = (
    "fetch first",
    "non-fast-forward",
    "stale info",
    "cannot lock ref",
    "failed to lock",
    "failed to update ref",
    "incorrect old value",
    "already exists",
    "needs force",
)
# the gate's name for it: it looks before git itself does, and nothing is ever sent by force from here
_GATE_RACE = "- branch-rewritten:"
# of the others in a push that is all or nothing
_ALONG = ("atomic push failed", "atomic transaction failed", "atomic push failure")


def cannot_write(lines: Sequence[str]) -> str | None:
    """Why the other side could take nothing in, where that was no decision of its own: the name of the error."""
    if any(line.startswith("- ") for line in lines):
        return None  # a rule was asked, and said no
    if any(FULL.search(line) for line in lines):
        return "disk-full"
    if any(NO_LOCK.search(line) for line in lines):
        return "not-written"
    return "no-permission" if any(_CLOSED.search(line) for line in lines) else None


def answer_of(status: int, out: str, said: str) -> Pushed | None:
    """The answer; None where it was none: the server was not reached, or said nothing about the references.

    Args: out: standard output of the push. said: standard error without progress.
    """
    if status == 0:
        return Pushed(answer="accepted")
    rows = [row.split("\t") for row in out.splitlines() if row.startswith("!")]
    faults = [row[-1] for row in rows if len(row) > 2 and not any(one in row[-1] for one in _ALONG)]
    if not rows:
        return None
    remote = tuple(
        line.removeprefix("remote:").strip()
        for line in said.splitlines()
        if line.startswith("remote:") and line.removeprefix("remote:").strip()
    )
    told = tuple(faults) or remote
    if told and all(any(one in line for one in _RACE) for line in told):
        return Pushed(answer="race", lines=told)
    rules = [line for line in remote if line.startswith("- ")]
    if rules and all(line.startswith(_GATE_RACE) for line in rules):
        return Pushed(answer="race", lines=remote)
    return Pushed(answer="refused", lines=remote or tuple(faults) or tuple(said.splitlines()))
