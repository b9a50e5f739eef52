"""Paths in the repository: text with forward slashes, from its root."""

import posixpath

from tracker.errors import BadCall


def folder_of(path: str) -> str:
    """The folder a file lies in; empty for the root."""
    return path.rpartition("/")[0]


def name_of(path: str) -> str:
    """The file's name without its folder."""
    return path.rpartition("/")[2]


def inside(path: str, folder: str) -> bool:
    """Whether ``path`` lies in ``folder`` or below it; everything lies in the root."""
    return not folder or path.startswith(folder + "/")


def program_path(job_path: str, program: str) -> str:
    """Where a program named in a job.toml lies, from the repository's root.

    Raises BadCall (``program-outside``) for a path that is absolute or leads out of the repository.
    """
    path = posixpath.normpath(posixpath.join(folder_of(job_path), program))
    absolute = program.startswith(("/", "\\")) or _names_a_drive(program)
    if absolute or not program or path == ".." or path.startswith("../"):
        raise BadCall(
            "program-outside",
            f"the program {program!r} does not lie in this repository",
            where=job_path,
            fix="write the path from the folder of job.toml to a file of the repository, like op10/O1001.nc",
        )
    return path


def _names_a_drive(program: str) -> bool:
    return program[1:2] == ":" and program[:1].isascii() and program[:1].isalpha()
