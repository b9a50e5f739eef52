"""The fast lane: verbs that git and scripts call hundreds of times, on the standard library alone.

Options are read by hand here, because an option parser costs more time to import than these verbs take to run. The
help pages of these verbs come from the full command line, which knows the same options.
"""

import os
from collections.abc import Callable

from tracker.cli.fast_words import value_after
from tracker.errors import BadCall


def run(verb: str, before: list[str], rest: list[str]) -> int:
    """Run one fast verb.

    Args:
        verb: ``fingerprint``, ``normalize``, ``status``, ``compare`` or ``gate``.
        before: the general options that stood before the verb (``-C DIR``, ``--json`` ...).
        rest: the words after the verb.

    Raises:
        ProveoutError: the call is wrong, or could not be done.
    """
    if verb == "compare":
        from tracker.cli import fast_compare

        return fast_compare.run(before, rest)
    return _verb(verb)(_obey_general(before) + _obey_general(rest))


def _obey_general(words: list[str]) -> list[str]:
    """Change to the folder of ``-C`` and give back the words that are the verb's own."""
    kept: list[str] = []
    waiting = iter(words)
    for word in waiting:
        if word == "-C":
            _change_folder(value_after(word, waiting))
        elif word == "--":
            kept += [word, *waiting]
        elif word == "--no-color":
            os.environ["NO_COLOR"] = "1"
        elif word != "--yes":
            kept.append(word)
    return kept


def _change_folder(folder: str) -> None:
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
    if verb == "status":
        from tracker.cli import fast_status

        return fast_status.run
    from tracker.cli import fast_gate

    return fast_gate.run
