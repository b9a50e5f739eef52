"""Programs on their way to a stick: read from the released state, one entry for each, whoever calls it.

Rules:

1. Every program's bytes are those of the state that was released, and agree with the revision record by the digest
   its release was derived with. They are read when they are wanted: nobody holds all of them.
2. A program that several operations use goes out once: stamped SUB where they are of one job, without a job where they
   are of several.
3. Two releases that hold different code of one program are refused: only one of them can lie on the stick. The same
   code in two spellings goes out in the later one.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tracker.policy.find import label
from tracker.records.events import FileOf
from tracker.services.ports import Repository
from tracker.services.ports_stick import Outgoing
from tracker.services.usable import LeftOut, Released, Usable


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """What can go out; ``problems`` forbid the whole export, ``left_out`` one operation each."""

    programs: tuple[Outgoing, ...] = ()
    problems: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def gather(repo: Repository, usable: Sequence[Usable]) -> Gathered:
    """Every program of these operations, each once, in the order of their paths."""
    left_out: list[LeftOut] = []
    read: list[tuple[Released, list[Outgoing]]] = []
    for one in usable:
        programs, lost = _programs(repo, one.released)
        if lost:
            left_out.append(
                LeftOut(
                    job=one.released.job,
                    operation=one.released.operation.id,
                    revision=label(one.released.stored.name),
                    why=f"its text does not agree with the record of the release: {', '.join(lost)}",
                    clears=("proveout audit",),
                )
            )
        else:
            read.append((one.released, programs))
    problems: list[str] = []
    merged: dict[str, tuple[Released, Outgoing]] = {}
    for released, programs in sorted(read, key=lambda pair: pair[0].stored.order):
        for program in programs:
            earlier = merged.get(program.source)
            if earlier is not None and not _same_code(earlier[1], program):
                problems.append(_two_texts(program.source, earlier[0], released))
            merged[program.source] = (released, _shared(earlier[1] if earlier else None, program))
    return Gathered(
        programs=tuple(program for _, (_, program) in sorted(merged.items())),
        problems=tuple(problems),
        left_out=tuple(left_out),
    )


def of_revision(repo: Repository, released: Released) -> tuple[list[Outgoing], list[str]]:
    """The programs of one revision as recorded, and the paths of those that do not agree with it."""
    return _programs(repo, released)


def _programs(repo: Repository, released: Released) -> tuple[list[Outgoing], list[str]]:
    tree = repo.tree(released.commit)
    programs: list[Outgoing] = []
    lost: list[str] = []
    for file in released.record.files:
        seen = released.texts.get(file.path)
        if (tree.digest(file.path) if seen is None else seen.raw_sha256) != file.raw_sha256:
            lost.append(file.path)
        else:
            programs.append(_outgoing(released, file, _reader(repo, released.commit, file)))
    return programs, lost


def _reader(repo: Repository, commit: str, file: FileOf) -> Callable[[], bytes | None]:
    """Reads the program."""
    return lambda: repo.tree(commit).read(file.path)


def _outgoing(released: Released, file: FileOf, fetch: Callable[[], bytes | None]) -> Outgoing:
    return Outgoing(
        source=file.path,
        name=file.name,
        number=file.number,
        raw_sha256=file.raw_sha256,
        fetch=fetch,
        dialect=file.dialect,
        strict=released.record.strict,
        fingerprint=file.fingerprint,
        known=_known(released, file),
        job=released.job,
        operation=released.operation.id,
        revision=released.stored.name,
        release=released.release or None,
        mark=released.record.operation_fingerprint[:8],
        users=(released.name,),
    )


def _known(released: Released, file: FileOf) -> bool:
    """Whether deriving the release read these very bytes, and found the record's fingerprint in them, not a strict one."""
    seen = released.texts.get(file.path)
    return (
        seen is not None
        and not released.record.strict
        and (seen.raw_sha256, seen.fingerprint, seen.dialect)
        == (file.raw_sha256, file.fingerprint, file.dialect)
    )


def _same_code(one: Outgoing, other: Outgoing) -> bool:
    """Equal bytes, or equal fingerprints of one kind: a strict and a plain one say nothing about each other."""
    return one.raw_sha256 == other.raw_sha256 or (one.strict, one.fingerprint) == (
        other.strict,
        other.fingerprint,
    )


def _shared(earlier: Outgoing | None, program: Outgoing) -> Outgoing:
    """The later text of a program, used by all that used it before too."""
    if earlier is None:
        return program
    users = (*earlier.users, *program.users)
    jobs = {user.rsplit("/", 1)[0].casefold() for user in users}
    # of equal bytes the strict fingerprint is held to where one operation asks for it
    held = earlier if earlier.strict and not program.strict else program
    return replace(
        program,
        strict=held.strict,
        fingerprint=held.fingerprint,
        known=program.known and not held.strict,
        mark=held.fingerprint[:8],
        users=users,
        shared=len(jobs) == 1,
        common=len(jobs) > 1,
    )


def _two_texts(source: str, one: Released, other: Released) -> str:
    return (
        f"{source} has one text in {one.spelled} (release {one.release}) and another in {other.spelled} "
        f"(release {other.release}); only one can lie on the stick: release both with the same text"
    )
