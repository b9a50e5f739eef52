"""READ-ME.TXT beside the programs: what may run, what was left out and why, limits; for whoever stands at the machine.

Plain ASCII, CR LF, 78 columns: a control's own editor shows it, and so does any PC. It carries date and time and says
that it grows old.
"""

import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

from tracker.policy.states import standing_words
from tracker.reports.cautions import MOTION, PRINTED
from tracker.reports.export import proving_cautions, unreleased_word, until_words
from tracker.reports.times import moment, zone
from tracker.services.export_report import ExportedFile, ExportedOperation, ExportReport
from tracker.services.ports_stick import DEVIATION, FOR_PROVING, RELEASED

WIDTH = 78
_TITLES = {
    RELEASED: "WHAT MAY RUN ON {machine}",
    FOR_PROVING: "UNPROVEN - FOR A PROVE-OUT ON {machine} ONLY - NOT FOR PRODUCTION",
    DEVIATION: "DEVIATION ON {machine} - NOT RELEASED",
}


def read_me(report: ExportReport) -> bytes:
    """The bytes of the read-me of one export."""
    lines = [_ascii(line) for line in _lines(report)]
    return "".join(f"{line}\r\n" for line in lines).encode("ascii")


def _lines(report: ExportReport) -> Iterator[str]:
    tz = zone(report.zone)
    yield from _folded(_TITLES[report.purpose].format(machine=report.machine))
    yield "=" * WIDTH
    owner = f", owner {report.owner}" if report.owner else ""
    yield from _folded(f"Written {moment(report.at, tz)} by {report.by} to {report.stick}{owner}.")
    yield from _folded(PRINTED)
    yield from _folded(f"To be asked again by {until_words(report, tz)} at the latest.")
    yield ""
    files: dict[str, list[ExportedFile]] = {}
    for one in report.files:
        for user in one.users:
            files.setdefault(user, []).append(one)
    for operation in report.operations:
        yield from _operation(operation, files.get(f"{operation.job}/{operation.operation}", []))
    if not report.operations:
        yield from ("Nothing of ours may run here today.", "")
    yield from _listed("LEFT OUT, and why", (one.spelled for one in report.left_out))
    yield from _listed("TAKEN OFF THIS STICK (take it off the control too)", _leaves(report))
    yield from _listed("CALL IN: may not run any more, take it off", _call_in(report))
    changed = (f"{one.path} {one.why}" for one in report.changed)
    yield from _listed("CHANGED ON THIS STICK: not to be run as it is", changed)
    apart = (f"{one.path} ({one.job}/{one.operation} {one.revision}): {one.why}" for one in report.stays)
    yield from _listed("NOT RELEASED, and kept on this stick", apart)
    copies = (f"{one.path} {one.why}" for one in report.outside.copies)
    yield from _listed("COPIES ELSEWHERE ON THIS STICK: not to be run from there", copies)
    yield from _listed("NOTES", report.notes)
    for caution in (*proving_cautions(report), MOTION):
        yield from _folded(caution)


def _operation(operation: ExportedOperation, files: Sequence[ExportedFile]) -> Iterator[str]:
    release = f", release {operation.release}" if operation.release is not None else ""
    name = f"{operation.job}/{operation.operation}"
    yield f"{name} {operation.revision}{release}, id {operation.display_id}"
    yield from _folded(standing_words(operation.state, operation.reason), "  ")
    for note in operation.notes:
        yield from _folded(note, "  ! ")
    yield from _folded(f"files: {', '.join(_named(one) for one in files)}", "  ")
    for one in files:
        for note in (*filter(None, [one.silent]), *one.notes):
            yield from _folded(f"{one.name}: {note}", "  ! ")
    yield ""


def _named(file: ExportedFile) -> str:
    return file.name if file.unreleased is None else f"{file.name} ({unreleased_word(file)})"


def _leaves(report: ExportReport) -> Iterator[str]:
    return (f"{one.path}: {one.why}" for one in report.leaves)


def _call_in(report: ExportReport) -> Iterator[str]:
    return (f"{one.path}: {one.why}" for one in report.call_in if one.stick == report.stick)


def _listed(title: str, said: Iterable[str]) -> Iterator[str]:
    told = list(said)
    if told:
        yield title
        for one in told:
            yield from _folded(one, "  - ")
        yield ""


def _folded(text: str, indent: str = "") -> list[str]:
    """``text`` in lines of 78 columns, lines after the first set in under it."""
    plain = _ascii(text)
    return textwrap.wrap(plain, WIDTH, initial_indent=indent, subsequent_indent=" " * len(indent)) or [indent]


def _ascii(text: str) -> str:
    """Letters without accents, ``?`` for what has no plain letter."""
    apart = unicodedata.normalize("NFKD", text.replace("\u00df", "ss"))
    bare = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return "".join(letter if " " <= letter <= "~" else "?" for letter in bare)
