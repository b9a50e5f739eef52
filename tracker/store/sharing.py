"""The shared repository as one clone reaches it (`tracker.services.ports_share.SharedRepository`), on real git."""

import hashlib
import json
import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from tracker import frozen
from tracker.clock import parse_time
from tracker.errors import BadCall, CouldNot, Refused
from tracker.policy.push import NewCommit
from tracker.records.shop import Person
from tracker.services.ports import Head, NewFile, TagSeen
from tracker.services.ports_share import Choice, Entries, LastEdit, Pushed, Remote, There
from tracker.store import commit as commits
from tracker.store.clone import Clone
from tracker.store.git import Git, path_bytes, path_text
from tracker.store.git_faults import GitFailedError
from tracker.store.index import DURABLE, build_tree, patiently
from tracker.store.push_read import PushRead
from tracker.store.refs import RELEASES
from tracker.store.share_lock import ShareLock
from tracker.store.share_stamp import last_share, put_stamp
from tracker.store.sharing_move import Mover
from tracker.store.sharing_push import answer_of, cannot_write
from tracker.store.sharing_settle import at_work, settle, take_back
from tracker.store.sharing_wire import Wire, fault
from tracker.store.tags import make_tag_object
from tracker.store.tree import Entry
from tracker.store.whole import check_whole
from tracker.store.work_tree import write_file

_HEADS = "refs/heads/"
_PATIENCE = 2.0
_BUSY = ("MERGE_HEAD", "CHERRY_PICK_HEAD", "REVERT_HEAD", "rebase-merge", "rebase-apply")


class Sharing:
    """One clone and the shared repositories it knows; ``step`` is told how far a move is."""

    def __init__(
        self,
        clone: Clone,
        wire: Wire,
        step: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._clone = clone
        self._git = clone.git
        self._wire = wire
        self._step = step
        self._lock = ShareLock(clone.git_dir)

    def remote(self, name: str | None, branch: str | None) -> Remote | None:
        """The one named (by name or address), else the branch's own, ``origin``, or the only one."""
        known = self._known()
        if name is None:
            own = self._clone.config.get(f"branch.{branch}.remote", "")
            found = [one for one in (own, "origin") if one in known] or list(known)
            if len(found) > 1 and found[0] not in (own, "origin"):
                fix = f"say which with --remote: {', '.join(known)}"
                raise BadCall("unknown-remote", "there are several shared repositories", fix=fix)
            return Remote(name=found[0], address=known[found[0]], tracking=found[0]) if found else None
        if name in known:
            return Remote(name=name, address=known[name], tracking=name)
        if not any(mark in name for mark in "/\\:") and not (Path(self._git.folder) / name).is_dir():
            fix = f"use one of: {', '.join(known)}" if known else "name its address"
            raise BadCall("unknown-remote", f"no shared repository is called {name!r} here", fix=fix)
        digits = hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:8]
        return Remote(name=name, address=name, tracking=f"at-{digits}")

    def check(self) -> None:
        """Look whether this clone can share at all."""
        check_whole(str(self._clone.common_dir))
        self._not_busy()

    def begin(self) -> None:
        """Hold the clone; tidy up and finish what was left."""
        if not self._lock.take(_PATIENCE):
            raise at_work(self._lock)
        try:
            self._clone.tidy_up()
            settle(self._clone, self._writer)
        except BaseException:
            self.end()
            raise

    def end(self) -> None:
        """Let go of it."""
        self._lock.release()

    def fetch(self, remote: Remote, at: datetime) -> There:
        """Fetch every branch and the objects of release tags; then note when."""
        out = self._wire.must(remote.address, "ls-remote", "--symref", "--", remote.name)
        there = _listed(out)
        here = self.tags()
        wanted = [f"+{_HEADS}*:refs/remotes/{remote.tracking}/*"] if there.branches else []
        wanted += [ref for ref, object_id in there.tags.items() if here.get(ref) != object_id]
        if wanted:
            words = ("fetch", "--no-tags", "--no-recurse-submodules", *self._wire.progress, "--stdin")
            lines = b"".join(path_bytes(one) + b"\n" for one in wanted)
            self._wire.must(remote.address, *words, "--", remote.name, stdin=lines)
        put_stamp(self._clone.common_dir, at)
        return there

    def ahead(self, one: str | None, other: str | None) -> int:
        """How many commits ``one`` has that ``other`` has not."""
        if one is None:
            return 0
        return int(self._git.run("rev-list", "--count", one, *((f"^{other}",) if other else ())))

    def unsent(self, tip: str, known: Sequence[str]) -> Sequence[NewCommit]:
        """What a push of ``tip`` would bring, as the server reads it: to there, ``known`` are all its references."""
        before: dict[str, str | None] = dict.fromkeys(ref.name for ref in self._clone.refs())
        before |= {f"there/{number}": commit for number, commit in enumerate(known)}
        return PushRead(self._clone, before=before).new_commits((tip,))

    def bases(self, one: str, other: str) -> Sequence[str]:
        """The best common ancestors."""
        return tuple(self._git.run("merge-base", "--all", one, other, ok=(0, 1)).decode("ascii").split())

    def entries(self, commit: str | None) -> Entries:
        """Every file, link and submodule of a commit."""
        entries = self._clone.tree(commit).all_entries if commit else {}
        return {path: f"{entry.mode} {entry.blob}" for path, entry in entries.items()}

    def read(self, commit: str, path: str) -> bytes | None:
        """The bytes of a file there."""
        return self._clone.tree(commit).read(path)

    def last_edit(self, side: str, other: str, path: str) -> LastEdit | None:
        """The last commit of ``side`` that changed it."""
        words = (
            "log",
            "-1",
            "--no-show-signature",
            "--format=%H%x00%an%x00%cI%x00%s",
            side,
            f"^{other}",
            "--",
        )
        out = self._git.run("--literal-pathspecs", *words, path_bytes(path))
        if not out.strip():
            return None
        commit, by, at, message = out.decode("utf-8", "replace").rstrip("\n").split("\0")
        return LastEdit(commit=commit, by=by, at=parse_time(at), message=message)

    def branches(self, remote: Remote | None = None) -> Mapping[str, str]:
        """Branches of this clone, or of a remote as it was last fetched."""
        below = _HEADS if remote is None else f"refs/remotes/{remote.tracking}/"
        found = {ref.name: ref.object_id for ref in self._clone.refs() if ref.name.startswith(below)}
        return {name.removeprefix(below): commit for name, commit in found.items()}

    def tags(self) -> Mapping[str, str]:
        """Release tags of this clone."""
        return {ref.name: ref.object_id for ref in self._clone.refs() if ref.name.startswith(RELEASES)}

    def look(self, ref: str, object_id: str) -> TagSeen:
        """What a fetched tag is."""
        return self._clone.look(ref, object_id)

    def join(
        self, ours: str, theirs: str, entries: Entries, message: str, person: Person, at: datetime
    ) -> str:
        """The merge, from an index of its own; no reference leads to it."""
        before = self._clone.tree(ours).all_entries
        wanted = {path: Entry(*text.split(" ")) for path, text in entries.items()}
        made = {
            path: wanted.get(path)
            for path in before.keys() | wanted.keys()
            if before.get(path) != wanted.get(path)
        }
        return self._built(made, (ours, theirs), message, person, at)

    def add(
        self, parent: str, entries: Entries, message: str, person: Person, authored: datetime, at: datetime
    ) -> str:
        """A commit on ``parent`` with files more whose bytes this clone has; no reference leads to it."""
        made = {path: Entry(*text.split(" ")) for path, text in entries.items()}
        return self._built(made, (parent,), message, person, at, authored)

    def propose(self, parent: str, file: NewFile, message: str, person: Person, at: datetime) -> str:
        """A commit on ``parent`` with one file more, and its signature; no reference leads to it."""
        made: dict[str, Entry | None] = {}
        signed = self._clone.signing.with_signatures([file], person, lambda: self._clone.shop_before(parent))
        for one in signed:
            out = self._git.run(*DURABLE, "hash-object", "-w", "--no-filters", "--stdin", stdin=one.data)
            made[one.path] = Entry("100644", out.decode("ascii").strip())
        return self._built(made, (parent,), message, person, at)

    def _built(
        self,
        made: Mapping[str, Entry | None],
        parents: tuple[str, ...],
        message: str,
        person: Person,
        at: datetime,
        authored: datetime | None = None,
    ) -> str:
        scratch = self._own(
            f"share-{os.urandom(4).hex()}.index"
        )  # a killed one's lock would stand in the way
        try:
            tree = build_tree(self._git, scratch, parents[0], made)
        finally:
            scratch.unlink(missing_ok=True)
        words = (*DURABLE, "-c", "i18n.commitEncoding=UTF-8", "commit-tree", tree)
        text = message.rstrip("\n").encode("utf-8", "surrogateescape") + b"\n"
        behind = [word for parent in parents for word in ("-p", parent)]
        env = commits.identity(person, at, authored)
        out = self._git.run(*words, *behind, stdin=text, env=env)
        return out.decode("ascii").strip()

    def tag_object(self, name: str, commit: str, message: str, person: Person, at: datetime) -> str:
        """An annotated tag no reference leads to yet."""
        sign = self._clone.tag_signer(commit, person)
        return make_tag_object(
            self._git, name, commit=commit, message=message, tagger=person, at=at, sign=sign
        )

    def in_the_way(self, old: str | None, new: str) -> Sequence[str]:
        """Files whose edits here would be written over."""
        return self._mover.in_the_way(old, new)

    def advance(self, head: Head, new: str, why: str, person: Person, at: datetime) -> None:
        """Move the branch and the files that differ."""
        try:
            self._mover.advance(head, new, why, person, at)
        except Refused:
            settle(
                self._clone, self._writer
            )  # somebody recorded meanwhile: what came in is put back as it was
            raise
        except CouldNot:
            take_back(self._clone, self._writer)
            raise

    @property
    def _mover(self) -> Mover:
        return Mover(clone=self._clone, step=self._step, git=self._writer)

    @property
    def _writer(self) -> Git:
        """Git that comes to its end and keeps the clone held until then."""
        return frozen.replace(self._git, holding=self._lock.held, lasting=True)

    def push(self, remote: Remote, branch: str, commit: str, tags: Mapping[str, str]) -> Pushed:
        """Branch and tags in one push, all or nothing."""
        wanted = [
            f"{commit}:{_HEADS}{branch}",
            *(f"{object_id}:{ref}" for ref, object_id in sorted(tags.items())),
        ]
        words = (
            "push",
            "--atomic",
            "--porcelain",
            "--no-follow-tags",
            *self._wire.progress,
            "--",
            remote.name,
        )
        status, out, said = self._wire.call(*words, *wanted)
        answer = answer_of(status, out.decode("utf-8", "replace"), said)
        if answer is None:
            raise fault(remote.address, words, status, said)
        why = cannot_write(answer.lines) if answer.answer == "refused" else None
        if why is not None:
            what = "the shared repository cannot write what it is sent; everything recorded here is kept"
            fix = "ask who keeps it to look at its disk and its permissions, then run it again"
            raise CouldNot(why, what, where=remote.address, reasons=answer.lines, fix=fix)
        if answer.answer == "accepted":
            ref = f"refs/remotes/{remote.tracking}/{branch}"
            with suppress(
                GitFailedError
            ):  # it is sent all the same, and the next fetch says where it stands there
                patiently(lambda: self._writer.run(*DURABLE, "update-ref", "-m", "share", ref, commit))
        return answer

    def take_tags(self, tags: Mapping[str, str]) -> None:
        """References for them in one go.

        Past the hook: what the shared repository holds is part of the record whatever we think of it. A release that is
        not believed hides older ones; left out, an older one would be shown as the latest.
        """
        rows = "".join(f"create {ref} {object_id}\n" for ref, object_id in sorted(tags.items()))
        nowhere = ("-c", f"core.hooksPath={self._own('no-hooks').as_posix()}")
        words = (*DURABLE, *nowhere, "update-ref", "--stdin")
        patiently(lambda: self._writer.run(*words, stdin=rows.encode("utf-8", "surrogateescape")))

    def choices(self) -> Sequence[Choice]:
        """What was chosen before."""
        try:
            rows = json.loads(self._own("share-choices.json").read_bytes())["choices"]
            return tuple(Choice(**row) for row in rows)
        except (OSError, ValueError, KeyError, TypeError):
            return ()

    def keep_choices(self, choices: Sequence[Choice]) -> None:
        """Keep them for the next call."""
        path = self._own("share-choices.json")
        if not choices:
            path.unlink(missing_ok=True)
            return
        names = ("path", "side", "ours", "theirs", "by")
        rows = [{name: getattr(one, name) for name in names} for one in choices]
        write_file(path.parent, path.name, json.dumps({"format": 1, "choices": rows}).encode("ascii"))

    def last_share(self) -> datetime | None:
        """When something was last shared."""
        return last_share(self._clone.git_dir, self._clone.common_dir)

    def _known(self) -> dict[str, str]:
        """Remotes of this clone, name -> address, in the order git lists them."""
        rows = ((name, text) for name, text in self._clone.config.items() if name.startswith("remote."))
        return {
            name[len("remote.") : -len(".url")]: text for name, text in rows if name.endswith(".url") and text
        }

    def _own(self, name: str) -> Path:
        return self._clone.git_dir / "proveout" / name

    def _not_busy(self) -> None:
        unmerged = self._git.run("ls-files", "-u", "-z").split(b"\t")[1:2]
        where = path_text(unmerged[0].split(b"\0")[0]) if unmerged else None
        if unmerged or any((self._clone.git_dir / name).exists() for name in _BUSY):
            raise Refused(
                "unmerged",
                "a merge, rebase or the like of git is not finished here",
                where=where,
                fix="finish it with git, or take it back (git merge --abort, git rebase --abort), then share again",
            )


def _listed(out: bytes) -> There:
    """What ``ls-remote --symref`` lists."""
    branches: dict[str, str] = {}
    tags: dict[str, str] = {}
    main = None
    for row in out.split(b"\n"):
        value, _, ref = path_text(row).partition("\t")
        if value.startswith("ref: ") and ref == "HEAD":
            main = value.removeprefix("ref: ").removeprefix(_HEADS)
        elif ref.startswith(_HEADS):
            branches[ref.removeprefix(_HEADS)] = value
        elif ref.startswith(RELEASES) and not ref.endswith("^{}"):
            tags[ref] = value
    return There(branches=branches, tags=tags, main=main)
