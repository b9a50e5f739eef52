"""The gate asked about lines of references: what `tracker.cli.fast_gate` calls when it has to look closely.

The old value git hands in is not believed: the references are read. Packing references looks like making them (the
value stays the same: it passes) and then like deleting them (the loose file is taken away while packed-refs holds the
value: it passes).
"""

from pathlib import Path

from tracker.errors import Refused
from tracker.policy.gate import Change
from tracker.services.gate import gate
from tracker.services.ports import TagSeen
from tracker.store.clone import Clone
from tracker.store.derived import remember
from tracker.store.open_clone import open_clone
from tracker.store.refs import tag_seen

Line = tuple[str, str, str]
"""Old value, new value, reference."""


def decide(lines: list[Line], *, push: bool) -> None:
    """Ask the gate.

    Raises:
        Refused: ``gate-closed`` with every reason.
        CouldNot: the repository cannot tell; the gate stays closed.
    """
    clone = open_clone(".", hook=True)
    try:
        changes = _changes(clone, lines)
        answer = gate(clone, changes, lambda ref, object_id: _look(clone, ref, object_id), push=push)
    finally:
        clone.close()
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
        if change.new is not None and change.new != change.old and not push:
            remember(str(clone.common_dir), change.ref, change.new)


def _changes(clone: Clone, lines: list[Line]) -> list[Change]:
    """What is to become of the references, with the values they have now."""
    now = {ref.name: ref.object_id for ref in clone.refs()}
    changes = []
    for _, new, ref in lines:
        wanted = None if set(new) <= {"0"} else new
        old = now.get(ref)
        if wanted is None and old is not None and _only_the_loose_file(clone.common_dir, ref, old):
            wanted = old
        changes.append(Change(ref=ref, old=old, new=wanted))
    return changes


def _only_the_loose_file(common_dir: Path, ref: str, value: str) -> bool:
    """Whether a deletion only takes the loose file away after packing; a real one holds packed-refs locked."""
    if not (common_dir / ref).is_file() or (common_dir / "packed-refs.lock").exists():
        return False
    try:
        packed = (common_dir / "packed-refs").read_bytes()
    except OSError:
        return False
    line = f"{value} {ref}".encode("utf-8", "surrogateescape")
    return line in packed.splitlines()


def _look(clone: Clone, ref: str, object_id: str) -> TagSeen:
    found = clone.objects.read([object_id])[object_id]
    if found.kind == "tag":
        return tag_seen(ref, object_id, found.data)
    return TagSeen(ref=ref, object_id=object_id, kind=found.kind)
