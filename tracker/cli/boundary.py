"""The one place where what went wrong becomes text and an exit status; both lanes use it.

=====================  ======  =====================================================================
what was raised        status  what is said
=====================  ======  =====================================================================
ProveoutError          its     what, where and fix on standard error, reasons as a list; with
                       own     ``--json`` one object on standard output instead
SystemExit             its     nothing more
                       own
KeyboardInterrupt      130     one word on standard error
BrokenPipeError        4       nothing: nobody reads any more, and an answer that was not delivered is no yes
OSError of a disk      4       as one named ``disk-full`` or ``not-written``: no room, or nothing may be written
OSError about a file   4       as a ProveoutError named ``not-readable``
option parser's own    2       as a ProveoutError named ``wrong-call``
anything else          3       that it is our defect, and the report file that holds the traceback
=====================  ======  =====================================================================

A traceback is never shown. Standard library only, and nothing imported before something went wrong.
"""

import sys

from tracker.errors import BadCall, CouldNot, Exit, ProveoutError

# Worst last: a defect outweighs everything, and "could not find out" outweighs a plain no.
_BY_WEIGHT = (Exit.DONE, Exit.NO, Exit.BAD_CALL, Exit.COULD_NOT, Exit.DEFECT, Exit.INTERRUPTED)

_CLEARS = " (clear it: "
_TO_COPY = (" proveout ", " git ")


def report(fault: BaseException, argv: list[str]) -> int:
    """Tell a person (or a script) what went wrong and return the exit status.

    Args:
        fault: what was raised.
        argv: the words of the call; ``--json`` among them asks for an object on standard output.
    """
    if isinstance(fault, SystemExit):
        return _status_of(fault)
    if _interrupted(fault):
        _say("Interrupted.\n")
        return Exit.INTERRUPTED
    if isinstance(fault, BrokenPipeError):
        _let_go_of_stdout()
        return Exit.COULD_NOT
    known = fault if isinstance(fault, ProveoutError) else _known(fault, argv)
    tell(known, as_json="--json" in argv, verb=_verb(argv))
    return known.exit


def _interrupted(fault: BaseException) -> bool:
    """Whether somebody pressed Ctrl-C: what goes wrong while a call ends because of that is no answer of its own."""
    seen: set[int] = set()
    while id(fault) not in seen:
        if (
            isinstance(fault, KeyboardInterrupt) or type(fault).__name__ == "Abort"
        ):  # the option parser's own name
            return True
        seen.add(id(fault))
        fault = fault.__cause__ or fault.__context__ or fault
    return False


def tell(error: ProveoutError, *, as_json: bool, verb: str = "") -> None:
    """Print one error: lines on standard error, or one JSON object on standard output."""
    if as_json:
        import json

        document = {"schema": f"proveout/{verb or 'error'}/1", "error": as_dict(error)}
        try:
            write(json.dumps(document, indent=2) + "\n")
        except OSError:  # nobody reads; the status still tells
            _let_go_of_stdout()
    else:
        text, width = as_text(error), _width()
        _say(text if width is None else for_terminal(text, width))


def for_terminal(text: str, width: int) -> str:
    """An error's lines folded to ``width`` columns, so that no word is cut; paths and commands stay whole, to be copied."""
    lines: list[str] = []
    for line in text.splitlines():
        sentence, mark, command = line.partition(_CLEARS)
        if line.startswith("  --> ") or any(name in sentence for name in _TO_COPY):
            lines.append(line)
            continue
        lines += _fold(sentence, width)
        lines += [f"   {mark}{command}"] if mark else []
    return "\n".join(lines) + "\n"


def _fold(line: str, width: int) -> list[str]:
    import textwrap

    inner = "    " if line.startswith("  ") else "  "
    return textwrap.wrap(
        line, max(width - 1, 40), subsequent_indent=inner, break_on_hyphens=False, break_long_words=False
    ) or [line]


def _width() -> int | None:
    """Columns of the terminal errors are shown on; None where they go elsewhere, and stay as they are."""
    import shutil

    on_terminal = getattr(sys.stderr, "isatty", None)
    if on_terminal is None or not on_terminal():
        return None
    return shutil.get_terminal_size().columns


def as_text(error: ProveoutError) -> str:
    """An error as the lines a person reads: what with its plain name, where, fix, reasons."""
    lines = [f"{error.what}  [{error.name}]"]
    if error.where:
        lines.append(f"  --> {error.where}")
    lines.extend(f"  - {reason}" for reason in error.reasons)
    if error.fix:
        lines.append(f"  fix: {error.fix}")
    return "\n".join(lines) + "\n"


def as_dict(error: ProveoutError) -> dict[str, object]:
    """An error as it stands in a JSON document; ``reasons`` only where there are some."""
    said: dict[str, object] = {
        "name": error.name,
        "message": error.what,
        "where": error.where,
        "fix": error.fix,
    }
    if error.reasons:
        said["reasons"] = list(error.reasons)
    return said


def worst(first: int, second: int) -> int:
    """The weightier of two exit statuses, for calls that carry on after a fault."""
    return max(first, second, key=lambda status: _BY_WEIGHT.index(status))


def write(text: str, *, to_stderr: bool = False) -> None:
    r"""Write text to a standard stream whatever its encoding can hold; the rest comes out as ``\x..`` escapes."""
    stream = sys.stderr if to_stderr else sys.stdout
    if stream is None:  # a windowless start on Windows
        return
    encoding = getattr(stream, "encoding", None) or "ascii"
    stream.write(text.encode(encoding, "backslashreplace").decode(encoding))


def _say(text: str) -> None:
    try:
        write(text, to_stderr=True)
    except OSError:  # nobody listens on standard error; the status still tells
        return


def _status_of(fault: SystemExit) -> int:
    if fault.code is None:
        return Exit.DONE
    if isinstance(fault.code, int):
        return fault.code
    _say(f"{fault.code}\n")
    return Exit.NO


def _verb(argv: list[str]) -> str:
    from tracker.cli.fast_words import verb_of

    return verb_of(argv, key=True)[0]


def _let_go_of_stdout() -> None:
    """Point standard output at nothing, so that the interpreter's last flush has nothing to complain about."""
    import os

    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
        os.close(nothing)
    except (OSError, ValueError, AttributeError):  # a stand-in stream without a file behind it
        return


def _known(fault: BaseException, argv: list[str]) -> ProveoutError:
    """An error value for a fault that nobody foresaw."""
    if isinstance(fault, OSError) and (of_disk := _disk(fault)) is not None:
        return of_disk
    if isinstance(fault, OSError) and fault.filename is not None:
        return CouldNot(
            "not-readable",
            f"Could not read or write a file: {fault.strerror or fault}.",
            where=str(fault.filename),
            fix="Look at the permissions, the free space and whether the medium is still there.",
        )
    if hasattr(fault, "format_message"):  # how the option parser of the full command line says "wrong call"
        fix = f"See proveout {_verb(argv)} --help.".replace("  ", " ")
        return BadCall("wrong-call", fault.format_message(), fix=fix)
    return _defect(fault, argv)


def _disk(fault: OSError) -> ProveoutError | None:
    """The error of a disk that takes nothing more, also where the system names no file (as when it syncs one)."""
    import errno

    where = str(fault.filename) if fault.filename is not None else None
    if fault.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG):
        fix = "Make room on the disk, then run it again."
        return CouldNot("disk-full", "The disk is full.", where=where, fix=fix)
    if fault.errno == errno.EROFS:
        fix = "Look whether the disk is write-protected or mounted for reading only, then run it again."
        return CouldNot("not-written", "Nothing can be written there: read-only.", where=where, fix=fix)
    return None


def _defect(fault: BaseException, argv: list[str]) -> ProveoutError:
    where = _write_report(fault, argv)
    error = ProveoutError(
        "defect",
        f"proveout met a defect of its own: {type(fault).__name__}. Nothing was concluded from this call.",
        where=where,
        fix="Send in the report file named above, with what you did."
        if where
        else "Run the call again; the report file could not be written.",
    )
    error.exit = Exit.DEFECT
    return error


def _write_report(fault: BaseException, argv: list[str]) -> str | None:
    """Write the traceback to a file of its own in the temporary folder; its path, or None if that failed too."""
    import tempfile
    import traceback

    from tracker import __version__

    text = "".join(traceback.format_exception(fault))
    head = f"proveout {__version__}, Python {sys.version}, {sys.platform}\ncall: {argv!r}\n\n"
    try:
        with tempfile.NamedTemporaryFile(
            "w",
            prefix="proveout-report-",
            suffix=".txt",
            delete=False,
            encoding="utf-8",
            errors="backslashreplace",
        ) as report_file:
            report_file.write(head + text)
    except OSError:
        return None
    return report_file.name
