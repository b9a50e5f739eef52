"""Release tags this clone has already derived, so that the local hook need not do it once more.

A small file a tag under the git directory, named after the tag object: its id stands for the commit, the record and the
name inside it, and what was derived from these can never change. It spares time at the local hook only, which anybody
can go round anyway; status, export, audit and a push never look at it. Everything here is read without starting git,
and this module imports next to nothing: it runs inside a hook.
"""

import os

from tracker import __version__

_FOLDER = ("proveout", "derived")


def remember(common_dir: str, ref: str, tag_id: str) -> None:
    """Write down that ``ref`` may point at ``tag_id``; silently nothing where it cannot be written."""
    folder = _join(common_dir, *_FOLDER)
    path = _join(folder, tag_id)
    try:
        os.makedirs(folder, exist_ok=True)  # noqa: PTH103 - see the module
        with open(f"{path}.new", "w", encoding="utf-8", errors="surrogateescape", newline="\n") as file:  # noqa: PTH123
            file.write(_words(ref))
        os.replace(f"{path}.new", path)  # noqa: PTH105
    except OSError:
        return


def is_remembered(common_dir: str, ref: str, tag_id: str) -> bool:
    """Whether exactly this was derived here before, by this version."""
    said = _read(_join(common_dir, *_FOLDER, tag_id))
    return said is not None and said == _words(ref)


def git_dir_here() -> str | None:
    """The git directory of the folder in hand, found without git; None where it is not plain.

    git starts its hooks at the top of the working folder, or in the git directory itself.
    """
    git_dir = os.environ.get("GIT_DIR") or ".git"
    if os.path.isfile(git_dir):  # noqa: PTH113 - a worktree of its own: the file says where its git directory is
        git_dir = (_read(git_dir) or "").removeprefix("gitdir:").strip()
    return git_dir if os.path.isfile(_join(git_dir, "HEAD")) else None  # noqa: PTH113


def common_dir_here() -> str | None:
    """The git directory all worktrees share, found in the same way."""
    git_dir = git_dir_here()
    if git_dir is None:
        return None
    shared = _read(_join(git_dir, "commondir"))
    return _join(git_dir, shared.strip()) if shared else git_dir


def exists(common_dir: str, ref: str) -> bool | None:
    """Whether a reference exists; None where references are not kept in files."""
    if os.path.isdir(_join(common_dir, "reftable")):  # noqa: PTH112
        return None
    if os.path.lexists(_join(common_dir, ref)):
        return True
    packed = _read(_join(common_dir, "packed-refs")) or ""
    return any(line.endswith(f" {ref}") for line in packed.splitlines())


def _words(ref: str) -> str:
    return f"{__version__} {ref}\n"


def _read(path: str) -> str | None:
    try:
        with open(path, encoding="utf-8", errors="surrogateescape") as file:  # noqa: PTH123
            return file.read()
    except (OSError, ValueError):
        return None


def _join(*parts: str) -> str:
    return os.path.join(*parts)  # noqa: PTH118
