"""Program text as a machine wants it; the code stays."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.nc import scan
from tracker.records.shop import Machine
from tracker.stick import form
from tracker.stick.form import between_percents, in_characters, too_long, with_line_ends
from tracker.stick.stamp import Stamp, insert, marks, places, without_stamps
from tracker.stick.text import shape

MILL = Machine(id="MILL2", type="mill", units="inch", line_end="crlf", characters="any")
UPPER = replace(MILL, characters="ascii-upper")
STAMP = Stamp(mark="7f3a09c2", machine="MILL2", job="4471", operation="op10", revision=5, release=2)
LINE = b"(ID 7F3A09C2 4471 OP10 R5 REL 2 MILL2)"
PROGRAM = b"%\nO1001 (PLATE)\nN10 G0 X1.\nN20 M0 (TURN THE PART)\nM30\n%\n"


def shaped(data: bytes, machine: Machine = MILL, stamp: Stamp = STAMP, strict: bool = False):
    known = scan.identity(data, strict=strict)
    return shape(data, machine, stamp, dialect=known.dialect, fingerprint=known.fingerprint, strict=strict)


def test_the_stamp_stands_on_a_line_of_its_own_after_the_o_line():
    assert shaped(PROGRAM).data == (
        b"%\r\nO1001 (PLATE)\r\n" + LINE + b"\r\nN10 G0 X1.\r\nN20 M0 (TURN THE PART)\r\nM30\r\n%\r\n"
    )


@pytest.mark.parametrize(
    ("stamp", "line"),
    [
        (STAMP, LINE),
        (replace(STAMP, operation=None, mark="1a2b3c4d"), b"(ID 1A2B3C4D 4471 SUB REL 2 MILL2)"),
        (replace(STAMP, job=None, mark="1a2b3c4d"), b"(ID 1A2B3C4D COMMON MILL2)"),
        (replace(STAMP, operation="op10-m3", machine="mill3"), b"(ID 7F3A09C2 4471 OP10-M3 R5 REL 2 MILL3)"),
    ],
)
def test_what_a_stamp_says(stamp, line):
    assert stamp.lines() == (line,)
    assert line in shaped(PROGRAM, stamp=stamp).data


def test_a_stamp_never_says_proven_and_one_for_proving_says_unproven_first():
    for_proving = replace(STAMP, release=None, unproven=True)
    assert for_proving.lines() == (b"(UNPROVEN - FOR PROVE-OUT ONLY)", b"(ID 7F3A09C2 4471 OP10 R5 MILL2)")
    assert b"PROVEN" not in b"".join(STAMP.lines())
    assert (
        b"O1001 (PLATE)\r\n(UNPROVEN - FOR PROVE-OUT ONLY)\r\n(ID 7F3A09C2 4471 OP10 R5 MILL2)\r\nN10"
        in shaped(PROGRAM, stamp=for_proving).data
    )


def test_a_long_stamp_is_shortened_to_the_line_the_machine_reads():
    assert STAMP.lines(max_line=20) == (b"(ID 7F3A09C2)",)
    assert b"(ID 7F3A09C2)\r\n" in shaped(PROGRAM, replace(MILL, max_line=30)).data


@pytest.mark.parametrize(
    ("data", "made"),
    [
        (b"%\nG0 X1.\nM30\n%\n", b"%\r\n@\r\nG0 X1.\r\nM30\r\n%\r\n"),
        (b"G0 X1.\nM30\n", b"@\r\nG0 X1.\r\nM30\r\n"),
        (b"O1\nM30", b"O1\r\n@\r\nM30\r\n"),
        (b"O1", b"O1\r\n@\r\n"),
        (b"%", b"%\r\n@\r\n"),
        (b":1234\nM30\n", b":1234\r\n@\r\nM30\r\n"),
        (b"%\n(A PLATE)\n\nO0001\nM30\n%\n", b"%\r\n(A PLATE)\r\n\r\nO0001\r\n@\r\nM30\r\n%\r\n"),
        (b"%\n(A PLATE)\nG0 X1.\nO0001\nM30\n%\n", b"%\r\n@\r\n(A PLATE)\r\nG0 X1.\r\nO0001\r\nM30\r\n%\r\n"),
        (b"\x00\x00%\nO1\nM30\n%\n\x00", b"\x00\x00%\r\nO1\r\n@\r\nM30\r\n%\r\n\x00\r\n"),
        (b"\xef\xbb\xbfG0 X1.\nM30\n", b"\xef\xbb\xbf@\r\nG0 X1.\r\nM30\r\n"),
    ],
)
def test_where_the_stamp_goes(data, made):
    assert shaped(data).data == made.replace(b"@", LINE)


def test_an_open_comment_on_the_o_line_makes_every_later_comment_code_so_the_stamp_goes_before_it():
    data = b"%\nO1001 (PLATE\nG0 X1.\nM30\n%\n"
    assert shaped(data).data == b"%\r\n" + LINE + b"\r\nO1001 (PLATE\r\nG0 X1.\r\nM30\r\n%\r\n"


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r", b"\r\r\n", b"\n\r\r"])
@pytest.mark.parametrize(("kind", "wanted"), [("crlf", b"\r\n"), ("lf", b"\n")])
def test_line_ends_are_the_machines(end, kind, wanted):
    data = end.join([b"%", b"O1", b"G0 X1.", b"M30", b"%", b""])
    made = shaped(data, replace(MILL, line_end=kind)).data
    assert made == wanted.join([b"%", b"O1", LINE, b"G0 X1.", b"M30", b"%", b""])


def test_blank_lines_stay_and_the_last_line_gets_its_end():
    assert with_line_ends(b"A\n\nB", "crlf") == b"A\r\n\r\nB\r\n"
    assert with_line_ends(b"A\r\n\r\nB\r\n", "lf") == b"A\n\nB\n"
    assert with_line_ends(b"", "lf") == b""


def test_a_stray_carriage_return_inside_a_line_stays():
    assert with_line_ends(b"G0\rX1.\nM30\n", "crlf") == b"G0\rX1.\r\nM30\r\n"


@pytest.mark.parametrize(
    ("data", "made"),
    [
        ("(BOHRUNG Ø5 FÜR GRÖßE)".encode("latin-1"), b"(BOHRUNG O5 FUER GROESSE)"),
        ("(BOHRUNG Ø5 FÜR GRÖßE)".encode(), b"(BOHRUNG O5 FUER GROESSE)"),
        ("(30\u00b0 \u00d7 5\u00b5 \u2013 \u201cx\u201d)".encode(), b"(30 DEG x 5u - ?x?)"),
        (b"(\x07BELL)", b"(?BELL)"),
        ("(\u2474 \uff05)".encode(), b"(? ?)"),
    ],
)
def test_comments_are_put_into_plain_letters(data, made):
    assert in_characters(data, "ascii") == made
    assert in_characters(data, "ascii-upper") == made.upper()
    assert in_characters(data, "any") == data


def test_a_comment_in_other_letters_is_written_plainly_and_said():
    data = "%\no1 (größe)\ng0 x1. (ä b)\nm30\n%\n".encode()
    made = shaped(data, UPPER)
    assert made.problems == ()
    assert made.data.split(b"\r\n")[1:4] == [b"O1 (GROESSE)", LINE, b"G0 X1. (AE B)"]
    assert made.notes == ("2 places in comments put into plain letters",)


@pytest.mark.parametrize(
    ("line", "machine"),
    [
        ("N20 M0 (Turn the part)", UPPER),
        ("(MSG, check Bore)", UPPER),
        ("N20 M0 (Größe)", replace(MILL, characters="ascii")),
        ("G0 X1.\u00a0Y2.", replace(MILL, characters="ascii")),
        ("#3006=1 (Look)", UPPER),
    ],
)
def test_where_code_would_change_nothing_is_written_and_the_line_is_named(line, machine):
    data = b"%\nO1 (plate)\n(harmless \xe4)\n" + line.encode("latin-1") + b"\nG1 X1.\nY1." * 9 + b"\nM30\n%\n"
    made = shaped(data, machine)
    assert made.data == b""
    (problem,) = made.problems
    assert problem.startswith(f"line 4: {line!r} counts as code here")


def test_a_line_longer_than_the_machine_reads_is_refused_and_named():
    made = shaped(b"%\nO1\nG1 X1.2345 Y1.2345 Z1.2345 F100.\nM30\n%\n", replace(MILL, max_line=20))
    assert made.data == b""
    assert made.problems == ("line 3 is 32 characters long, the machine reads 20",)


def test_a_line_too_long_is_numbered_as_in_the_office_where_a_percent_line_is_put_in_front():
    made = shaped(b"O1\nG1 X1.2345 Y1.2345 Z1.2345 F100.\nM30\n", replace(MILL, max_line=20, percent="both"))
    assert made.problems == ("line 2 is 32 characters long, the machine reads 20",)


def test_a_prove_out_mark_longer_than_a_line_is_refused():
    made = shaped(PROGRAM, replace(MILL, max_line=30), replace(STAMP, unproven=True))
    assert made.problems == (
        "the mark (UNPROVEN - FOR PROVE-OUT ONLY) is longer than the 30 characters the machine reads",
    )


def test_of_many_long_lines_five_are_named():
    said = too_long(b"123456\r\n" * 9, 5)
    assert said[0] == "line 1 is 6 characters long, the machine reads 5"
    assert said[-1] == "and 4 more lines like that"
    assert len(said) == 6
    assert too_long(b"12345\r\n", 5) == ()
    assert too_long(b"123456\n", 0) == ()


def test_bytes_that_are_not_the_revisions_are_not_written():
    made = shape(PROGRAM, MILL, STAMP, dialect="word-address", fingerprint="0" * 64)
    assert made.data == b""
    assert "not that of the revision record" in made.problems[0]


OLD = b"(ID 00000000 4471 OP10 R2 REL 1 MILL2)"


@pytest.mark.parametrize(
    "old",
    [
        OLD,
        b"  " + OLD + b"  ",
        b"(ID 00000000 4471 SUB REL 1 MILL2)",
        b"(ID 00000000 COMMON MILL2)",
        b"(ID 00000000)",
        b"(id 00000000 4471 op10 r2 rel 1 mill2)",
        b"(UNPROVEN - FOR PROVE-OUT ONLY)",
        b"(UNPROVEN-FOR PROVE-OUT ONLY)",
        b"(UNPROVEN - FOR PROVE-OUT ONLY)\n(ID 00000000 4471 OP10 R2 MILL2)",
        b";ID 00000000 4471 OP10 R2 REL 1 MILL2",
        b"; UNPROVEN - FOR PROVE-OUT ONLY\n;ID 00000000 COMMON MILL2 ",
    ],
)
def test_an_older_stamp_that_came_home_with_an_edit_is_replaced(old):
    data = b"%\nO1001 (PLATE)\n" + old + b"\nG0 X1.\nM30\n%\n"
    made = shaped(data)
    assert made.data == b"%\r\nO1001 (PLATE)\r\n" + LINE + b"\r\nG0 X1.\r\nM30\r\n%\r\n"
    assert made.notes == ("an older stamp in the text is replaced",)


@pytest.mark.parametrize("end", [b"\r", b"\n\r\r", b"\n", b"\r\n"])
@pytest.mark.parametrize("old", [OLD, b";" + OLD[1:-1]])
def test_an_older_stamp_is_read_whatever_ends_the_lines(old, end):
    data = PROGRAM.replace(b"(PLATE)\n", b"(PLATE)\n" + old + b"\n").replace(b"\n", end)
    assert marks(data) == ("00000000",)
    assert marks(without_stamps(data)) == ()


@pytest.mark.parametrize("line", [b";ID 00000000 IS THE FIXTURE", b"G0 X1. ;ID 00000000 COMMON MILL2"])
def test_other_remarks_after_a_semicolon_are_no_stamps(line):
    assert marks(line + b"\nG0\n") == ()
    assert without_stamps(line + b"\nG0\n") == line + b"\nG0\n"


def test_a_line_number_the_control_put_before_a_stamp_stays():
    assert without_stamps(b"O1\nN5 " + OLD + b"\nG0\n") == b"O1\nN5\nG0\n"


@pytest.mark.parametrize(
    "line",
    [b"(ID 7F3A09C2 IS THE FIXTURE)", b"(ID CARD)", b"(INSIDE 00000000)", b"G0 X1. " + OLD, b"(UNPROVEN)"],
)
def test_other_comments_are_no_stamps(line):
    assert without_stamps(line + b"\n") == line + b"\n"


def test_an_old_stamp_that_has_become_code_is_left_and_said():
    data = b"%\nO1001 (PLATE\n" + OLD + b"\nG0 X1.\nM30\n%\n"
    made = shaped(data)
    assert OLD in made.data
    assert made.notes == ("carries an older stamp that could not be taken out without touching code",)


def test_strict_fingerprints_are_kept_too():
    data = b"%\nO1001\nN10 G0 X1.\nM98 P1002\nN20 M30\n%\n"
    made = shaped(data, UPPER, strict=True)
    assert scan.identity(made.data, strict=True).fingerprint == scan.identity(data, strict=True).fingerprint


LINES = st.lists(
    st.one_of(
        st.sampled_from(
            [
                b"%",
                b"O1001",
                b"N10 G0 X1.",
                b"g1 x2. f10.",
                b"(plate \xe4)",
                b"M0 (stop)",
                b"M30",
                b"",
                b"(open",
                b"GOTO 10",
            ]
        ),
        st.binary(max_size=12).map(lambda data: data.replace(b"\n", b"").replace(b"\r", b"")),
    ),
    max_size=8,
)


@given(
    LINES,
    st.sampled_from([b"\n", b"\r\n", b"\r"]),
    st.sampled_from(["any", "ascii", "ascii-upper"]),
    st.booleans(),
)
def test_whatever_is_written_has_the_fingerprint_it_must_have(lines, end, characters, strict):
    data = end.join(lines)
    before = scan.identity(data, strict=strict)
    made = shaped(data, replace(MILL, characters=characters), strict=strict)
    if made.problems:
        assert made.data == b""
    else:
        after = scan.identity(made.data, strict=strict)
        assert (after.fingerprint, after.dialect) == (before.fingerprint, before.dialect)
        if before.dialect == "word-address":
            assert LINE in made.data
            if characters != "any":
                assert made.data.isascii()


@given(st.binary(max_size=60))
def test_stamping_loses_no_byte(data):
    for place in places(data):
        made = insert(data, place, (b"(ID 0)",), b"\n")
        assert made.replace(b"(ID 0)\n", b"", 1) in (data, data[:place] + b"\n" + data[place:])


BOTH = replace(MILL, percent="both")


@pytest.mark.parametrize(
    ("data", "made"),
    [
        (b"O1\nM30\n", b"%\nO1\nM30\n%\n"),
        (b"%\nO1\nM30\n%\n", b"%\nO1\nM30\n%\n"),
        (b"%\nO1\nM30\n", b"%\nO1\nM30\n%\n"),
        (b"O1\nM30\n %\n\x00", b"%\nO1\nM30\n %\n\x00"),
        (b"%\n", b"%\n%\n"),
        (b"O1 (100%)\nM30 (50%\n", b"%\nO1 (100%)\nM30 (50%\n%\n"),
        (b"O1\nM30 %\n", b"%\nO1\nM30 %\n%\n"),
    ],
)
def test_percent_lines_are_put_where_none_stand(data, made):
    assert between_percents(data, b"\n") == made


def test_a_control_that_wants_percent_lines_gets_them_and_the_code_stays():
    made = shaped(b"O1001\nG0 X1.\nM30\n", BOTH)
    assert made.data == b"%\r\nO1001\r\n" + LINE + b"\r\nG0 X1.\r\nM30\r\n%\r\n"
    assert shaped(PROGRAM, BOTH) == shaped(PROGRAM)


def test_a_second_percent_line_that_would_change_the_text_is_refused():
    (said,) = shaped(b"%\nO1001\nG0 X1.\nM30\n", BOTH).problems
    assert said.startswith("it has one % line, and MILL2 wants one at both ends")


@given(
    st.lists(st.sampled_from([b"\n", b"\r\n", b"\r", b"\r\r\n", b"X1", b" ", b"%"]), max_size=12).map(
        b"".join
    )
)
def test_the_quick_way_to_line_ends_is_the_careful_one(data):
    careful = (
        form._WITH_LF.sub(lambda _: b"\r\n", data)
        if b"\n" in data
        else form._ONLY_CR.sub(lambda _: b"\r\n", data)
    )
    assert with_line_ends(data, "crlf") in (careful, careful + b"\r\n")
    assert with_line_ends(data, "crlf") == (
        careful if careful.endswith(b"\r\n") or not careful else careful + b"\r\n"
    )


def known_and_not(data: bytes, machine: Machine, stamp: Stamp = STAMP):
    """A text shaped as one whose code this run found out already, and as one whose code is worked out."""
    it = scan.identity(data)
    said = {"dialect": it.dialect, "fingerprint": it.fingerprint}
    return shape(data, machine, stamp, **said, known=True), shape(data, machine, stamp, **said)


@given(LINES, st.sampled_from([b"\n", b"\r\n", b"\r"]), st.sampled_from(["any", "ascii", "ascii-upper"]))
def test_a_text_read_already_is_shaped_as_if_it_were_read_again(lines, end, characters):
    known, asked = known_and_not(end.join(lines), replace(MILL, characters=characters))
    assert (known.data, known.notes, known.problems) == (asked.data, asked.notes, asked.problems)


@pytest.fixture
def read(monkeypatch) -> list[bytes]:
    """The texts whose code was worked out."""
    seen: list[bytes] = []
    real = scan.identity

    def identity(data, *, strict=False):
        seen.append(data)
        return real(data, strict=strict)

    monkeypatch.setattr(scan, "identity", identity)
    return seen


def test_a_usual_text_read_already_is_not_read_again(read):
    known = scan.identity(PROGRAM)
    read.clear()
    made = shape(
        PROGRAM, MILL, STAMP, dialect=known.dialect, fingerprint=known.fingerprint, known=True, strict=False
    )
    assert LINE in made.data
    assert read == []


@pytest.mark.parametrize(
    ("data", "machine"),
    [
        (b"%\nO1001\n" + OLD + b"\nG0 X1.\nM30\n%\n", MILL),
        (b"%\nO1001 (plate)\nG0 X1.\nM30\n%\n", UPPER),
        ("%\nO1001 (Größe)\nG0 X1.\nM30\n%\n".encode(), replace(MILL, characters="ascii")),
        (b"O1001\nG0 X1.\nM30\n", BOTH),
        (b"%\rO1001\rG0 X1.\rM30\r%\r", MILL),
    ],
)
def test_where_more_than_line_ends_and_a_stamp_change_the_text_is_read_again(data, machine, read):
    known, asked = known_and_not(data, machine)
    assert known.data == asked.data != b""
    assert read[1:].count(known.data) == 2  # the one known and the one not


def test_a_place_behind_an_open_comment_is_not_taken_unread(read):
    known, asked = known_and_not(b"%\nO1001 (PLATE\nG0 X1.\nM30\n%\n", MILL)
    assert known.data == asked.data
    behind = b"%\r\nO1001 (PLATE\r\n" + LINE + b"\r\nG0 X1.\r\nM30\r\n%\r\n"
    assert read.count(behind) == 2  # the one known and the one not; and both say that the code is another


def test_a_strict_text_is_always_read_again(read):
    data = b"%\nO1001\nN10 G0 X1.\nM98 P1002\nN20 M30\n%\n"
    it = scan.identity(data, strict=True)
    made = shape(data, MILL, STAMP, dialect=it.dialect, fingerprint=it.fingerprint, strict=True, known=True)
    assert read[-1] == made.data


@pytest.mark.parametrize("lengths", [[20], [20, 3, 20, 0, 19], [0, 0], [21], [3, 21, 20], [20, 20, 22]])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_only_lines_that_are_too_long_are_said(lengths, end):
    said = too_long(b"".join(b"X" * length + end for length in lengths), 20)
    assert len(said) == sum(length > 20 for length in lengths)
