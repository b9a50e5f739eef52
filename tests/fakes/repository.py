"""A shop's repository in memory: `Repository` as the use cases know it, without git or a disk.

It keeps what the real one keeps: commits with parents, branches, tags, the index (what is staged) and the working
folder, each by itself. Tests edit the working folder with `write`, `remove`, `stage`, move about with `branch`,
`switch`, `merge`, `detach`, and make the next commit fail with `lock` or move the head in between with `meanwhile`.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256

from tracker.clock import SetClock
from tracker.errors import CouldNot, ProveoutError, Refused
from tracker.policy.book import part_of
from tracker.records.events import AnyRecord
from tracker.records.job import Job
from tracker.records.shop import Person, Shop
from tracker.records.stored import Found, Ledger, ShopVersion, Stored, Unreadable
from tracker.services.desk import Desk
from tracker.services.ports import Head, NewFile, TagSeen
from tracker.services.program_facts import FactsKept
from tracker.store.toml_files import dump_record, load_job, load_record, load_shop, toml_text
from tracker.store.toml_lines import line_of, lines_of

Files = dict[str, bytes]


@dataclass(frozen=True, kw_only=True)
class FakeCommit:
    """One commit: its whole tree, parents first."""

    id: str
    parents: tuple[str, ...]
    files: Files
    message: str = ""
    author: str = ""
    at: datetime


class FakeTree:
    """`Tree` over a dict."""

    def __init__(self, files: Files) -> None:
        self.files = files

    def paths(self) -> Sequence[str]:
        return sorted(self.files)

    def has(self, path: str) -> bool:
        return path in self.files

    def read(self, path: str) -> bytes | None:
        return self.files.get(path)

    def digest(self, path: str) -> str | None:
        data = self.read(path)
        return None if data is None else sha256(data).hexdigest()

    def job_paths(self) -> Mapping[str, str]:
        found = [path.split("/") for path in self.files]
        return {
            p[1].lower(): "/".join(p) for p in found if len(p) == 3 and p[0] == "jobs" and p[2] == "job.toml"
        }

    def job(self, path: str) -> Job:
        data = self.files.get(path)
        if data is None:
            raise CouldNot("no-such-file", "there is no such file", where=path)
        return load_job(data, path)

    def shop(self) -> Shop:
        data = self.files.get("shop.toml")
        if data is None:
            raise CouldNot("no-shop", "there is no shop.toml here", fix="make the shop with: proveout init")
        return load_shop(data, "shop.toml")

    def line_of(self, path: str, key: tuple[str | int, ...]) -> int:
        return line_of(lines_of(toml_text(self.files[path], path)), key)


@dataclass
class FakeRepository:
    """`Repository` in memory; see the module for what tests may do with it."""

    root: str = "(in memory)"
    commits: dict[str, FakeCommit] = field(default_factory=dict)
    branches: dict[str, str] = field(default_factory=dict)
    tags: dict[str, TagSeen] = field(default_factory=dict)
    work: Files = field(default_factory=dict)
    index: Files = field(default_factory=dict)
    current: str | None = "main"
    detached: str | None = None
    facts_kept: FactsKept = field(default_factory=dict)
    seals: dict[str, Found] = field(default_factory=dict)
    tag_seals: dict[str, Found] = field(default_factory=dict)
    shallow: bool = False
    locked: bool = False
    meanwhile: Callable[[], None] | None = None

    # -- the port ---------------------------------------------------------------------------------------------------

    def head(self) -> Head:
        if self.current is None:
            return Head(commit=self.detached, branch=None)
        return Head(commit=self.branches.get(self.current), branch=self.current)

    def tree(self, commit: str | None = None) -> FakeTree:
        return FakeTree(dict(self._files(commit or self.head().commit)))

    def work_tree(self) -> FakeTree:
        return FakeTree(dict(self.work))

    def ledger_of_job(self, commit: str, job: str) -> Ledger:
        return part_of(self.ledger(commit), job)

    def ledger(self, commit: str | None = None) -> Ledger:
        if self.shallow:
            raise CouldNot(
                "shallow", "this clone does not hold the whole history", fix="git fetch --unshallow"
            )
        start = commit or self.head().commit
        in_hand = {path: data for path, data in self._files(start).items() if is_record(path)}
        records, unreadable = self._records(start, in_hand)
        return Ledger(
            shop=FakeTree(self._files(start)).shop(),
            records=tuple(sorted(records, key=lambda one: (one.order, one.record.entered, one.path))),
            shops=self._shops(start),
            unreadable=tuple(unreadable),
            descends=self.descends,
            sealed=lambda stored: self.seals.get(stored.path, Found()),
        )

    def tag_sealed(self, tag: TagSeen) -> Found:
        return self.tag_seals.get(tag.ref, Found())

    def program_facts(self) -> FactsKept:
        return self.facts_kept

    def look_ahead(self, places: Iterable[tuple[str, str]]) -> None:
        self.looked_ahead = tuple(places)

    def expect(self, places: Sequence[tuple[str, str]]) -> int | None:
        self.expected = tuple(places)
        return sum(len(self.tree(commit).read(path) or b"") for commit, path in places)

    def release_tags(self) -> Sequence[TagSeen]:
        return [tag for _, tag in sorted(self.tags.items()) if tag.ref.startswith("refs/tags/release/")]

    def release_numbers(self, job: str) -> Sequence[int]:
        found: set[int] = set()
        for tag in self.release_tags():
            name, _, number = tag.ref.removeprefix("refs/tags/release/").rpartition("/")
            if name.lower() == job.lower() and number.isdigit():
                found.add(int(number))
        for one in self.commits.values():
            for path in one.files:
                folder, _, name = path.rpartition("/records/release-")
                if folder.lower() == f"jobs/{job.lower()}":
                    found.add(int(name.removesuffix(".toml")))
        return sorted(found)

    def uncommitted(self, paths: Sequence[str]) -> Sequence[str]:
        head = self._files(self.head().commit)
        return [path for path in paths if not (self.work.get(path) == self.index.get(path) == head.get(path))]

    def encode(self, record: AnyRecord) -> bytes:
        return dump_record(record)

    def commit(
        self,
        files: Sequence[NewFile],
        *,
        from_work_tree: Sequence[str] = (),
        removed: Sequence[str] = (),
        message: str,
        author: Person,
        at: datetime,
        expect: Head | None = None,
    ) -> str:
        if self.meanwhile is not None:
            happens, self.meanwhile = self.meanwhile, None
            happens()
        if self.locked:
            raise CouldNot("locked", "another program works in this repository", fix="wait for it")
        head = self.head()
        if head.branch is None:
            raise Refused("detached-head", "no branch is in hand", fix="git switch main")
        fresh = {one.path: one.data for one in files} | {path: self.work[path] for path in from_work_tree}
        if expect is not None and expect.commit != head.commit:
            before, now = self._files(expect.commit), self._files(head.commit)
            clash = [path for path in {*fresh, *removed, "shop.toml"} if before.get(path) != now.get(path)]
            if clash or expect.branch != head.branch:
                raise Refused(
                    "moved", f"somebody else changed {', '.join(clash)} meanwhile", fix="run it again"
                )
        tree = dict(self._files(head.commit))
        for path, data in fresh.items():
            if is_record(path) and path in tree and tree[path] != data:
                raise Refused("moved", f"{path} is there already, and records are never changed")
            tree[path] = self.index[path] = self.work[path] = data
        for path in removed:
            for place in (tree, self.index, self.work):
                place.pop(path, None)
        return self._add(tree, [head.commit] if head.commit else [], message, author.email, at)

    def tag(self, name: str, *, commit: str, message: str, tagger: Person, at: datetime) -> str:
        ref = f"refs/tags/{name}"
        if ref in self.tags:
            raise Refused("tag-exists", f"{name} exists already")
        object_id = sha256(f"{name}{commit}{message}{tagger.email}{at}".encode()).hexdigest()[:40]
        self.tags[ref] = TagSeen(
            ref=ref,
            object_id=object_id,
            kind="tag",
            target=commit,
            header_name=name,
            tagger=tagger.email,
            message=message,
            data=message.encode(),
        )
        return object_id

    def path_history(self, path: str, commit: str | None = None) -> Sequence[str]:
        start = commit or self.head().commit
        found = [
            one.id
            for one in self._ancestry(start)
            if all(self._files(parent).get(path) != one.files.get(path) for parent in one.parents)
            and (one.parents or path in one.files)
        ]
        return found[::-1]

    # -- what people do beside the tool -----------------------------------------------------------------------------

    def write(self, path: str, data: bytes | str) -> None:
        """Save a file in the working folder."""
        self.work[path] = data.encode() if isinstance(data, str) else data

    def remove(self, path: str) -> None:
        """Delete a file in the working folder."""
        del self.work[path]

    def stage(self, *paths: str) -> None:
        """``git add``."""
        for path in paths:
            self.index[path] = self.work[path]

    def save(
        self, files: Mapping[str, bytes | str], message: str = "by hand", at: datetime | None = None
    ) -> str:
        """Write files and commit them plainly, as somebody without the tool would."""
        for path, data in files.items():
            self.write(path, data)
            self.index[path] = self.work[path]
        head = self.head().commit
        tree = {**self._files(head), **{path: self.work[path] for path in files}}
        return self._add(tree, [head] if head else [], message, "hand@shop.example", at or _EARLY)

    def record(self, path: str, record: AnyRecord) -> str:
        """Bring in one record file plainly."""
        return self.save({path: dump_record(record)}, message=record.EVENT, at=record.entered)

    def branch(self, name: str) -> None:
        """A new branch where the head is, without going there."""
        commit = self.head().commit
        if commit:
            self.branches[name] = commit

    def switch(self, name: str) -> None:
        """Go to a branch; the working folder follows."""
        self.current, self.detached = name, None
        self._follow()

    def detach(self, commit: str | None = None) -> None:
        """``git checkout <commit>``."""
        self.detached, self.current = commit or self.head().commit, None
        self._follow()

    def merge(self, name: str, at: datetime | None = None) -> str:
        """Merge a branch: files of both; where both changed one, ours."""
        ours, theirs = self.head().commit or "", self.branches[name]
        tree = {**self._files(theirs), **self._files(ours)}
        commit = self._add(tree, [ours, theirs], f"merge {name}", "hand@shop.example", at or _EARLY)
        self._follow()
        return commit

    def descends(self, later: str, earlier: str) -> bool:
        """Whether ``later`` is ``earlier`` or comes after it."""
        return any(one.id == earlier for one in self._ancestry(later))

    def log(self) -> list[FakeCommit]:
        """Commits of the head, oldest first."""
        return list(self._ancestry(self.head().commit))

    # -- inside -----------------------------------------------------------------------------------------------------

    def _files(self, commit: str | None) -> Files:
        return self.commits[commit].files if commit else {}

    def _follow(self) -> None:
        self.work = dict(self._files(self.head().commit))
        self.index = dict(self.work)

    def _add(self, tree: Files, parents: list[str], message: str, author: str, at: datetime) -> str:
        number = len(self.commits)
        commit = sha256(f"{number} {parents} {message} {sorted(tree)}".encode()).hexdigest()[:40]
        self.commits[commit] = FakeCommit(
            id=commit, parents=tuple(parents), files=tree, message=message, author=author, at=at
        )
        if self.current is None:
            self.detached = commit
        else:
            self.branches[self.current] = commit
        return commit

    def _ancestry(self, commit: str | None) -> list[FakeCommit]:
        """A commit and all before it, each after its parents (the dict is filled in that order)."""
        seen: set[str] = set()
        waiting = [commit] if commit else []
        while waiting:
            one = waiting.pop()
            if one not in seen:
                seen.add(one)
                waiting += self.commits[one].parents
        return [one for one in self.commits.values() if one.id in seen]

    def _everywhere(self, start: str | None) -> list[FakeCommit]:
        tips = [start, self.detached, *self.branches.values(), *(tag.target for tag in self.tags.values())]
        reachable = {one.id for tip in tips for one in self._ancestry(tip)}
        return [one for one in self.commits.values() if one.id in reachable]

    def _records(self, start: str | None, in_hand: Files) -> tuple[list[Stored], list[Unreadable]]:
        """Every version of every record any commit held, placed at the first commit that brought it in."""
        order = {commit: place for place, commit in enumerate(self.commits)}
        own = {one.id for one in self._ancestry(start)}
        first: dict[tuple[str, bytes], str] = {}
        for one in self._everywhere(start):
            for path, data in one.files.items():
                if is_record(path) and all(self._files(parent).get(path) != data for parent in one.parents):
                    known = first.get((path, data))
                    if known is None or (in_hand.get(path) == data and known not in own and one.id in own):
                        first[path, data] = one.id
        records: list[Stored] = []
        unreadable: list[Unreadable] = []
        for (path, data), commit in first.items():
            try:
                record = load_record(data, path)
            except ProveoutError as fault:
                unreadable.append(Unreadable(path=path, why=fault.what))
                continue
            records.append(
                Stored(
                    record=record,
                    path=path,
                    sha256=sha256(data).hexdigest(),
                    commit=commit,
                    order=order[commit],
                    in_hand=in_hand.get(path) == data,
                )
            )
        return records, unreadable

    def _shops(self, start: str | None) -> tuple[ShopVersion, ...]:
        order = {commit: place for place, commit in enumerate(self.commits)}
        found: list[ShopVersion] = []
        for one in self._ancestry(start):
            data = one.files.get("shop.toml")
            if data is not None and all(self._files(p).get("shop.toml") != data for p in one.parents):
                try:
                    shop = load_shop(data, "shop.toml")
                except ProveoutError:
                    continue
                found.append(ShopVersion(shop=shop, commit=one.id, order=order[one.id], committed=one.at))
        return tuple(found)


_EARLY = datetime(2024, 1, 1, tzinfo=UTC)


def is_record(path: str) -> bool:
    """Whether a path is a record's file."""
    parts = path.split("/")
    below = parts[0] == "records" or (len(parts) > 3 and parts[0] == "jobs" and parts[2] == "records")
    return below and path.endswith(".toml")


def desk_at(repo: FakeRepository, at: datetime, email: str | None = None) -> Desk:
    """A desk in this repository at a time set by hand."""
    return Desk(repo=repo, clock=SetClock(at), email=email)
