"""Where a release goes out to: with a shared repository, commit and tag in one push that is all or nothing.

The commit is built without a reference and sent with its tag; only what was accepted becomes branch and tag here. A push
that is refused, or comes too late, leaves nothing behind. Changes of shop.toml that are not there yet go first, by themselves. What a killed call had sent, the next `share` brings here.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime

from tracker.errors import Refused
from tracker.records.shop import Person
from tracker.services.desk import Desk
from tracker.services.ports import Head, NewFile, TagSeen
from tracker.services.ports_share import Remote, SharedRepository, There
from tracker.services.recording import attached_head
from tracker.services.share_asked import push_refused
from tracker.services.share_send import send


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """The shared repository, held and fetched from for one release."""

    shared: SharedRepository
    place: Remote
    head: Head
    there: There

    def propose(self, file: NewFile, message: str, person: Person, at: datetime) -> str:
        """The release's commit, which no reference leads to yet."""
        return self.shared.propose(self.head.commit or "", file, message, person, at)

    def send(self, commit: str, tag: TagSeen, person: Person, at: datetime) -> None:
        """Commit and tag there, then here; raises Refused (``push-refused``, ``moved``) with nothing changed here."""
        made = self.shared.tag_object(tag.header_name or "", commit, tag.message, person, at)
        is_new = self.shared.ahead(commit, self.head.commit) > 0
        tip = commit if is_new else self.head.commit or commit
        answer = send(self.shared, self.place, self.head.branch or "", tip, {tag.ref: made}, self.there)
        if answer.answer == "race":
            raise _behind("somebody else was faster", self.place)
        if answer.answer == "refused":
            raise push_refused(self.place, answer.lines, answer.commits)
        if is_new:
            self.shared.advance(self.head, commit, "release", person, at)
        self.shared.take_tags({tag.ref: made})

    @property
    def words(self) -> str:
        """What the answer says of it."""
        return f"commit and tag went to {self.place.name} in one push"


@contextmanager
def outlet(desk: Desk, shared: SharedRepository | None) -> Iterator[Outlet | None]:
    """The way out, None where there is no shared repository.

    Raises CouldNot (``unreachable``, ``not-let-in``), Refused (``moved``) where it holds what this clone has not.
    """
    head = attached_head(desk)
    place = shared.remote(None, head.branch) if shared is not None else None
    if shared is None or place is None:
        yield None
        return
    shared.check()
    shared.begin()
    try:
        head = attached_head(desk)
        there = shared.fetch(place, desk.clock.now())
        theirs = there.branches.get(head.branch or "")
        here = shared.tags()
        if shared.ahead(theirs, head.commit) or there.tags.keys() - here.keys():
            raise _behind("others recorded what is not here yet", place)
        yield Outlet(shared=shared, place=place, head=head, there=there)
    finally:
        shared.end()


def _behind(why: str, place: Remote) -> Refused:
    fix = "proveout share, look at what came, then release again; nothing was written"
    return Refused("moved", f"{why}: a release stands on all that is shared", where=place.address, fix=fix)
