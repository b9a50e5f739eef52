"""``status`` in the fast lane: looked at many times a day, so the option parser is left out.

The same use case and the same two forms of the answer as `tracker.cli.verb_status`, which has the help page.
"""

from tracker.cli.boundary import write
from tracker.cli.fast_words import read_options
from tracker.errors import BadCall, Exit

FLAGS = {"--json": "json", "--may-run": "may_run"}
VALUES = {"--machine": "machine", "--job": "job"}


def run(words: list[str]) -> int:
    """Show how operations stand; returns the exit status.

    Raises:
        ProveoutError: an unknown option, or what `tracker.services.status.status` raises.
    """
    options, operands = read_options(words, FLAGS, VALUES)
    if operands:
        fix = f"proveout status --job {operands[0]}"
        raise BadCall("wrong-call", f"status takes no {operands[0]!r}", fix=fix)
    from tracker.services.status import status
    from tracker.wiring import open_desk

    machine, job = options.get("machine"), options.get("job")
    report = status(
        open_desk("."),
        may_run="may_run" in options,
        machine=machine if isinstance(machine, str) else None,
        job=job if isinstance(job, str) else None,
    )
    if "json" in options:
        import json

        from tracker.reports.status import as_json

        write(json.dumps({"schema": "proveout/status/1", **as_json(report)}, indent=2) + "\n")
    else:
        from tracker.cli.screen import make_console
        from tracker.reports.status import print_text

        print_text(report, make_console())
    if report.unreadable:
        return Exit.COULD_NOT
    return Exit.BAD_CALL if report.problems else Exit.DONE
