"""IF, GOTO, WHILE and assignments of macro-type controls (common practice, no source, where none is named)."""

import pytest

from tests.fakes.watched import watch


class TestIf:
    def test_goto(self) -> None:
        text = "#1=1\nIF [#1 EQ 1] GOTO 10\nG0 X1.\nN10 IF [#1 EQ 2] GOTO 20\nG0 X2.\nN20 M30\n"
        assert watch(text).x == [2]

    def test_without_blanks(self) -> None:  # the form without blanks is printed in a mill control's manual
        assert watch("#100=5\nIF[#100LT10]GOTO10\nG0X1.\nN10M30\n").x == []

    def test_then(self) -> None:
        seen = watch("#1=3\nIF [#1 EQ 3] THEN #2=7\nIF [#1 NE 3] THEN #2=8\nG0 X#2\nM30\n")
        assert seen.x == [7]

    def test_then_with_more_than_an_assignment(self) -> None:
        assert watch("#1=3\nG90 IF [#1 EQ 3] THEN G0 X1.\nIF [#1 EQ 4] THEN G0 X2.\nM30\n").x == [1]
        assert watch("#1=3\nIF [#1 EQ 3] G0 X1.\nM30\n").x == [1]
        assert watch("#1=3\nIF [#1 EQ 3] M98 P20\nM30\nO20\nG0 X5.\nM99\n").x == [5]
        assert watch("#1=3\nIF [#1 EQ 3] THEN M30\nG0 X5.\nM30\n").x == []

    def test_else_on_the_line(self) -> None:
        text = "#1={}\nIF [#1 EQ 3] THEN #2=7 ELSE #2=8\nG0 X#2\nM30\n"
        assert watch(text.format(3)).x == [7]
        assert watch(text.format(4)).x == [8]

    def test_blocks_of_lines(self) -> None:
        text = "#1={}\nIF [#1 GT 0] THEN\nG0 X1.\nIF [#1 GT 1] THEN\nG0 X2.\nENDIF\nELSE\nG0 X3.\nENDIF\nG0 X4.\nM30\n"
        assert watch(text.format(1)).x == [1, 4]
        assert watch(text.format(2)).x == [1, 2, 4]
        assert watch(text.format(0)).x == [3, 4]

    def test_a_block_without_its_end_is_named(self) -> None:
        seen = watch("#1=0\nIF [#1 EQ 1] THEN\nG0 X1.\nM30\n")
        assert seen.named == ["IF at line 2: without its ENDIF"]

    def test_a_condition_that_cannot_be_told_is_not_met_and_named(self) -> None:
        seen = watch("G0 X1.\nIF [#500 EQ 1] GOTO 10\nG0 X2.\nN10 G0 X3.\nM30\n")
        assert seen.named == ["IF at line 2: #500 is not known"]
        assert seen.x == [1, 2, 3]

    def test_what_is_read_from_the_control_is_not_known(self) -> None:
        seen = watch("IF [#5021 GT 0] GOTO 10\nN10 M30\n")
        assert seen.named == ["IF at line 1: #5021 is read from the control"]

    def test_a_missing_argument_is_found_out(self) -> None:
        body = "IF [#26 EQ #0] GOTO 90\nG0 Z#26\nGOTO 99\nN90 G0 Z100.\nN99 M99\n"
        assert watch(f"G65 P20 Z5.\nM30\nO20\n{body}").ends == [(None, None, 5)]
        assert watch(f"G65 P20\nM30\nO20\n{body}").ends == [(None, None, 100)]


class TestGoto:
    def test_it_looks_ahead_first_and_then_from_the_top(self) -> None:
        text = "G91\nGOTO 10\nN5 G0 X1.\nM30\nN10 G0 X2.\nGOTO 5\n"
        assert watch(text).lines == [1, 2, 5, 6, 3, 4]
        # two N10: the one ahead
        assert watch("N10 G0 X1.\nGOTO 10\nG0 X2.\nN10 G0 X3.\nM30\n").x == [1, 3]

    def test_a_computed_one(self) -> None:
        assert watch("#1=2\nGOTO [#1*10]\nG0 X1.\nN20 G0 X2.\nM30\n").x == [2]
        assert watch("#1=20\nGOTO #1\nG0 X1.\nN20 G0 X2.\nM30\n").x == [2]

    def test_one_that_leads_nowhere_is_named(self) -> None:
        seen = watch("GOTO 77\nG0 X1.\nM30\n")
        assert seen.named == ["GOTO77 at line 1: no N77"]
        assert seen.x == [1]
        assert watch("GOTO #500\nM30\n").named == ["GOTO at line 1: #500 is not known"]
        assert watch("GOTO [1/4]\nM30\n").named == ["GOTO[1/4] at line 1: no line number"]

    def test_it_stays_in_its_program(self) -> None:
        seen = watch("M98 P20\nN5 M30\nO20\nGOTO 5\nG0 X1.\nM99\n")
        assert seen.named == ["GOTO5 at line 4: no N5"]

    def test_words_of_its_block_act_first(self) -> None:
        assert watch("G90 G0 X1. GOTO 5\nG0 X2.\nN5 M30\n").x == [1]

    def test_a_loop_that_counts_to_an_end_far_away_is_left_after_the_most_blocks(self) -> None:
        seen = watch("#1=0\nN1 #1=#1+1\nIF [#1 LT 1000] GOTO 1\n", most_blocks=500)
        assert len(seen.blocks) == 500
        assert seen.named == ["left after 500 blocks at line 2: the rest is not run"]
        assert seen.end is None

    def test_one_that_only_counts_is_run_twice(self) -> None:
        for body in (
            "#500=#500+1",
            "#500=#500+1\nIF [#501 EQ 1] GOTO 9",
            "#500=#500+1\nM98 P20",
        ):
            seen = watch(f"#500=0\nN1 G0 X1.\n{body}\nGOTO 1\nN9 M30\nO20\nM99\n")
            assert seen.x == [1, 1], body
            assert seen.named[-1].endswith("goes round for ever, not run on"), body
        seen = watch("#500=0\nWHILE [1 EQ 1] DO1\nG0 X1.\n#500=#500+1\nEND1\nM30\n")
        assert seen.x == [1, 1]

    def test_one_that_a_variable_ends_is_run_to_its_end(self) -> None:
        start = "#500=0\nN1 G0 X1.\n#500=#500+1\n"
        for body in (
            "IF [#500 EQ 4] GOTO 9\nGOTO 1",
            "GOTO [1+8*FIX[#500/4]]",
            "M98 P20 L[FIX[#500/4]]\nGOTO 1",
            "M[3+27*FIX[#500/4]]\nGOTO 1",
            "#3000=FIX[#500/4]\nGOTO 1",
        ):
            seen = watch(f"{start}{body}\nN9 M30\nO20\nM99 P9\n")
            assert seen.x == [1, 1, 1, 1], body
            assert not any("for ever" in text for text in seen.named), body

    def test_one_that_nothing_can_end_is_run_once(self) -> None:
        seen = watch("G91\nN1 G0 X1.\nIF [#500 EQ 1] GOTO 9\nGOTO 1\nN9 M30\n")
        assert seen.x == [None]
        assert seen.named == [
            "IF at line 3: #500 is not known",
            "GOTO1 at line 4: goes round for ever, not run on",
        ]
        assert seen.end is None

    def test_one_that_changes_something_the_first_time_is_run_until_nothing_changes(self) -> None:
        seen = watch("N1 G0 X1.\n#1=7\nGOTO 1\nM30\n")
        assert len(seen.moves) == 2
        assert seen.named == ["GOTO1 at line 3: goes round for ever, not run on"]

    def test_going_back_to_what_was_not_run_yet_is_no_round(self) -> None:
        assert watch("GOTO 5\nN2 G0 X1.\nM30\nN5 G0 X2.\nGOTO 2\n").x == [2, 1]
        skipped = "#1=0\nWHILE[#1GT0]DO1\nN2 G0 X1.\nGOTO 9\nEND1\nG0 X2.\nGOTO 2\nN9 M30\n"
        assert watch(skipped).x == [2, 1]
        assert watch(skipped).end == "M30"

    def test_in_a_called_program_every_time_counts_for_itself(self) -> None:
        body = "#1=0\nN1 #1=#1+1\nIF[#1LT3]GOTO 1\nM99\n"
        seen = watch(f"M98 P20 L3\nM30\nO20\n{body}")
        assert seen.named == []
        assert seen.end == "M30"

    def test_labels_behind_a_skip_or_a_comment(self) -> None:
        assert watch("GOTO 5\nG0 X1.\n/N5 G0 X2.\nM30\n").x == [2]
        assert watch("GOTO 5\nG0 X1.\n(HERE) N5 G0 X2.\nM30\n").x == [2]


class TestWhile:
    def test_it_runs_as_long_as_its_condition_is_met(self) -> None:
        seen = watch("#1=0\nWHILE [#1 LT 3] DO1\nG0 X#1\n#1=#1+1\nEND1\nG0 X9.\nM30\n")
        assert seen.x == [0, 1, 2, 9]
        assert seen.named == []

    def test_nested_and_one_after_the_other(self) -> None:
        text = (
            "#9=0\n#1=0\nWHILE[#1LT3]DO1\n#2=0\nWHILE[#2LT2]DO2\n#9=#9+1\n#2=#2+1\nEND2\n#1=#1+1\nEND1\n"
            "WHILE[#1GT0]DO1\n#9=#9+10\n#1=#1-1\nEND1\nM30\n"
        )
        assert watch(text).variable(9) == 36

    def test_a_jump_out_of_it(self) -> None:
        text = "#1=0\nWHILE[#1LT9]DO1\n#1=#1+1\nIF[#1EQ4]GOTO 50\nEND1\nN50 G0 X#1\nM30\n"
        assert watch(text).x == [4]

    def test_do_without_while_has_no_end_of_its_own(self) -> None:
        seen = watch("#1=0\nDO1\n#1=#1+1\nIF[#1GT5]GOTO 9\nEND1\nN9 M30\n")
        assert seen.variable(1) == 6
        assert seen.end == "M30"

    def test_what_is_missing_is_named(self) -> None:
        assert watch("END1\nM30\n").named == ["END1 at line 1: without its DO"]
        assert watch("#1=1\nWHILE[#1EQ2]DO1\nG0 X1.\nM30\n").named == ["WHILE at line 2: without its END"]

    def test_a_condition_that_cannot_be_told_is_not_met_and_named(self) -> None:
        seen = watch("WHILE [#500 GT 0] DO1\nG0 X1.\nEND1\nG0 X2.\nM30\n")
        assert seen.named == ["WHILE at line 1: #500 is not known"]
        assert seen.x == [2]

    def test_a_hole_pattern(self) -> None:
        text = (
            "O1\nG90 G21\nG65 P20 A6. B30. R40.\nM30\nO20\n#10=0\nWHILE[#10LT#1]DO1\n"
            "#11=#2+360/#1*#10\nG0 X[#18*COS[#11]] Y[#18*SIN[#11]]\n#10=#10+1\nEND1\nM99\n"
        )
        seen = watch(text)
        assert len(seen.moves) == 6
        assert seen.ends[1][:2] == pytest.approx((0, 40), abs=1e-9)
        assert seen.named == []

    # A tenth added ten times is 1 only to a control that reckons with decimals.
    def test_a_loop_whose_end_is_decided_by_rounding_says_so(self) -> None:
        seen = watch("#1=0\nWHILE[#1LT1]DO1\n#1=#1+0.1\nEND1\nM30\n")
        assert len(seen.named) == 1
        assert "decided by rounding" in seen.named[0]


class TestAssignments:
    # NISTIR 6556 section 3.3.3: with #3 at 15, "#3=6 G1 x#3" moves to 15; macro-type controls go from left to right.
    def test_one_that_its_own_block_reads(self) -> None:
        text = "#3=15\n#3=6 G1 X#3 F1.\nG0 X#3\nM30\n"
        unknown = watch(text)
        assert unknown.x == [None, 6]
        assert unknown.named == [
            "X#3 at line 2: a variable is set and read in one block, which controls do in different order"
        ]
        assert watch(text + "o1 sub\no1 endsub\n").x == [15, 6]
        assert watch(text + "GOTO 1\n").x == [6, 6]

    def test_where_the_order_makes_no_difference_it_is_told(self) -> None:
        assert watch("#3=6\n#3=6 G1 X#3 F1.\nM30\n").x == [6]
        assert watch("#3=15\nG1 X#3 F1. #3=6\nG0 X#3\nM30\n").x == [15, 6]
        assert watch("#3=15\n#4=6 G1 X#3 F1.\nM30\n").x == [15]

    def test_two_in_a_block(self) -> None:
        text = "#1=1\n#1=2 #2=#1\nG0 X#1\nG0 X#2\nM30\n"
        assert watch(text).x == [2, None]
        assert watch(text).named == ["X#2 at line 4: #2 is not known"]

    def test_a_computed_target(self) -> None:
        assert watch("#1=5\n#[#1+1]=7\nG0 X#6\nM30\n").x == [7]

    def test_a_target_that_cannot_be_told_leaves_no_variable_known(self) -> None:
        seen = watch("#1=5\n#[#500]=7\nG0 X#1\nM30\n")
        assert seen.named == ["#[#500]=7 at line 2: #500 is not known", "X#1 at line 3: #1 is not known"]

    def test_what_is_not_known_stays_so_until_it_is_set(self) -> None:
        seen = watch("#1=#500\n#2=#1+1\nG0 X#2\n#1=4\nG0 X#1\nM30\n")
        assert seen.named == ["X#2 at line 3: #2 is not known"]
        assert seen.x == [None, 4]

    def test_codes_may_be_computed(self) -> None:
        seen = watch("#1=1\nG90 G#1 X5. F10.\nM30\n")
        assert seen.moves[0].code == "G1"
        assert watch("#1=30\nM#1\nG0 X1.\n").end == "M30"
        assert watch("#1=98\nM#1 P20\nM30\nO20\nG0 X1.\nM99\n").x == [1]

    def test_a_word_whose_variable_was_never_set(self) -> None:
        text = "G90 G0 X1.\nM98 P20\nM30\nO20\n#1=#0\nG0 X#1 Y2.\nM99\n"
        assert watch(text).named == [
            "X#1 at line 6: what a word does whose variable was never set differs between controls"
        ]
        assert watch(text + "GOTO 1\n").ends[-1][:2] == (1, 2)

    def test_memory_does_not_grow_with_loops(self) -> None:
        seen = watch("#1=1\nN1 #[#1]=1\n#1=#1+1000\nIF[#1GT0]GOTO 1\n", most_blocks=2000)
        assert len(seen.control.variables) <= 110
        assert any("there is no variable #100001" in text for text in seen.named)


class TestTheControlsOwnVariables:
    def test_an_alarm_ends_the_run(self) -> None:
        seen = watch("G0 X1.\n#3000=1 (NO TOOL)\nG0 X2.\nM30\n")
        assert seen.x == [1]
        assert seen.named == ["#3000=1 at line 2: an alarm ends the run"]
        assert seen.end == "#3000"

    def test_one_that_is_not_reached_does_not(self) -> None:
        assert watch("#1=1\nIF [#1 EQ 1] GOTO 5\n#3000=1\nN5 M30\n").end == "M30"

    def test_a_message_stops(self) -> None:
        seen = watch("#3006=1 (TURN PART)\nG0 X2.\nM30\n")
        assert seen.values("stop") == ["#3006"]
        assert seen.x == [2]

    def test_an_offset_written_leaves_the_place_unknown(self) -> None:
        seen = watch("G90 G0 X1. Y1. Z1.\n#5221=-300.\nG0 X2.\nM30\n")
        assert seen.values("offset-written") == ["#5221=-300."]
        assert seen.ends[-1] == (2, None, None)


class TestLengthsWithoutAPoint:
    def test_least_increments(self) -> None:
        seen = watch("G90 G21 G0 X1500 Y2. Z0\nG0 X-5 A90000\nM30\n", decimal="increment")
        assert seen.ends == [(1.5, 2, 0), (-0.005, 2, 0)]
        assert seen.moves[-1].end[3] == 90
        inch = watch("G90 G20 G0 X15000\nM30\n", decimal="increment")
        assert inch.x == [1.5]

    def test_units_switched_in_the_block_count(self) -> None:
        assert watch("G21\nG90 G0 G20 X10000\nG0 X10000\nM30\n", decimal="increment").x == pytest.approx(
            [25.4, 25.4]
        )

    def test_without_units_they_cannot_be_told(self) -> None:
        seen = watch("G90 G0 X1500\nM30\n", decimal="increment")
        assert seen.x == [None]
        assert seen.named == ["X1500 at line 1: least increments of units that are not known"]

    def test_figures_worked_out_are_as_they_are(self) -> None:
        assert watch("G21 G90\n#1=5\nG0 X#1\nG0 X[7]\nM30\n", decimal="increment").x == [5, 7]

    def test_counts_of_cycles_are_counts(self) -> None:
        seen = watch(
            "G21 G90 G0 X0. Y0. Z5.\nG91 G81 X1000 Z-2000 R-1000 K3 F100.\nG80\nM30\n", decimal="increment"
        )
        assert sum(move.hole for move in seen.moves) == 3

    def test_not_stated_is_said_once(self) -> None:
        seen = watch("G90 G0 X10 Y0\nG0 X20\nM30\n", decimal=None)
        assert seen.x == [10, 20]
        told = [text for text in seen.values("guess") if "without a point" in text]
        assert told == [
            "lengths without a point are taken as written: how the machine reads them is not stated"
        ]
        assert [
            text for text in watch("G90 G0 X0 Y1.\nM30\n", decimal=None).values("guess") if "point" in text
        ] == []
