"""The console script: looks at the words of the call and picks a lane.

Two lanes lead out of here. The *fast lane* (``tracker.cli.fast``) serves what git and scripts call hundreds of times:
``--version``, ``fingerprint``, ``normalize`` and ``gate`` on the standard library alone, ``status``, and ``compare`` of
two plain files. Everything else, and the help pages of all verbs, goes to ``tracker.cli.app``, where the imports are
dearer. Both share one error boundary, ``tracker.cli.boundary``.

``PROVEOUT_PURE=1`` in the environment lets the plain-Python reference read all programs.

This module runs before every verb, so it imports nothing that the interpreter has not imported already.
"""

import os
import sys

FAST_VERBS = frozenset({"fingerprint", "normalize", "status", "compare", "gate"})


def script() -> int:
    """`main` as the console script: the process ends with it.

    At its end the interpreter looks twice, among all objects there are, for those that refer to each other: a third of
    a second after an audit of a large shop. The memory goes back to the system without that.
    """
    status = main()
    import gc

    gc.disable()
    gc.freeze()
    return status


def main(argv: list[str] | None = None) -> int:
    """Run one call of the console script and return its exit status.

    Args:
        argv: the words after the script's name; those of the process if None.

    Never raises: what goes wrong is told on standard error (or as one JSON object) by the error boundary.
    """
    words = sys.argv[1:] if argv is None else list(argv)
    try:
        status = _run(words)
        _flush()
    except BaseException as fault:  # noqa: BLE001 - the one place that catches everything, see boundary
        from tracker.cli.boundary import report

        return report(fault, words)
    return status


def _run(words: list[str]) -> int:
    if words == ["--version"]:
        from tracker import __version__

        sys.stdout.write(f"proveout {__version__}\n")
        return 0
    if os.environ.get("PROVEOUT_PURE") == "1":
        from tracker.nc import scan

        scan.use(plain=True)
    from tracker.cli.fast_words import verb_of

    verb, at = verb_of(words)
    if verb in FAST_VERBS and not {"-h", "--help"} & set(words):
        from tracker.cli.fast import run as run_fast

        return run_fast(verb, words[:at], words[at + 1 :])
    from tracker.cli.app import run as run_app

    return run_app(words)


def _flush() -> None:
    """Write out what is buffered while a closed pipe can still be met quietly."""
    if sys.stdout is not None:
        sys.stdout.flush()
