"""The folders that come with the program: hook templates, the sample shop, the script of an auditor's package.

In a checkout they lie beside the package, in an installed package inside it, as ``tracker/_data/...``.
"""

from pathlib import Path

from tracker.errors import ProveoutError

_PACKAGE = Path(__file__).resolve().parent.parent


def data_folder(name: str) -> Path:
    """The folder ``hooks`` or ``sample_repo``; raises ProveoutError (``incomplete-install``) when it is not there."""
    for folder in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise ProveoutError(
        "incomplete-install",
        f"this installation has no folder {name}",
        where=str(_PACKAGE),
        fix="install proveout again",
    )


def hook_start() -> str:
    """The file the hooks start."""
    return str(_PACKAGE / "cli" / "hook_start.py")
