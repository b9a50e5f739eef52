"""Program text as a machine wants it: line ends, characters, line length, stamp. Pure.

The one rule: the code stays. After all of it the file's fingerprint must be the one in the revision record; where it
is not, nothing is written and the line at fault is named. So comments may be put into plainer letters and the whole
text into capitals, but a comment the operator or the control acts on may not.

A ``verbatim`` text (another language, binary) is neither stamped nor touched: see `tracker.stick.verbatim`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from tracker.nc import scan
from tracker.nc.added import keeps_code
from tracker.nc.dialect import VERBATIM
from tracker.records.shop import Machine
from tracker.stick import verbatim
from tracker.stick.form import (
    ENDS,
    TAKES,
    between_percents,
    foreign_places,
    in_characters,
    too_long,
    with_line_ends,
)
from tracker.stick.stamp import Stamp, insert, places, without_stamps


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A shaped text: ``data``, what a person should know, and why it may not be written (then empty data).

    ``sha256``: of ``data`` where its code was asked for and the digest came along, else None.
    """

    data: bytes
    sha256: str | None = None
    notes: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()


def shape(
    data: bytes,
    machine: Machine,
    stamp: Stamp,
    *,
    dialect: str,
    fingerprint: str,
    strict: bool = False,
    known: bool = False,
) -> Text:
    """The text for ``machine`` with ``stamp``; problems where the code would change.

    Args:
        data: the revision's bytes.
        machine: line end, characters and longest line.
        stamp: what the stamp says.
        dialect: as in the revision record.
        fingerprint: as in the revision record.
        strict: whether that is the strict one.
        known: this run read ``data`` already and found that fingerprint, not a strict one; else it is worked out.
    """
    if dialect == VERBATIM:
        return _as_it_is(data, machine)
    same = _Keeps(fingerprint, strict=strict)
    notes: list[str] = []
    bare = _unstamped(data, same, notes)
    mapped = _mapped(bare, machine)
    foreign = foreign_places(bare) if machine.characters != "any" else 0
    if foreign:
        notes.append(f"{foreign} {'place' if foreign == 1 else 'places'} in comments put into plain letters")
    read = data if known and not strict and bare is data else None
    stamped = _stamped(mapped, stamp, machine, same, read)
    if stamped is None:
        return Text(data=b"", problems=(_why_not(data, bare, mapped, machine, same),))
    # of the text without the % line it may get in front: lines are numbered as the office sees them
    as_is = mapped if machine.percent is None else _mapped(bare, replace(machine, percent=None))
    problems = too_long(as_is, machine.max_line) + _marks_too_long(stamp, machine.max_line)
    if problems:
        return Text(data=b"", notes=tuple(notes), problems=problems)
    return Text(data=stamped, sha256=same.sha256, notes=tuple(notes))


def _as_it_is(data: bytes, machine: Machine) -> Text:
    """A text nobody here can read: to the byte, or not at all."""
    problems = verbatim.problems(data, machine)
    notes = verbatim.notes(data, machine)
    return Text(data=b"" if problems else data, notes=notes, problems=problems)


def _mapped(data: bytes, machine: Machine) -> bytes:
    """Line ends, ``%`` lines and characters of the machine."""
    text = with_line_ends(data, machine.line_end)
    if machine.percent == "both":
        text = between_percents(text, ENDS[machine.line_end])
    return in_characters(text, machine.characters)


def _why_not(data: bytes, bare: bytes, mapped: bytes, machine: Machine, same: "_Keeps") -> str:
    """Why a text cannot be shaped: asked step by step only once the end of it has not the code it must have."""
    if not same(data):
        return "its code is not that of the revision record: the text or the record is damaged"
    if same(mapped):
        return "no place for the stamp that leaves the code alone: an open comment in the head?"
    if machine.percent == "both" and same(_mapped(bare, replace(machine, percent=None))):
        return f"it has one % line, and {machine.id} wants one at both ends: a second would change what it is; change it in the office"
    return _culprit(bare, machine, same)


def _marks_too_long(stamp: Stamp, longest: int) -> tuple[str, ...]:
    return tuple(
        f"the mark {line.decode('ascii')} is longer than the {longest} characters the machine reads"
        for line in stamp.lines(longest)
        if longest and len(line) > longest
    )


class _Keeps:
    """Whether a text still has the fingerprint it must have; ``sha256`` of the bytes asked about last."""

    def __init__(self, fingerprint: str, *, strict: bool) -> None:
        self._fingerprint = fingerprint
        self._strict = strict
        self.sha256: str | None = None

    def __call__(self, data: bytes) -> bool:
        seen = scan.identity(data, strict=self._strict)
        self.sha256 = seen.raw_sha256
        return seen.fingerprint == self._fingerprint


def _unstamped(data: bytes, same: Callable[[bytes], bool], notes: list[str]) -> bytes:
    bare = without_stamps(data)
    if bare == data:
        return data
    if not same(bare):
        notes.append("carries an older stamp that could not be taken out without touching code")
        return data
    notes.append("an older stamp in the text is replaced")
    return bare


def _stamped(
    data: bytes, stamp: Stamp, machine: Machine, same: Callable[[bytes], bool], read: bytes | None
) -> bytes | None:
    """With its stamp at the first place where the code stays; ``read``: a text known to have the code it must have."""
    lines = stamp.lines(machine.max_line)
    for place in places(data):
        made = insert(data, place, lines, ENDS[machine.line_end])
        if (read is not None and keeps_code(read, made, place, len(made) - len(data))) or same(made):
            return made
    return None


def _culprit(data: bytes, machine: Machine, same: Callable[[bytes], bool]) -> str:
    """The first line whose code the machine's characters would change, found by halving."""
    text = with_line_ends(data, "lf")
    lines = text.splitlines(keepends=True) if b"\r" not in text else re.split(rb"(?<=\n)", text)
    good, bad = 0, len(lines)
    while bad - good > 1:
        middle = (good + bad) // 2
        if same(in_characters(b"".join(lines[:middle]), machine.characters) + b"".join(lines[middle:])):
            good = middle
        else:
            bad = middle
    shown = lines[good].decode("latin-1").strip() if lines else ""
    letters = TAKES.get(machine.characters, TAKES["ascii"])
    return f"line {good + 1}: {shown!r} counts as code here, and {machine.id} takes {letters} only; change it in the office"
