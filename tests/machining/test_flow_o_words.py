"""O words with keywords, as the LinuxCNC documentation has them ("O Codes")."""

from tests.fakes.watched import watch


class TestSubs:
    def test_a_sub_is_passed_over_and_run_when_it_is_called(self) -> None:
        seen = watch("o100 sub\nG0 X#1 Y#2\no100 endsub\nG90\no100 call [1] [1+1]\nM2\n")
        assert seen.lines == [1, 4, 5, 2, 3, 6]
        assert seen.ends == [(1, 2, None)]
        assert seen.calls == [("100", "1")]
        assert seen.named == []

    def test_arguments_are_local_and_others_are_0(self) -> None:
        seen = watch("#1=5\n#31=7\no1 sub\nG0 X#1 Y#2 Z#31\n#1=9\no1 endsub\no1 call [3]\nG0 X#1\nM2\n")
        assert seen.ends == [(3, 0, 7), (5, 0, 7)]

    def test_names(self) -> None:
        seen = watch("o<Face Off> sub\nG0 X#<depth>\no<face off> endsub\n#<_depth>=1\no<faceoff> call\nM2\n")
        assert seen.lines == [1, 4, 5, 2, 3, 6]
        assert seen.named == ["X#<depth> at line 2: #<depth> is not known"]
        common = watch("o<f> sub\nG0 X#<_depth>\no<f> endsub\n#<_depth>=1\no<f> call\nM2\n")
        assert common.x == [1]

    def test_return_and_its_value(self) -> None:
        text = "o1 sub\no2 if [#1 gt 2]\no1 return [#1*2]\no2 endif\nG0 X9.\no1 endsub [1]\no1 call [{}]\nG0 X#<_value>\nM2\n"
        assert watch(text.format(5)).x == [10]
        assert watch(text.format(1)).x == [9, 1]

    def test_a_sub_in_a_file_of_its_own(self) -> None:
        seen = watch("o100 call [4]\nM2\n", others={100: "o100 sub\nG0 X#1\no100 endsub\nM2\n"})
        assert seen.x == [4]
        plain = watch("o100 call [4]\nM2\n", others={100: "O100\nG0 X1.\nM99\n"})
        assert plain.x == [1]

    def test_what_is_not_in_hand_is_named(self) -> None:
        seen = watch("G90 G0 X1.\no100 call\nG0 Y1.\nM2\n")
        assert seen.named == ["O100 call at line 2"]
        assert seen.ends[-1] == (None, 1, None)
        assert watch("o<probe> call\nM2\n").named == ["O<probe> call at line 1"]
        assert watch("o9 call\nM2\n", resident=(9,)).named == ["O9 call at line 1: O9 lives in the control"]

    def test_recursion_is_bounded(self) -> None:
        seen = watch("o1 sub\no1 call\no1 endsub\no1 call\nM2\n", most_calls=4)
        assert seen.named == ["O1 call at line 2: calls more than 4 deep"]

    def test_a_factorial(self) -> None:
        text = (
            "o1 sub\no2 if [#1 le 1]\no1 return [1]\no2 endif\no1 call [#1-1]\n"
            "o1 return [#1*#<_value>]\no1 endsub\no1 call [5]\nG0 X#<_value>\nM2\n"
        )
        assert watch(text).x == [120]

    def test_an_argument_that_cannot_be_told(self) -> None:
        seen = watch("o1 sub\nG0 X#1\no1 endsub\no1 call [#500]\nM2\n")
        assert seen.named == [
            "O1 call [#500] at line 4: #500 is not known",
            "X#1 at line 2: #1 is not known",
        ]

    def test_a_sub_without_its_end(self) -> None:
        seen = watch("o1 sub\nG0 X1.\nM2\n")
        assert seen.named == ["O1 sub at line 1: its end is missing"]


class TestConditions:
    TEXT = (
        "#1={}\no1 if [#1 eq 1]\nG0 X1.\no1 elseif [#1 eq 2]\nG0 X2.\no1 elseif [#1 eq 3]\nG0 X3.\n"
        "o1 else\nG0 X4.\no1 endif\nG0 Y1.\nM2\n"
    )

    def test_each_branch(self) -> None:
        for value in (1, 2, 3, 4):
            seen = watch(self.TEXT.format(value))
            assert seen.x == [value, value]
            assert seen.named == []

    def test_one_that_cannot_be_told_is_not_met_and_named(self) -> None:
        seen = watch(self.TEXT.format("#500"))
        assert seen.x == [4, 4]
        assert seen.named == [
            "O1 if at line 2: #1 is not known",
            "O1 elseif at line 4: #1 is not known",
            "O1 elseif at line 6: #1 is not known",
        ]

    def test_without_an_end(self) -> None:
        assert watch("#1=0\no1 if [#1 eq 1]\nG0 X1.\nM2\n").named == ["O1 if at line 2: its end is missing"]

    def test_exists(self) -> None:
        text = "#<a>=1\no1 if [EXISTS[#<a>]]\nG0 X1.\no1 else\nG0 X2.\no1 endif\nM2\n"
        assert watch(text).x == [1]


class TestLoops:
    def test_while(self) -> None:
        assert watch("#1=0\no1 while [#1 lt 3]\nG0 X#1\n#1=[#1+1]\no1 endwhile\nM2\n").x == [0, 1, 2]

    def test_do_while(self) -> None:
        assert watch("#1=9\no1 do\nG0 X#1\n#1=[#1+1]\no1 while [#1 lt 3]\nM2\n").x == [9]
        assert watch("#1=0\no1 do\nG0 X#1\n#1=[#1+1]\no1 while [#1 lt 3]\nM2\n").x == [0, 1, 2]

    def test_repeat(self) -> None:
        assert len(watch("G91\no1 repeat [3]\nG0 X1.\no1 endrepeat\nM2\n").moves) == 3
        assert watch("o1 repeat [0]\nG0 X1.\no1 endrepeat\nM2\n").x == []
        nested = "#1=0\no1 repeat [3]\no2 repeat [4]\n#1=[#1+1]\no2 endrepeat\no1 endrepeat\nM2\n"
        assert watch(nested).variable(1) == 12
        unknown = watch("o1 repeat [#500]\nG0 X1.\no1 endrepeat\nM2\n")
        assert unknown.named == ["O1 repeat at line 1: #500 is not known"]
        assert unknown.x == []

    def test_break_and_continue(self) -> None:
        text = (
            "#1=0\no1 while [#1 lt 9]\n#1=[#1+1]\no2 if [#1 eq 2]\no1 continue\no2 endif\n"
            "o3 if [#1 eq 4]\no1 break\no3 endif\nG0 X#1\no1 endwhile\nG0 Y1.\nM2\n"
        )
        assert watch(text).x == [1, 3, 3]
        repeated = "#1=0\no1 repeat [5]\n#1=[#1+1]\no2 if [#1 lt 4]\no1 continue\no2 endif\nG0 X#1\no1 endrepeat\nM2\n"
        assert watch(repeated).x == [4, 5]
        assert watch("o1 break\nM2\n").named == ["O1 break at line 1: its end is missing"]

    def test_a_loop_that_nothing_can_end_is_run_once(self) -> None:
        seen = watch("o1 while [1]\nG0 X1.\no1 endwhile\nM2\n")
        assert seen.x == [1]
        assert seen.named == ["O1 loop at line 3: goes round for ever, not run on"]
        assert watch("o1 do\nG0 X1.\no1 while [1]\nM2\n").named == [
            "O1 loop at line 3: goes round for ever, not run on"
        ]

    def test_a_loop_that_counts_is_left_after_the_most_blocks(self) -> None:
        seen = watch("#1=0\no1 while [#1 ge 0]\n#1=[#1+1]\no1 endwhile\nM2\n", most_blocks=300)
        assert len(seen.blocks) == 300
        assert seen.named == ["left after 300 blocks at line 3: the rest is not run"]
        assert len(watch("o1 repeat [1000000000]\no1 endrepeat\nM2\n", most_blocks=300).blocks) == 300

    def test_a_loop_in_a_sub_counts_for_itself(self) -> None:
        text = "#31=0\no1 sub\no2 repeat [3]\n#31=[#31+1]\no2 endrepeat\no1 endsub\no9 repeat [2]\no1 call\no9 endrepeat\nM2\n"
        assert watch(text).variable(31) == 6


def test_a_computed_label() -> None:
    assert watch("o5 sub\nG0 X1.\no5 endsub\n#1=5\no#1 call\nM2\n").x == [1]
    assert watch("o#500 call\nM2\n").named == ["O word with CALL at line 1: #500 is not known"]


def test_many_branches_without_an_end_are_looked_through_once() -> None:
    seen = watch("o1 if [1]\n" + "o1 else\n" * 50_000)
    assert len(seen.blocks) == 50_001
    chain = watch(
        "#1=0\no9 repeat [1000000]\no1 if [#1]\n" + "o1 elseif [#1]\n" * 5000 + "o1 endif\no9 endrepeat\n",
        most_blocks=50_000,
    )
    assert len(chain.blocks) < 100
    assert chain.named[0].startswith("left after 50000 blocks")
