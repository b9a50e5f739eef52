"""A program in another language goes to the byte or not at all, and what the machine does not read is said line by line."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.stick.test_stick_layout import lay_out, outgoing
from tracker.nc import scan
from tracker.records.shop import Machine
from tracker.services.ports_stick import RELEASED
from tracker.stick import names
from tracker.stick.stamp import Stamp
from tracker.stick.text import shape
from tracker.stick.verbatim import AS_IT_IS, NO_LINES

MILL = Machine(id="MILL2", type="mill", units="mm", line_end="crlf", characters="any")
UPPER = replace(MILL, characters="ascii-upper")
STAMP = Stamp(mark="7f3a09c2", machine="MILL2", job="4471", operation="op10", revision=5, release=2)
OTHER = b"BEGIN PGM 12 MM\r\nL X+1 R0 FMAX\r\n~\r\nTOOL CALL 3 Z S2000\r\nEND PGM 12 MM\r\n"
BINARY = b"\x89PKT\x00\x01\x02\nabc\x00\xff"


def shaped(data: bytes, machine: Machine = MILL):
    known = scan.identity(data)
    assert known.dialect == "verbatim"
    return shape(data, machine, STAMP, dialect=known.dialect, fingerprint=known.fingerprint)


def put_right(keys: str, machine: str = "MILL2") -> str:
    return (
        "all of it may be code, so nothing of it is changed here: change it in the office and check it in, to be proved "
        f"anew; or, if {machine} does read it, change {keys} in its table of shop.toml"
    )


@pytest.mark.parametrize("machine", [MILL, UPPER, replace(MILL, max_line=19)])
def test_what_keeps_the_rules_of_the_machine_is_written_to_the_byte_without_a_stamp(machine):
    made = shaped(OTHER, machine)
    assert (made.data, made.notes, made.problems) == (OTHER, (AS_IT_IS,), ())


def test_a_character_the_machine_does_not_take_is_refused_with_its_line():
    data = OTHER.replace(b"S2000", b"S2000 ; \xe4\xf6").replace(b"FMAX", b"fmax")
    made = shaped(data, UPPER)
    assert made.data == b""
    assert made.problems == (
        "line 2: byte 66 in 'L X+1 R0 fmax': MILL2 takes capital letters without accents only",
        "line 4: byte E4 in 'TOOL CALL 3 Z S2000 ; \xe4\xf6': MILL2 takes capital letters without accents only",
        put_right("characters"),
    )
    assert [words[:13] for words in shaped(data, replace(MILL, characters="ascii")).problems[:-1]] == [
        "line 4: byte "
    ]
    assert shaped(data, MILL).data == data


def test_the_leader_of_a_tape_cannot_be_taken_off_and_is_refused():
    made = shaped(b"\x00\x00" + OTHER, replace(MILL, characters="ascii"))
    assert (
        made.problems[0] == "line 1: byte 00 in '\\x00\\x00BEGIN PGM 12 MM': MILL2 takes plain letters only"
    )


def test_a_line_longer_than_the_machine_reads_is_refused():
    made = shaped(OTHER, replace(MILL, max_line=14))
    assert made.data == b""
    assert made.problems == (
        "line 1 is 15 characters long, MILL2 reads 14",
        "line 4 is 19 characters long, MILL2 reads 14",
        put_right("max_line"),
    )


def test_both_are_told_at_once_and_of_many_lines_five():
    made = shaped(b"~\n" + 8 * b"l x\xb51\n", replace(UPPER, max_line=3))
    assert len(made.problems) == 13
    assert made.problems[0].startswith("line 2: byte 6C in 'l x\xb51'")
    assert made.problems[5] == made.problems[11] == "and 3 more lines like that"
    assert made.problems[6] == "line 2 is 5 characters long, MILL2 reads 3"
    assert made.problems[12] == put_right("characters and max_line")


@pytest.mark.parametrize(
    ("end", "line_end", "named"),
    [
        (b"\n", "crlf", "line ends are LF, where CR LF is written for MILL2: left as they are"),
        (b"\r", "crlf", "line ends are CR, where CR LF is written for MILL2: left as they are"),
        (b"\r\n", "lf", "line ends are CR LF, where LF is written for MILL2: left as they are"),
        (b"\r\n\r", "lf", "line ends are CR LF and CR, where LF is written for MILL2: left as they are"),
        (b"\n\r", "lf", "line ends are CR, where LF is written for MILL2: left as they are"),
    ],
)
def test_other_line_ends_are_named_and_left(end, line_end, named):
    data = OTHER.replace(b"\r\n", end)
    made = shaped(data, replace(MILL, line_end=line_end))
    assert (made.data, made.problems) == (data, ())
    assert made.notes == (
        AS_IT_IS,
        f"{named}; if the control does not read them, change them in the office and have the text proved",
    )


def test_lines_that_end_in_cr_alone_are_lines():
    data = OTHER.replace(b"\r\n", b"\r")
    assert shaped(data, replace(MILL, max_line=19)).problems == ()
    assert (
        shaped(data, replace(UPPER, max_line=14)).problems[1]
        == "line 4 is 19 characters long, MILL2 reads 14"
    )


def test_percent_lines_are_named_and_not_put_in():
    made = shaped(OTHER, replace(MILL, percent="both"))
    assert made.data == OTHER
    assert made.notes == (AS_IT_IS, "no % line first and last, which MILL2 wants: none is put in")


def test_a_binary_has_no_lines_and_that_is_said():
    made = shaped(BINARY, replace(MILL, max_line=2, percent="both"))
    assert (made.data, made.notes, made.problems) == (BINARY, (AS_IT_IS, NO_LINES), ())
    assert shaped(BINARY, UPPER).problems[0].startswith(r"line 1: byte 89 in '\x89PKT")


def test_one_larger_than_a_stick_takes_is_refused(monkeypatch):
    monkeypatch.setattr(names, "LARGEST", len(OTHER) - 1)
    made = lay_out(replace(MILL, file_name="{name}"), outgoing("P12.H", None, OTHER), purpose=RELEASED)
    assert made.files == ()
    assert made.problems == (
        f"jobs/4471/op10/P12.H: the text for P12.H has {len(OTHER):,} bytes; a file on a stick has {len(OTHER) - 1:,} at most (FAT)",
    )


@given(
    st.binary(max_size=120),
    st.sampled_from(["any", "ascii", "ascii-upper"]),
    st.integers(0, 12),
    st.sampled_from(["crlf", "lf"]),
)
def test_it_goes_to_the_byte_and_within_the_rules_or_not_at_all(data, characters, longest, line_end):
    machine = replace(MILL, characters=characters, max_line=longest, line_end=line_end)
    made = shape(data, machine, STAMP, dialect="verbatim", fingerprint="")
    assert made.data == (b"" if made.problems else data)
    if not made.problems and characters != "any":
        assert data.isascii()
        assert characters == "ascii" or data == data.upper()
        end = b"\n" if b"\n" in data else b"\r"
        assert not longest or all(len(line.removesuffix(b"\r")) <= longest for line in data.split(end))
