"""What is asked of `tracker.services.share`, what it answers, and its two refusals that others need too."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from tracker.errors import Refused
from tracker.policy.spelled import counted
from tracker.services.ports_share import Remote
from tracker.services.share_both import BothChanged
from tracker.services.share_branches import OtherBranch
from tracker.services.share_stops import Stops
from tracker.services.share_tags import TagNote


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person asked for beside sharing: the side to take for files, who chooses, why."""

    take: str | None = None
    files: tuple[str, ...] = ()
    by: str | None = None
    reason: str | None = None
    dry_run: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareReport:
    """What came in and what went out, in commits and tags; ``dry_run``: what would.

    ``both``: files both sides changed: while one of them is not chosen nothing was brought together and nothing went
    out. ``merge``: the commit that brought both sides together. ``several``: operations with more than one newest
    revision, and which. ``tag_notes``: of tags that were not simply taken or sent. ``unread``: why the record could not be
    looked at afterwards. ``pushes``: in how many it went out; a change of shop.toml goes by itself. ``came_beside``: branches
    beside this one that came in, ``only_here``: those with records that nobody else has. ``stops``: of records that only stop use, what became of them while
    the rest waits for a choice.
    """

    remote: str
    address: str
    branch: str
    received: int = 0
    sent: int = 0
    tags_received: tuple[str, ...] = ()
    tags_sent: tuple[str, ...] = ()
    merge: str | None = None
    merged: bool = False
    both: tuple[BothChanged, ...] = ()
    several: tuple[tuple[str, tuple[str, ...]], ...] = ()
    tag_notes: tuple[TagNote, ...] = ()
    dry_run: bool = False
    timezone: str = "UTC"
    unread: str | None = None
    pushes: int = 0
    came_beside: tuple[OtherBranch, ...] = ()
    only_here: tuple[OtherBranch, ...] = ()
    stops: Stops = field(default_factory=Stops)

    @property
    def stopped(self) -> bool:
        """Whether a file waits for a choice."""
        return any(one.chosen is None for one in self.both)

    @property
    def complete(self) -> bool:
        """Whether all there is here is there, and the other way round."""
        return not self.stopped and not self.only_here and not any(one.kept_back for one in self.tag_notes)


def no_shared_repository() -> Refused:
    """The error where a clone knows no other place."""
    return Refused(
        "no-shared-repository",
        "there is no shared repository: this record is on this disk only; last share: never",
        fix="git remote add origin ADDRESS (a folder on another disk will do: git init --bare FOLDER), then share again",
    )


def push_refused(place: Remote, lines: Sequence[str], went: int = 0, stops: Sequence[str] = ()) -> Refused:
    """The error for a server that turned a push away, its reasons as it gave them; ``went``: commits it took before.

    ``stops``: what became of records that only stop use, a line each.
    """
    took = f"the shared repository took {counted(went, 'change')} in and turned the next away"
    what = took if went else "the shared repository turned this away"
    return Refused(
        "push-refused",
        f"{what}; everything stays here as it is",
        where=place.address,
        reasons=(*lines, *stops),
        fix="clear its reasons, then share again",
    )
