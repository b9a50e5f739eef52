"""Calls and the way back: M98, M97, M99, G65, G66.

Where a test states what a control does without naming a source, it is common practice of macro-type controls.
"""

import pytest

from tests.fakes.watched import watch

HEAD = "%\nO1000\nG90 G0 X0. Y0. Z1.\n"


def test_m98_runs_a_program_of_the_same_file_and_comes_back() -> None:
    seen = watch("O1\nG0 X1.\nM98 P20\nG0 X3.\nM30\nO20\nG0 X2.\nM99\n")
    assert seen.lines == [1, 2, 3, 6, 7, 8, 4, 5]
    assert seen.x == [1, 2, 3]
    assert seen.calls == [("20", "1")]
    assert seen.values("return") == ["20"]
    assert seen.end == "M30"
    assert seen.named == []


def test_blocks_say_where_they_stand() -> None:
    seen = watch("O1\n(HEAD)\n/2 N7 M98 P20 (CALL)\nM30\nO20\nG0 X2. ; end\nM99\n")
    assert [(b.line, b.number, b.program, b.depth, b.skip, b.comments) for b in seen.blocks] == [
        (1, None, 1, 0, None, ()),
        (2, None, 1, 0, None, ("HEAD",)),
        (3, "N7", 1, 0, "/2", ("CALL",)),
        (5, None, 20, 1, None, ()),
        (6, None, 20, 1, None, ("end",)),
        (7, None, 20, 1, None, ()),
        (4, None, 1, 0, None, ()),
    ]
    assert [word.text for word in seen.blocks[2].words] == ["M98", "P20"]
    assert seen.blocks[2].text == "/2 N7 M98 P20 (CALL)"
    assert seen.blocks == seen.acted_on


# LinuxCNC documentation, "M98 and M99": "M98 P- L-" repeats, L0 does not run, subs follow their caller.
def test_repeats() -> None:
    assert watch("G91 G0 X0.\nM98 P20 L3\nM30\nO20\nG0 X2.\nM99\n").calls == [("20", "3")]
    assert watch("G91\nM98 P20 L3\nM30\nO20\nG0 X2.\nM99\n").lines.count(5) == 3
    assert watch("G91\nM98 P20 K3\nM30\nO20\nG0 X2.\nM99\n").lines.count(5) == 3
    none = watch("G91\nM98 P20 L0\nM30\nO20\nG0 X2.\nM99\n")
    assert none.lines == [1, 2, 3]
    assert none.calls == []


# The same documentation prints a nested example: five times (+1, and five times +0.01) is 5.25, with 25 inner calls.
def test_nested_repeats_as_printed() -> None:
    text = "#1=0\nM98 P100 L5\nM2\nO100\n#1=[#1+1]\nM98 P200 L5\nM99\nO200\n#1=[#1+0.01]\nM99\n"
    seen = watch(text)
    assert seen.variable(1) == pytest.approx(5.25, abs=1e-9)
    assert seen.lines.count(5) == 5
    assert seen.lines.count(9) == 25
    assert sum(int(times) for number, times in seen.calls if number == "200") == 25


# One macro course: M98 P with axis words on the block runs the motion first, then the call.
def test_the_block_of_a_call_moves_first() -> None:
    seen = watch("G90 G0 X1. Y1. M98 P20\nM30\nO20\nG0 X2.\nM99\n")
    assert seen.x == [1, 2]
    assert seen.named == []


def test_a_packed_number_is_taken_the_way_that_is_in_hand() -> None:
    five_times = watch("G91\nM98 P51002\nM30\nO1002\nG0 X1.\nM99\n")
    assert five_times.calls == [("1002", "5")]
    assert five_times.lines.count(5) == 5
    once = watch("G91\nM98 P51002\nM30\nO51002\nG0 X1.\nM99\n")
    assert once.calls == [("51002", "1")]
    assert watch("M98 P0020\nM30\nO20\nM99\n").calls == [("20", "1")]


def test_a_packed_number_that_may_be_two_programs_is_named() -> None:
    seen = watch("G90 G0 X1.\nM98 P51002\nG0 Y1.\nM30\nO1002\nM99\nO51002\nM99\n")
    assert seen.named == [
        "M98 P51002 at line 2: may be O51002 once or O1002 5 times, and both are there",
    ]
    assert seen.calls == []
    assert seen.ends[-1] == (None, 1, None)
    neither = watch("M98 P51002\nM30\n")
    assert neither.named == ["M98 P51002 at line 1"]
    assert neither.calls == []


def test_a_program_of_its_own_file_is_run() -> None:
    seen = watch("O1\nM98 P20\nM30\n", others={20: "%\nO20\nG0 X2.\nM99\n%\n"})
    assert seen.x == [2]
    assert [(b.line, b.depth, b.program) for b in seen.blocks[2:6]] == [
        (2, 1, 20),
        (3, 1, 20),
        (4, 1, 20),
        (3, 0, 1),
    ]


def test_the_file_itself_goes_before_files_in_hand() -> None:
    assert watch("O1\nM98 P20\nM30\nO20\nG0 X1.\nM99\n", others={20: "O20\nG0 X2.\nM99\n"}).x == [1]
    # from a called file: its own programs, then the main file's, then others
    nested = watch("O1\nM98 P20\nM30\nO30\nG0 X1.\nM99\n", others={20: "O20\nM98 P30\nM99\n"})
    assert nested.x == [1]


def test_what_is_named_in_a_called_file_says_which() -> None:
    seen = watch("O1\nM98 P20\nM30\n", others={20: "O20\nM98 P30\nM99\n"})
    assert seen.named == ["M98 P30 at line 2 of O20"]


def test_a_call_not_in_hand_is_named_and_leaves_the_place_unknown() -> None:
    seen = watch("G90 G0 X1. Y1. Z1.\n#100=1\nG65 P9001 A1.\nG0 X5.\nG0 X#100\nM30\n")
    assert seen.named == ["G65 P9001 at line 3", "X#100 at line 5: #100 is not known"]
    assert seen.calls == [("9001", "1")]
    assert seen.ends == [(1, 1, 1), (5, None, None), (None, None, None)]


def test_a_program_that_lives_in_the_control_is_named_even_if_it_is_in_hand() -> None:
    seen = watch("M98 P9001\nM30\nO9001\nG0 X1.\nM99\n", resident=(9001,))
    assert seen.named == ["M98 P9001 at line 1: O9001 lives in the control"]
    assert seen.moves == []


def test_what_cannot_be_told_of_a_call_is_named() -> None:
    assert watch("M98 P#500\nM30\n").named == [
        "P#500 at line 1: #500 is not known",
        "M98 P#500 at line 1: which program is not known",
    ]
    assert watch("#1=20\nG0 X1.\nM98 P#1\nM30\nO20\nM99\n").calls == [("20", "1")]
    assert watch("M98\nM30\n").named == ["M98 at line 1: which program is not known"]
    entered = watch("M98 P20 Q5\nM30\nO20\nN5 G0 X1.\nM99\n")
    assert entered.named == ["M98 P20 Q5 at line 1: is entered at a line number"]
    assert watch("M98 P20 L#500\nM30\nO20\nM99\n").named == [
        "L#500 at line 1: #500 is not known",
        "M98 P20 L#500 at line 1: how often is not known, run once",
    ]
    assert watch("M198 P5\nM30\n").named == ["M198 P5 at line 1"]
    assert watch("M96 P5\nM30\n").named == ["M96 P5 at line 1: depends on a signal"]
    assert watch("G43 H1 M98 P20\nM30\nO20\nM99\n").calls == [("20", "1")]


def test_calls_in_calls_are_bounded() -> None:
    seen = watch("O1\nM98 P1\nM30\n", most_calls=5)
    assert seen.named == ["M98 P1 at line 2: calls more than 5 deep"]
    assert max(block.depth for block in seen.blocks) == 5
    mutual = watch("O1\nM98 P2\nM30\nO2\nM98 P3\nM99\nO3\nM98 P2\nM99\n")
    assert mutual.named == ["M98 P2 at line 8: calls more than 10 deep"]


def test_m30_in_a_called_program_ends_all() -> None:
    seen = watch("M98 P20\nG0 X9.\nM30\nO20\nG0 X1.\nM30\n")
    assert seen.x == [1]
    assert seen.end == "M30"


def test_a_called_program_without_m99_is_named() -> None:
    seen = watch("M98 P20\nG0 X9.\nM30\nO20\nG0 X1.\nO30\nM99\n")
    assert seen.named == ["O20 ends without M99 at line 5"]
    assert seen.x == [1, 9]
    cut = watch("M98 P20\nM30\n", others={20: "%\nO20\nG0 X1.\n%\n"})
    assert cut.named == ["O20 ends without M99 at line 4 of O20"]


def test_a_called_text_in_another_language_is_named() -> None:
    seen = watch(
        "M98 P20\nM30\n", others={20: "BEGIN PGM 20 MM\nL X+1 R0 FMAX\nTOOL CALL 1\nEND PGM 20 MM\n"}
    )
    assert seen.named == ["M98 P20 at line 1: O20 is not in word-address form"]


class TestM97:
    # A mill control's programming manual prints "M97 P1000 L5" with N1000 to M99 behind M30.
    def test_it_runs_lines_of_the_same_program(self) -> None:
        seen = watch("O1\nG91\nM97 P1000 L5\nM30\nN1000 G0 X1.\nM99\n")
        assert seen.lines == [1, 2, 3, *[5, 6] * 5, 4]
        assert seen.named == []
        assert seen.calls == []

    def test_which_line_must_be_sure(self) -> None:
        assert watch("M97 P7\nM30\n").named == ["M97 P7 at line 1: no N7"]
        assert watch("M97 P7\nM30\nN7\nM99\nN07\nM99\n").named == [
            "M97 P7 at line 1: N7 stands more than once"
        ]
        assert watch("M97 P#500\nM30\n").named[-1] == "M97 P#500 at line 1: which line is not known"
        assert watch("M97 P7 L0\nM30\nN7\nM99\n").lines == [1, 2]
        assert watch("M97 P7\nM30\nN7 M97 P7\nM99\n").named == ["M97 P7 at line 3: calls more than 10 deep"]

    def test_leading_zeros_of_labels_say_nothing(self) -> None:
        assert watch("M97 P07\nM30\nN0007 G0 X1.\nM99\n").x == [1]


class TestM99:
    def test_in_the_main_program_it_is_the_end(self) -> None:
        seen = watch("O1\nG0 X1.\nM99\nG0 X2.\n")
        assert seen.x == [1]
        assert seen.end == "M99"

    def test_the_block_acts_before_it_goes_back(self) -> None:
        assert watch("M98 P20\nM30\nO20\nG0 X1. M99\n").x == [1]

    def test_with_p_it_goes_to_a_line_of_the_caller(self) -> None:
        seen = watch("M98 P20\nG0 X1.\nN50 G0 X2.\nM30\nO20\nM99 P50\n")
        assert seen.x == [2]
        lost = watch("M98 P20\nG0 X1.\nM30\nO20\nM99 P50\n")
        assert lost.named == ["M99 P50 at line 5: which line of the caller is not known"]
        assert lost.x == [1]

    def test_with_p_in_the_main_program_it_goes_on_further_down_or_ends(self) -> None:
        assert watch("G0 X1.\nM99 P50\nG0 X2.\nN50 G0 X3.\nM30\n").x == [1, 3]
        back = watch("N50 G0 X1.\nM99 P50\nG0 X2.\n")
        assert back.x == [1]
        assert back.end == "M99"
        nowhere = watch("G0 X1.\nM99 P50\n")
        assert nowhere.named == ["M99 P50 at line 2: which line is not known"]
        assert nowhere.end == "M99"


class TestG65:
    # Printed table "argument assignment I" of a macro course: A1 B2 C3 D7 E8 F9 H11 I4 J5 K6 M13 Q17 R18 S19 T20 U21
    # V22 W23 X24 Y25 Z26.
    def test_letters_become_locals(self) -> None:
        letters = "ABCDEFHIJKMQRSTUVWXYZ"
        numbers = [1, 2, 3, 7, 8, 9, 11, 4, 5, 6, 13, *range(17, 27)]
        words = "".join(f"{letter}{place}." for place, letter in enumerate(letters, 1))
        body = "".join(f"#{100 + number}=#{number}\n" for number in numbers)
        seen = watch(f"G65 P20 {words}\nM30\nO20\n{body}M99\n")
        assert [seen.variable(100 + number) for number in numbers] == list(range(1, 22))

    # Trade article on "argument assignment number two": the n-th set of I J K goes to #(3n+1), #(3n+2), #(3n+3).
    def test_sets_of_i_j_k(self) -> None:
        body = "".join(f"#{100 + number}=#{number}\n" for number in range(4, 34))
        thirty = "".join(f"I{3 * n + 1}.J{3 * n + 2}.K{3 * n + 3}." for n in range(1, 11))
        seen = watch(f"G65 P20 {thirty}\nM30\nO20\n{body}M99\n")
        assert [seen.variable(100 + number) for number in range(4, 34)] == list(range(4, 34))
        short = watch("G65 P20 I1. J2. K3. I4.\nM30\nO20\n#104=#4\n#105=#5\n#106=#6\n#107=#7\nM99\n")
        assert [short.variable(number) for number in (104, 105, 106, 107)] == [1, 2, 3, 4]

    # A printed example of mixed arguments: the later wins, #7 is the D.
    def test_both_kinds_mixed_as_printed(self) -> None:
        body = "#101=#1\n#102=#2\n#104=#4\n#107=#7\n"
        seen = watch(f"G65 A1.0 B2.0 I-3.0 I4.0 D5.0 P1000\nM30\nO1000\n{body}M99\n")
        assert [seen.variable(number) for number in (101, 102, 104, 107)] == [1, 2, -3, 5]
        assert seen.named == []

    def test_i_j_k_out_of_order_are_not_told(self) -> None:
        seen = watch("G65 P20 J2. I1.\nM30\nO20\nG0 X#5\nG0 Y#4\nM99\n")
        assert "I1. of G65 P20 at line 1: which variable or value it gives is not known" in seen.named
        assert seen.ends == [(2, None, None), (2, None, None)]

    def test_locals_are_those_of_the_level(self) -> None:
        seen = watch("#1=5\nG65 P20 A7.\nG0 X#1\nM30\nO20\nG0 X#1\n#1=9\nM99\n")
        assert seen.x == [7, 5]

    def test_every_repeat_begins_with_the_arguments(self) -> None:
        seen = watch("G90\nG65 P20 A1. L3\nM30\nO20\n#1=#1+1\nG0 X#1\nM99\n")
        assert seen.x == [2, 2, 2]

    def test_a_word_whose_argument_is_missing_is_as_if_not_written(self) -> None:
        seen = watch("G90 G0 X0. Y0.\nG65 P20 X4.\nM30\nO20\nG0 X#24 Y#25\nM99\n")
        assert seen.ends[-1][:2] == (4, 0)
        assert seen.named == []

    def test_it_is_called_though_words_stand_before_it(self) -> None:
        seen = watch("G90 G0 G65 P20 X4.\nM30\nO20\nG0 X#24\nM99\n")
        assert seen.x == [4]
        assert watch("G65 X4.\nM30\n").named == ["G65 at line 1: which program is not known"]

    def test_least_increments(self) -> None:
        text = "G21\nG65 P20 X1500 D2 A3 Y2.\nM30\nO20\n#101=#24\n#102=#7\n#103=#25\nG0 X#1\nM99\n"
        seen = watch(text, decimal="increment")
        assert (seen.variable(101), seen.variable(102), seen.variable(103)) == (1.5, 2, 2)
        assert "A3 of G65 P20 at line 2: which variable or value it gives is not known" in seen.named


class TestG66:
    def test_every_motion_calls_until_g67(self) -> None:
        text = "G90 G0 Z1.\nG66 P20 Z-2.\nX1.\nS500\nX2.\nG67\nX3.\nM30\nO20\nG1 Z#26 F100.\nG0 Z1.\nM99\n"
        seen = watch(text)
        assert seen.x == [None, 1, 1, 1, 2, 2, 2, 3]
        assert seen.calls == [("20", "1"), ("20", "1")]
        assert seen.named == []

    def test_moves_of_the_macro_itself_do_not_call_it(self) -> None:
        seen = watch("G90 G66 P20\nG0 X1.\nG67\nM30\nO20\nG0 Y1.\nG0 Y2.\nM99\n")
        assert len(seen.calls) == 1

    def test_one_in_another_is_named_and_the_first_goes_on_behind_it(self) -> None:
        text = "G90 G0 Z1.\nG66 P20\nX1.\nG66 P30\nX2.\nG67\nG0 X3. Z1.\nG67\nX4.\nM30\n"
        seen = watch(text + "O20\nG1 Z-2. F100.\nG0 Z1.\nM99\nO30\nG1 Z-5. F100.\nG0 Z1.\nM99\n")
        assert seen.named == [
            "G66 P30 at line 4: another macro is called behind every move already, and by the moves of this one"
        ]
        assert seen.calls == [("20", "1"), ("20", "1")]

    def test_one_that_is_not_in_hand_is_named_where_g66_stands(self) -> None:
        seen = watch("G90 G0 X0. Y0. Z0.\nG66 P9001\nX1.\nX2.\nG67\nX3. Y3.\nM30\n")
        assert seen.named == ["G66 P9001 at line 2"]
        assert seen.ends[-1] == (3, 3, None)

    def test_g66_1_is_named_and_its_blocks_do_not_act(self) -> None:
        seen = watch("G90 G0 X0. Y0.\nG66.1 P20\nX1.\nG67\nX3.\nM30\nO20\nM99\n")
        assert seen.named == ["G66.1 P20 at line 2: every block is an argument"]
        assert seen.x == [0, 3]


def test_a_loop_of_calls_ends_at_the_most_blocks() -> None:
    seen = watch("M98 P20 L999999999\nM30\nO20\nM99\n", most_blocks=1000)
    assert len(seen.blocks) == 1000
    assert seen.named == ["left after 1000 blocks at line 3: the rest is not run"]
    assert seen.end is None
