"""Bytes, line ends, leader, per cent signs, and which language a file is written in."""

import pytest

from tests.fakes.programs import AFTER, BEFORE, around, whole_print
from tracker.nc.canonical import canonical, read
from tracker.nc.fingerprint import identity

PROGRAM = b"%\nO1\nN10 G1 X5.\nN20 M30\n%\n"
LINES = [b"%", b"O1", b"N10 G1 X5.", b"N20 M30", b"%"]

SAME = [
    ("CRLF", b"\r\n".join(LINES) + b"\r\n"),
    ("CR CR LF", b"\r\r\n".join(LINES) + b"\r\r\n"),
    ("LF CR CR", b"\n\r\r".join(LINES) + b"\n\r\r"),
    ("CR alone", b"\r".join(LINES) + b"\r"),
    ("mixed", b"%\r\nO1\nN10 G1 X5.\r\r\nN20 M30\n%\r\n"),
    ("no line end at the end", b"\n".join(LINES)),
    ("blank lines", b"\n\n%\n\n\nO1\n \t\nN10 G1 X5.\nN20 M30\n\n%\n\n \n"),
    ("byte-order mark", b"\xef\xbb\xbf" + PROGRAM),
    ("NUL leader and trailer", b"\0" * 40 + PROGRAM + b"\0" * 40),
    ("NUL leader on lines of its own", b"\0\0\r\n \0\n" + PROGRAM),
    ("DC1 to DC4 and DEL", b"\x7f\x11\x12" + PROGRAM + b"\x13\x14\x7f"),
    ("1A at the end", PROGRAM + b"\x1a"),
    ("1A glued to the last line", b"\n".join(LINES) + b"\x1a"),
    ("no per cent signs", b"O1\nN10 G1 X5.\nN20 M30\n"),
    ("wording before the first per cent sign", b"(FOR MILL2)\n" + PROGRAM),
    ("wording after the last", PROGRAM + b"(END)\n"),
    ("blanks around a per cent sign", b" % \nO1\nN10 G1 X5.\nN20 M30\n\t%\n"),
]

DIFFERENT = [
    ("first per cent sign only", b"%\nO1\nN10 G1 X5.\nN20 M30\n"),
    ("last per cent sign only", b"O1\nN10 G1 X5.\nN20 M30\n%\n"),
    ("a third one", b"%\nO1\nN10 G1 X5.\n%\nN20 M30\n%\n"),
    ("only the one between", b"O1\nN10 G1 X5.\n%\nN20 M30\n"),
    ("blocks before the first", b"G0 X9.\n%\nO1\nN10 G1 X5.\nN20 M30\n%\n"),
    ("words before the first", b"PLATE\n%\nO1\nN10 G1 X5.\nN20 M30\n%\n"),
    ("blocks after the last", b"%\nO1\nN10 G1 X5.\nN20 M30\n%\nG0 X9.\n"),
    ("a number after the last", b"%\nO1\nN10 G1 X5.\nN20 M30\n%\nN30\n"),
    ("a name on the first", b"%O1\nN10 G1 X5.\nN20 M30\n%\n"),
    ("a comment on the first", b"%(A)\nO1\nN10 G1 X5.\nN20 M30\n%\n"),
    ("1A between lines", b"%\nO1\nN10 G1 X5.\n\x1a\nN20 M30\n%\n"),
    ("DC3 between words", b"%\nO1\nN10 G1\x13 X5.\nN20 M30\n%\n"),
    ("NUL between words", b"%\nO1\nN10 G1\0 X5.\nN20 M30\n%\n"),
    ("NUL between lines", b"%\nO1\nN10 G1 X5.\n\0\nN20 M30\n%\n"),
    ("CR within a line of a file with LF", b"%\nO1\nN10 G1\rX5.\nN20 M30\n%\n"),
    ("byte-order mark further down", b"%\n\xef\xbb\xbfO1\nN10 G1 X5.\nN20 M30\n%\n"),
]


@pytest.mark.parametrize("data", [row[1] for row in SAME], ids=[row[0] for row in SAME])
def test_these_files_are_the_same_code(data):
    assert whole_print(data) == whole_print(PROGRAM)
    assert read(data).dialect == "word-address"


@pytest.mark.parametrize("data", [row[1] for row in DIFFERENT], ids=[row[0] for row in DIFFERENT])
def test_these_files_are_not(data):
    assert whole_print(data) != whole_print(PROGRAM)


def test_headers_after_a_per_cent_sign_are_kept_whole():
    code = around("%O1234(NAME)\n% MyPart\n%(50)")
    assert b"\n%O1234(NAME)\n% MyPart\n%(50)\n" in read(code).code
    assert whole_print(around("%O1234(NAME)")) != whole_print(around("%O1234(OTHER)"))


def test_blank_lines_and_line_ends_keep_count_of_physical_lines():
    reading = read(b"\0\n\n%\r\n\r\nO1\n\n\nG1 X5.\n(A)\nM30\n%\n")
    assert list(reading.lines) == [5, 8, 10]
    assert list(read(b"\0\r\r%\rO1\r\rG1 X5.\r%").lines) == [4, 6]
    assert list(read(b"O1\n\r\rG1 X5.\n\r\rM30").lines) == [1, 2, 3]


VERBATIM = [
    ("conversational", b"0 BEGIN PGM PLATE MM\n1 TOOL CALL 3 Z S2000\n2 L X+5 Y+5 R0 FMAX M3\n"),
    ("keyword control", b"N120 LABEL: M30\nR3=-.023\nY=12+10\nGOTOF 90\n"),
    ("wire", b"// CUT 1\nE001=3\nC001=5\n"),
    ("one slip in a file of nine lines", b"X1.\n" * 8 + b"GO X0.\n"),
    ("UTF-16", b"\xff\xfe" + "G0 X1.\nM30\n".encode("utf-16-le")),
    ("UTF-16 big end first", "\ufeffG0 X1.\nM30\n".encode("utf-16-be")),
    ("UTF-16 without a mark", "G0 X1.\nM30\n".encode("utf-16-le")),
    ("high-entropy bytes", bytes((i * 97 + i // 3 * 31) % 256 for i in range(4000))),
    ("a line that opens like a renamed label", b"X1.\n" * 20 + b"N=1 G1\n"),
    ("the same behind a skip", b"X1.\n" * 20 + b"/2 n = 1 G1\n"),
]


@pytest.mark.parametrize("data", [row[1] for row in VERBATIM], ids=[row[0] for row in VERBATIM])
def test_another_language_is_kept_to_the_letter(data):
    reading = read(data)
    assert reading.dialect == "verbatim"
    assert len(reading.notes) == 1
    assert "kept to the letter as a whole" in reading.notes[0]
    assert reading.code == (data if data.endswith(b"\n") else data + b"\n")
    assert identity(data).blocks == reading.code.count(b"\n") == len(reading.lines)


def test_one_line_in_ten_that_does_not_read_is_still_word_address():
    assert read(b"X1.\n" * 9 + b"GO X0.\n").dialect == "word-address"
    assert read(b"X1.\n" * 8 + b"GO X0.\n").dialect == "verbatim"
    assert read(b"X1.\n" * 18 + b"GO X0.\nGO X0.\n").dialect == "word-address"


@pytest.mark.parametrize("more", [b"(A)\n", b"; a\n", b"(MSG,A)\n", b"N5\n", b"\n", b"%\n"])
def test_comments_numbering_and_blank_lines_never_count(more):
    assert read(b"X1.\n" * 8 + b"GO X0.\n" + more * 30).dialect == "verbatim"
    assert read(more * 30 + b"X1.\n" * 9 + b"GO X0.\n").dialect == "word-address"


def test_verbatim_line_ends_and_trailing_blanks_are_format():
    data = b"BEGIN PGM A MM\r\nTOOL CALL 1 \t\r\n\r\nEND PGM A MM\r\n"
    plain = b"BEGIN PGM A MM\nTOOL CALL 1\n\nEND PGM A MM\n"
    assert canonical(data) == plain
    assert whole_print(data) == whole_print(plain)
    assert read(data).format != read(plain).format
    assert read(data).wording == b"\n" * 5


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (b"BEGIN PGM A MM\n", b"begin PGM A MM\n"),
        (b"BEGIN  PGM A MM\n", b"BEGIN PGM A MM\n"),
        (b"BEGIN PGM A MM\n; a\n", b"BEGIN PGM A MM\n; b\n"),
        (b"BEGIN PGM A\n\nEND PGM A\n", b"BEGIN PGM A\nEND PGM A\n"),
        (b"10 L X+5\n20 L Y+5 M30\n", b"10 L X+5\n30 L Y+5 M30\n"),
    ],
)
def test_everything_else_in_a_verbatim_file_is_code(one, other):
    assert read(one).dialect == "verbatim"
    assert whole_print(one) != whole_print(other)


def test_a_binary_file_is_kept_byte_by_byte():
    assert whole_print(b"A\0B\r\nC\n") != whole_print(b"A\0B\nC\n")
    assert whole_print(b"A\0B \nC\n") != whole_print(b"A\0B\nC\n")


def test_the_same_text_in_two_dialects_has_two_fingerprints():
    marked = read(b"GOTO10\nN10 G1 X5.\n")
    again = read(marked.code)
    assert again.code == marked.code
    assert (marked.dialect, again.dialect) == ("word-address", "verbatim")
    assert whole_print(marked.code) != whole_print(b"GOTO10\nN10 G1 X5.\n")


@pytest.mark.parametrize("data", [b"", b"\n", b" \t\r\n", b"\0\0\0", b"\xef\xbb\xbf", b"%\n%\n", b"(A)\n"])
def test_a_file_without_code_has_no_blocks(data):
    reading = read(data)
    assert (reading.dialect, reading.code, len(reading.lines)) == ("word-address", b"", 0)
    assert identity(data).blocks == 0
    assert reading.numbering == b"\n"


def test_the_strands_run_side_by_side():
    reading = read(BEFORE + b"N5 G1 X5. (A)\r\n" + AFTER)
    strands = (reading.numbering, reading.wording, reading.format)
    assert all(strand.count(b"\n") == reading.code.count(b"\n") + 1 for strand in strands)
    assert reading.code.count(b"\n") == len(reading.lines)
    assert reading.numbering.split(b"\n")[6] == b"N5"


FORMAT_ONLY = [
    (b"G1X5.\n", b"G1 X5.\n"),
    (b"G1X5.\n", b"g1X5.\n"),
    (b"G1X5.\n", b"G01X5.\n"),
    (b"G1X5.\n", b"G1X5.0\n"),
    (b"G1X5.\n", b"G1X5.\r\n"),
    (b"G1X5.\nX6.\n", b"G1X5.\n\nX6.\n"),
    (b"G1X5.\n", b"\0G1X5.\n"),
    (b"G1X5.\n", b"%\nG1X5.\n%\n"),
    (b"G1X5.\n", b"\nG1X5.\n"),
    (b"G1X5.\n", b"G1X5.\n\n"),
    (b"#1=5\n", b"#1 = 5\n"),
    (b"#1=5\n", b"#1=5\r\n"),
]


@pytest.mark.parametrize(("one", "other"), FORMAT_ONLY)
def test_reformatting_shows_in_the_format_strand_alone(one, other):
    first, second = read(one), read(other)
    assert first.code == second.code
    assert first.format != second.format
    assert (first.numbering, first.wording) == (second.numbering, second.wording)
    assert first.format == b"\n" * (first.code.count(b"\n") + 1)


@pytest.mark.parametrize(
    ("one", "other", "strand"),
    [
        (b"N10 G1 X5.\n", b"N20 G1 X5.\n", "numbering"),
        (b"N10 G1 X5.\n", b"G1 X5.\n", "numbering"),
        (b"N10 #1=5\n", b"N20 #1=5\n", "numbering"),
        (b"N10\nG1 X5.\n", b"G1 X5.\n", "numbering"),
        (b"N10 G1 X5.\nGOTO10\n", b"N20 G1 X5.\nGOTO20\n", "numbering"),
        (b"G1 X5. (A)\n", b"G1 X5. (B)\n", "wording"),
        (b"G1 X5. (A)\n", b"G1 X5.\n", "wording"),
        (b"(A)\nG1 X5.\n", b"G1 X5.\n", "wording"),
        (b"(A)\r\nG1 X5.\r\n", b"G1 X5.\r\n", "wording"),
        (b"G1 X5.\n(A)\n", b"G1 X5.\n", "wording"),
    ],
)
def test_numbering_and_wording_show_in_their_strands_alone(one, other, strand):
    first, second = read(one), read(other)
    names = ("code", "numbering", "wording", "format")
    assert [name for name in names if getattr(first, name) != getattr(second, name)] == [strand]
