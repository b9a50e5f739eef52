"""Making an annotated tag as plain git would: the object first, then the reference, so that the hook is asked."""

from collections.abc import Callable
from datetime import datetime

from tracker import frozen
from tracker.errors import Refused
from tracker.records.shop import Person
from tracker.store.commit import identity, plain
from tracker.store.git import Git, path_bytes
from tracker.store.git_faults import GitFailedError
from tracker.store.index import DURABLE, patiently
from tracker.store.refs import tag_seen

_BY_HOOK = "aborted by hook"


def make_tag(
    git: Git,
    name: str,
    *,
    commit: str,
    message: str,
    tagger: Person,
    at: datetime,
    made: Callable[[str, str], None],
    sign: Callable[[bytes], bytes],
) -> str:
    """Annotated tag ``refs/tags/<name>`` straight on ``commit``; returns the tag object's id.

    ``made`` is told reference and id between the making of the object and that of the reference.

    Raises Refused: ``tag-exists``, or ``gate-closed`` with the reasons the hook gave.
    """
    tag_id = make_tag_object(git, name, commit=commit, message=message, tagger=tagger, at=at, sign=sign)
    ref = f"refs/tags/{name}"
    made(ref, tag_id)
    lasting = frozen.replace(git, lasting=True)
    try:
        patiently(
            lambda: lasting.run(*DURABLE, "update-ref", ref, tag_id, git.zero, env=identity(tagger, at))
        )
    except GitFailedError as fault:
        there = _same_tag(git, ref, commit, message)
        if there is not None:
            return there
        raise _why_not(fault, ref) from fault
    return tag_id


def _same_tag(git: Git, ref: str, commit: str, message: str) -> str | None:
    """The id of a tag that says the same: a git that outlived a killed call may have made it just now."""
    status, out, _ = git.attempt("cat-file", "tag", ref)
    if status != 0:
        return None
    tag_id = git.run("rev-parse", "--verify", ref).decode("ascii").strip()
    seen = tag_seen(ref, tag_id, out)
    same = (seen.target, seen.message.rstrip("\n")) == (commit, message.rstrip("\n"))
    return tag_id if same and f"refs/tags/{seen.header_name}" == ref else None


def make_tag_object(
    git: Git,
    name: str,
    *,
    commit: str,
    message: str,
    tagger: Person,
    at: datetime,
    sign: Callable[[bytes], bytes],
) -> str:
    """The object of an annotated tag straight on ``commit``; no reference leads to it yet.

    ``sign`` gives the armoured signature of the object's text, to stand behind it as git has it; empty: unsigned.
    """
    who = (
        f"{plain(tagger.name) or plain(tagger.initials)} <{plain(tagger.email)}> {int(at.timestamp())} +0000"
    )
    head = b"object %s\ntype commit\ntag %s\n" % (commit.encode("ascii"), path_bytes(name))
    text = message.rstrip("\n").encode("utf-8", "surrogateescape")
    data = head + b"tagger " + who.encode("utf-8") + b"\n\n" + text + b"\n"
    return git.run(*DURABLE, "mktag", stdin=data + sign(data)).decode("ascii").strip()


def _why_not(fault: GitFailedError, ref: str) -> Exception:
    if _BY_HOOK in fault.said:
        lines = tuple(line for line in fault.said.splitlines() if line.strip() and _BY_HOOK not in line)
        fix = "clear every reason above; proveout release makes the tag"
        return Refused("gate-closed", "the gate did not open for this tag", where=ref, reasons=lines, fix=fix)
    if fault.is_lost_race:
        fix = "a release is never made again: the next one gets the next number"
        return Refused("tag-exists", "this tag exists already", where=ref, fix=fix)
    return fault
