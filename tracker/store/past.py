"""The history that was there before anything was recorded (`tracker.services.ports_past.Past`).

One ``git log`` for what the commits say, one ``diff-tree --stdin`` for what each changed beside each of its parents.
Only here git is asked for renames: nothing rests on them but which old text is shown under which program.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from string import hexdigits

from tracker.services.ports_past import PastChange, PastCommit
from tracker.services.ports_push import Claims
from tracker.store.clone import Clone
from tracker.store.git import Git, path_text
from tracker.store.objects import object_id

_LOG = (
    "log",
    "--topo-order",
    "--reverse",
    "--encoding=UTF-8",
    "--no-show-signature",
    "--no-mailmap",
    "-z",
    "--format=%H%x01%P%x01%at%x01%an%x01%ae%x01%s",
)
_DIFF = (
    "diff-tree",
    "--stdin",
    "-r",
    "--raw",
    "-z",
    "--root",
    "-M",
    "--no-abbrev",
    "--always",
    "-O/dev/null",
    "--ignore-submodules=all",
)
_MOST = 200
"""Characters of a subject or a name that are kept."""
_FILES = ("100644", "100755")


class ClonePast:
    """The past of one clone."""

    def __init__(self, clone: Clone) -> None:
        self._clone = clone
        self._by_blob: dict[str | None, dict[str, list[str]]] = {}

    def commits(self) -> Sequence[PastCommit]:
        """All commits the branch leads to, parents first."""
        tip = self._clone.head().commit
        if tip is None:
            return ()
        rows = self._clone.git.run(*_LOG, tip).split(b"\0")
        heads = [row.strip(b"\n").split(b"\x01", 5) for row in rows if row.strip()]
        asked = [(one[0], parent) for one in heads for parent in (one[1].split() or (b"",))]
        changes = _changes(self._clone.git.run(*_DIFF, stdin=b"".join(b"%s %s\n" % two for two in asked)))
        return [_commit(one, [next(changes) for _ in one[1].split() or (b"",)]) for one in heads]

    def blob_id(self, data: bytes) -> str:
        """The id git gives these bytes."""
        return object_id("blob", data, like=self._clone.git.zero)

    def places(self, commit: str | None, blob: str) -> Sequence[str]:
        """Where a state holds exactly these bytes."""
        if commit not in self._by_blob:
            found: dict[str, list[str]] = {}
            for path, entry in self._clone.tree(commit).all_entries.items():
                found.setdefault(entry.blob, []).append(path)
            self._by_blob = {commit: found}  # asked for one state after the other
        return sorted(self._by_blob[commit].get(blob, ()))

    def read(self, blob: str) -> bytes:
        """The bytes of a file, hashed again."""
        return self._clone.objects.blob(blob)


def claims(git: Git, commit: str) -> Claims | None:
    """What one commit says of who wrote it and when; None where there is no such commit."""
    if len(commit) != git.id_length or set(commit) - set(hexdigits):
        return None
    status, out, _ = git.attempt(*_LOG, "--no-walk", "--end-of-options", f"{commit}^{{commit}}")
    if status != 0:
        return None
    row = _commit(out.strip(b"\0\n").split(b"\x01", 5), ())
    return Claims(author=row.author, email=row.email, authored=row.authored)


def _commit(row: Sequence[bytes], changes: Sequence[tuple[PastChange, ...]]) -> PastCommit:
    commit, parents, authored, author, email, subject = row
    return PastCommit(
        commit=commit.decode("ascii"),
        parents=tuple(parents.decode("ascii").split()),
        authored=_moment(authored),
        author=_plain(author),
        email=_plain(email),
        subject=_plain(subject),
        changes=tuple(changes),
    )


def _changes(out: bytes) -> Iterator[tuple[PastChange, ...]]:
    """What each line that was asked for changed, in the order asked."""
    cells = iter(out.split(b"\0"))
    found: list[PastChange] | None = None
    for cell in cells:
        text = cell.lstrip(b"\n")
        if text.startswith(b":"):
            _, mode, _, blob, status = text[1:].decode("ascii").split()
            letter, first = status[0], path_text(next(cells))
            path = path_text(next(cells)) if letter in "RC" else first
            if mode not in _FILES:  # gone, or a link in its place: no text there any more
                letter = "D"
            found = found if found is not None else []
            found.append(
                PastChange(status=letter, path=path, blob=blob, old=first if letter in "RC" else None)
            )
        elif text:
            if found is not None:
                yield tuple(found)
            found = []
    yield tuple(found or ())


def _moment(seconds: bytes) -> datetime | None:
    try:
        return datetime.fromtimestamp(int(seconds), UTC)
    except (ValueError, OverflowError, OSError):
        return None


def _plain(raw: bytes) -> str:
    """A claim on one line, with nothing in it that is no letter for a screen or a TOML file."""
    text = " ".join(raw.decode("utf-8", "replace").split())
    return "".join(mark if mark.isprintable() else "?" for mark in text)[:_MOST]
