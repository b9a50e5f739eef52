"""Where shaped programs go on a stick, and what stands in their way.

A file is replaced only when nothing is lost by it: its SHA-256 stands in an export record, or it is to the byte a
program of a revision record (an edit that was taken in). Anything else was changed since, or is somebody's own:
collect first. Where it holds the code of a revision in another writing (taken in with ``--tidy``, a comment of the
control's) its bytes are in no record: it is not replaced either, and the words say that nothing is left to take in. Nor
is a file of ours that is another program: two programs with one name. The program of an operation that lies elsewhere in
the repository by now is no other one.
"""

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from tracker.errors import CouldNot, Refused
from tracker.policy.find import label
from tracker.services.known import Known, KnownTexts
from tracker.services.ports_stick import MANIFEST_NAME, Outgoing, Seen, Shaped, ToWrite
from tracker.services.stick_view import Contents, written

WRITTEN = "written"
REPLACED = "replaced"
UNCHANGED = "unchanged"
IN_THE_WAY = "in-the-way"
"""Of a plan: what lies there is not replaced, so an export writes nothing at all."""
FIXES = {
    "collect-first": "run proveout collect on the stick: take edits in with --checkin, take the rest off by hand",
    "name-taken": "take the other program off the stick, or use another stick",
    "link-on-stick": "take it off the stick",
    "not-a-file": "take it off the stick",
}
"""How what stands in the way is put right, by the rule."""
READ_WHOLE = 8 << 20
"""Bytes; a longer file in the way is not looked into for its code."""
MOST_BYTES = 1 << 25
"""Bytes of files no record knows that an export looks into for the code of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A program with its place on the stick; ``action`` written, replaced, unchanged (already there, equal), in-the-way."""

    shaped: Shaped
    path: str
    action: str
    replaces: str | None = None

    @property
    def to_write(self) -> ToWrite | None:
        """What is to be written, None where it is there already."""
        if self.action == UNCHANGED:
            return None
        return ToWrite(
            path=self.path,
            data=self.shaped.data,
            sha256=self.shaped.sha256,
            replaces=self.replaces,
            written=self.shaped.size,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """All of it; ``manifest_replaces`` the SHA-256 of the manifest that is there now, None for none.

    ``in_the_way``: of a plan what stands in the way of it, in words; an export that writes has none.
    """

    folder: str
    placed: tuple[Placed, ...]
    manifest_path: str
    manifest_replaces: str | None
    in_the_way: tuple[str, ...] = ()


def place(
    contents: Contents, known: KnownTexts, folder: str, files: Sequence[Shaped], *, plan: bool = False
) -> Placing:
    """Places for ``files`` in ``folder``; of a ``plan`` what stands in the way is named, and nothing is raised.

    Raises:
        Refused: ``collect-first``, ``name-taken``, ``link-on-stick``, ``not-a-folder``; every reason at once.
    """
    in_the_way: list[tuple[str, str]] = []
    placed: list[Placed] = []
    for shaped in files:
        target = f"{folder}/{shaped.name}"
        there = contents.at(target)
        if there is None:
            placed.append(Placed(shaped=shaped, path=target, action=WRITTEN))
            continue
        fault = _not_a_file(there)
        sha256 = "" if fault else contents.digest(there.path)
        if not fault and sha256 == shaped.sha256:
            placed.append(Placed(shaped=shaped, path=there.path, action=UNCHANGED))
            continue
        fault = fault or _may_not_replace(known, sha256, shaped, there)
        if fault:
            in_the_way.append(_said_of_code(contents, known, there, fault))
        action = IN_THE_WAY if fault else REPLACED
        placed.append(Placed(shaped=shaped, path=there.path, action=action, replaces=sha256))
    path, replaces, fault = manifest_place(contents, known, folder)
    if fault:
        in_the_way.append(fault)
    if in_the_way and not plan:
        raise _refused(in_the_way)
    return Placing(
        folder=folder,
        placed=tuple(placed),
        manifest_path=path,
        manifest_replaces=replaces,
        in_the_way=tuple(f"{words}: {FIXES[rule]}" for rule, words in in_the_way),
    )


def manifest_place(
    contents: Contents, known: KnownTexts, folder: str
) -> tuple[str, str | None, tuple[str, str] | None]:
    """Where the list goes, the SHA-256 of the one it replaces, and what stands in its way: a rule and words."""
    there = contents.at(f"{folder}/{MANIFEST_NAME}")
    if there is None:
        return f"{folder}/{MANIFEST_NAME}", None, None
    fault = _not_a_file(there)
    if fault:
        return there.path, None, fault
    sha256 = contents.digest(there.path)
    if sha256 in known.manifests:
        return there.path, sha256, None
    words = f"{written(there.path)} is no list an export recorded here wrote: proveout share, if another PC did; else take it off"
    return there.path, None, ("collect-first", words)


def _not_a_file(there: Seen) -> tuple[str, str] | None:
    if there.kind == "file":
        return None
    kind = {"link": "a link", "folder": "a folder"}.get(there.kind, "no ordinary file")
    return ("link-on-stick" if there.kind == "link" else "not-a-file", f"{written(there.path)} is {kind}")


def _may_not_replace(known: KnownTexts, sha256: str, shaped: Shaped, there: Seen) -> tuple[str, str] | None:
    wanted = shaped.program
    exported = [(one.file.program, one.file.job, one.file.operation) for one in known.exported(sha256)]
    recorded = [(one.file.path, one.job, one.operation) for one in known.by_bytes(sha256)]
    codes = {one.file.fingerprint for one in known.exported(sha256)}
    codes |= {one.file.fingerprint for one in known.by_bytes(sha256)}
    where = written(there.path)
    owners = exported + recorded
    if not owners:
        return "collect-first", f"{where} was changed since it was exported, or is not ours"
    paths = {path for path, _, _ in owners}
    if not paths.isdisjoint((None, wanted.source)) or _moved(known, paths, codes, wanted):
        return None
    path, job, operation = owners[-1]
    words = f"{where} is {path} ({job}/{operation}), and {wanted.source} ({wanted.job}/{wanted.operation})"
    return "name-taken", f"{words} would have the same name"


def _moved(
    known: KnownTexts, paths: AbstractSet[str | None], codes: AbstractSet[str | None], wanted: Outgoing
) -> bool:
    """Whether programs of these paths were this one before the office moved it.

    No operation had them but those it goes out for; where the code is the same, nor but those that call it where it lies
    now: one of them may be stopped today and takes nothing from this one.
    """

    def of(places: AbstractSet[str | None]) -> set[str]:
        return {f"{one.job}/{one.operation}".casefold() for one in known.texts if one.file.path in places}

    had, users = of(paths), {user.casefold() for user in wanted.users}
    return bool(had) and (
        had <= users or (wanted.fingerprint in codes and had <= users | of({wanted.source}))
    )


def _said_of_code(
    contents: Contents, known: KnownTexts, there: Seen, fault: tuple[str, str]
) -> tuple[str, str]:
    """The fault; of a program whose code a revision has, how to go on: collecting it again would change nothing."""
    text = code_known(contents, known, there) if fault[0] == "collect-first" else None
    return fault if text is None else (fault[0], f"{written(there.path)} {other_writing(text)}")


def other_writing(text: Known, why: str | None = None) -> str:
    """What is said of a file that holds a revision's code and is neither what an export wrote nor what was checked in.

    ``why`` it may not lie there.
    """
    stopped = "" if why is None else f" ({why})"
    return (
        f"has the code of {text.job}/{text.operation} {label(text.stored.name)}{stopped} in a writing that is in no record: "
        f"collect tells comments from the control; then take it off by hand"
    )


def code_known(contents: Contents, known: KnownTexts, there: Seen) -> Known | None:
    """The last revision with the code of a program on the stick; None for none, and for what is too long or unreadable."""
    if there.kind != "file" or there.size > READ_WHOLE:
        return None
    sha256 = contents.digest_if_readable(there.path)
    if sha256 is not None and sha256 not in known.looked_into:
        try:
            texts = known.content(contents.medium.read(there.path)).known
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return None
        known.looked_into[sha256] = texts[-1] if texts else None
    return known.looked_into.get(sha256 or "")


def codes_known(contents: Contents, known: KnownTexts, files: Iterable[Seen]) -> dict[str, Known]:
    """The same of many, by path; the shortest first, and up to a limit: a stick full of strangers keeps nobody waiting."""
    found: dict[str, Known] = {}
    left = MOST_BYTES
    for seen in sorted(files, key=lambda one: (one.size, one.path)):
        left -= seen.size
        if left < 0:
            break
        text = code_known(contents, known, seen)
        if text is not None:
            found[seen.path] = text
    return found


def _refused(in_the_way: Sequence[tuple[str, str]]) -> Refused:
    name = in_the_way[0][0]
    return Refused(
        name,
        "nothing was written: files on the stick are in the way",
        fix=FIXES[name],
        reasons=tuple(words for _, words in in_the_way),
    )
