"""What may become of references in a push. Pure.

=================== ==================================================================================================
rule                what it holds
=================== ==================================================================================================
odd-reference       only branches and tags come in; none is called like a release's tag elsewhere, or by another spelling
reference-clash     no two references are one name on Windows and macOS
branch-deleted      a branch is never taken away: it may be all that holds a record
branch-rewritten    a branch only goes on from where it stands
branch-not-commit   a branch stands on a commit
tag-moved           a tag that is no release's stays where it is
tag-deleted         and is not taken away
tag-nested          a tag stands straight on a commit, and is called inside what it is called outside
=================== ==================================================================================================

Release tags are judged by `tracker.services.gate`.
"""

import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence

from tracker.policy.gate import RELEASES, Change, Tag
from tracker.policy.push import Breach

HEADS = "refs/heads/"
TAGS = "refs/tags/"


def reference_breaches(
    changes: Sequence[Change],
    there: Collection[str],
    look: Callable[[str, str], Tag],
    descends: Callable[[str, str], bool],
) -> Iterator[Breach]:
    """Everything against what a push does to references.

    Args:
        changes: of all references of the push, ``old`` as they are now.
        there: the names of all references that are there now.
        look: what a reference would stand on.
        descends: whether a commit is another or comes after it.
    """
    names = {_same(name): name for name in there}
    for change in changes:
        first = names.setdefault(_same(change.ref), change.ref)
        if first != change.ref and change.new is not None:
            yield _breach("reference-clash", change, f"is the same name as {first} on Windows and macOS")
        if is_odd(change.ref):
            yield _breach("odd-reference", change, "only branches and tags are taken in, under plain names")
        elif change.ref.startswith(HEADS):
            yield from _branch(change, look, descends)
        elif not change.ref.startswith(RELEASES):
            yield from _tag(change, look)


def main_breaches(changes: Sequence[Change], there: Iterable[str], main: str) -> Iterator[Breach]:
    """Whether it is plain which branch is the main one, whose shop.toml says who may.

    A server's HEAD may name a branch that is not there (git calls it otherwise than the shop does). The only branch stands
    for it then; where there are two, whoever pushes could choose the older shop.toml, so nothing comes in.
    """
    before = {ref for ref in there if ref.startswith(HEADS)}
    if main in before:
        return
    pushed = {change.ref for change in changes if change.ref.startswith(HEADS) and change.new is not None}
    if len(before | pushed) > 1 and not (not before and main in pushed):
        yield Breach(
            rule="no-main-branch",
            where=main,
            words="the server's HEAD names this branch, which is not there; so nothing says whose shop.toml counts",
            clears="on the server: git symbolic-ref HEAD refs/heads/NAME, the branch everybody shares",
        )


def is_odd(ref: str) -> bool:
    """Whether nothing of ours is called like this: no branch and no tag, or one that passes for another."""
    if ref.startswith(RELEASES):
        return False
    for folder in (HEADS, TAGS):
        if ref.startswith(folder):
            low = _same(ref.removeprefix(folder))
            return low.startswith(("release/", "refs/", "tags/", "heads/")) or low in ("head", "release")
    return True


def _branch(
    change: Change, look: Callable[[str, str], Tag], descends: Callable[[str, str], bool]
) -> Iterator[Breach]:
    if change.new is None:
        yield _breach(
            "branch-deleted", change, "a branch is never taken away: it may be all that holds a record"
        )
    elif look(change.ref, change.new).kind != "commit":
        yield _breach("branch-not-commit", change, "does not stand on a commit")
    elif change.old is not None and not descends(change.new, change.old):
        words = f"would no longer hold {change.old[:12]}: history is never rewritten"
        yield _breach(
            "branch-rewritten", change, words, "proveout share, or git pull, then push without --force"
        )


def _tag(change: Change, look: Callable[[str, str], Tag]) -> Iterator[Breach]:
    if change.new is None:
        yield _breach("tag-deleted", change, "a tag is not taken away from the shared record")
        return
    if change.old is not None:
        yield _breach("tag-moved", change, "a tag stays where it is", "give the new one another name")
    tag = look(change.ref, change.new)
    own = change.ref.removeprefix(TAGS)
    if tag.kind == "commit" or (tag.kind == "tag" and tag.target is not None and tag.header_name == own):
        return
    said = f", called {tag.header_name} inside" if tag.kind == "tag" and tag.header_name != own else ""
    yield _breach(
        "tag-nested", change, f"stands on a {tag.kind}{said}, not straight on a commit under its own name"
    )


def _same(name: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def _breach(rule: str, change: Change, words: str, clears: str | None = None) -> Breach:
    return Breach(rule=rule, where=change.ref, words=words, clears=clears)
