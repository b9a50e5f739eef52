"""References as they are: branches, tags, and what else lies below ``refs/``."""

from collections.abc import Mapping, Sequence

from tracker.frozen import dataclass
from tracker.services.ports import TagSeen
from tracker.store.git import Asked, Git, path_text
from tracker.store.objects import GitObject

RELEASES = "refs/tags/release/"
# the references that are people's evidence; stash, notes and hosts' own references are not
EVIDENCE = ("refs/heads/", "refs/remotes/", "refs/tags/")
_FORMAT = "%(refname)%00%(objectname)%00%(objecttype)%00%(*objectname)%00%(*objecttype)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """One reference; ``peeled_kind`` is the kind of what a tag object names, empty for anything else."""

    name: str
    object_id: str
    kind: str
    peeled: str = ""
    peeled_kind: str = ""

    @property
    def tip(self) -> str | None:
        """An object a walk through history may start at: a commit, or a tag of one (or of another tag)."""
        if self.kind == "commit" or (self.kind == "tag" and self.peeled_kind in ("commit", "tag")):
            return self.object_id
        return None


def read_refs(git: Git) -> tuple[Ref, ...]:
    """Every reference of the repository, in one call."""
    return refs_from(ask_refs(git).answer())


def ask_refs(git: Git) -> Asked:
    """Let git look the references up; `refs_from` reads its answer."""
    return git.begin("for-each-ref", f"--format={_FORMAT}")


def refs_from(answer: bytes) -> tuple[Ref, ...]:
    """Every reference, from what git said."""
    rows = answer.split(b"\n")
    cells = (row.split(b"\0") for row in rows if row)
    return tuple(
        Ref(
            name=path_text(name),
            object_id=object_id.decode("ascii"),
            kind=kind.decode("ascii"),
            peeled=peeled.decode("ascii"),
            peeled_kind=peeled_kind.decode("ascii"),
        )
        for name, object_id, kind, peeled, peeled_kind in cells
    )


def evidence_tips(refs: Sequence[Ref]) -> tuple[str, ...]:
    """Where the walk through all branches and tags starts, each object once."""
    tips = (ref.tip for ref in refs if ref.name.startswith(EVIDENCE))
    return tuple(dict.fromkeys(tip for tip in tips if tip is not None))


def tags_seen(refs: Sequence[Ref], objects: Mapping[str, GitObject]) -> tuple[TagSeen, ...]:
    """The references below ``refs/tags/release/``; ``objects`` must hold the tag objects among them."""
    found = (ref for ref in refs if ref.name.startswith(RELEASES))
    return tuple(
        tag_seen(ref.name, ref.object_id, objects[ref.object_id].data)
        if ref.kind == "tag"
        else TagSeen(ref=ref.name, object_id=ref.object_id, kind=ref.kind)
        for ref in found
    )


def tag_seen(ref: str, object_id: str, data: bytes) -> TagSeen:
    """What a tag object says; a signature at the end of its message is cut off."""
    head, _, message = data.partition(b"\n\n")
    fields = dict(line.split(b" ", 1) for line in head.split(b"\n") if b" " in line)
    is_straight = fields.get(b"type") == b"commit"
    return TagSeen(
        ref=ref,
        object_id=object_id,
        kind="tag",
        target=path_text(fields.get(b"object", b"")) if is_straight else None,
        header_name=path_text(fields[b"tag"]) if b"tag" in fields else None,
        tagger=_address(fields.get(b"tagger", b"")),
        message=path_text(message.split(b"-----BEGIN ", 1)[0]),
        data=data,
    )


def _address(line: bytes) -> str | None:
    """The e-mail address of ``Name <address> seconds zone``; None where there is none."""
    _, opened, rest = line.rpartition(b"<")
    address, closed, _ = rest.partition(b">")
    return path_text(address) if opened and closed else None
