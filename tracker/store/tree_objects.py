"""Trees of git read by ourselves: a path is looked up along its folders, and what two states share is read once.

A shop of thousands of releases has as many states, which differ in a handful of folders each. Listing a whole state
anew for every one of them took most of the time of ``status`` and ``audit``.
"""

from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence

from tracker.frozen import dataclass
from tracker.patterns import lazy_pattern
from tracker.records.job import Job
from tracker.records.shop import Shop
from tracker.store.git import path_bytes, path_text
from tracker.store.objects import GitObject, Objects, damaged
from tracker.typed import Protocol

_TREES_KEPT = 2048
_LISTINGS_KEPT = 4
_ROWS_KEPT = 200_000
# listings of folders this deep (``jobs/4471``) are kept: few of them differ from one state to the next
_SHARED_DEPTH = 2
_MANY_BYTES = 1 << 13
_CUT = {
    20: lazy_pattern(rb"(?s)[^ ]* [^\0]*\0.{20}"),
    32: lazy_pattern(rb"(?s)[^ ]* [^\0]*\0.{32}"),
}
"""Rows one behind the other, by the bytes of an id; what is left over between them is no row."""
_ROWS = {
    20: lazy_pattern(rb"(?s)(?:[^ ]* [^\0]*\0.{20})*+"),
    32: lazy_pattern(rb"(?s)(?:[^ ]* [^\0]*\0.{32})*+"),
}
"""Nothing but whole rows."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A file in a tree or in the index: mode and blob id."""

    mode: str
    blob: str


Rows = Mapping[str, Entry]
Place = tuple[str, str]


class KeepsListings(Protocol):
    """Listings of states, by their roots, from one call to the next."""

    def get(self, root: str) -> Rows | None:
        """The listing of a root; None where it has to be made."""

    def put(self, root: str, rows: Rows) -> None:
        """Keep the listing of a root."""


class TreeObjects:
    """The trees of one repository, by their ids; nothing here ever changes, so it may be kept.

    ``sound``: (blob, path) of every shop.toml and job.toml that is known to be without a mistake. ``digests``: the SHA-256
    of blobs that were read and hashed here. ``kept``: listings of before, for verbs that look at the index of the clone.
    """

    def __init__(self, objects: Objects, *, id_length: int) -> None:
        """Args: objects: reads and hashes them. id_length: of the ids of this repository, 40 or 64."""
        self.objects = objects
        self.jobs: dict[tuple[str, str], Job] = {}
        self.shops: dict[str, Shop] = {}
        self.sound: set[tuple[str, str]] = set()
        self.digests: dict[str, str] = {}
        self.kept: KeepsListings | None = None
        self._id_bytes = id_length // 2
        self._roots: dict[str, str] = {}
        self._rows: OrderedDict[str, Rows] = OrderedDict()
        self._glanced: dict[str, tuple[str, Entry]] = {}
        self._row_of: dict[bytes, tuple[str, Entry]] = {}
        self._shared: dict[Place, Rows] = {}
        self._listings: OrderedDict[str, Rows] = OrderedDict()

    def folder(self, commit: str, folder: str) -> Rows:
        """What lies straight in a folder of a state, looked up folder by folder; nothing where there is none."""
        here = self._root(commit)
        for name in folder.split("/") if folder else ():
            found = self._row(here, name)
            if found is None or not is_tree(found):
                return {}
            here = found.blob
        return self._tree(here)

    def look_ahead(self, places: Iterable[Place]) -> list[str]:
        """Read the folders (commit, path) names, and all that leads to them, a level of all of them at a time.

        Returns the ids of those that are files. Raises CouldNot (``damaged``), as looking them up one by one would.
        """
        files: dict[str, None] = {}
        wanted = list(dict.fromkeys(places))
        commits = dict.fromkeys(commit for commit, _ in wanted if commit not in self._roots)
        for commit, found in self.objects.read(commits).items():
            self._roots[commit] = _root_in(commit, found)
        here = [(self._roots[commit], folder.split("/") if folder else []) for commit, folder in wanted]
        while here:
            new = dict.fromkeys(tree for tree, way in here if not self._is_known(tree, way[:1]))
            read = self.objects.read(new)
            for tree, way in here:
                if tree in read and way and not self._is_known(tree, way[:1]):
                    self._row_in(tree, way[0], read[tree])
                elif tree in read and tree not in self._rows and not way:
                    self._take_in(tree, read[tree])
            rows = [(self._row(tree, way[0]), way[1:]) for tree, way in here if way]
            files |= dict.fromkeys(row.blob for row, _ in rows if row is not None and row.mode[:2] == "10")
            here = [(row.blob, way) for row, way in rows if row is not None and is_tree(row)]
        return list(files)

    def _is_known(self, tree: str, way: Sequence[str]) -> bool:
        """Whether the next step on a way needs no reading."""
        return tree in self._rows or (bool(way) and self._glanced.get(tree, ("",))[0] == way[0])

    def _row(self, tree: str, name: str) -> Entry | None:
        """One row of a tree: of a long one nothing else is read, until it is asked for another."""
        if tree in self._rows:
            return self._rows[tree].get(name)
        if tree in self._glanced:
            known, found = self._glanced[tree]
            return found if known == name else self._tree(tree).get(name)
        return self._row_in(tree, name, self.objects.read([tree])[tree])

    def _row_in(self, tree: str, name: str, read: GitObject) -> Entry | None:
        """The same of one that was just read."""
        if read.kind == "tree" and len(read.data) >= _MANY_BYTES:
            row = self._picked(read.data, path_bytes(name))
            if row is not None:
                self._glanced[tree] = (name, row)
                return row
        return self._take_in(tree, read).get(name)

    def _picked(self, data: bytes, name: bytes) -> Entry | None:
        """The row of a name in a list of files; None where it is not found at a place where a row begins."""
        rows, needle = _ROWS[self._id_bytes], b" " + name + b"\0"
        at = data.find(needle)
        while at >= 0:
            end = at + len(needle) + self._id_bytes
            for begin in (at - 5, at - 6):  # 40000 is written with five digits, any other mode with six
                if begin >= 0 and end <= len(data) and rows.fullmatch(data, 0, begin):
                    return self._row_read(data[begin:end])[1]
            at = data.find(needle, at + 1)
        return None

    def listing(self, commit: str) -> Rows:
        """Everything in a state by path: files, links, submodules."""
        root = self._root(commit)
        if root not in self._listings:
            self._listings[root] = self._kept_or_listed(root)
            if len(self._listings) > _LISTINGS_KEPT:
                self._listings.popitem(last=False)
        return self._listings[root]

    def listed(self, commit: str) -> Rows | None:
        """The same, if it was asked for lately."""
        root = self._roots.get(commit)
        return self._listings.get(root) if root is not None else None

    def _kept_or_listed(self, root: str) -> Rows:
        if self.kept is None:
            return self._list(root)
        found = self.kept.get(root)
        if found is None:
            found = self._list(root)
            self.kept.put(root, found)
        return found

    def _root(self, commit: str) -> str:
        if commit not in self._roots:
            self._roots[commit] = _root_in(commit, self.objects.read([commit])[commit])
        return self._roots[commit]

    def _list(self, root: str) -> Rows:
        found: dict[str, Entry] = {}
        level: list[Place] = [("", root)]
        for _ in range(_SHARED_DEPTH):
            level = self._next_level(level, found)
        missing = [place for place in level if place not in self._shared]
        self._shared.update(self._below(missing))
        for place in level:
            found.update(self._shared[place])
        return found

    def _below(self, places: Sequence[Place]) -> Mapping[Place, Rows]:
        """What each of these folders holds at any depth; folders of all of them are read level by level."""
        held: dict[Place, dict[str, Entry]] = {place: {} for place in places}
        owned = [(place, [place]) for place in places]
        while owned:
            self._trees(tree for _, level in owned for _, tree in level)
            deeper = [(place, self._next_level(level, held[place])) for place, level in owned]
            owned = [(place, level) for place, level in deeper if level]
        return held

    def _next_level(self, level: Sequence[Place], found: dict[str, Entry]) -> list[Place]:
        """Put the files of these folders into ``found``; their folders are the answer."""
        trees = self._trees(tree for _, tree in level)
        below: list[Place] = []
        for prefix, tree in level:
            for name, entry in trees[tree].items():
                if is_tree(entry):
                    below.append((f"{prefix}{name}/", entry.blob))
                else:
                    found[prefix + name] = entry
        return below

    def _tree(self, tree: str) -> Rows:
        return self._rows[tree] if tree in self._rows else self._trees([tree])[tree]

    def _trees(self, ids: Iterable[str]) -> Mapping[str, Rows]:
        """The rows of these trees, those not known yet read in one go."""
        wanted = list(dict.fromkeys(ids))
        new = [one for one in wanted if one not in self._rows]
        found = {one: self._rows[one] for one in wanted if one in self._rows}
        for one, read in self.objects.read(new).items():
            found[one] = self._take_in(one, read)
        return found

    def _take_in(self, tree: str, read: GitObject) -> Rows:
        if read.kind != "tree":
            raise damaged(f"object {tree} is no folder")
        rows = self._rows[tree] = self._parsed(tree, read.data)
        while len(self._rows) > _TREES_KEPT:
            self._rows.popitem(last=False)
        return rows

    def _parsed(self, tree: str, data: bytes) -> Rows:
        """The rows of a tree: mode, blank, name, NUL, the bytes of an id."""
        rows: dict[str, Entry] = {}
        known = self._row_of
        cut = self._cut(data) if len(data) < _MANY_BYTES else _CUT[self._id_bytes].findall(data)
        if sum(map(len, cut)) != len(data):
            raise damaged(f"object {tree} is no list of files")
        for row in cut:
            # one state of a folder differs from the next in a row or two: the others are known by their bytes
            found = known.get(row)
            if found is None:
                found = known[row] = self._row_read(row)
            rows[found[0]] = found[1]
        if len(known) > _ROWS_KEPT:
            known.clear()
        return rows

    def _cut(self, data: bytes) -> list[bytes]:
        """The rows of a list of files, as far as they are rows; short lists are not worth loading patterns for."""
        cut: list[bytes] = []
        at = 0
        while at < len(data):
            blank = data.find(b" ", at)
            end = data.find(b"\0", blank) + 1
            if blank < 0 or end == 0 or end + self._id_bytes > len(data):
                break
            cut.append(data[at : end + self._id_bytes])
            at = end + self._id_bytes
        return cut

    def _row_read(self, row: bytes) -> tuple[str, Entry]:
        mode, _, rest = row.partition(b" ")
        name, raw = rest[: -self._id_bytes - 1], rest[-self._id_bytes :]
        return path_text(name), Entry(mode.decode("latin-1").rjust(6, "0"), raw.hex())


def _root_in(commit: str, found: GitObject) -> str:
    words = found.data.split(b"\n", 1)[0].split()
    if found.kind != "commit" or len(words) != 2 or words[0] != b"tree":
        raise damaged(f"object {commit} is no state of the shop")
    return words[1].decode("ascii", "replace")


def is_tree(entry: Entry) -> bool:
    """Whether the entry is a folder."""
    return entry.mode.startswith("04")
