"""Records and listings of states kept from one call to the next, by the ids of what they were read from."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence

from tracker.errors import ProveoutError
from tracker.records.decode import from_mapping
from tracker.records.events import AnyRecord
from tracker.store.git import Git, path_text
from tracker.store.kept import Kept
from tracker.store.tree import CommitTree
from tracker.store.tree_objects import Entry, Rows

_RECORD, _JOBS, _LISTING = "record", "jobs", "listing"
_ALL, _LAST = "all", "last"
_DIFF = ("diff-tree", "-r", "-z", "--raw", "--no-renames", "--no-abbrev", "--ignore-submodules=none")


class KeptRecords:
    """Records by the ids of their files; one that cannot be read is never kept."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept
        self._new: dict[str, bytes] = {}

    def read(self, blobs: Iterable[str]) -> dict[str, tuple[str, AnyRecord]]:
        """The SHA-256 of the bytes and the record of every file that is kept."""
        found: dict[str, tuple[str, AnyRecord]] = {}
        for blob, raw in self._kept.get(_RECORD, blobs).items():
            try:
                digest, mapping = json.loads(raw)
                found[blob] = (str(digest), from_mapping(mapping))
            except (ValueError, TypeError, ProveoutError):
                continue
        return found

    def learn(self, blob: str, row: bytes) -> None:
        """A record that was read now, as `kept_record` has it; `note` keeps all of them."""
        self._new[blob] = row

    def note(self) -> None:
        """Keep what was learnt."""
        new, self._new = self._new, {}
        if new:
            self._kept.put(_RECORD, new)

    def jobs(self) -> dict[str, str]:
        """The job, in lower case, of every record read by now; empty for one that is of no job."""
        raw = self._kept.one(_JOBS, _ALL)
        try:
            said = json.loads(raw) if raw is not None else {}
        except ValueError:
            return {}
        return {str(blob): str(job) for blob, job in said.items()} if isinstance(said, dict) else {}

    def note_jobs(self, jobs: Mapping[str, str]) -> None:
        """Keep them."""
        self._kept.put(_JOBS, {_ALL: json.dumps(jobs, separators=(",", ":")).encode("ascii")})


def kept_record(sha256: str, mapping: Mapping[str, object]) -> bytes | None:
    """What is kept of a record; None for one that cannot be, and is read anew each time."""
    try:
        return json.dumps([sha256, mapping], separators=(",", ":")).encode("ascii")
    except (TypeError, ValueError):  # a date in a key this version does not know
        return None


class KeptListings:
    """Everything in a state by path; of one state, from which git tells the way to another."""

    def __init__(self, git: Git, kept: Kept) -> None:
        self._git = git
        self._kept = kept

    def get(self, root: str) -> Rows | None:
        """The listing of a root; None where it has to be made."""
        raw = self._kept.one(_LISTING, _LAST)
        try:
            said = json.loads(raw) if raw is not None else None
            if said is None:
                return None
            rows = {path: Entry(row[:6], row[7:]) for path, row in said["rows"].items()}
            before = str(said["root"])
        except (ValueError, TypeError, KeyError, AttributeError):
            return None
        if before == root:
            return rows
        changed = self._changed(before, root)
        if changed is None:
            return None
        for path, entry in changed.items():
            if entry is None:
                rows.pop(path, None)
            else:
                rows[path] = entry
        self.put(root, rows)
        return rows

    def put(self, root: str, rows: Rows) -> None:
        """Keep the listing of a root."""
        said = {"root": root, "rows": {path: f"{one.mode} {one.blob}" for path, one in rows.items()}}
        self._kept.put(_LISTING, {_LAST: json.dumps(said, separators=(",", ":")).encode("ascii")}, alone=True)

    def _changed(self, before: str, root: str) -> Mapping[str, Entry | None] | None:
        """What lies otherwise below another root, None for what is gone; None where git cannot tell."""
        status, out, _ = self._git.attempt(*_DIFF, before, root)
        if status != 0:
            return None
        found: dict[str, Entry | None] = {}
        cells = iter(out.split(b"\0"))
        for cell in cells:
            if not cell.startswith(b":"):
                continue
            _, mode, _, blob, _ = cell.decode("ascii").split()
            found[path_text(next(cells))] = Entry(mode, blob) if int(mode, 8) else None
        return found


class Answers:
    """Answers of use cases (`tracker.services.ports_kept.KeptAnswers`), kinds apart from those of what was read."""

    def __init__(self, kept: Kept, state: Callable[[], str], tree: Callable[[], CommitTree]) -> None:
        self._kept = kept
        self._state = state
        self._tree = tree

    def state(self) -> str:
        """A name for all references and for where the clone stands."""
        return self._state()

    def files_below(self, folder: str) -> Mapping[str, Sequence[str]]:
        """Every folder straight below one, as it was committed last -> a line for each file below it."""
        return self._tree().files_below(folder)

    def get(self, kind: str, keys: Iterable[str]) -> Mapping[str, bytes]:
        """What is kept under these keys."""
        return self._kept.get(f"answer {kind}", keys)

    def put(self, kind: str, rows: Mapping[str, bytes], *, alone: bool = False) -> None:
        """Keep these; ``alone``: and nothing else of this kind."""
        self._kept.put(f"answer {kind}", rows, alone=alone)
