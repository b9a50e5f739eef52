"""``proveout gate``: what git's hooks ask before a release tag is made, moved or deleted.

``gate REF OLD NEW`` is about one reference; ``--local`` and ``--push`` read lines ``OLD NEW REF`` from standard input,
of one change of references here, or of a push into this repository. Here only references below ``refs/tags/release/``
are asked about, and the rest passes; of a push everything is. ``--ci OLD NEW [REF]`` judges a push a hosted repository
has taken in already, ``--journal`` holds the receive journal of a server against itself.

A tag that was derived here before (``release`` does it before it makes the tag) passes at once, if it is new and the
release before it is there; everything else is looked at closely, which takes several times as long to import.
"""

import sys

from tracker.cli.fast_words import read_options
from tracker.errors import BadCall, Exit, Refused
from tracker.store.derived import common_dir_here, exists, is_remembered

RELEASES = "refs/tags/release/"
FLAGS = {"--json": "json", "--local": "local", "--push": "push", "--ci": "ci", "--journal": "journal"}
Line = tuple[str, str, str]


def run(words: list[str]) -> int:
    """Decide; returns 0 when the gate opens.

    Raises:
        BadCall: the call is none of the forms above.
        Refused: ``gate-closed`` with every reason.
        CouldNot: the repository cannot tell; the gate stays closed.
    """
    options, operands = read_options(words, FLAGS, {})
    if "ci" in options or "journal" in options:
        return _looked_back(options, operands)
    asked = _lines(options, operands)
    lines = asked if "push" in options else [line for line in asked if line[2].startswith(RELEASES)]
    if lines and ("push" in options or not all(_known(line) for line in lines)):
        from tracker.cli.gate_call import decide

        decide(lines, push="push" in options)
    if "json" in options:
        sys.stdout.write('{"schema": "proveout/gate/1", "opens": true}\n')
    return Exit.DONE


def _looked_back(options: dict[str, str | bool], operands: list[str]) -> int:
    """``--ci`` and ``--journal``: what is there already."""
    from tracker.cli.gate_push import decide_ci, look_at_journal

    ways = [name for name in ("ci", "journal", "push", "local") if name in options]
    if len(ways) > 1 or len(operands) not in ((2, 3) if ways == ["ci"] else (0,)):
        fix = "proveout gate --ci OLD NEW [REF], or proveout gate --journal"
        raise BadCall("wrong-call", "Either --ci with what was pushed, or --journal.", fix=fix)
    if ways == ["ci"]:
        decide_ci((operands[0], operands[1], operands[2] if len(operands) > 2 else ""))
        said = '{"schema": "proveout/gate/1", "opens": true}\n'
        sys.stdout.write(said if "json" in options else "")
        return Exit.DONE
    count, faults = look_at_journal()
    if faults:
        raise Refused(
            "journal-broken",
            "the receive journal is not whole",
            reasons=tuple(faults),
            fix="hold it against the copy kept elsewhere, and ask who works on the server",
        )
    words = f"{count} {'line' if count == 1 else 'lines'}, each follows the one before it.\n"
    sys.stdout.write(f'{{"schema": "proveout/gate/1", "lines": {count}}}\n' if "json" in options else words)
    return Exit.DONE


def _lines(options: dict[str, str | bool], operands: list[str]) -> list[Line]:
    """(old, new, reference) of everything asked about."""
    fix = "proveout gate REF OLD NEW, or lines OLD NEW REF on standard input with --local or --push"
    if "local" in options or "push" in options:
        if operands or ("local" in options and "push" in options):
            raise BadCall("wrong-call", "Either one reference or lines on standard input.", fix=fix)
        text = sys.stdin.buffer.read().decode("utf-8", "surrogateescape")
        found = [tuple(line.split(" ", 2)) for line in text.split("\n") if line]
    elif len(operands) == 3:
        found = [(operands[1], operands[2], operands[0])]
    else:
        found = [()]
    lines = [(each[0], each[1], each[2]) for each in found if len(each) == 3]
    if len(lines) != len(found):
        raise BadCall(
            "wrong-call", "The gate is asked about a reference, its old and its new value.", fix=fix
        )
    return lines


def _known(line: Line) -> bool:
    """Whether a new tag was derived here before and leaves no gap; asks no program, imports nothing."""
    _, new, ref = line
    common_dir = common_dir_here()
    if common_dir is None or not new.isalnum() or not is_remembered(common_dir, ref, new):
        return False
    before, _, number = ref.rpartition("/")
    if not number.isdecimal() or exists(common_dir, ref) is not False:
        return False
    return number == "1" or exists(common_dir, f"{before}/{int(number) - 1}") is True
