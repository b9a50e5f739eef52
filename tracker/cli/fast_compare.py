"""``compare`` of two plain files in the fast lane: the option parser would take longer than most files.

The same use case and the same two forms of the answer as `tracker.cli.verb_compare`, which has the help page and takes
every other call: revisions, files that are not there, options this module does not know.
"""

import os

from tracker.cli.fast_files import read_file
from tracker.cli.fast_words import Options, read_options
from tracker.errors import BadCall, Exit

FLAGS = {
    "--json": "json",
    "--exit-code": "exit-code",
    "--all": "all",
    "--unified": "unified",
    "--no-color": "plain",
}
VALUES = {"-C": "folder"}


def run(before: list[str], rest: list[str]) -> int:
    """Compare two files, or hand the call on; returns the exit status.

    Args:
        before: the words before the verb.
        rest: the words after it.

    Raises:
        ProveoutError: a file could not be read, or what the full command line raises.
    """
    options, names = _read([word for word in before if word != "--yes"] + rest)
    places = [_place(name, options) for name in names]
    if len(places) != 2 or not all(place == "-" or _is_file(place) for place in places):
        from tracker.cli.app import run as run_app

        return run_app([*before, "compare", *rest])
    return _compare(names, places, options)


def _read(words: list[str]) -> tuple[Options, list[str]]:
    """Options and operands; no operands where the option parser has to say what is wrong."""
    try:
        options, names = read_options(words, FLAGS, VALUES)
    except BadCall:
        return {}, []
    return options, [] if any(word.startswith("-C=") for word in words) else names


def _place(name: str, options: Options) -> str:
    """Where a file lies, seen from the folder of ``-C``."""
    folder = options.get("folder", "")
    return name if name == "-" or not isinstance(folder, str) else os.path.join(folder, name)  # noqa: PTH118


def _is_file(place: str) -> bool:
    return os.path.isfile(place)  # noqa: PTH113 - pathlib costs more to import than most files to compare


def _compare(names: list[str], places: list[str], options: Options) -> int:
    from tracker.services.comparing_files import PlainFile, compare_files

    old, new = (
        PlainFile(name=name, data=read_file(place)) for name, place in zip(names, places, strict=True)
    )
    report = compare_files(old, new)
    if "json" in options:
        import json
        import sys

        from tracker.reports.compare import as_json

        document = {"schema": "proveout/compare/1", **as_json(report)}
        sys.stdout.write(json.dumps(document, indent=2) + "\n")
    else:
        from tracker.cli.plain_screen import PlainScreen
        from tracker.reports.compare import print_text

        print_text(report, PlainScreen(), everything="all" in options, unified="unified" in options)
    return Exit.NO if "exit-code" in options and not report.same_code else Exit.DONE
