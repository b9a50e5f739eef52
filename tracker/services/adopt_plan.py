"""The plan of taking in old programs: one row a file, to be read and changed in a spreadsheet.

``take`` is what a person decides: ``yes`` a main program, ``called`` a program others call, ``no`` it stays what it is, ``?``
nobody has decided yet. Everything else says where it goes and why it is proposed so.
"""

from collections.abc import Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass, names_of
from tracker.services.csv_table import read_table, written_table
from tracker.typed import Any

YES, CALLED, NO, OPEN = "yes", "called", "no", "?"
_TAKE = {"y": YES, "x": YES, "ja": YES, "sub": CALLED, "n": NO, "nein": NO, "": OPEN}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One file.

    Attributes:
        take: see above.
        job, operation: where a main program goes; of a called one the job it goes with.
        file: as named from where the plan was made.
        to: folder of the repository it is copied to; empty: it stays where it is.
        machine: id, empty where nobody said.
        number: its O number, or several.
        units: ``inch``, ``mm`` or empty.
        id: the first 8 digits of its fingerprint.
        remarks: what is to be known: copies, differences, wrong numbers.
        proof_words: the comment that says it is proved: a hint, never a proof.
        prior_by, prior_evidence, last_run: of a proof kept on paper, filled in by a person.
        sha256: of the bytes the row was made from.
        line: of the plan, 0 where it was not read from one.
    """

    take: str
    job: str = ""
    operation: str = ""
    file: str
    to: str = ""
    machine: str = ""
    number: str = ""
    units: str = ""
    id: str = ""
    remarks: str = ""
    proof_words: str = ""
    prior_by: str = ""
    prior_evidence: str = ""
    last_run: str = ""
    sha256: str = ""
    line: int = 0


COLUMNS = tuple(name for name in names_of(PlanRow) if name != "line")
_NEEDED = ("take", "file")


def plan_bytes(rows: Sequence[PlanRow]) -> bytes:
    """The plan as a CSV file."""
    return written_table(COLUMNS, ([_quoted(key, getattr(row, key)) for key in COLUMNS] for row in rows))


def read_plan(data: bytes, name: str) -> tuple[PlanRow, ...]:
    """A plan a person saved; columns in any order, other ones left alone.

    Raises BadCall: ``bad-csv``, ``csv-heading`` (``take`` or ``file`` missing), ``csv-value``.
    """
    table = read_table(data, name)
    by_key = {heading.lower().replace(" ", "_").replace("-", "_"): heading for heading in table.headings}
    missing = [key for key in _NEEDED if key not in by_key]
    if missing:
        raise BadCall(
            "csv-heading",
            f"the plan has no column {missing[0]!r}",
            where=f"{name}:1",
            fix=f"keep the headings as adopt wrote them: {', '.join(COLUMNS)}",
        )
    rows = []
    for row in table.rows:
        cells = {key: row.cells.get(by_key[key], "") for key in COLUMNS if key in by_key}
        cells = {key: _bare(cell) for key, cell in cells.items()}
        cells["take"] = _take(cells["take"], name, row.line)
        if not cells["file"]:
            raise BadCall(
                "csv-value",
                "the row names no file",
                where=f"{name}:{row.line}",
                fix="take the row out, or name one",
            )
        said: dict[str, Any] = dict(cells)
        rows.append(PlanRow(**said, line=row.line))
    return tuple(rows)


def _take(said: str, name: str, line: int) -> str:
    plain = said.lower()
    plain = _TAKE.get(plain, plain)
    if plain not in (YES, CALLED, NO, OPEN):
        raise BadCall(
            "csv-value",
            f"take: {said!r} is none of yes, called, no, ?",
            where=f"{name}:{line}",
            fix="write yes for a main program, called for one that others call, no to leave it",
        )
    return plain


def _quoted(key: str, value: str) -> str:
    """A job 0042 or an id 12345E67 would be a figure to a spreadsheet: written so that it stays text."""
    figure = key in ("job", "id", "number") and value[:1].isdigit()
    return f'="{value}"' if figure else value


def _bare(cell: str) -> str:
    """The text of a cell, whichever way it was kept from being a figure or a formula."""
    text = cell.strip()
    if text.startswith('="') and text.endswith('"'):
        return text[2:-1]
    return text.removeprefix("'")
