"""What becomes of a move that was cut short: gone on with, or taken back; never left to pass for somebody's edit.

================================== =====================================================================================
where the branch stands            what is done
================================== =====================================================================================
where the move began               it is gone on with: all that came in is in the clone, no network is needed
at its end, or past it             nothing: the files came before the branch
anywhere else                      files and entries of the index that are what came in become what the branch holds
an edit nobody can tell apart      nothing, and the note stays: the edit may be of the text before, or of what came in
================================== =====================================================================================
"""

from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from tracker import frozen
from tracker.errors import CouldNot, ProveoutError, Refused
from tracker.records.shop import Person
from tracker.services.ports import Head
from tracker.store.clone import Clone
from tracker.store.git import Git
from tracker.store.index import index_entries, stage
from tracker.store.objects import object_id
from tracker.store.share_lock import ShareLock
from tracker.store.sharing_move import Mover, changes, take_away
from tracker.store.sharing_note import Note, drop_note, is_noted, read_note
from tracker.store.tree import Entry
from tracker.store.work_tree import drop_unfinished, read_file, write_file

_SHARE = Person(initials="share", name="proveout share", email="share@localhost", roles=())
_PATIENCE = 2.0


def settle(clone: Clone, git: Git) -> None:
    """Settle what was cut short; whoever calls holds the `ShareLock`. ``git``: what writes for it.

    Raises Refused (``share-cut-short``) where an edit stands in the way, and what cannot be written or read.
    """
    note = read_note(clone.git_dir)
    if note is None:
        return
    head = clone.head()
    if not clone.git.attempt("cat-file", "-e", f"{note.new}^{{commit}}")[0] == 0:
        raise _cut_short([], "what it was to bring in is not in the clone any more", clone.git_dir)
    for path in changes(clone, note.old, note.new):
        drop_unfinished(Path(clone.root), path)
    if head.commit is not None and _holds(clone, head.commit, note.new):
        drop_note(clone.git_dir)
    elif (head.branch, head.commit) == (note.branch, note.old):
        mover = Mover(clone=clone, git=git)
        blocked = mover.in_the_way(note.old, note.new, gone_is_fine=True)
        if blocked:
            raise _cut_short(blocked)
        mover.carry_out(head, note, "share: gone on with", _SHARE)
    else:
        _take_back(clone, git, note, head)
        drop_note(clone.git_dir)


def take_back(clone: Clone, git: Git) -> None:
    """Take away what a move had put down that failed; whoever calls holds the `ShareLock`.

    What cannot be taken back now, on a full disk perhaps, is left with its note to whoever settles it.
    """
    note = read_note(clone.git_dir)
    if note is None:
        return
    with suppress(ProveoutError, OSError):
        head = clone.head()
        if head.commit is None or not _holds(clone, head.commit, note.new):
            _take_back(clone, git, note, head)
        drop_note(clone.git_dir)


def settle_alone(clone: Clone, patience: float = 0.0) -> None:
    """`settle`, where no share is at work; raises CouldNot (``sharing``) where one is."""
    if not is_noted(clone.git_dir):
        return
    lock = ShareLock(clone.git_dir)
    try:
        free = lock.take(patience)
    except OSError as fault:
        what = f"a share was cut short here, and nothing can be written: {fault.strerror or fault}"
        fix = "look at the permissions of that folder"
        raise CouldNot("not-written", what, where=str(lock.path.parent), fix=fix) from fault
    if not free:
        raise at_work(lock)
    try:
        settle(clone, frozen.replace(clone.git, holding=lock.held))
    finally:
        lock.release()


def settle_before(clone: Clone, paths: Collection[str]) -> None:
    """Before a check-in of ``paths``: what the move touches is nobody's to check in until it is settled."""
    try:
        settle_alone(clone, _PATIENCE)
    except ProveoutError:
        note = read_note(clone.git_dir)
        if note is None or not changes(clone, note.old, note.new).keys().isdisjoint(paths):
            raise


def settle_softly(clone: Clone) -> None:
    """At the opening of a clone: where it cannot be settled now, whoever checks in is told."""
    with suppress(ProveoutError):
        settle_alone(clone)


def at_work(lock: ShareLock) -> CouldNot:
    """The error while a share is at work in this clone."""
    fix = "wait for it, then run it again"
    return CouldNot("sharing", "another share is at work in this clone", where=str(lock.path), fix=fix)


def _holds(clone: Clone, head: str, new: str) -> bool:
    return clone.git.attempt("merge-base", "--is-ancestor", new, head)[0] == 0


def _take_back(clone: Clone, git: Git, note: Note, head: Head) -> None:
    """Files and entries that are what came in become what the branch holds: their bytes stay in the clone."""
    root, tree = Path(clone.root), clone.tree(head.commit)
    changed = {
        path: (was, becomes, tree.all_entries.get(path))
        for path, (was, becomes) in changes(clone, note.old, note.new).items()
        if becomes != tree.all_entries.get(path)
    }
    staged = index_entries(clone.git, list(changed))
    blocked: list[str] = []
    back: list[str] = []
    for path, (was, becomes, now) in changed.items():
        data = read_file(root, path)
        here = object_id("blob", data, like=note.new) if data is not None else None
        if here in (None, _blob(becomes)):  # one that is gone was moved aside, as it is told to be
            back.append(path)
        elif here not in (_blob(was), _blob(now)):
            blocked.append(path)
    if blocked:
        raise _cut_short(blocked)
    entries = {path: now for path, (_, becomes, now) in changed.items() if staged.get(path) == becomes}
    if entries:  # first, since on a full disk this fails and all stays together
        stage(git, entries)
    for path in back:
        data = tree.read(path)
        if data is None:
            take_away(root, path)
        else:
            write_file(root, path, data)


def _blob(entry: Entry | None) -> str | None:
    return entry.blob if entry is not None else None


def _cut_short(paths: Collection[str], why: str = "", git_dir: Path | None = None) -> Refused:
    said = (
        why or "a file it touches was edited since: the edit may be of the text before it, or of what came in"
    )
    if git_dir is not None:
        fix = "look at what git status lists, put it right, then take that file away"
        where = str(git_dir / "proveout" / "share-moving.json")
        return Refused("share-cut-short", f"a share was cut short here, and {said}", where=where, fix=fix)
    fix = "move the file to a folder outside, run proveout share, then make your edit again on what is there then"
    return Refused(
        "share-cut-short", f"a share was cut short here, and {said}", reasons=tuple(sorted(paths)), fix=fix
    )
