import pytest

from tests.fakes.stick_shop import program, renumbered, sub_program
from tracker.services.cut_off import cut_off, shortened

WHOLE = program(1001)


@pytest.mark.parametrize("data", [WHOLE, renumbered(WHOLE), WHOLE.replace(b"%\n", b""), WHOLE + b"\x1a\x00"])
def test_a_whole_program_is_whole(data):
    assert cut_off(data, WHOLE) is None


def test_nothing_at_all_is_cut_off():
    assert cut_off(b"") == "the file is empty"
    assert cut_off(b"%\n(ONLY WORDS)\n%\n", WHOLE) == "no code is left in it"
    assert cut_off(b"\x00\x00\r\n") == "no code is left in it"


@pytest.mark.parametrize("like", [None, WHOLE])
def test_an_opening_per_cent_without_a_closing_one(like):
    assert cut_off(WHOLE.removesuffix(b"%\n"), like) == "it opens with % and no % closes it"


@pytest.mark.parametrize("size", range(60, len(WHOLE) - 4, 7))
def test_every_place_to_cut_is_found(size):
    assert cut_off(WHOLE[:size], WHOLE) is not None
    bare = WHOLE.replace(b"%\n", b"")
    assert cut_off(bare[: size - 4], bare) is not None


def test_a_beginning_of_the_text_says_how_much_is_there():
    bare = WHOLE.replace(b"%\n", b"")
    assert cut_off(bare[: bare.index(b"N110")], bare) == "it stops after 11 of 22 blocks"


def test_an_end_that_is_gone_from_an_edited_text():
    assert cut_off(WHOLE.replace(b"N210 M30\n", b"").replace(b"F15.", b"F12."), WHOLE) == (
        "the end of the program is missing"
    )
    sub = sub_program(1002)
    assert cut_off(sub.replace(b"N60 M99\n", b""), sub) is not None


@pytest.mark.parametrize("end", [b"M30", b"M2", b"M02", b"M99", b"G0 X1. M30"])
def test_another_end_is_an_end(end):
    assert cut_off(WHOLE.replace(b"M30", end), WHOLE) is None


def test_m300_and_m2_point_something_are_no_ends():
    assert cut_off(WHOLE.replace(b"M30", b"M300"), WHOLE) == "the end of the program is missing"


def test_a_text_without_an_end_needs_none():
    assert cut_off(b"G0 X1.\nG0 X3.\n", b"G0 X1.\nG0 X2.\n") is None


def test_without_a_text_to_hold_it_against_a_missing_end_cannot_be_told():
    assert cut_off(b"READ ME\n") is None
    assert cut_off(b"O1\nG0 X1.\n") is None


@pytest.mark.parametrize("text", [b"O1\r\nX1.\r", b"O1\r\nX1.\r\r"])
def test_a_line_end_cut_in_two(text):
    assert cut_off(text, b"O1\r\nX1.\r\nM30\r\n") == "it stops in the middle of a line end"


@pytest.mark.parametrize("text", [b"O1\rM30\r", b"O1\n\r\rM30\n\r\r", b"O1\r\nM30\r\n"])
def test_other_line_ends_are_whole(text):
    assert cut_off(text, b"O1\nM30\n") is None


def test_a_short_program_with_a_few_shorter_words_has_lost_nothing():
    text = sub_program(1002).replace(b"G2 X0.25 Y3. I0.25 J0.", b"G1 Y3.")
    assert text != sub_program(1002)
    assert shortened(text, sub_program(1002)) is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            sub_program(1002).replace(b"N20 Y2.75\n", b"").replace(b"N40 G1 X3.75\n", b""),
            "5 blocks of code where there were 7",
        ),
        # words of every line are gone: each block is there, and few are whole
        (
            b"\n".join(b" ".join(line.split()[:3]) for line in WHOLE.split(b"\n")),
            "characters of code where there were",
        ),
    ],
    ids=["blocks", "lines"],
)
def test_what_lost_blocks_or_much_of_each_is_shorter(text, says):
    like = sub_program(1002) if b"O1002" in text else WHOLE
    assert says in (shortened(text, like) or "")


OTHER = b"".join(b"%d L X+%d Y+0 R0 F400\n" % (at, at) for at in range(1, 15)) + b"15 END PGM PLATE MM\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (OTHER[:60] + OTHER[200:], ", though its end is there"),
        (OTHER[:200].replace(b"F400", b"F350", 1), ", and its last block is another one"),
    ],
    ids=["gap", "edited and cut"],
)
def test_the_end_of_a_text_in_another_language_is_told_by_its_last_block(text, says):
    assert (shortened(text, OTHER) or "").endswith(says)
