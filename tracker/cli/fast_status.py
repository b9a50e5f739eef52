"""``status`` in the fast lane: looked at many times a day, so the option parser is left out.

The same use case and the same two forms of the answer as `tracker.cli.verb_status`, which has the help page.
"""

import sys

from tracker.cli.boundary import write
from tracker.cli.fast_words import read_options
from tracker.errors import BadCall, Exit

FLAGS = {"--json": "json", "--may-run": "may_run", "--all": "all"}
VALUES = {"--machine": "machine", "--job": "job", "--standing": "standing"}


def run(words: list[str]) -> int:
    """Show how operations stand; returns the exit status.

    Raises:
        ProveoutError: what `tracker.services.status.status` raises, or the full command line, which is asked to say
            what is wrong with a call.
    """
    try:
        options, operands = read_options(words, FLAGS, VALUES)
    except BadCall:
        return _hand_on(words)
    if operands:
        return _hand_on(words)
    from tracker.services.status import status
    from tracker.wiring import open_view

    machine, job, standing = (_text(options.get(name)) for name in ("machine", "job", "standing"))
    report = status(
        open_view("."),
        may_run="may_run" in options,
        machine=machine,
        job=job,
        standing=standing,
    )
    if "json" in options:
        import json

        from tracker.reports.status import as_json

        write(json.dumps({"schema": "proveout/status/1", **as_json(report)}, indent=2) + "\n")
    else:
        from tracker.cli.plain_screen import PlainScreen
        from tracker.reports.status import print_text

        everything = "all" in options or not sys.stdout.isatty()
        print_text(report, PlainScreen(), everything=everything)
    if report.unreadable:
        return Exit.COULD_NOT
    return Exit.BAD_CALL if report.problems else Exit.DONE


def _text(value: str | bool | None) -> str | None:
    return value if isinstance(value, str) else None


def _hand_on(words: list[str]) -> int:
    from tracker.cli.app import run as run_app

    return run_app(["status", *words])
