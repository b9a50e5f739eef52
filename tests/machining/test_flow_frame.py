"""Where a program begins and ends, and how its lines are handed out.

NISTIR 6556 (2000), section 3.1: a file between two lines of ``%``; what follows the second, or M2 or M30, is not run.
"""

import pytest

from tests.fakes.watched import watch


@pytest.mark.parametrize(
    ("text", "lines", "end"),
    [
        ("%\nG0 X1.\n%\nG0 X2.\n", [1, 2, 3], "%"),
        ("G0 X1.\nM30\nG0 X2.\n", [1, 2], "M30"),
        ("G0 X1.\nM2\nG0 X2.\n", [1, 2], "M2"),
        ("G0 X1.\nM02.\nG0 X2.\n", [1, 2], "M2"),
        ("G0 X1.\n", [1], ""),
        ("", [], ""),
        ("\n\n\n", [], ""),
        ("%\n", [1], ""),
        ("%\n%\nG0 X1.\n%\n", [1, 2, 3, 4], "%"),
        ("%\n(ONLY)\n%\n", [1, 2, 3], ""),
        ("O1\nG0 X1.\nO2\nG0 X2.\nM30\n", [1, 2], ""),
        ("%\nO1\nG0 X1.\nM30\n%\n%\nO2\nG0 X2.\nM30\n%\n", [1, 2, 3, 4], "M30"),
        ("\x00\x11\r\n\r\nG0 X1.\r\nM30\r\n\x13", [3, 4], "M30"),
        ("G0 X1.\rM30\r", [1, 2], "M30"),
        ("%O1234\nG0 X1.\n%\n", [1, 2, 3], "%"),
        (":1234\nG0 X1.\nM30\n", [1, 2, 3], "M30"),
        ("%\n(HEAD)\nO7\nM30\n", [1, 2, 3, 4], "M30"),
        ("G0 X1.\nO7\nM30\n", [1], ""),
        ("M6 T1\nM1 M30\nX2.\n", [1, 2], "M30"),
    ],
)
def test_what_is_run(text: str, lines: list[int], end: str) -> None:
    seen = watch(text)
    assert seen.lines == lines
    assert seen.end == end
    assert seen.named == []


CUTS = "O1001\nG20 G90 G54\nT1 M6\n" + "G1 X1. F10.\n" * 20 + "M30\n%\n"


@pytest.mark.parametrize(
    ("leader", "first"),
    [
        (
            "PART 4471 REV C\n%\n",
            3,
        ),  # met in real files: the name of the part, a line of the post, a file name
        ("PART 4471 REV C\n", 2),
        ("POSTED 2026-03-11 BY NP\nROUGH.NC\n\n(REV C)\nN5\n%\n", 7),
    ],
)
def test_what_does_not_read_as_words_before_the_program_is_no_part_of_the_program(leader, first) -> None:
    """Common practice, no source: a reader waits for the first ``%``; NISTIR 6556 (3.1) asks that it be the first line."""
    seen = watch(leader + CUTS)
    assert seen.lines[0] == first
    assert seen.blocks[0].program == 1001
    assert seen.end == "M30"
    assert len(seen.moves) == 20
    assert seen.named == [f"what stands before line {first}: not run"]


@pytest.mark.parametrize(
    "before",
    [
        "G0 X1.\nM30\n",  # the program itself: the % ends it
        "PART 4471\nG0 X1.\n",
        "PART 4471\nT1 M6\n",
    ],
)
def test_words_before_a_percent_are_a_program_that_ends_there(before) -> None:
    seen = watch(before + "%\n" + CUTS)
    assert seen.lines[0] == 1
    assert "T1 M6" not in [block.text for block in seen.blocks if block.line > 2]


def test_the_main_program_is_the_first_that_holds_more_than_a_frame() -> None:
    seen = watch("%\nO1\nM98 P2\nM30\nO2\nG0 X2.\nM99\n%\n")
    assert {block.program for block in seen.blocks if block.depth == 0} == {1}


def test_blank_lines_are_passed_over_and_comments_are_shown() -> None:
    seen = watch("(A)\n\n  \n( B )\nN5\nG0 X1. (C) ; D\n")
    assert seen.lines == [1, 4, 5, 6]
    assert [block.comments for block in seen.blocks] == [("A",), ("B",), (), ("C", "D")]
    assert [block.number for block in seen.blocks] == [None, None, "N5", None]


def test_everything_of_a_block_comes_between_its_beginning_and_its_end() -> None:
    seen = watch("G90 G0 X1.\nM98 P9\nM30\n")
    first, second, third = "G90 G0 X1.", "M98 P9", "M30"
    assert seen.order == [
        "block",
        "move",
        "acted",
        "block",
        "call",
        "not-followed",
        "acted",
        "block",
        "end",
        "acted",
    ]
    assert [block.text for block in seen.blocks] == [first, second, third]


def test_a_line_that_does_not_read_as_words_is_named_and_not_passed_on() -> None:
    seen = watch("G90 G0 X1. Y1.\n" + "G1 X1.\n" * 20 + "G1 X2. Y?\nG0 X3.\nM30\n")
    bad = seen.blocks[21]
    assert (bad.line, bad.words, bad.text) == (22, (), "G1 X2. Y?")
    assert seen.named == ["line 22 does not read as words"]
    assert seen.ends[-1][:2] == (3, None)


def test_a_line_for_another_channel_is_named() -> None:
    seen = watch("G90 G0 X1.\n$2 G0 X5.\nM30\n")
    assert "line 2 is for another channel" in seen.named
    assert seen.x == [1]


def test_a_text_in_another_language_gives_no_block() -> None:
    seen = watch("BEGIN PGM 20 MM\nL X+1 R0 FMAX\nTOOL CALL 1\nEND PGM 20 MM\n")
    assert seen.blocks == []
    assert seen.named == ["the text is not in word-address form"]


def test_block_delete() -> None:
    text = "G90 G0 X1.\n/ G0 X2.\n/3 N5 G0 X3.\nG0 X4. / Y4.\nM30\n"
    assert watch(text).ends == [(1, None, None), (2, None, None), (3, None, None), (4, 4, None)]
    on = watch(text, skip=True)
    assert on.lines == [1, 4, 5]
    assert on.ends == [(1, None, None), (4, None, None)]


def test_lines_between_g10_and_g11_are_data() -> None:
    seen = watch("G90 G0 X0.\nG10 L50\nN1430 P1 R100.\nX5. Y5.\nG11\nX1.\nM30\n")
    assert seen.lines == [1, 2, 3, 4, 5, 6, 7]
    assert seen.x == [0, 1]
    assert "G10 L50 at line 2: lines of data" in seen.named
    # an offset set in one block opens nothing
    assert watch("G90\nG10 L2 P1 X1. Y1.\nG0 X5.\nG11\nM30\n").ends[-1][0] == 5


def test_comments_that_some_controls_act_on_are_named() -> None:
    assert watch("(ABORT, no tool)\nM30\n").named == [
        "(ABORT, no tool) at line 1: a comment that some controls act on"
    ]
    assert watch("(IF P1 EQ 1 GOTO 5)\nM30\n").named != []
    assert watch("(UAO,2)\nM30\n").named == ["(UAO,2) at line 1: a comment that some controls act on"]
    assert watch("(MSG, LOAD PART)\n(TOOL 5)\n(TAP, M8)\nM30\n").named == []


def test_what_is_known_at_the_start() -> None:
    seen = watch("G0 X1.\nM30\n", start=(10.0, 20.0, 30.0), units="mm", lathe=True)
    assert seen.control.lathe
    assert seen.control.units == "mm"
    assert seen.moves[0].start[:3] == (10, 20, 30)


class TestContour:
    """After G71 to G73 a lathe goes on behind the contour that follows, which the cycle has cut."""

    TEXT = "G0 X50. Z2.\nG71 U2. R1.\nG71 P10 Q20 U0.5 W0.1 F0.2\nN10 G0 X20.\nG1 Z-10.\nN20 X50.\nG70 P10 Q20\nM30\n"

    def test_it_is_not_run_again(self) -> None:
        seen = watch(self.TEXT, lathe=True)
        assert seen.lines == [1, 2, 3, 7, 8]

    def test_on_a_mill_these_are_no_labels(self) -> None:
        assert watch(self.TEXT, lathe=False).lines == [1, 2, 3, 4, 5, 6, 7, 8]

    def test_a_loop_of_cycles_is_left_too(self) -> None:
        text = "#1=0\nN1 #1=#1+1\nG70 P5 Q6\nIF[#1GT0]GOTO 1\nN5 X1.\n" + "X2.\n" * 100 + "N6 X3.\n"
        seen = watch(text, lathe=True, most_blocks=1000)
        assert len(seen.blocks) < 50
        assert any(name.startswith("left after 1000 blocks") for name in seen.named)
