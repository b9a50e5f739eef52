"""One check-in: all of it or nothing, and nobody's other work touched.

The order, so that a kill at any moment leaves the repository as it was, with at most a file that the next run takes
away again:

1. journal (see `tracker.store.journal`);
2. files into the working folder: temporary name, down to the disk, renamed;
3. their blobs into the object store, as bytes, past every filter and line-end conversion;
4. the commit, from a throw-away index on top of the branch's tip: whatever needs room on the disk is there by now;
5. the *real* index, these paths only: without this the person's next plain commit would take the record out again;
6. the branch moved with its old value; if somebody was faster, from 4 again on the new tip, unless what the decision
   rested on changed meanwhile.

git is started so that it comes to its end whatever becomes of us: a lock of its own stays behind only where git itself
was killed, or the PC lost its power. Such a lock is named, with age and owner, and never deleted here.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from tracker import frozen
from tracker.errors import ProveoutError, Refused
from tracker.records.places import is_below_records
from tracker.records.shop import Person
from tracker.services.ports import Head
from tracker.store import decided
from tracker.store.decided import Plan, moved
from tracker.store.git import Git, path_bytes
from tracker.store.git_faults import GitFailedError
from tracker.store.index import DURABLE, build_tree, index_entries, patiently, pause, stage
from tracker.store.journal import Journal, Planned, left_over
from tracker.store.objects import object_id
from tracker.store.tree import CommitTree, Entry
from tracker.store.work_tree import (
    WorkTree,
    drop_unfinished,
    is_file,
    read_file,
    side_by_side,
    write_file,
)

_RETRIES = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a check-in happens. ``step`` is told how far it is; tests end the process there."""

    git: Git
    git_dir: Path
    work: WorkTree
    head: Callable[[], Head]
    tree: Callable[[str | None], CommitTree]
    step: Callable[[str], None] = field(default=lambda _: None)


def check_in(place: Place, plan: Plan) -> str:
    """Do it; returns the commit's id.

    Raises:
        Refused: ``detached-head``, ``moved``, ``changed-meanwhile``, ``uncommitted-edits``, ``unmerged``,
            ``still-there``.
        BadCall: ``bad-path``, ``missing-file``.
        CouldNot: ``locked``, ``not-written`` and what git could not do.
    """
    tidy_up(place)
    head = _attached(place.head())
    base = plan.expect or head
    if base.branch != head.branch:
        raise moved("another branch was taken in hand meanwhile")
    before = place.tree(base.commit)
    held = decided.contents(place.work, plan)
    staged = index_entries(place.git, [*held, *plan.removed])
    decided.protect_edits(place.work, plan, before, staged, place.git.zero)
    made = decided.entries(held, plan.removed, before, place.git.zero)
    journal = Journal.begin(place.git_dir, _planned(place, plan, made, staged))
    acting = replace(place, git=frozen.replace(place.git, holding=journal.held, lasting=True))
    try:
        place.step("journal")
        _write(acting, plan, made)
        commit = _land(acting, plan, made, before, journal.scratch)
    except BaseException:
        with suppress(ProveoutError):  # what cannot be taken back now, the next run takes back
            if journal.alone():
                _undo(place, journal.planned)
                journal.done()
        raise
    finally:
        journal.release()
    journal.done()
    place.step("done")
    return commit


def tidy_up(place: Place) -> None:
    """Take back what check-ins that were killed had staged or written without landing it."""
    for journal in left_over(place.git_dir):
        try:
            _undo(place, journal.planned)
        finally:
            journal.release()
        journal.done()


def _attached(head: Head) -> Head:
    if head.branch is None:
        raise Refused(
            "detached-head",
            "no branch is in hand, so a record made here would belong to none",
            fix="git switch main (or the branch you work on), then run it again",
        )
    return head


def _planned(
    place: Place, plan: Plan, made: Mapping[str, Entry | None], staged: Mapping[str, Entry]
) -> dict[str, Planned]:
    new = {file.path for file in plan.files}
    return {
        path: Planned(
            blob=entry.blob if entry else None,
            before=staged.get(path),
            made=path in new and is_below_records(path) and not is_file(place.work.root / path),
        )
        for path, entry in made.items()
    }


def _write(place: Place, plan: Plan, made: Mapping[str, Entry | None]) -> None:
    """Steps 2 and 3: working folder and object store."""
    root = place.work.root
    new = [file for file in plan.files if read_file(root, file.path) != file.data]
    side_by_side(lambda file: write_file(root, file.path, file.data), new)
    place.step("written")
    kept = {path: entry for path, entry in made.items() if entry is not None}
    if kept:
        names = b"".join(b"./" + path_bytes(path) + b"\n" for path in kept)
        out = place.git.run(*DURABLE, "hash-object", "-w", "--no-filters", "--stdin-paths", stdin=names)
        for (path, entry), blob in zip(kept.items(), out.decode("ascii").split(), strict=True):
            if blob != entry.blob:
                raise decided.changed_meanwhile(path)
    place.step("stored")


def _land(
    place: Place, plan: Plan, made: Mapping[str, Entry | None], before: CommitTree, scratch: Path
) -> str:
    """Steps 4 to 6, as often as somebody else is faster; what is staged stays so."""
    head = _attached(place.head())
    for attempt in range(_RETRIES):
        if head.commit != before.commit:
            decided.still_holds(before, place.tree(head.commit), plan, made)
        tree = build_tree(place.git, scratch, head.commit, made)
        commit = _make_commit(place.git, plan, tree, head.commit)
        place.step("built")
        if not attempt:
            stage(place.git, made)
            place.step("staged")
        if _moved_branch(place.git, head, commit, plan):
            place.step("landed")
            return commit
        pause()
        fresh = _attached(place.head())
        if fresh.branch != head.branch:
            raise moved("another branch was taken in hand meanwhile")
        head = fresh
    raise moved("others kept writing to the branch")


def _make_commit(git: Git, plan: Plan, tree: str, parent: str | None) -> str:
    out = git.run(
        *DURABLE,
        "-c",
        "i18n.commitEncoding=UTF-8",
        "commit-tree",
        tree,
        *(("-p", parent) if parent else ()),
        stdin=plan.message.rstrip("\n").encode("utf-8", "surrogateescape") + b"\n",
        env=identity(plan.author, plan.at),
    )
    return out.decode("ascii").strip()


def identity(person: Person, at: datetime, authored: datetime | None = None) -> dict[str, str]:
    """The environment that makes git write this person and this moment (UTC) as author and committer.

    ``authored``: the author's moment where it is another one.
    """
    dates = {"AUTHOR": authored or at, "COMMITTER": at}
    name, email = plain(person.name) or plain(person.initials), plain(person.email)
    return {
        f"GIT_{who}_{what}": text
        for who, date in dates.items()
        for what, text in (("NAME", name), ("EMAIL", email), ("DATE", f"{int(date.timestamp())} +0000"))
    }


def plain(text: str) -> str:
    """Without the marks that structure the header of a commit or tag."""
    return "".join(mark for mark in text if mark not in "<>\n\r\0").strip(" .,:;\"'")


def _moved_branch(git: Git, head: Head, commit: str, plan: Plan) -> bool:
    """Move the branch from its old value to ``commit``; False when somebody was faster."""
    words = ("update-ref", "-m", f"proveout: {(plan.message or 'check-in').splitlines()[0]}")
    move = (*words, f"refs/heads/{head.branch}", commit, head.commit or git.zero)
    try:
        patiently(lambda: git.run(*DURABLE, *move, env=identity(plan.author, plan.at)))
    except GitFailedError as fault:
        if not fault.is_lost_race:
            raise
        return False
    return True


def _undo(place: Place, planned: Mapping[str, Planned]) -> None:
    """Take back what did not land: entries that are still ours, and record files that are still what we wrote."""
    if not planned:
        return
    head = place.head().commit
    landed = place.tree(head).entries
    pending = {path: one for path, one in planned.items() if _blob(landed.get(path)) != one.blob}
    for path, one in pending.items():  # first: on a full disk this makes room
        if one.blob is not None:
            _take_away(place.work.root, path, one.blob, made=one.made)
    staged = index_entries(place.git, list(pending))
    back = {
        path: one.before
        for path, one in pending.items()
        if _blob(staged.get(path)) == one.blob and staged.get(path) != one.before
    }
    if back:
        stage(place.git, back)
    now = place.head().commit
    if now != head:
        _bring_back(place, pending, place.tree(now))


def _bring_back(place: Place, pending: Mapping[str, Planned], tree: CommitTree) -> None:
    """What landed after all while it was being taken back, by a git that outlived who had started it.

    Only where git cannot hold the lock of its check-in (`Journal.held`) can that be.
    """
    late = {path: one for path, one in pending.items() if _blob(tree.entries.get(path)) == one.blob}
    for path, one in late.items():
        data = tree.read(path)
        if one.made and data is not None and read_file(place.work.root, path) is None:
            write_file(place.work.root, path, data)
    staged = index_entries(place.git, list(late))
    forth = {path: tree.entries.get(path) for path, one in late.items() if staged.get(path) == one.before}
    if forth:
        stage(place.git, forth)


def _blob(entry: Entry | None) -> str | None:
    return entry.blob if entry else None


def _take_away(root: Path, path: str, blob: str, *, made: bool) -> None:
    """Remove unfinished copies of a file, and a record of ours that never landed; never any other bytes."""
    full = root / path
    drop_unfinished(root, path)
    data = read_file(root, path) if made else None
    if data is not None and object_id("blob", data, like=blob) == blob:
        full.unlink()
        with suppress(OSError):  # a folder that holds something stays
            full.parent.rmdir()
