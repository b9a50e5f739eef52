"""The gate asked about lines of references: what `tracker.cli.fast_gate` calls when it has to look closely.

The old value git hands in is not believed: the references are read. Packing references looks like making them (the
value stays the same: it passes) and then like deleting them (the loose file is taken away while packed-refs holds the
value: it passes).
"""

import os
from collections.abc import Sequence
from contextlib import suppress

from tracker.errors import CouldNot, Refused
from tracker.store.derived import remember
from tracker.store.moment import Moment, moment_here
from tracker.store.reading import Reading

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.policy.gate import Change
    from tracker.services.gate import Answer

Line = tuple[str, str, str]
"""Old value, new value, reference."""


def decide(lines: list[Line], *, push: bool) -> None:
    """Ask the gate.

    Raises:
        Refused: ``gate-closed`` with every reason.
        CouldNot: the repository cannot tell; the gate stays closed.
    """
    if push:
        from tracker.cli.gate_push import decide_push  # with all the rules of a server

        decide_push(lines)
        return
    here = moment_here()
    if here is None:
        from tracker.store.open_clone import open_clone

        clone = open_clone(".", hook=True)
        _decide(clone, str(clone.common_dir), lines)
    else:
        _decide(here, here.shared, lines)


def _decide(repo: Reading, shared: str, lines: list[Line]) -> None:
    try:
        if isinstance(repo, Moment):
            _ask_ahead(repo, lines)
        changes, answer = _answer(repo, shared, lines)
    finally:
        repo.close()
    if not answer.opens:
        names = ", ".join(
            ref.removeprefix("refs/tags/") for ref, reasons in answer.reasons.items() if reasons
        )
        raise Refused(
            "gate-closed",
            f"the gate stays closed for {names}",
            fix="clear every reason above; proveout release makes the tag",
            reasons=answer.lines,
        )
    for change in changes:
        if change.new is not None and change.new != change.old:
            remember(shared, change.ref, change.new)
    if isinstance(repo, Moment):
        repo.note_what_was_read()


def _ask_ahead(repo: Moment, lines: list[Line]) -> None:
    """Let git look at the history of a new tag's commit while the rules are imported; faults come up later."""
    new = next((new for _, new, _ in lines if set(new) > {"0"}), None)
    if new is None or len(lines) > 1:
        return
    with suppress(CouldNot):
        target = repo.look(lines[0][2], new).target
        if target is not None:
            repo.begin_history(target)


def _answer(repo: Reading, shared: str, lines: list[Line]) -> "tuple[Sequence[Change], Answer]":
    from tracker.services.gate import gate  # with all the rules

    changes = _changes(repo, shared, lines)
    return changes, gate(repo, changes, repo.look)


def _changes(repo: Reading, shared: str, lines: list[Line]) -> "list[Change]":
    """What is to become of the references, with the values they have now."""
    from tracker.policy.gate import Change

    now = {ref.name: ref.object_id for ref in repo.refs()}
    changes = []
    for _, new, ref in lines:
        wanted = None if set(new) <= {"0"} else new
        old = now.get(ref)
        if wanted is None and old is not None and _only_the_loose_file(shared, ref, old):
            wanted = old
        changes.append(Change(ref=ref, old=old, new=wanted))
    return changes


def _only_the_loose_file(shared: str, ref: str, value: str) -> bool:
    """Whether a deletion only takes the loose file away after packing; a real one holds packed-refs locked."""
    packed = os.path.join(shared, "packed-refs")  # noqa: PTH118 - pathlib takes longer to import than this hook may
    if not os.path.isfile(os.path.join(shared, ref)) or os.path.exists(f"{packed}.lock"):  # noqa: PTH110, PTH113, PTH118
        return False
    try:
        with open(packed, "rb") as file:  # noqa: PTH123
            lines = file.read().splitlines()
    except OSError:
        return False
    return f"{value} {ref}".encode("utf-8", "surrogateescape") in lines
