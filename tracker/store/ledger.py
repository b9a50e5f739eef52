"""The ledger: every record any branch or tag ever held, with the commit that brought it in.

What counts is what was *ever* recorded: a record that a commit took away or changed is still in the ledger as it
was (``in_hand`` false), so taking it out of the tree does not undo a rejection or a hold. The tree decided about
says which are in hand, and those bytes come from its own blobs.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import partial

from tracker.digest import sha256_of
from tracker.errors import ProveoutError
from tracker.frozen import dataclass
from tracker.records.events import AnyRecord
from tracker.records.places import SHOP, is_record
from tracker.records.shop import Shop
from tracker.records.stored import Ledger, ShopVersion, Stored, Unreadable
from tracker.store.history import Change, History
from tracker.store.sealed import Sealed, Seals
from tracker.store.tree import CommitTree
from tracker.store.tree_objects import TreeObjects

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.store.kept_reads import KeptRecords


_MANY = 6000
"""Records that are worth being parsed in several processes."""
_LOT = 400


@dataclass(frozen=True, slots=True)
class _Read:
    """The bytes of a record file: their SHA-256, and the record or what is wrong with it."""

    sha256: str
    record: AnyRecord | None
    why: str = ""


class RecordReader:
    """Reads record blobs in bulk and remembers them: a blob never changes, so it is parsed once.

    Where only one job is asked about, records that are known to be another's (`jobs`: blob id -> number in lower case)
    are fetched and hashed like all, and not parsed. ``kept``: records of before, for verbs that look at the index.
    ``taken_apart``: records by the SHA-256 of their bytes, of those parsed here alone, none out of the index.
    """

    def __init__(self, trees: TreeObjects) -> None:
        """Args: trees: reads objects, and keeps what is known of blobs of shop.toml by now."""
        self.objects = trees.objects
        self.seals = Seals(trees.objects)
        self._good_shops = trees.shops
        self._sound = trees.sound
        self._digests = trees.digests
        self.jobs: dict[str, str] = {}
        self.kept: KeptRecords | None = None
        self.taken_apart: dict[str, AnyRecord] = {}
        self._read: dict[str, _Read] = {}
        self._shops: dict[str, Shop | None] = {}

    def fetch(self, records: Mapping[str, str], shops: Sequence[str], job: str | None = None) -> None:
        """Read these record blobs (id -> a path for messages) and blobs of shop.toml in one go."""
        wanted = [blob for blob in records if blob not in self._read]
        if self.kept is not None:
            wanted = self._not_kept(wanted, job)
        wanted_shops = [blob for blob in shops if blob not in self._shops]
        if len(wanted) >= _MANY and job is None:
            from tracker.store.processes import in_processes  # the local hook reads few

            lots = [wanted[start : start + _LOT] for start in range(0, len(wanted), _LOT)]
            tasks = [partial(self._parsed, lot, records) for lot in lots]
            for place, parsed in in_processes(tasks, self.objects.apart):
                self._take_in(lots[place], parsed)
        else:
            own = [blob for blob in wanted if job is None or self.jobs.get(blob, job) == job]
            self.objects.read([*wanted, *wanted_shops])
            self._take_in(own, self._parsed(own, records))
        found = self.objects.read(wanted_shops)
        for blob in wanted_shops:
            sound = (blob, SHOP) in self._sound
            shop = self._good_shops.get(blob) or _parse_shop(found[blob].data, sound=sound)
            self._shops[blob] = shop
            if shop is not None:
                self._good_shops[blob] = shop
                self._sound.add((blob, SHOP))
        if self.kept is not None:
            self.kept.note()

    def _parsed(self, blobs: Sequence[str], records: Mapping[str, str]) -> "list[tuple[_Read, bytes | None]]":
        """These records, each with what the index is to keep of it."""
        found = self.objects.read(blobs)
        return [_parse(found[blob].data, records[blob], keep=self.kept is not None) for blob in blobs]

    def _take_in(self, blobs: Sequence[str], parsed: "Sequence[tuple[_Read, bytes | None]]") -> None:
        for blob, (read, kept) in zip(blobs, parsed, strict=True):
            self._read[blob] = read
            self._digests[blob] = read.sha256
            if read.record is not None:
                self.taken_apart[read.sha256] = read.record
            if kept is not None and self.kept is not None:
                self.kept.learn(blob, kept)

    def _not_kept(self, wanted: Sequence[str], job: str | None) -> list[str]:
        """Take over what is kept of these records; what is another job's is not even looked up."""
        own = [blob for blob in wanted if job is None or self.jobs.get(blob, job) == job]
        known = self.kept.read(own) if self.kept is not None else {}
        self._read.update((blob, _Read(*one)) for blob, one in known.items())
        return [blob for blob in own if blob not in known]

    def record(self, blob: str) -> _Read | None:
        """What `fetch` read from this blob; None where it is another job's and was not asked about."""
        return self._read.get(blob)

    def jobs_read(self) -> dict[str, str]:
        """The job of every record known to be of one, those parsed by now and those known before."""
        read = {blob: one.record.job for blob, one in self._read.items() if one.record is not None}
        return self.jobs | {blob: job.casefold() for blob, job in read.items() if job is not None}

    def every_job(self) -> dict[str, str]:
        """The job, in lower case, of every record read by now, empty for one that is of no job."""
        return {
            blob: (one.record.job or "").casefold()
            for blob, one in self._read.items()
            if one.record is not None
        }

    def shop(self, blob: str) -> Shop | None:
        """The shop in this blob, or None where it cannot be read."""
        return self._shops[blob]


def build_ledger(
    tree: CommitTree, history: History, reader: RecordReader, *, job: str | None = None
) -> Ledger:
    """The ledger for a decision about ``tree``, or the part of it for one job (with what is of no job); raises CouldNot (``no-shop``) or BadCall for its shop.toml."""
    wanted = None if job is None else job.casefold()
    if reader.kept is not None and wanted is not None:
        brought, in_hand = _brought_in_of(tree, history, reader.jobs, wanted)
    else:
        in_hand = {path: entry.blob for path, entry in tree.entries.items() if is_record(path)}
        brought = _brought_in(tree.commit, history.changes, history, in_hand)
    versions = _shop_versions(tree.commit, history)
    reader.fetch({blob: path for path, blob in brought}, [change.blob for change in versions], wanted)
    stored: list[Stored] = []
    unreadable: list[Unreadable] = []
    for (path, blob), commit in brought.items():
        read = reader.record(blob)
        if read is None:
            continue
        if read.record is None:
            # a damaged version that was put right again counts for audit, not against every later decision
            if in_hand.get(path, blob) == blob:
                unreadable.append(Unreadable(path=path, why=read.why))
            continue
        stored.append(
            Stored(
                record=read.record,
                path=path,
                sha256=read.sha256,
                commit=commit,
                order=history.commits[commit].order,
                in_hand=in_hand.get(path) == blob,
            )
        )
    return Ledger(
        shop=tree.shop(),
        records=tuple(sorted(stored, key=lambda each: (each.order, each.record.entered, each.path))),
        shops=_read_versions(versions, history, reader),
        unreadable=tuple(sorted(unreadable, key=lambda each: each.path)),
        descends=history.descends,
        sealed=Sealed(history, reader.seals),
    )


def _brought_in_of(
    tree: CommitTree, history: History, jobs: Mapping[str, str], job: str
) -> tuple[dict[tuple[str, str], str], dict[str, str]]:
    """`_brought_in`, and what is in hand, of all but records known to be another job's: the tree need not be listed.

    Every record of the tree was brought in by a commit of the history, so that none is missed.
    """
    changes = list(history.changes_of(lambda _, blob: jobs.get(blob, job) == job))
    paths = dict.fromkeys(change.path for change in changes if is_record(change.path))
    found = ((path, tree.blob_of(path)) for path in paths)
    in_hand = {path: blob for path, blob in found if blob is not None}
    return _brought_in(tree.commit, changes, history, in_hand), in_hand


def _brought_in(
    commit: str | None, changes: Iterable[Change], history: History, in_hand: Mapping[str, str]
) -> dict[tuple[str, str], str]:
    """Every (path, blob) a record ever had, and the first commit that brought it in.

    Where two branches brought in the same file apart from each other, a commit the tree in hand descends from is
    preferred: "later" is about its own history.
    """
    found: dict[tuple[str, str], str] = {}
    for change in changes:
        if change.status == "D" or not is_record(change.path) or not change.mode.startswith("100"):
            continue
        key = (change.path, change.blob)
        known = found.get(key)
        if known is None or (
            in_hand.get(change.path) == change.blob
            and commit is not None
            and not history.descends(commit, known)
            and history.descends(commit, change.commit)
        ):
            found[key] = change.commit
    if commit is not None:
        for key in in_hand.items():
            found.setdefault(key, commit)
    return found


def _shop_versions(commit: str | None, history: History) -> list[Change]:
    """The changes of shop.toml the tree in hand descends from, in order."""
    return [
        change
        for change in history.changes_of(lambda path, _: path == SHOP)
        if change.status != "D"
        and change.mode.startswith("100")
        and commit is not None
        and history.descends(commit, change.commit)
    ]


def _read_versions(
    versions: Sequence[Change], history: History, reader: RecordReader
) -> tuple[ShopVersion, ...]:
    """Those that can be read: nobody could act under a shop.toml that was broken."""
    found: list[ShopVersion] = []
    for change in versions:
        shop = reader.shop(change.blob)
        if shop is not None:
            walked = history.commits[change.commit]
            found.append(
                ShopVersion(shop=shop, commit=change.commit, order=walked.order, committed=walked.committed)
            )
    return tuple(found)


def _parse(data: bytes, path: str, *, keep: bool) -> tuple[_Read, bytes | None]:
    from tracker.store.toml_files import record_mapping, record_of

    digest = sha256_of(data)
    try:
        mapping = record_mapping(data, path)
        read = _Read(digest, record_of(mapping, path))
    except ProveoutError as error:
        return _Read(digest, None, "; ".join([error.what, *error.reasons])), None
    if not keep:
        return read, None
    from tracker.store.kept_reads import kept_record

    return read, kept_record(digest, mapping)


def _parse_shop(data: bytes, *, sound: bool) -> Shop | None:
    from tracker.store.toml_files import load_shop

    try:
        return load_shop(data, SHOP, sound=sound)
    except ProveoutError:
        return None
