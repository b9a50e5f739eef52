"""What a push brings, read from a repository (`tracker.services.ports_push.PushSeen`).

One ``git log`` for the commits, one ``diff-tree --stdin`` for what each did beside each of its parents, and the one
``cat-file --batch`` of the repository for everything else. Objects of a push that is not taken in yet are in sight
because git says in the environment where they lie.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import cached_property

from tracker.digest import sha256_of
from tracker.errors import CouldNot
from tracker.policy.push import NewCommit, Touch
from tracker.records.events import AnyRecord
from tracker.records.places import SHOP, is_record
from tracker.records.shop import Shop
from tracker.services.ports import TagSeen
from tracker.services.ports_push import Claims
from tracker.store.clone import Clone
from tracker.store.git import path_text
from tracker.store.history import History
from tracker.store.refs import Ref
from tracker.store.states import States
from tracker.store.tree import REGULAR
from tracker.store.whole import check_whole

_LOG = ("log", "--stdin", "--topo-order", "--reverse", "--no-show-signature", "--no-mailmap", "-z")
_LINE = "--format=%H %at %ct %P%x01%ae"
_DIFF = (
    "diff-tree",
    "--stdin",
    "-r",
    "--raw",
    "-z",
    "--root",
    "--no-renames",
    "--no-abbrev",
    "--always",
    "-O/dev/null",
)
_SUBMODULES = "--ignore-submodules=none"


class PushRead:
    """One push: the repository, and what was there before it.

    In a hook git has moved no reference yet. Elsewhere it has (`tracker.store.push_hosted`), so there ``before`` says what
    the references were.
    """

    def __init__(self, clone: Clone, *, before: Mapping[str, str | None] | None = None) -> None:
        """Args: before: reference -> its value before the push; None: they are all as they were."""
        check_whole(clone.common_dir)
        self.recorded = clone
        self._before = before or {}
        self._tips: tuple[str, ...] = ()
        self._states = States(REGULAR)
        self._records: dict[str, AnyRecord] = {}
        self._claims: dict[str, Claims | None] = {}

    @cached_property
    def _refs(self) -> Mapping[str, Ref]:
        return {ref.name: ref for ref in self.recorded.refs()}

    def now(self) -> Mapping[str, str]:
        """Every reference as it was before the push."""
        there = {name: ref.object_id for name, ref in self._refs.items()}
        for name, value in self._before.items():
            there.pop(name, None)
            if value is not None:
                there[name] = value
        return there

    def look(self, ref: str, object_id: str) -> TagSeen:
        """What a reference would be if it pointed at this object."""
        return self.recorded.look(ref, object_id)

    def references(self) -> Sequence[str]:
        """The names of all references of before."""
        return tuple(self.now())

    def main_branch(self) -> str:
        """The reference HEAD names; where HEAD stands on none, ``refs/heads/main``."""
        branch = self.recorded.head().branch
        return f"refs/heads/{branch or 'main'}"

    def commit_of(self, ref: str) -> str | None:
        """The commit a reference stands on."""
        return self.now().get(ref)

    def new_commits(self, tips: Sequence[str]) -> Sequence[NewCommit]:
        """Commits these lead to, and no reference of before does; parents first."""
        self._tips = tuple(tips)
        known = self._known()
        lines = "".join(f"{tip}\n" for tip in tips) + "".join(f"^{tip}\n" for tip in known if tip)
        out = self.recorded.git.run(*_LOG, _LINE, stdin=lines.encode("ascii")) if tips else b""
        heads = [_header(row) for row in out.split(b"\0") if row.strip()]
        asked = [(head[0], parent) for head in heads for parent in (head[3] or ("",))]
        touched = iter(self._touched(asked))
        found = [
            NewCommit(
                commit=commit,
                parents=parents,
                author=author,
                authored=authored,
                committed=committed,
                touched=tuple(next(touched) for _ in parents or ("",)),
            )
            for commit, authored, committed, parents, author in heads
        ]
        self._states.learn(found)
        return found

    def _known(self) -> Iterable[str | None]:
        """Where the references of before lead; none: to no commit."""
        return [self._tip(name, value) for name, value in self.now().items()]

    def _tip(self, name: str, value: str) -> str | None:
        ref = self._refs.get(name)
        return value if name in self._before else ref.tip if ref is not None else None

    def _touched(self, asked: Sequence[tuple[str, str]]) -> Iterator[tuple[Touch, ...]]:
        """What each commit did beside each parent, in the order asked."""
        if not asked:
            return
        stdin = "".join(f"{commit} {parent}".strip() + "\n" for commit, parent in asked).encode("ascii")
        cells = iter(self.recorded.git.run(*_DIFF, _SUBMODULES, stdin=stdin).split(b"\0"))
        found: list[Touch] | None = None
        for cell in cells:
            text = cell.lstrip(b"\n")
            if text.startswith(b":"):
                words = text[1:].decode("ascii").split()
                touch = Touch(path=path_text(next(cells)), status=words[4][0], mode=words[1], blob=words[3])
                found = [*(found or ()), touch]
            elif text:
                if found is not None:
                    yield tuple(found)
                found = []
        yield tuple(found or ())

    @cached_property
    def _history(self) -> History:
        return self.recorded.walk(tuple(dict.fromkeys([*self.recorded.tips(None), *self._tips])))

    def descends(self, later: str, earlier: str) -> bool:
        """Whether a commit is another or comes after it."""
        if later == earlier:
            return True
        status, _, _ = self.recorded.git.attempt("merge-base", "--is-ancestor", earlier, later)
        if status not in (0, 1):
            raise CouldNot(
                "damaged",
                f"git cannot tell how {later[:12]} and {earlier[:12]} follow each other",
                fix="look what `git fsck` says here, and push again once it is whole",
            )
        return status == 0

    def comparable(self, tip: str, commit: str) -> bool:
        """Whether every commit below a tip comes before or after this one."""
        walked = self._history
        below = [one for one in walked.commits if walked.descends(tip, one)]
        return all(walked.descends(one, commit) or walked.descends(commit, one) for one in below)

    def committed(self, commits: Iterable[str]) -> Mapping[str, datetime]:
        """The dates commits carry."""
        found: dict[str, datetime] = {}
        for commit, read in self.recorded.objects.read(commits).items():
            head = read.data.split(b"\n\n", 1)[0].split(b"\n")
            line = next((row for row in head if row.startswith(b"committer ")), b"")
            found[commit] = datetime.fromtimestamp(int(line.rsplit(b" ", 2)[1]), UTC)
        return found

    def claims(self, commit: str) -> Claims | None:
        """What a commit says of who wrote it and when; None where there is no such commit."""
        from tracker.store.past import claims

        if commit not in self._claims:
            self._claims[commit] = claims(self.recorded.git, commit)
        return self._claims[commit]

    def listing(self, commit: str) -> Mapping[str, str]:
        """Path -> mode of everything a state holds."""
        return {path: entry.mode for path, entry in self.recorded.tree(commit).all_entries.items()}

    def sizes(self, blobs: Iterable[str]) -> Mapping[str, int]:
        """The sizes of files; of a submodule, which is none, nothing is said."""
        return self.recorded.objects.sizes(blobs)

    def read_short(self, blobs: Iterable[str]) -> None:
        """Have the short ones of these files read in one go; what cannot be read is told where it is asked for."""
        with suppress(CouldNot):
            self.recorded.objects.read_short(blobs)

    def read(self, blobs: Iterable[str]) -> Mapping[str, bytes]:
        """The bytes of files."""
        return {blob: read.data for blob, read in self.recorded.objects.read(blobs).items()}

    def file(self, commit: str, path: str) -> bytes | None:
        """The bytes of a file of a state, None where there is none."""
        if not self._states.holds(commit):
            return self.recorded.tree(commit).read(path)
        blob = self._states.blob(path)
        return self.recorded.objects.blob(blob) if blob is not None else None

    def record(self, data: bytes, path: str) -> AnyRecord:
        """The record in these bytes, taken apart once; raises CouldNot anew each time where it cannot be read."""
        from tracker.store.toml_files import load_record

        digest = sha256_of(data)
        if digest not in self._records:
            self._records[digest] = self.recorded.record_read(digest) or load_record(data, path)
        return self._records[digest]

    def shop(self, commit: str) -> Shop | None:
        """The shop.toml of a state, None where there is none."""
        tree = self.recorded.tree(commit)
        return tree.shop() if tree.has(SHOP) else None

    def seal(self, message: bytes, armoured: bytes, namespace: str) -> tuple[str | None, str]:
        """The key a signature holds by, or why it does not."""
        from tracker.store.seals import seal

        return seal(message, armoured, namespace)

    def tag_parts(self, object_id: str) -> tuple[bytes, bytes]:
        """The text of a tag object and the armour behind it."""
        from tracker.store.seals import tag_parts

        return tag_parts(self.recorded.objects.read([object_id])[object_id].data)

    def known(self) -> Sequence[str]:
        """None: what is there is told by references."""
        return ()

    def record_blobs(self, commit: str) -> Mapping[str, str]:
        """The ids of all records' files in a state, and where each lies."""
        entries = self.recorded.tree(commit).all_entries
        return {entry.blob: path for path, entry in entries.items() if is_record(path)}


class HistoryRead(PushRead):
    """All of history as one first push: no reference was there before, but some commits may be known already."""

    def __init__(self, clone: Clone, *, known: Collection[str] = ()) -> None:
        """Args: known: commits that need not be looked at again, nor what they follow."""
        super().__init__(clone, before={commit: commit for commit in known})

    def references(self) -> Sequence[str]:
        """None: every commit is judged by the one it follows."""
        return ()

    def now(self) -> Mapping[str, str]:
        """What is known already, each by its own name."""
        return {name: value for name, value in self._before.items() if value is not None}

    def known(self) -> Sequence[str]:
        """What is known already."""
        return tuple(self.now().values())

    def commit_of(self, ref: str) -> str | None:
        """Nothing: no reference was there before."""
        return self._before.get(ref)


def _header(row: bytes) -> tuple[str, datetime, datetime, tuple[str, ...], str]:
    said, _, author = row.strip(b"\n").partition(b"\x01")
    commit, authored, committed, *parents = said.decode("ascii").split()
    times = [datetime.fromtimestamp(int(each), UTC) for each in (authored, committed)]
    return commit, times[0], times[1], tuple(parents), path_text(author)
