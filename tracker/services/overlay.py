"""A tree as it will be after a check-in: one state, with some files taken from elsewhere.

The text a revision record describes is computed from this, so that it is the text of the commit that carries the
record and not of whatever else lies in the working folder.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tracker.digest import sha256_of
from tracker.errors import CouldNot
from tracker.records.job import Job
from tracker.records.places import is_job_file
from tracker.records.shop import Shop
from tracker.services.ports import Tree


@dataclass(frozen=True, slots=True)
class Overlay:
    """``base`` with the paths of ``taken`` as they are in ``other``, and with the bytes of ``given``.

    A path of ``taken`` that ``other`` does not have is gone. ``given`` holds programs only, never a job.toml.
    """

    base: Tree
    other: Tree
    taken: frozenset[str] = frozenset()
    given: Mapping[str, bytes] = field(default_factory=dict)

    def paths(self) -> Sequence[str]:
        """All files, sorted."""
        kept = {path for path in self.base.paths() if path not in self.taken}
        taken = {path for path in self.taken if self.other.read(path) is not None}
        return sorted(kept | taken | set(self.given))

    def has(self, path: str) -> bool:
        """Whether `paths` lists this file."""
        if path in self.given:
            return True
        return self.other.read(path) is not None if path in self.taken else self.base.has(path)

    def read(self, path: str) -> bytes | None:
        """The bytes of a file, or None."""
        if path in self.given:
            return self.given[path]
        return self._side(path).read(path)

    def digest(self, path: str) -> str | None:
        """The SHA-256 of the bytes of a file, or None."""
        data = self.read(path)
        return None if data is None else sha256_of(data)

    def job_paths(self) -> Mapping[str, str]:
        """Job folder name (lower case) -> path of its job.toml."""
        kept = {name: path for name, path in self.base.job_paths().items() if path not in self.taken}
        taken = (path for path in self.taken if is_job_file(path) and self.other.read(path) is not None)
        return kept | {path.split("/")[1].lower(): path for path in taken}

    def job(self, path: str) -> Job:
        """The job.toml at ``path``; raises BadCall when it is wrong."""
        if path in self.given:
            raise CouldNot(
                "no-program",
                "a job.toml cannot be taken from a control",
                where=path,
                fix="name the program file",
            )
        return self._side(path).job(path)

    def shop(self) -> Shop:
        """shop.toml of the base: a check-in never takes it along."""
        return self.base.shop()

    def line_of(self, path: str, key: tuple[str | int, ...]) -> int:
        """The line of a key, on the side the file is of."""
        return self._side(path).line_of(path, key)

    def _side(self, path: str) -> Tree:
        return self.other if path in self.taken else self.base
