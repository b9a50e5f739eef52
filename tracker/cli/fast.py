"""The fast lane: verbs that git and scripts call hundreds of times, on the standard library alone.

Options are read by hand here, because an option parser costs more time to import than these verbs take to run. The
help pages of these verbs come from the full command line, which knows the same options.
"""

import sys
from collections.abc import Callable, Iterator

from tracker.errors import BadCall, CouldNot, ProveoutError

Options = dict[str, str | bool]


def run(verb: str, before: list[str], rest: list[str]) -> int:
    """Run one fast verb.

    Args:
        verb: ``fingerprint``, ``normalize`` or ``gate``.
        before: the general options that stood before the verb (``-C DIR``, ``--json`` ...).
        rest: the words after the verb.

    Raises:
        ProveoutError: the call is wrong, or could not be done.
    """
    return _verb(verb)(_obey_general(before) + _obey_general(rest))


def read_options(
    words: list[str], flags: dict[str, str], values: dict[str, str]
) -> tuple[Options, list[str]]:
    """Sort the words of a call into options and operands.

    Args:
        words: what stood after the verb.
        flags: every spelling of an option without a value, and the name it goes by.
        values: the same for options that take a value (``-o FILE``, ``--output FILE``, ``--output=FILE``).

    Returns:
        The options by name, and the operands in order. ``--`` ends the options; ``-`` is an operand.

    Raises:
        BadCall: an unknown option, or one whose value is missing.
    """
    options: Options = {}
    operands: list[str] = []
    waiting = iter(words)
    for word in waiting:
        spelling, equals, value = word.partition("=")
        if word == "--":
            operands.extend(waiting)
        elif not word.startswith("-") or word == "-":
            operands.append(word)
        elif word in flags:
            options[flags[word]] = True
        elif spelling in values and (equals or spelling == word):
            options[values[spelling]] = value if equals else _value_after(word, waiting)
        else:
            raise BadCall("unknown-option", f"There is no option {word} here.", fix="See proveout --help.")
    return options, operands


def read_file(name: str) -> bytes:
    """The bytes of a file, or of standard input for ``-``.

    Raises:
        BadCall: the file is missing, or is a folder.
        CouldNot: it could not be read.
    """
    if name == "-":
        return sys.stdin.buffer.read()
    try:
        with open(name, "rb") as file:  # noqa: PTH123 - pathlib costs more to import than this verb to run
            return file.read()
    except OSError as fault:
        raise file_error(name, fault) from fault


def file_error(name: str, fault: OSError) -> ProveoutError:
    """What a person is told about a file that could not be read: a wrong call, or no way to find out."""
    if isinstance(fault, FileNotFoundError):
        return BadCall(
            "missing-file", "There is no such file.", where=name, fix="Check the name and the folder."
        )
    if _is_folder(name):
        return BadCall(
            "is-a-folder", "This is a folder, not a file.", where=name, fix="Name the program file itself."
        )
    if isinstance(fault, PermissionError):
        return CouldNot(
            "no-permission",
            "You have no permission to read this file.",
            where=name,
            fix="Ask its owner for the right to read it.",
        )
    return CouldNot(
        "not-readable",
        f"The file could not be read: {fault.strerror or fault}.",
        where=name,
        fix="Check that the medium is still there and whole.",
    )


def _is_folder(name: str) -> bool:
    from pathlib import Path  # not named above: only a call that went wrong pays for it

    return Path(name).is_dir()


def _value_after(word: str, waiting: Iterator[str]) -> str:
    value = next(waiting, None)
    if value is None:
        raise BadCall("missing-value", f"{word} needs a value after it.", fix="See proveout --help.")
    return value


def _obey_general(words: list[str]) -> list[str]:
    """Change to the folder of ``-C`` and give back the words that are the verb's own."""
    kept: list[str] = []
    waiting = iter(words)
    for word in waiting:
        if word == "-C":
            _change_folder(_value_after(word, waiting))
        elif word == "--":
            kept += [word, *waiting]
        elif word not in ("--no-color", "--yes"):
            kept.append(word)
    return kept


def _change_folder(folder: str) -> None:
    import os

    try:
        os.chdir(folder)
    except OSError as fault:
        fix = "Name a folder that exists and that you may enter."
        raise BadCall(
            "no-such-folder", "The folder of -C cannot be entered.", where=folder, fix=fix
        ) from fault


def _verb(verb: str) -> Callable[[list[str]], int]:
    """The function that runs a verb; only the module of the one that is called gets imported."""
    if verb == "fingerprint":
        from tracker.cli import fast_fingerprint

        return fast_fingerprint.run
    if verb == "normalize":
        from tracker.cli import fast_normalize

        return fast_normalize.run
    from tracker.cli import fast_gate

    return fast_gate.run
