"""The office's way of writing around the code a control brought home (``collect --tidy``).

Every block both texts have keeps the office's line: its number, comments, blanks. A block that was changed or added is
written as it came, with the office's number where it takes the place of one and blanks where the office sets them.
What comes out must have the code of what came home, to the last block; where it has not, nothing is made and the
bytes stay as they came.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tracker.nc import scan
from tracker.nc.calls import needs_strict
from tracker.nc.canonical import Reading
from tracker.nc.difference import difference

WORD_ADDRESS = "word-address"
_NUMBER = re.compile(rb"\A([ \t]*/?\d?[ \t]*)(N[ \t]*\d+)[ \t]*", re.IGNORECASE)
_WORD_ENDS = re.compile(rb"(?<=[0-9.])(?=[A-Za-z])")
_COMMENT = re.compile(rb"\([^()\r\n]*\)")
_PLAIN = re.compile(rb"[A-Za-z0-9.+\- \t/]*\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tidied:
    """The text, and the comments written at the control that are not in it."""

    data: bytes
    dropped: tuple[str, ...] = ()


def tidy(office: bytes, control: bytes, *, strict: bool) -> Tidied | None:
    """The control's code in the office's writing; None where that cannot be done without touching code."""
    strict = strict or needs_strict(control) or needs_strict(office)
    old, new = scan.read_both(office, control, strict=strict)
    if {old.dialect, new.dialect} != {WORD_ADDRESS} or not (_one_a_line(old) and _one_a_line(new)):
        return None
    wanted = scan.identity(control, strict=strict).fingerprint
    for own_numbers in (False, True):
        made = _woven(_lines(office), _lines(control), old, new, own_numbers=own_numbers)
        if scan.identity(made, strict=strict).fingerprint == wanted:
            return Tidied(data=made, dropped=comments_lost(control, made))
    return None


def _woven(
    office: Sequence[bytes], control: Sequence[bytes], old: Reading, new: Reading, *, own_numbers: bool
) -> bytes:
    """The office's lines with the control's in the places that differ; ``own_numbers``: with the control's N."""
    gone: set[int] = set()
    instead: dict[int, list[bytes]] = {}
    end = _end_of(office)
    for stretch in difference(old.code, new.code).stretches:
        olds = [old.lines[block] - 1 for block in range(stretch.old_from, stretch.old_to)]
        news = [control[new.lines[block] - 1] for block in range(stretch.new_from, stretch.new_to)]
        gone |= set(olds)
        before = old.lines[stretch.old_from - 1] - 1 if stretch.old_from else -1
        for place, line in enumerate(news):
            at = olds[min(place, len(olds) - 1)] if olds else before
            like = office[olds[place]] if place < len(olds) else None
            written = line.rstrip(b"\r\n") if own_numbers else _written_like(line, like, office[max(at, 0)])
            instead.setdefault(at, []).append(written + end)
    made = list(instead.get(-1, ()))
    for at, line in enumerate(office):
        if at not in gone:
            made.append(line)
        made += instead.get(at, ())
    return b"".join(made)


def _written_like(line: bytes, like: bytes | None, beside: bytes) -> bytes:
    """A line off the control with the number of ``like`` (None: without one), with blanks if ``beside`` has them."""
    number = _NUMBER.match(like) if like is not None else None
    bare = _NUMBER.sub(rb"\1", line.rstrip(b"\r\n \t"), count=1)
    if _PLAIN.match(bare) and b" " in beside.strip() and b" " not in bare.strip():
        bare = _WORD_ENDS.sub(b" ", bare)
    return number[1] + number[2] + b" " + bare.lstrip() if number is not None else bare


def _lines(data: bytes) -> list[bytes]:
    """Physical lines with their ends; parted by LF, or by CR in a file without LF."""
    end = b"\n" if b"\n" in data else b"\r"
    parts = [part + end for part in data.split(end)]
    parts[-1] = parts[-1][: -len(end)]
    return parts


def _end_of(lines: Sequence[bytes]) -> bytes:
    first = lines[0]
    return first[len(first.rstrip(b"\r\n")) :] or b"\n"


def _one_a_line(reading: Reading) -> bool:
    lines = reading.lines
    return all(lines[at] < lines[at + 1] for at in range(len(lines) - 1))


def comments_lost(text: bytes, made: bytes) -> tuple[str, ...]:
    """Comments of a text the other one has not, in whatever letters; the stamp of an export is none."""
    kept = set(_COMMENT.findall(made.upper()))
    lost = [one for one in _COMMENT.findall(text) if one.upper() not in kept]
    return tuple(dict.fromkeys(one.decode("latin-1") for one in lost if not _STAMP.match(one)))


_STAMP = re.compile(rb"\((?:ID [0-9A-F]{8}\b|UNPROVEN\b|DEVIATION\b)")
