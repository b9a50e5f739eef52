"""A clone of a shop's repository: what the use cases call `Repository`, on real git.

What it reads stands in `tracker.store.reading`; here is what it knows of the person's folder, and what it writes.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime
from functools import cached_property
from pathlib import Path
from string import hexdigits

from tracker import frozen
from tracker.digest import sha256_of
from tracker.errors import CouldNot
from tracker.policy.book import part_of
from tracker.policy.signed import needs_signature
from tracker.records.events import AnyRecord, ReleaseRecord
from tracker.records.places import SHOP
from tracker.records.shop import Person
from tracker.records.stored import Ledger
from tracker.services.ports import Head, NewFile
from tracker.store import commit as commits
from tracker.store.decided import Plan
from tracker.store.derived import remember
from tracker.store.git import Git, path_bytes, path_text
from tracker.store.git_faults import GitFailedError
from tracker.store.history import History
from tracker.store.index import index_entries
from tracker.store.journal import Journal
from tracker.store.ledger import build_ledger
from tracker.store.objects import object_id
from tracker.store.reading import Reading
from tracker.store.refs import RELEASES
from tracker.store.tags import make_tag
from tracker.store.tree import CommitTree
from tracker.store.whole import check_whole
from tracker.store.work_tree import WorkTree, read_file

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.records.shop import Shop
    from tracker.services.ports_kept import KeptAnswers
    from tracker.store.kept import Kept
    from tracker.store.signing import Signing


class Clone(Reading):
    """One clone, opened by `tracker.store.open_clone.open_clone`."""

    def __init__(self, git: Git, *, root: Path | None, git_dir: Path, common_dir: Path) -> None:
        super().__init__(git, str(common_dir))
        self.git_dir = git_dir
        self.common_dir = common_dir
        self.step: Callable[[str], None] = lambda _: None
        self.settle: Callable[[Collection[str]], None] = lambda _: None
        self.kept: Kept | None = None
        self._root = root
        self._seen: dict[str, str] = {}

    def look_back(self) -> None:
        """From now on what was read before is taken from the index of this clone: for verbs that show something."""
        from tracker.store.kept import Kept
        from tracker.store.kept_reads import KeptListings, KeptRecords
        from tracker.store.kept_seals import KeptSeals

        self.kept = Kept(self.common_dir)
        self._reader.kept = KeptRecords(self.kept)
        self._reader.seals.kept = KeptSeals(self.kept)
        self._tree_objects.kept = KeptListings(self.git, self.kept)

    def apart(self) -> None:
        """In a process that was forked: neither the reading process nor the open index may be shared."""
        self.objects.apart()
        self._reader.kept = self._reader.seals.kept = self._tree_objects.kept = None

    def answers(self) -> "KeptAnswers | None":
        """What the index keeps of answers; None where this clone does not look at it."""
        from tracker.store.kept_reads import Answers

        return Answers(self.kept, self.state, self.tree) if self.kept is not None else None

    def state(self) -> str:
        """Digest of every reference with its object id and of where the clone stands."""
        head = self.head()
        rows = [f"{head.commit} {head.branch}", *(f"{ref.object_id} {ref.name}" for ref in self.refs())]
        return sha256_of("\n".join(rows).encode("utf-8", "surrogateescape"))

    def walk(self, tips: tuple[str, ...]) -> History:
        """The walk itself."""
        if self.kept is None:
            return super().walk(tips)
        from tracker.store.kept_walk import kept_walk

        return kept_walk(self.git, self.kept, tips)

    def _ledger_of(self, commit: str | None) -> Ledger:
        found = super()._ledger_of(commit)
        if self._reader.kept is not None:
            self._note_jobs(self._reader.kept.jobs())
        return found

    def ledger_of_job(self, commit: str, job: str) -> Ledger:
        """The records of one job and of none; with the index, those known to be of others are not looked at."""
        kept = self._reader.kept
        jobs = kept.jobs() if kept is not None else {}
        if not jobs or self._ledgers:
            return super().ledger_of_job(commit, job)
        check_whole(self.common_dir)
        self._reader.jobs = {blob: whose for blob, whose in jobs.items() if whose}
        part = build_ledger(self._tree_of(commit), self.history(commit), self._reader, job=job)
        self._note_jobs(jobs)
        return part_of(part, job)

    def _note_jobs(self, before: Mapping[str, str]) -> None:
        known = self._reader.every_job()
        if self._reader.kept is not None and not before.keys() >= known.keys():
            self._reader.kept.note_jobs({**before, **known})

    @property
    def root(self) -> str:
        """Its folder, for people's eyes; of a bare repository the repository itself."""
        return str(self._root or self.git_dir)

    @property
    def bare(self) -> bool:
        """Whether it has no working folder."""
        return self._root is None

    @cached_property
    def config(self) -> Mapping[str, str]:
        """Settings of git in force here, names in lower case (except their middle part), the last value of each."""
        out = self.git.run("config", "-z", "--list")
        rows = (row.partition(b"\n") for row in out.split(b"\0") if row)
        return {path_text(name): path_text(value) for name, _, value in rows}

    @cached_property
    def signing(self) -> "Signing":
        """What signs the records and release tags made here."""
        from tracker.store.signing import Signing

        return Signing(lambda: self.config)

    def shop_before(self, commit: str | None) -> "Shop | None":
        """The shop.toml whoever writes behind ``commit`` is judged by; None where there is none yet."""
        tree = self._tree_of(commit)
        return tree.shop() if SHOP in tree.entries else None

    def head(self) -> Head:
        """Where it stands."""
        branch = self._branch()
        name = f"refs/heads/{branch}" if branch is not None else "HEAD"
        loose = self._loose(name) if branch is not None else None
        if loose is not None:
            return Head(commit=loose, branch=branch)
        status, out, said = self.git.attempt("rev-parse", "--verify", "--quiet", f"{name}^{{commit}}")
        if status not in (0, 1):
            raise GitFailedError(("rev-parse",), status, said)
        return Head(commit=out.decode("ascii").strip() or None, branch=branch)

    def tree(self, commit: str | None = None) -> CommitTree:
        """The files of a commit; None: of HEAD (an empty tree when there is no commit yet)."""
        return self._tree_of(commit if commit is not None else self.head().commit)

    def work_tree(self) -> WorkTree:
        """The files in the working folder; raises CouldNot (``no-work-folder``) for a bare repository."""
        return WorkTree(self.git, self._folder, self._seen)

    def ledger(self, commit: str | None = None) -> Ledger:
        """All records and the history: in hand = those of ``commit`` (None: HEAD), others from every ref.

        Raises CouldNot: ``shallow``, ``partial``, ``grafted``, ``damaged``, ``no-shop``.
        """
        return self._ledger_of(commit if commit is not None else self.head().commit)

    def release_numbers(self, job: str) -> Sequence[int]:
        """Release numbers of a job used anywhere: records of every ref and tags, in order."""
        records = (stored.record for stored in self.ledger().records)
        found = {
            record.number
            for record in records
            if isinstance(record, ReleaseRecord) and (record.job or "").lower() == job.lower()
        }
        for ref in self.refs():
            parts = ref.name.removeprefix(RELEASES).split("/")
            if ref.name.startswith(RELEASES) and len(parts) == 2 and parts[0].lower() == job.lower():
                found |= {int(parts[1])} if parts[1].isascii() and parts[1].isdigit() else set()
        return sorted(found)

    def uncommitted(self, paths: Sequence[str]) -> Sequence[str]:
        """Which of ``paths`` differ between working folder, index and HEAD (untracked and unmerged ones too)."""
        committed = self.tree().all_entries
        staged = index_entries(self.git, paths, unmerged=True)
        found: list[str] = []
        for path in paths:
            data = read_file(self._folder, path)
            here = object_id("blob", data, like=self.git.zero) if data is not None else None
            in_index = staged[path].blob if path in staged else None
            in_head = committed[path].blob if path in committed else None
            if not here == in_index == in_head:
                found.append(path)
        return found

    def encode(self, record: AnyRecord) -> bytes:
        """The bytes of a record's file."""
        from tracker.store.toml_files import dump_record

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
        """One commit on the branch in hand; returns its id. See `tracker.store.commit` for what is promised.

        Records in it are signed first (`tracker.store.signing`); their signatures lie beside them. A share that was cut
        short is settled before (`settle`); raises Refused (``share-cut-short``) where that cannot be and it touched one of these paths.
        """
        self.settle({*from_work_tree, *removed, *(file.path for file in files)})
        base = (expect or self.head()).commit
        plan = Plan(
            files=self.signing.with_signatures(files, author, lambda: self.shop_before(base)),
            from_work_tree=from_work_tree,
            removed=removed,
            message=message,
            author=author,
            at=at,
            expect=expect,
        )
        return commits.check_in(self._place(), plan)

    def tidy_up(self) -> None:
        """Take back what a killed check-in left behind; every `commit` does it first."""
        commits.tidy_up(self._place())

    def tag(self, name: str, *, commit: str, message: str, tagger: Person, at: datetime) -> str:
        """Annotated tag ``refs/tags/<name>``; raises Refused (``tag-exists``, ``gate-closed``).

        Whoever calls this for a release has just derived it; the hook is told so. What a killed check-in left behind is
        taken back first: a release that is taken up again makes no commit that would do it.
        """
        self.tidy_up()

        def made(ref: str, tag_id: str) -> None:
            remember(str(self.common_dir), ref, tag_id)

        sign = self.tag_signer(commit, tagger)
        journal = Journal.begin(self.git_dir, {})  # held as long as the git that makes the tag
        try:
            holding = frozen.replace(self.git, holding=journal.held)
            return make_tag(
                holding, name, commit=commit, message=message, tagger=tagger, at=at, made=made, sign=sign
            )
        finally:
            journal.done()

    def tag_signer(self, commit: str, tagger: Person) -> Callable[[bytes], bytes]:
        """What signs the text of a tag on ``commit``.

        Which keys count says the shop.toml there where it asks for signatures, since every clone judges the tag by it;
        else today's, by which a server takes it in.
        """

        def signature(payload: bytes) -> bytes:
            there, today = self.shop_before(commit), self.shop_before(self.head().commit)
            shop = there if needs_signature(there) else today
            return self.signing.tag_signature(payload, tagger, shop)

        return signature

    def path_history(self, path: str, commit: str | None = None) -> Sequence[str]:
        """Commits that changed ``path``, newest first."""
        at = commit if commit is not None else self.head().commit
        if at is None:
            return ()
        out = self.git.run("--literal-pathspecs", "rev-list", "--topo-order", at, "--", path_bytes(path))
        return tuple(out.decode("ascii").split())

    @property
    def _folder(self) -> Path:
        if self._root is None:
            raise CouldNot(
                "no-work-folder",
                "this repository is bare: it has no working folder",
                where=str(self.git_dir),
                fix="work in a clone of it: git clone",
            )
        return self._root

    def _loose(self, ref: str) -> str | None:
        """The id in the file of a reference; None where git keeps it elsewhere (packed, or another format)."""
        try:
            text = (self.common_dir / ref).read_bytes().decode("ascii").strip()
        except (OSError, ValueError):
            return None
        return text if len(text) == self.git.id_length and set(text) <= set(hexdigits) else None

    def _branch(self) -> str | None:
        """The branch in hand; read from the file, which git too keeps for every format of references."""
        try:
            text = (self.git_dir / "HEAD").read_bytes().decode("utf-8", "surrogateescape").strip()
        except PermissionError as fault:
            raise CouldNot(
                "no-permission",
                "you have no permission to read the repository",
                where=str(self.git_dir / "HEAD"),
                fix="ask the owner of the folder for the right to read and write it",
            ) from fault
        except OSError as fault:
            raise CouldNot(
                "damaged",
                "the repository has no HEAD",
                where=str(self.git_dir),
                fix="do not work on; take a fresh clone, or the backup",
            ) from fault
        if text.startswith("ref:") and text != "ref: refs/heads/.invalid":
            return text.removeprefix("ref:").strip().removeprefix("refs/heads/")
        status, out, _ = self.git.attempt("symbolic-ref", "--quiet", "HEAD")
        return path_text(out).strip().removeprefix("refs/heads/") if status == 0 else None

    def _place(self) -> commits.Place:
        return commits.Place(
            git=self.git,
            git_dir=self.git_dir,
            work=self.work_tree(),
            head=self.head,
            tree=self._tree_of,
            step=self.step,
        )
