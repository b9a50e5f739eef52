"""Finding the repository a folder belongs to: one call of git."""

from pathlib import Path

from tracker.errors import CouldNot
from tracker.store.clone import Clone
from tracker.store.git import Git, path_text
from tracker.store.git_faults import GitFailedError, no_repository

_QUESTIONS = ("--absolute-git-dir", "--git-common-dir", "--show-object-format", "--show-toplevel")


def open_clone(folder: str | Path, *, hook: bool = False) -> Clone:
    """The clone (or bare repository) that ``folder`` lies in.

    Args:
        folder: any folder of it.
        hook: called from a hook of git, so incoming objects and the repository git names are looked at.

    Raises:
        CouldNot: ``no-git``, ``no-repository``, ``dubious-ownership``, ``no-permission``.
        BadCall: ``no-such-folder``.
    """
    here = Path(folder).absolute()
    status, out, said = Git(folder=str(here), hook=hook).attempt("rev-parse", *_QUESTIONS)
    answers = path_text(out).splitlines()
    if len(answers) < 3:
        fault = GitFailedError(("rev-parse",), status, said)
        if fault.name == "no-repository":
            name, what, _, fix, reasons = no_repository(str(here))
            raise CouldNot(name, what, where=str(here), fix=fix, reasons=reasons)
        fault.where = fault.where or str(here)
        raise fault
    git_dir = Path(answers[0])
    common_dir = (here / answers[1]).resolve()
    root = Path(answers[3]) if status == 0 and len(answers) > 3 else None
    git = Git(
        folder=str(root or git_dir),
        hook=hook,
        git_dir=str(git_dir) if hook else "",
        id_length=64 if answers[2] == "sha256" else 40,
    )
    return Clone(git, root=root, git_dir=git_dir, common_dir=common_dir)
