"""What the files of a push may be: names every PC can hold, plain files, of a size, bytes left alone. Pure.

=================== ==================================================================================================
rule                what it holds
=================== ==================================================================================================
bad-name            no new name that Windows, macOS or a stick refuses, or takes for another
link                no links and no submodules: they lead outside
too-large           no file, and no record, over its limit
bytes-altered       .gitattributes brings no rule that changes the bytes of programs, and keeps `* -text`
=================== ==================================================================================================
"""

from collections.abc import Collection, Iterator, Mapping, Sequence

from tracker.policy.push import Breach, NewCommit
from tracker.records.places import is_below_records
from tracker.services.path_lint import lint_paths

PLAIN = ("100644", "100755", "100664")
RECORD_LIMIT = 4 << 20
FILE_LIMIT = 512 << 20
_ATTRIBUTES = ".gitattributes"
_ALTERING = ("text", "text=auto", "crlf", "crlf=input", "ident")
_ALTERING_BY = ("eol=", "filter=", "working-tree-encoding=", "merge=")


def names_breaches(listing: Mapping[str, str], added: Collection[str]) -> Iterator[Breach]:
    """Names and kinds of what a push adds, in the state it leaves.

    Args:
        listing: path -> mode of all that state holds.
        added: the paths the push brings.
    """
    for fault in lint_paths(listing):
        clashes = "same name as" in fault.why
        if fault.path in added or (clashes and any(fault.why.endswith(f" {path}") for path in added)):
            yield Breach(
                rule="bad-name",
                where=fault.path,
                words=fault.why,
                clears="give it another name, then push again",
            )
    for path in sorted(added):
        mode = listing.get(path)
        if mode is not None and mode not in PLAIN:
            what = "a submodule" if mode == "160000" else "a link"
            yield Breach(rule="link", where=path, words=f"is {what}, no file; it leads outside the record")


def size_breaches(
    commits: Sequence[NewCommit], sizes: Mapping[str, int], limit: int = FILE_LIMIT
) -> Iterator[Breach]:
    """Files over the limit."""
    for commit in commits:
        for touch in commit.made_here:
            size = sizes.get(touch.blob, 0)
            most = min(limit, RECORD_LIMIT) if is_below_records(touch.path) else limit
            if touch.status != "D" and size > most:
                words = f"commit {commit.short} brings {size:,} bytes, and {most:,} is the most"
                yield Breach(rule="too-large", where=touch.path, words=words)


def attributes_breach(path: str, before: bytes | None, after: bytes | None) -> Breach | None:
    """Whether a changed .gitattributes lets git alter programs."""
    old, new = attribute_rows(before), attribute_rows(after)
    if path == _ATTRIBUTES and ["*", "-text"] in old and ["*", "-text"] not in new:
        return Breach(
            rule="bytes-altered",
            where=path,
            words="takes away the line `* -text`, which keeps programs as they are",
        )
    return next((_altering(path, row) for row in new if row not in old and alters(row)), None)


def attributes_in_force(path: str, data: bytes | None) -> Iterator[Breach]:
    """Every rule of a .gitattributes by which git may alter programs."""
    yield from (_altering(path, row) for row in attribute_rows(data) if alters(row))


def alters(row: Sequence[str]) -> bool:
    """Whether a rule, in words, lets git change bytes of what it is about."""
    return any(word in _ALTERING or word.startswith(_ALTERING_BY) for word in row[1:])


def _altering(path: str, row: Sequence[str]) -> Breach:
    words = f"`{' '.join(row)}` would let git change bytes of programs"
    return Breach(rule="bytes-altered", where=path, words=words)


def is_attributes(path: str) -> bool:
    """Whether git reads rules of bytes there."""
    return path.rpartition("/")[2].lower() == _ATTRIBUTES


def attribute_rows(data: bytes | None) -> list[list[str]]:
    """The rules of a .gitattributes, each in words."""
    lines = (data or b"").decode("utf-8", "replace").splitlines()
    return [line.split() for line in lines if line.strip() and not line.startswith("#")]
