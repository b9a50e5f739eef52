"""A push as the CI of a hosted repository sees it (`tracker.store.push_read` for a server's hook).

A host takes everything in first and asks afterwards. So what lies on another branch, or on this one before, was perhaps
never let through: what is new is all that the main branch does not lead to, and authority is that of the main branch. A
checkout there has a detached HEAD or stands on the branch that was pushed; which branch is the main one is told by
``refs/remotes/origin/HEAD``.
"""

from collections.abc import Iterable, Mapping

from tracker.errors import CouldNot
from tracker.policy.gate import Change
from tracker.store.clone import Clone
from tracker.store.push_read import PushRead
from tracker.store.refs import Ref

_HEADS, _REMOTES, _TAGS = "refs/heads/", "refs/remotes/", "refs/tags/"


class HostedRead(PushRead):
    """One reference that was pushed: ``change``."""

    def __init__(self, clone: Clone, ref: str, old: str | None, new: str | None) -> None:
        """Args: ref: its full name; empty for the main branch. old, new: before and after, None for nothing.

        Raises:
            CouldNot: ``no-main-branch``, ``before-not-here``; what keeps a clone from proving anything.
        """
        refs = clone.refs()
        main = _HEADS + _main(clone, refs, ref)
        self.change = Change(ref=ref or main, old=old, new=new)
        super().__init__(clone, before=_before(refs, main, self.change))
        self._main = main
        if old is not None:
            _must_be_here(clone, self.change.ref, old)

    def main_branch(self) -> str:
        """The host's."""
        return self._main

    def _known(self) -> Iterable[str | None]:
        return (self.commit_of(self._main),)


def _before(refs: Iterable[Ref], main: str, change: Change) -> Mapping[str, str | None]:
    """Branches but the main one are not told of; a tag that is the very object pushed was not there before."""
    of_main = _REMOTES + "origin/" + main.removeprefix(_HEADS)
    before: dict[str, str | None] = {}
    stands: str | None = None
    for one in refs:
        if not one.name.startswith(_TAGS) or one.object_id == change.new:
            before[one.name] = None
        if one.name == of_main or (one.name == main and stands is None):
            stands = one.object_id
    return {**before, main: stands, change.ref: change.old}


def _main(clone: Clone, refs: Iterable[Ref], pushed: str) -> str:
    """The name of the main branch."""
    status, out, _ = clone.git.attempt("symbolic-ref", "--quiet", _REMOTES + "origin/HEAD")
    if status == 0:
        return out.decode("utf-8", "surrogateescape").strip().removeprefix(_REMOTES + "origin/")
    names = {pushed.removeprefix(_HEADS)} if pushed.startswith(_HEADS) else set()
    for one in refs:
        if one.name.startswith(_HEADS):
            names.add(one.name.removeprefix(_HEADS))
        elif one.name.startswith(_REMOTES):
            names.add(one.name.removeprefix(_REMOTES).partition("/")[2])
    if len(names) == 1:
        return names.pop()
    raise CouldNot(
        "no-main-branch",
        "nothing says which branch is the main one, and who may do what is told by it",
        fix="git remote set-head origin --auto (or the branch's name in place of --auto), then ask again",
    )


def _must_be_here(clone: Clone, ref: str, old: str) -> None:
    status, _, _ = clone.git.attempt("cat-file", "-e", old)
    if status != 0:
        raise CouldNot(
            "before-not-here",
            f"{ref} was at {old[:12]} before, and no branch or tag of this clone leads there any more",
            where=ref,
            fix="fetch every branch and tag; if it is not here then, it was rewritten, moved or taken away: do not take it",
        )
