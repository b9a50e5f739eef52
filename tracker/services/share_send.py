"""Sending what is new here: in as many pushes as a guarded shared repository asks for (`tracker.services.share_steps`).

Each push is all or nothing. A tag goes with the step that holds its commit, and never with a change of shop.toml.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from tracker.services.ports_share import Answer, Remote, SharedRepository, There
from tracker.services.share_steps import Step, is_mixed, steps_to


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """What became of it: the answer to the last push with its reasons, and what went out until then.

    ``pushes``: how many were accepted; ``commits`` and ``tags``: what they brought.
    """

    answer: Answer = "accepted"
    lines: tuple[str, ...] = ()
    pushes: int = 0
    commits: int = 0
    tags: tuple[str, ...] = ()

    def after(self, before: "Sent") -> "Sent":
        """The same answer, with what had gone out before."""
        return replace(
            self,
            pushes=before.pushes + self.pushes,
            commits=before.commits + self.commits,
            tags=(*before.tags, *self.tags),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Push:
    """One push: up to which commit, how many it adds, the tags that go with it."""

    tip: str
    adds: int
    tags: dict[str, str] = field(default_factory=dict)


def send(
    shared: SharedRepository, place: Remote, branch: str, tip: str, tags: Mapping[str, str], there: There
) -> Sent:
    """Send ``tip`` to ``branch`` and these tags (reference -> object); stops at the first push that is not accepted."""
    sent = Sent()
    for push in _pushes(shared, branch, tip, tags, there):
        answer = shared.push(place, branch, push.tip, push.tags)
        if answer.answer != "accepted":
            return replace(sent, answer=answer.answer, lines=answer.lines)
        sent = Sent(pushes=1, commits=push.adds, tags=tuple(sorted(push.tags))).after(sent)
    return sent


def parted(
    shared: SharedRepository, tip: str, there: There, after: str | None, *, tags: bool = False
) -> tuple[Step, ...] | None:
    """The steps to ``tip``; None where all goes at once: nothing has to be parted, or it cannot be.

    ``after``: what each step must come after; ``tags``: some are to go too. Into an empty repository all goes at once.
    """
    commits = shared.unsent(tip, sorted(set(there.branches.values()))) if there.branches else ()
    return steps_to(commits, tip, after) if is_mixed(commits, tags=tags) else None


def _pushes(
    shared: SharedRepository, branch: str, tip: str, tags: Mapping[str, str], there: There
) -> list[_Push]:
    theirs = there.branches.get(branch)
    steps = parted(shared, tip, there, theirs, tags=bool(tags))
    if steps is None:
        return [_Push(tip=tip, adds=shared.ahead(tip, theirs), tags=dict(tags))]
    pushes = [_Push(tip=step.tip, adds=len(step.commits)) for step in steps]
    left = _Push(tip=tip, adds=0)
    for ref, object_id in tags.items():
        target = shared.look(ref, object_id).target
        at = next((number for number, step in enumerate(steps) if target in step.commits), 0)
        open_to = [push for push, step in zip(pushes[at:], steps[at:], strict=True) if not step.shop]
        (open_to[0] if open_to else left).tags[ref] = object_id
    return [*pushes, *([left] if left.tags else [])]
