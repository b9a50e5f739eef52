"""The main table of an answer as CSV for a spreadsheet: the rows JSON has, a column a key.

Lists inside a cell are joined with ``; ``, small objects are spread over columns (``old.line``). UTF-8 with its mark, CRLF.
"""

from collections.abc import Mapping, Sequence

from tracker.services.csv_table import written_table

TABLES: Mapping[str, tuple[str, ...]] = {
    "adopt": ("rows",),
    "audit": ("rows", "problems"),
    "checkin": ("changed", "revisions"),
    "collect": ("files",),
    "compare": ("changes",),
    "doctor": ("points",),
    "export": ("files",),
    "history": ("people", "operations", "origins", "events"),
    "identify": ("files",),
    "sheet": ("tools",),
    "show": ("files",),
    "status": ("operations",),
    "summary": ("tools",),
    "verify": ("findings", "rules"),
    "where": ("places", "runs", "uses"),
}
"""Verb -> the keys its main table may stand under in JSON; the first that is there counts."""


def csv_bytes(verb: str, body: Mapping[str, object]) -> bytes:
    """The table of ``verb`` from the JSON of its answer; no row: the file holds its mark and an empty line of headings."""
    rows = next((body[key] for key in TABLES[verb] if key in body), ())
    flat = [_flat(row) for row in rows if isinstance(row, Mapping)] if isinstance(rows, Sequence) else []
    headings = list(dict.fromkeys(key for row in flat for key in row))
    return written_table(headings, ([row.get(key) for key in headings] for row in flat))


def _flat(row: Mapping[str, object], before: str = "") -> dict[str, object]:
    found: dict[str, object] = {}
    for key, value in row.items():
        if isinstance(value, Mapping):
            found |= _flat(value, f"{before}{key}.")
        else:
            found[before + key] = _cell(value)
    return found


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return "; ".join(_words(one) for one in value)
    return value


def _words(one: object) -> str:
    if isinstance(one, Mapping):
        return " ".join(str(part) for part in one.values() if part not in (None, ""))
    return str(_cell(one))
