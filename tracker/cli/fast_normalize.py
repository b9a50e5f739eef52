"""``proveout normalize FILE [--for-git] [-o OUT]``: the canonical form of one program.

Prints exactly the bytes a fingerprint covers after its head line. With ``--for-git`` it prints what the diff driver
of git shows: the same with its comments, under a line that sums up what is hidden.
"""

import sys

from tracker.cli.fast_files import read_file
from tracker.cli.fast_words import read_options
from tracker.errors import BadCall, CouldNot, Exit
from tracker.nc import scan

FLAGS = {"--for-git": "for-git", "--strict": "strict", "--json": "json"}
VALUES = {"-o": "output", "--output": "output"}


def run(words: list[str]) -> int:
    """Print the canonical form, or write it to a file.

    Args:
        words: options and one file; ``-`` is standard input.

    Raises:
        BadCall: not one file is named, it is missing, or an option is unknown.
        CouldNot: the file could not be read, or the output not written.
    """
    options, names = read_options(words, FLAGS, VALUES)
    fix = "proveout normalize FILE [--for-git] [-o OUT]"
    if len(names) != 1:
        raise BadCall("one-file", f"One file is to be named, not {len(names)}.", fix=fix)
    if "json" in options:
        raise BadCall("no-json", "The canonical form is a text; there is no JSON for it.", fix=fix)
    if "for-git" in options and "strict" in options:
        raise BadCall("either-or", "--for-git and --strict do not go together.", fix=fix)
    data = read_file(names[0])
    if "for-git" in options:
        from tracker.nc.forgit import for_git

        made = for_git(data)
    else:
        made = scan.canonical(data, strict="strict" in options)
    if "output" in options:
        _write_file(str(options["output"]), made)
    else:
        _print_bytes(made)
    return Exit.DONE


def _print_bytes(made: bytes) -> None:
    """Write bytes to standard output, all of them: an unbuffered one may take a part at a time."""
    sys.stdout.flush()
    left = memoryview(made)
    while left:
        left = left[sys.stdout.buffer.write(left) :]
    sys.stdout.buffer.flush()


def _write_file(name: str, made: bytes) -> None:
    """Write the whole file or leave what stands there: a temporary file beside it takes its place at the end."""
    import os

    beside = f"{name}.{os.getpid()}.part"
    try:
        with open(beside, "xb") as file:  # noqa: PTH123 - pathlib costs more to import than this verb to run
            file.write(made)
        os.replace(beside, name)  # noqa: PTH105 - as above
    except OSError as fault:
        _remove(beside)
        raise CouldNot(
            "not-written",
            f"The output could not be written: {fault.strerror or fault}.",
            where=name,
            fix="Check the folder, the permissions and the free space.",
        ) from fault


def _remove(name: str) -> None:
    from contextlib import suppress
    from pathlib import Path

    with suppress(OSError):
        Path(name).unlink()
