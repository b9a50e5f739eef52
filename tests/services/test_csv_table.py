"""Tables of a spreadsheet, with Python's csv module and its dialects as what they are held against."""

import codecs
import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import BadCall
from tracker.services.csv_table import figure_of, read_table, written_table

CELL = st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12)
HEADINGS = ("T", "Description", "Stick-out")


def by_csv(rows, **dialect):
    out = io.StringIO(newline="")
    csv.writer(out, **dialect).writerows([HEADINGS, *rows])
    return out.getvalue()


@given(
    st.lists(st.tuples(CELL, CELL, CELL), max_size=8),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.sampled_from(["\r\n", "\n"]),
)
def test_whatever_csv_writes_is_read_back(rows, separator, encoding, end):
    data = by_csv(rows, delimiter=separator, lineterminator=end).encode(encoding)
    read = read_table(data, "l.csv")
    wanted = [[cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row)]
    assert read.headings == HEADINGS
    assert [[row.cells.get(heading, "") for heading in HEADINGS] for row in read.rows] == wanted
    assert read.comma_figures == (separator == ";")


@given(st.lists(st.tuples(CELL, st.integers(-9, 999), st.floats(-5, 5)), max_size=8))
def test_what_is_written_csv_reads_back(rows):
    data = written_table(HEADINGS, rows)
    assert data.startswith(codecs.BOM_UTF8)
    head, *read = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert tuple(head) == HEADINGS
    for (text, whole, figure), cells in zip(rows, read, strict=True):
        assert cells[0] in (text, "'" + text)
        assert (int(cells[1]), float(cells[2])) == (whole, figure)


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "-2+3", "+cmd|' /C calc'!A0"])
def test_a_cell_that_would_be_a_formula_is_not_one(text):
    _, cells = csv.reader(io.StringIO(written_table(("a",), [(text,)]).decode("utf-8-sig"), newline=""))
    assert cells == ["'" + text]


def test_cells_with_line_ends_and_quotes_in_them():
    """RFC 4180 section 2, rules 6 and 7."""
    read = read_table(b'T,Text\r\n3,"1/2"" MILL\r\nlong"\r\n\r\n4,b\r\n', "l.csv")
    assert [(row.line, row.cells) for row in read.rows] == [
        (3, {"T": "3", "Text": '1/2" MILL\r\nlong'}),
        (5, {"T": "4", "Text": "b"}),
    ]


def test_an_old_spreadsheet_writes_the_western_code_page():
    assert (
        read_table("T;Fräser\n1;Ø6 Schlüssel".encode("cp1252"), "l.csv").rows[0].cells["Fräser"]
        == "Ø6 Schlüssel"
    )


@pytest.mark.parametrize(
    ("data", "where", "words"),
    [
        (b"", "l.csv:1", "no line of headings"),
        (b"\n ,\n", "l.csv:1", "no line of headings"),
        (b"T,T\n1,2\n", "l.csv:1", "'T' stands there twice"),
        (b"T,D\n1,2\n3,4,5\n", "l.csv:3", "3 cells below 2 headings"),
        (b'T,D\n1,"2\n', "l.csv:2", "no table of cells"),
        (b"PK\x03\x04\x00\x00", "l.csv:1", "workbook"),
        (b"\xef\xbb\xbfT,\xff\n", "l.csv:1", "letters cannot be read"),
    ],
)
def test_what_is_no_table(data, where, words):
    with pytest.raises(BadCall) as told:
        read_table(data, "l.csv")
    assert (told.value.name, told.value.where) == ("bad-csv", where)
    assert words in told.value.what


@pytest.mark.parametrize(
    ("text", "comma", "figure"),
    [
        ("1,25", True, 1.25), ("1.25", True, 1.25), ("1,25", False, None), ("3", False, 3), ("+3", False, 3), (" 12 ", True, 12),
        ("1.234,5", True, None), ("", True, None), ("1e5", False, None), ("nan", False, None), ("inf", False, None),
        ("1_0", False, None), ("٣", False, None), ("0x10", False, None), (".5", False, 0.5), ("-.5", False, -0.5),
    ],
)  # fmt: skip
def test_figures(text, comma, figure):
    got = figure_of(text, comma=comma)
    assert (got, type(got)) == (figure, type(figure))
