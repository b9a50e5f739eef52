"""Release tags of both sides: what is taken, what is sent, and what keeps a tag from being either."""

from collections.abc import Mapping
from dataclasses import dataclass

from tracker.policy.gate import no_release, release_name
from tracker.services.desk import Desk
from tracker.services.ports import TagSeen
from tracker.services.ports_share import SharedRepository, There
from tracker.services.rederive import rederive

_TAGS = "refs/tags/"


@dataclass(frozen=True, slots=True, kw_only=True)
class TagNote:
    """Something a person should know of a tag; ``kept_back``: ours, and it did not go out."""

    tag: str
    words: str
    kept_back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """``take``: theirs, new here; ``send``: ours, new there (reference -> object); ``notes`` of all the others."""

    take: Mapping[str, str]
    send: Mapping[str, str]
    notes: tuple[TagNote, ...]


def sort_tags(desk: Desk, shared: SharedRepository, there: There, target: str | None) -> Tags:
    """Look at every tag that is not the same on both sides; ``target`` is the commit to be sent."""
    here = shared.tags()
    take: dict[str, str] = {}
    send: dict[str, str] = {}
    notes: list[TagNote] = []
    for ref, object_id in sorted(there.tags.items()):
        if ref not in here:
            seen = shared.look(ref, object_id)
            why = no_release(seen)
            if why is None and release_name(ref) is not None:
                take[ref] = object_id
            else:
                notes.append(
                    TagNote(tag=_short(ref), words=f"left there: {why or 'it is called like no release'}")
                )
        elif here[ref] != object_id:
            notes.append(_clash(shared, ref, here[ref], object_id))
    for ref, object_id in sorted(here.items()):
        if ref not in there.tags and target is not None:
            seen = shared.look(ref, object_id)
            words = _not_to_send(desk, shared, seen, target)
            if words is None:
                send[ref] = object_id
            else:
                a_release = no_release(seen) is None
                notes.append(TagNote(tag=_short(ref), words=f"not sent: {words}", kept_back=a_release))
    return Tags(take=take, send=send, notes=tuple(notes))


def not_believed(desk: Desk, shared: SharedRepository, taken: Mapping[str, str]) -> tuple[TagNote, ...]:
    """Of the tags that were taken, those that cannot be derived again, with why."""
    found: list[TagNote] = []
    for ref, object_id in sorted(taken.items()):
        reasons = rederive(desk.repo, shared.look(ref, object_id)).reasons
        if reasons:
            words = "came in, but is not believed: " + "; ".join(reason.words for reason in reasons)
            found.append(TagNote(tag=_short(ref), words=words))
    return tuple(found)


def _not_to_send(desk: Desk, shared: SharedRepository, seen: TagSeen, target: str) -> str | None:
    why = no_release(seen)
    if why is not None:
        return str(why)
    if seen.target is not None and shared.ahead(seen.target, target):
        return "it stands on a commit of another branch; share that branch"
    reasons = rederive(desk.repo, seen).reasons
    return "; ".join(reason.words for reason in reasons) or None


def _clash(shared: SharedRepository, ref: str, ours: str, theirs: str) -> TagNote:
    one, other = shared.look(ref, ours), shared.look(ref, theirs)
    if (one.target, one.message) == (other.target, other.message) and one.target is not None:
        words = "made here and there from one record: both say the same, and neither was touched"
        return TagNote(tag=_short(ref), words=words)
    words = (
        f"made here ({ours[:8]}) and there ({theirs[:8]}) of different states; neither was touched. The shared one "
        "keeps the number: withdraw what was given out under yours, and release again, which takes the next number"
    )
    return TagNote(tag=_short(ref), words=words, kept_back=True)


def _short(ref: str) -> str:
    return ref.removeprefix(_TAGS)
