"""Tables that come from a spreadsheet: bytes in, rows of text out, whichever way the spreadsheet wrote them.

UTF-8 with or without its mark, UTF-16 with it, else the Western code page; commas, semicolons or tabs between the cells,
told by the line of headings; cells in quotes with line ends in them (RFC 4180). Writing is UTF-8 with the mark and CRLF, so
that a double click opens it with its letters whole.
"""

import codecs
import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.patterns import lazy_pattern

_SEPARATORS = ",;\t"
_TEXT_FIGURE = lazy_pattern(r'="[A-Za-z0-9 .,_-]*"')
"""Digits that are to stay text: ``="0042"``. Nothing in it can be reckoned."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: its ``line`` in the file, and its cells by heading; headings without a cell are left out."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Headings as written, rows, and whether a comma in a figure stands for a point (cells parted by semicolons)."""

    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    comma_figures: bool


def read_table(data: bytes, name: str) -> Table:
    """Read a table; lines without a cell are passed over.

    Raises BadCall (``bad-csv``): no headings, a heading twice, a row with more cells than headings, not text.
    """
    text = _text(data, name)
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(_SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    headings: tuple[str, ...] = ()
    rows: list[Row] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if not headings:
                headings = _headings(cells, name, reader.line_num)
            else:
                rows.append(_row(headings, cells, name, reader.line_num))
    except csv.Error as fault:
        raise _bad(name, reader.line_num, f"this is no table of cells: {fault}") from fault
    if not headings:
        raise _bad(name, 1, "there is no line of headings")
    return Table(headings=headings, rows=tuple(rows), comma_figures=separator == ";")


def written_table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The bytes of a table for a spreadsheet.

    A cell a spreadsheet would take for a formula is written with an apostrophe before it; figures are left alone.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(headings)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return codecs.BOM_UTF8 + out.getvalue().encode("utf-8", "replace")


def figure_of(text: str, *, comma: bool) -> float | int | None:
    """The figure in a cell, whole where it is written whole; None for a cell that holds none."""
    plain = text.strip().replace(" ", "")
    if comma and plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    if not plain.isascii() or any(mark.isalpha() or mark == "_" for mark in plain):
        return None
    try:
        return int(plain) if plain.lstrip("+-").isdecimal() else float(plain)
    except ValueError:
        return None


def _text(data: bytes, name: str) -> str:
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            try:
                return data.decode(encoding)
            except UnicodeDecodeError as fault:
                raise _bad(name, 1, f"its letters cannot be read: {fault.reason}") from fault
    if b"\0" in data:
        raise _bad(name, 1, "it holds bytes no text has; is it a workbook?")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def _headings(cells: Sequence[str], name: str, line: int) -> tuple[str, ...]:
    found = tuple(" ".join(cell.split()) for cell in cells)
    twice = next((cell for at, cell in enumerate(found) if cell and cell in found[:at]), None)
    if twice is not None:
        raise _bad(name, line, f"the heading {twice!r} stands there twice")
    return found


def _row(headings: Sequence[str], cells: Sequence[str], name: str, line: int) -> Row:
    if any(cell.strip() for cell in cells[len(headings) :]):
        raise _bad(name, line, f"there are {len(cells)} cells below {len(headings)} headings")
    held = {
        heading: cell.strip()
        for heading, cell in zip(headings, cells, strict=False)
        if heading and cell.strip()
    }
    return Row(line=line, cells=held)


def _cell(value: object) -> str:
    if value is None:
        return ""
    text = str(value)
    if _TEXT_FIGURE.fullmatch(text):
        return text
    if isinstance(value, str) and text.startswith(_FORMULA) and figure_of(text, comma=False) is None:
        return "'" + text
    return text


def _bad(name: str, line: int, what: str) -> BadCall:
    return BadCall(
        "bad-csv",
        what,
        where=f"{name}:{line}",
        fix="save it from the spreadsheet as CSV, with one line of headings at the top",
    )
