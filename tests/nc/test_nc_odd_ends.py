"""A CR that ends no line is a character like others, also at the very start and end of a file with line feeds."""

import pytest

from tests.fakes.programs import whole_print
from tracker.nc import scan
from tracker.nc.compare import compare

OTHER = [
    (b"\rX1.\nM30\n", b"X1.\nM30\n"),
    (b"\x00\rX1.\nM30\n", b"\x00X1.\nM30\n"),
    (b"\n \rX1.\nM30\n", b"\n X1.\nM30\n"),
    (b"X1.\nM30\r", b"X1.\nM30"),
    (b"X1.\nM30 \r", b"X1.\nM30 "),
    (b"X1.\nM30\n \r \n", b"X1.\nM30\n  \n"),
]
SAME = [
    (b"\r\nX1.\nM30\n", b"X1.\nM30\n"),
    (b"\n\rX1.\nM30\n", b"X1.\nM30\n"),
    (b"\r\r\n\x00\r\nX1.\r\nM30\r\n", b"X1.\nM30\n"),
    (b"X1.\nM30\n\r\r", b"X1.\nM30\n"),
    (b"X1.\r\nM30\r\r\n\x1a\x00", b"X1.\nM30\n"),
    (b"\r\rX1.\rM30\r\r", b"X1.\nM30\n"),
]


@pytest.mark.parametrize(("one", "other"), OTHER)
def test_a_cr_that_ends_no_line_stays(one: bytes, other: bytes) -> None:
    assert whole_print(one) != whole_print(other)
    assert scan.identity(one).fingerprint == whole_print(one)


@pytest.mark.parametrize(("one", "other"), SAME)
def test_a_line_end_goes(one: bytes, other: bytes) -> None:
    assert whole_print(one) == whole_print(other)
    assert scan.identity(one).fingerprint == whole_print(one)


@pytest.mark.parametrize("added", [b"M8\n", b"G4 P1.\n", b"M1\n"])
@pytest.mark.parametrize("call", [b"G66.1 P9010", b"g 66.1p9010"])
def test_a_block_more_under_a_macro_called_after_every_block(added: bytes, call: bytes) -> None:
    text = b"O1\n" + call + b"\nX1.\n%sG67\nM30\n"
    found = compare(text % b"", text % added)
    assert "flow" in found.kinds
    assert (
        "flow"
        not in compare((text % b"").replace(b"66.1", b"43."), (text % added).replace(b"66.1", b"43.")).kinds
    )
