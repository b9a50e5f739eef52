"""Which program of the repository answers to a call's number.

A file answers to the O numbers it holds; one without any answers to the number its name says (``O1002.NC``,
``1002``). The levels, nearest first: the main program's own folder; anywhere under the job outside other operations'
folders; ``common/``.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence

from tracker.frozen import dataclass, field
from tracker.records.job import Job, Operation
from tracker.records.places import is_below_records
from tracker.services.paths import folder_of, inside, program_path
from tracker.services.ports import Tree
from tracker.services.program_facts import FactsKept, ProgramFacts, facts_of

COMMON = "common"
_IN_COMMON = "common/"  # no folder is called so: a key of its own beside that of the folder common
_MOST_DIGITS = 8
_LATEST = 8
# what lies beside programs and is none; anything else may be a program, with an extension or without
_NO_PROGRAM = frozenset(
    [
        "toml",
        "md",
        "pdf",
        "png",
        "jpg",
        "jpeg",
        "gif",
        "bmp",
        "tif",
        "tiff",
        "doc",
        "docx",
        "xls",
        "xlsx",
        "ods",
        "odt",
        "csv",
        "zip",
        "7z",
        "htm",
        "html",
        "xml",
        "json",
        "py",
        "step",
        "iges",
        "igs",
        "dxf",
        "dwg",
        "stl",
        "sig",
        "precalls",
        "exe",
        "dll",
        "db",
        "lnk",
        "ini",
        "gitattributes",
        "gitignore",
        "gitkeep",
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The programs that answer to a number on the nearest level that has one."""

    paths: tuple[str, ...]
    where: str


@dataclass(slots=True)
class ProgramIndex:
    """Files of one tree by the program numbers they answer to; every file is read at most once.

    One index serves any number of operations of the same tree; ``kept`` facts of texts serve every tree.
    """

    tree: Tree
    kept: FactsKept = field(default_factory=dict)
    _paths: tuple[str, ...] | None = None
    _latest: dict[int, tuple[bytes, ProgramFacts]] = field(default_factory=dict)
    _listed: frozenset[str] | None = None
    _numbers: dict[str, tuple[int, ...]] = field(default_factory=dict)
    _folders: dict[str, list[str]] = field(default_factory=dict)
    _levels: dict[str, Mapping[int, tuple[str, ...]]] = field(default_factory=dict)

    @property
    def paths(self) -> tuple[str, ...]:
        """Every file of the tree."""
        if self._paths is None:
            self._paths = tuple(self.tree.paths())
        return self._paths

    def has(self, path: str) -> bool:
        """Whether the tree has this file."""
        if self._paths is None:
            return self.tree.has(path)
        if self._listed is None:
            self._listed = frozenset(self._paths)
        return path in self._listed

    def numbers(self, path: str) -> tuple[int, ...]:
        """The numbers a file answers to."""
        if path not in self._numbers:
            data = self.tree.read(path)
            self._numbers[path] = () if data is None else numbers_in(path, self.facts(data).numbers)
        return self._numbers[path]

    def facts(self, data: bytes) -> ProgramFacts:
        """What the text of a program says by itself; of the very bytes it was asked for lately it still knows."""
        held = self._latest.get(id(data))
        if held is None or held[0] is not data:
            if len(self._latest) == _LATEST:
                self._latest.clear()
            held = self._latest[id(data)] = (data, facts_of(data, self.kept))
        return held[1]

    def below(self, folder: str) -> Sequence[str]:
        """Every file below a folder, found without looking at the others."""
        if not folder:
            return self.paths
        # the paths are sorted, and "0" is the mark after "/"
        return self.paths[bisect_left(self.paths, folder + "/") : bisect_left(self.paths, folder + "0")]

    def in_folder(self, folder: str) -> Mapping[int, tuple[str, ...]]:
        """The programs that lie in a folder itself, by number."""
        if not self._folders:
            for path in self.paths:
                self._folders.setdefault(folder_of(path), []).append(path)
        if folder not in self._levels:
            own = (path for path in self._folders.get(folder, ()) if may_be_program(path))
            self._levels[folder] = self.by_number(own)
        return self._levels[folder]

    def in_common(self) -> Mapping[int, tuple[str, ...]]:
        """The programs of ``common/`` and below, by number."""
        if _IN_COMMON not in self._levels:
            self._levels[_IN_COMMON] = self.by_number(
                path for path in self.below(COMMON) if may_be_program(path)
            )
        return self._levels[_IN_COMMON]

    def by_number(self, paths: Iterable[str]) -> Mapping[int, tuple[str, ...]]:
        """The files of one level by number."""
        found: dict[int, list[str]] = {}
        for path in paths:
            for number in dict.fromkeys(self.numbers(path)):
                found.setdefault(number, []).append(path)
        return {number: tuple(sorted(them)) for number, them in found.items()}


def numbers_of(path: str, data: bytes) -> tuple[int, ...]:
    """The program numbers a file answers to: those in it, else the one in its name."""
    from tracker.nc.calls import program_numbers

    return numbers_in(path, tuple(program_numbers(data)))


def numbers_in(path: str, held: tuple[int, ...]) -> tuple[int, ...]:
    """The same where the numbers ``held`` in it are known already."""
    if held:
        return held
    stem = path.rpartition("/")[2].partition(".")[0]
    digits = stem[1:] if stem[:1] in ("O", "o") else stem
    named = digits.isdecimal() and len(digits.lstrip("0")) <= _MOST_DIGITS
    return (int(digits),) if named else ()


@dataclass(slots=True)
class Lookup:
    """Looks up numbers for one operation, whose main program is ``main``."""

    index: ProgramIndex
    job_path: str
    job: Job
    operation: Operation
    main: str
    _job_level: Mapping[int, tuple[str, ...]] | None = None

    def find(self, number: int) -> Found | None:
        """Who answers to ``number`` on the nearest level, or None."""
        for where, level in (
            ("the main program's folder", self._near),
            ("the job's folders", self._of_job),
            ("common/", self.index.in_common),
        ):
            paths = level().get(number)
            if paths:
                return Found(paths=paths, where=where)
        return None

    def _near(self) -> Mapping[int, tuple[str, ...]]:
        return self.index.in_folder(folder_of(self.main))

    def _of_job(self) -> Mapping[int, tuple[str, ...]]:
        if self._job_level is None:
            others = self._other_folders(folder_of(self.main))
            below = self.index.below(folder_of(self.job_path))
            self._job_level = self.index.by_number(
                path for path in below if self._belongs_to_job(path, others)
            )
        return self._job_level

    def _belongs_to_job(self, path: str, other_folders: set[str]) -> bool:
        if not inside(path, folder_of(self.job_path)) or not may_be_program(path):
            return False
        return not any(inside(path, other) for other in other_folders)

    def _other_folders(self, main_folder: str) -> set[str]:
        """Folders of the other operations' main programs.

        The job's own folder is nobody's alone, and neither is one that holds this operation's folder.
        """
        others = {
            folder_of(program_path(self.job_path, other.program))
            for other in self.job.operations
            if other.id.lower() != self.operation.id.lower()
        }
        job_folder = folder_of(self.job_path)
        return {f for f in others if f not in (job_folder, main_folder) and not inside(main_folder, f)}


def may_be_program(path: str) -> bool:
    """Whether a file may be a program, going by its name: no record, and nothing that is plainly something else."""
    name = path.rpartition("/")[2].lower()
    extension = name.rpartition(".")[2] if "." in name else ""
    return extension not in _NO_PROGRAM and not is_below_records(path)
