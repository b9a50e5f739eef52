"""``proveout gate``: what git's hooks ask before a release tag is made, moved or deleted.

``gate REF OLD NEW`` is about one reference; ``--local`` and ``--push`` read lines ``OLD NEW REF`` from standard input,
of one change of references here, or of a push into this repository. The old value git hands in is not believed: the
references are read. Packing references looks like making them (the value stays the same: it passes) and then like
deleting them (the loose file is taken away while packed-refs holds the value: it passes).
"""

import sys
from pathlib import Path

from tracker.cli.fast import read_options
from tracker.errors import BadCall, Exit, Refused
from tracker.policy.gate import RELEASES, Change
from tracker.services.gate import gate
from tracker.services.ports import TagSeen
from tracker.store.clone import Clone
from tracker.store.git import path_text
from tracker.store.open_clone import open_clone
from tracker.store.refs import tag_seen

FLAGS = {"--json": "json", "--local": "local", "--push": "push"}
Line = tuple[str, str, str]


def run(words: list[str]) -> int:
    """Decide; returns 0 when the gate opens.

    Raises:
        BadCall: the call is none of the forms above.
        Refused: ``gate-closed`` with every reason.
        CouldNot: the repository cannot tell; the gate stays closed.
    """
    options, operands = read_options(words, FLAGS, {})
    lines = [line for line in _lines(options, operands) if line[2].startswith(RELEASES)]
    if not lines:
        return Exit.DONE
    clone = open_clone(".", hook=True)
    try:
        answer = gate(
            clone,
            _changes(clone, lines),
            lambda ref, object_id: _look(clone, ref, object_id),
            push="push" in options,
        )
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
    return Exit.DONE


def _lines(options: dict[str, str | bool], operands: list[str]) -> list[Line]:
    """(old, new, reference) of everything asked about."""
    fix = "proveout gate REF OLD NEW, or lines OLD NEW REF on standard input with --local or --push"
    if "local" in options or "push" in options:
        if operands or ("local" in options and "push" in options):
            raise BadCall("wrong-call", "Either one reference or lines on standard input.", fix=fix)
        text = path_text(sys.stdin.buffer.read())
        found = [tuple(line.split(" ", 2)) for line in text.split("\n") if line]
    elif len(operands) == 3:
        found = [(operands[1], operands[2], operands[0])]
    else:
        found = [()]
    lines = [(each[0], each[1], each[2]) for each in found if len(each) == 3]
    if len(lines) != len(found):
        raise BadCall(
            "wrong-call", "The gate is asked about a reference, its old and its new value.", fix=fix
        )
    return lines


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
