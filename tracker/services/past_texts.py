"""The text of an operation in a commit of the past, put together from where its programs lay then.

Calls are looked up in the layout of today: a program that lay elsewhere then stands where it stands now, so that what
called it finds it. Names and paths in the answer are those of the commit. Of the setup nothing is known: the sheet
states nothing.
"""

from collections.abc import Mapping, Sequence

from tracker.digest import sha256_of
from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass, replace
from tracker.nc.identity import RULE_VERSION
from tracker.records.events import FileOf, Outside
from tracker.records.job import Job, Operation
from tracker.records.operation_print import operation_fingerprint
from tracker.records.shop import Shop
from tracker.services.call_lookup import ProgramIndex
from tracker.services.operation_text import OperationText, operation_text
from tracker.services.paths import name_of
from tracker.services.program_facts import FactsKept
from tracker.services.program_text import ProgramText

Code = tuple[bool, tuple[tuple[int | None, str], ...]]
"""What says whether code changed: names are left out, since a renamed file runs as before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PastText:
    """A text as it was: ``files`` and ``programs`` main program first, under their paths of then."""

    files: tuple[FileOf, ...]
    programs: tuple[ProgramText, ...]
    outside: tuple[Outside, ...]
    strict: bool
    fingerprint: str
    sheet_fingerprint: str
    post: str | None

    @property
    def code(self) -> Code:
        """The code alone."""
        return self.strict, tuple((file.number, file.fingerprint) for file in self.files)


def bare(job: Job, operation: Operation) -> tuple[Job, Operation]:
    """The same job and operation with a sheet that states nothing; machines are no part of it."""
    plain = Operation(id=operation.id, program=operation.program, machines=operation.machines)
    return Job(number=job.number, operations=(plain,)), plain


def past_text(
    shop: Shop, today: OperationText, files: Mapping[str, bytes], then: Mapping[str, str], kept: FactsKept
) -> PastText | None:
    """The text of an operation then; None where there was none, or no code in it.

    Args:
        shop: whose machines say what is resident.
        today: the operation as it is now.
        files: path of a program today -> its bytes then.
        then: path of a program today -> its path then.
        kept: facts of texts.
    """
    job, operation = bare(today.job, today.operation)
    tree = _Then(shop, files)
    try:
        text = operation_text(tree, today.job_path, job, operation, shop, index=ProgramIndex(tree, kept))
    except BadCall:
        return None
    if not text.programs or text.programs[0].path in text.codeless:
        return None
    renamed = tuple(_renamed(file, then[file.path]) for file in text.files)
    return PastText(
        files=renamed,
        programs=tuple(
            replace(one, path=then[one.path], name=name_of(then[one.path])) for one in text.programs
        ),
        outside=text.outside,
        strict=text.strict,
        fingerprint=operation_fingerprint(RULE_VERSION, text.strict, renamed, text.sheet_fingerprint),
        sheet_fingerprint=text.sheet_fingerprint,
        post=text.post,
    )


def _renamed(file: FileOf, path: str) -> FileOf:
    return replace(file, path=path, name=name_of(path))


class _Then:
    """A tree of a few programs, as `tracker.services.ports.Tree`."""

    def __init__(self, shop: Shop, files: Mapping[str, bytes]) -> None:
        self._shop, self._files = shop, files

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        return sorted(self._files)

    def has(self, path: str) -> bool:
        """Whether this file was there."""
        return path in self._files

    def read(self, path: str) -> bytes | None:
        """Its bytes then."""
        return self._files.get(path)

    def digest(self, path: str) -> str | None:
        """The SHA-256 of its bytes then."""
        data = self.read(path)
        return None if data is None else sha256_of(data)

    def job_paths(self) -> Mapping[str, str]:
        """None: nothing was recorded then."""
        return {}

    def job(self, path: str) -> Job:
        """Nothing."""
        raise CouldNot("damaged", "there was no job.toml then", where=path, fix="report this")

    def shop(self) -> Shop:
        """The shop of today."""
        return self._shop

    def line_of(self, path: str, key: tuple[str | int, ...]) -> int:  # noqa: ARG002 - as Tree has it
        """The whole file."""
        return 1
