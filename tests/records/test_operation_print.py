from dataclasses import dataclass
from hashlib import sha256

import pytest

from tracker.errors import BadCall
from tracker.records.operation_print import operation_bytes, operation_fingerprint


@dataclass(frozen=True)
class Program:
    name: str
    number: int | None
    fingerprint: str


PLAIN, STRICT = False, True
MAIN = Program("O1001.nc", 1001, "aa")
SUB = Program("o0002.nc", 2, "bb")
LATER = Program("O0010.nc", 10, "cc")
NAMELESS = Program("SUB.SPF", None, "dd")


def test_the_bytes():
    assert operation_bytes(1, PLAIN, [MAIN, LATER, NAMELESS, SUB], "ee") == (
        b"proveout operation 1\n1001 O1001.NC aa\n2 O0002.NC bb\n10 O0010.NC cc\n- SUB.SPF dd\nsheet ee\n"
    )
    assert (
        operation_bytes(3, STRICT, [NAMELESS], "ee")
        == b"proveout operation 3 strict\n- SUB.SPF dd\nsheet ee\n"
    )


def test_it_is_their_sha_256_and_independent_of_the_order_behind_the_main_program():
    one = operation_fingerprint(1, PLAIN, [MAIN, SUB, LATER], "ee")
    assert one == sha256(operation_bytes(1, PLAIN, [MAIN, SUB, LATER], "ee")).hexdigest()
    assert one == operation_fingerprint(1, PLAIN, [MAIN, LATER, SUB], "ee")
    assert one != operation_fingerprint(1, PLAIN, [SUB, MAIN, LATER], "ee")


@pytest.mark.parametrize(
    "other",
    [
        (2, False, [MAIN, SUB], "ee"),
        (1, True, [MAIN, SUB], "ee"),
        (1, PLAIN, [MAIN], "ee"),
        (1, PLAIN, [MAIN, SUB], "ef"),
        (1, PLAIN, [MAIN, Program("o0003.nc", 2, "bb")], "ee"),
        (1, PLAIN, [MAIN, Program("o0002.nc", 3, "bb")], "ee"),
        (1, PLAIN, [MAIN, Program("o0002.nc", 2, "bc")], "ee"),
        (1, PLAIN, [MAIN, Program("o0002.nc", None, "bb")], "ee"),
    ],
)
def test_everything_in_it_counts(other):
    assert operation_fingerprint(*other) != operation_fingerprint(1, PLAIN, [MAIN, SUB], "ee")


def test_the_case_of_a_file_name_does_not_count():
    other = Program("O0002.NC", 2, "bb")
    assert operation_fingerprint(1, PLAIN, [MAIN, other], "e") == operation_fingerprint(
        1, PLAIN, [MAIN, SUB], "e"
    )


def test_a_name_that_could_be_read_as_two_lines_is_refused():
    with pytest.raises(BadCall) as caught:
        operation_fingerprint(1, PLAIN, [Program("a\nsheet", None, "aa")], "ee")
    assert caught.value.name == "bad-file-name"


def test_a_name_that_is_no_utf_8_keeps_its_bytes():
    name = b"O1\xff.nc".decode("utf-8", "surrogateescape")
    assert b"O1\xff.NC" in operation_bytes(1, PLAIN, [Program(name, None, "aa")], "ee")
