import hashlib

import pytest

from tracker.nc.forgit import for_git


def head(data):
    return for_git(data).split(b"\n")[0].decode()


def check(data):
    return "bytes " + hashlib.sha256(data).hexdigest()[:8]


HEADS = [
    (b"N10 G1X5.\nN20 X6.\n", "numbering N10-N20 step 10"),
    (b"N10 G1X5.\r\nN20 X6. (A)\r\n", "numbering N10-N20 step 10; 1 comment; CRLF"),
    (b"N1G1X5.\nN5X6.\nN7X7.\n", "numbering N1-N7 uneven"),
    (b"N10 G1 X5.\n", "numbering N10; blanks, zeros or case"),
    (b"N7\nG1X5.\n", "numbering N7"),
    (b"N1.5G1X5.\nN2X6.\n", "numbering N1.5-N2 uneven"),
    (b"(A)\n(B)\nG1X5.(C)\n", "3 comments"),
    (b"G1X5.\rX6.\r", "CR"),
    (b"G1X5.\nX6.\r\n", "mixed line ends"),
    (b"%\nG1X5.\n%\n", "blanks, zeros or case"),
    (b"G1X5.\n", ""),
    (b"", ""),
    (b"BEGIN PGM A MM\r\nEND PGM A MM\r\n", "kept to the letter; CRLF"),
    (b"G1\0X1\n", "kept to the letter"),
]


@pytest.mark.parametrize(("data", "said"), HEADS)
def test_the_first_line_sums_up_what_is_hidden(data, said):
    assert head(data) == "; ".join(filter(None, (said, check(data))))


def test_comments_stay_readable_and_blocks_are_canonical():
    shown = for_git(b"%\r\nO0001 (PLATE)\r\n(A)\r\nN10 G01 x5.0 (B)\r\n(MSG, GO)\r\nM30\r\n(END)\r\n%\r\n")
    assert shown.split(b"\n")[1:] == [
        b"(PLATE)", b"O1", b"(A)", b"(B)", b"G1X5.", b"(MSG, GO)", b"M30", b"(END)", b""
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (b"N10 G1\nN20 X2.\nN30 X3.\n", b"N10 G1\nN25 X2.\nN30 X3.\n"),
        (b"N10 G1\nX2.\n", b"G1\nN10 X2.\n"),
        (b"G1 (A) X2.\n", b"G1 X2. (A)\n"),
        (b"G1 X2. \n", b"G1 X2.  \n"),
        (b"G1X2.\n", b"G1X2."),
        (b" (A)\nG1\n", b"(A)\nG1\n"),
    ],
)
def test_no_edit_shows_as_nothing(one, other):
    assert for_git(one) != for_git(other)


def test_blank_lines_of_another_language_are_shown():
    assert for_git(b"BEGIN PGM\n\nEND PGM\n").endswith(b"\nBEGIN PGM\n\nEND PGM\n")
