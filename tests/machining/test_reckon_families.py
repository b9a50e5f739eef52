"""Where controls differ a figure is told only if the text says which family it is for.

RS274/NGC: NISTIR 6556 sections 3.3.2.3 and 3.3.2.4 and the LinuxCNC documentation ("Expressions"). Macro-type
controls: from memory.
"""

import pytest

from tracker.machining.family import MACRO, NGC, family_of
from tracker.machining.reckon import figure, truth
from tracker.machining.variables import NotKnown, Variables


def told(text: str, family: str | None, *, word: bool = False, **variables: float) -> float | str | None:
    """The figure, or why there is none."""
    known: dict[float, float | None] = {int(name[1:]): value for name, value in variables.items()}
    try:
        return figure(text, Variables(known, family), word=word)
    except NotKnown as unknown:
        return str(unknown)


@pytest.mark.parametrize(
    ("text", "ngc", "macro"),
    [
        ("FIX[-2.8]", -3, -2),
        ("FUP[-2.8]", -2, -3),
        ("[6AND3]", 1, 2),
        ("[4OR1]", 1, 5),
        ("[7XOR1]", 0, 6),
        ("[1OR0*2]", 1, 1),
        ("ATAN[-1]/[1]", -45, "ATAN of a negative value differs between controls"),
        ("ASIN[-0.5]", -30, "ASIN of a negative value differs between controls"),
        ("[7.5MOD2]", 1.5, "MOD of fractions differs between controls"),
        ("#0", None, None),
    ],
)
def test_a_known_family_decides(text: str, ngc: object, macro: object) -> None:
    def close(value: object) -> object:
        return pytest.approx(value) if isinstance(value, int | float) else value

    assert told(text, NGC) == close(ngc)
    assert told(text, MACRO) == close(macro)
    if ngc != macro:
        assert "differs between controls" in str(told(text, None))


@pytest.mark.parametrize(
    "text",
    [
        "FIX[2.8]",
        "FUP[2.8]",
        "FIX[-3]",
        "[15MOD4]",
        "[2XOR2]",
        "[[1EQ1]AND[2EQ2]]",
        "[[1EQ2]OR[2EQ2]]",
        "ATAN[1]/[-1]",
    ],
)
def test_what_all_controls_agree_on_needs_no_family(text: str) -> None:
    assert told(text, None) == told(text, NGC) == told(text, MACRO)
    assert isinstance(told(text, None), float)


# With AND among the products, [1 + 1 AND 0] is 1; among the sums or after them it is 0.
def test_where_and_stands_among_the_operators() -> None:
    assert told("[1+1AND0]", MACRO) == 1
    assert told("[1+1AND0]", NGC) == 0
    assert told("[1+1AND0]", None) == "what AND, OR and XOR do differs between controls"


# NISTIR 6556 has AND with the sums, left to right; LinuxCNC after the relations.
def test_two_orders_within_one_family() -> None:
    assert told("[0AND1+1]", NGC) == "what AND, OR and XOR do differs between controls"
    assert told("[0AND[1+1]]", NGC) == 0


@pytest.mark.parametrize("family", [NGC, MACRO, None])
@pytest.mark.parametrize("text", ["ROUND[2.5]", "ROUND[-0.5]", "[-5MOD3]", "[5MOD-3]"])
def test_no_family_tells_these(text: str, family: str | None) -> None:
    assert "differs between controls" in str(told(text, family))


@pytest.mark.parametrize("family", [NGC, MACRO, None])
def test_what_rounding_decides_is_not_told(family: str | None) -> None:
    tenth = 0.1 + 0.1 + 0.1 + 0.1 + 0.1 + 0.1 + 0.1 + 0.1 + 0.1 + 0.1
    assert tenth != 1.0
    for relation in ("LT", "GE", "EQ", "NE", "GT", "LE"):
        assert "decided by rounding" in str(told(f"[#1{relation}1]", family, v1=tenth))
    assert "decided by rounding" in str(told("FIX[#1]", family, v1=tenth))
    assert told("[#1LT1]", family, v1=0.9) == 1


# Equal to some controls within 0.0001 (from memory).
def test_nearly_equal_figures_are_told_apart_by_some() -> None:
    assert told("[1EQ1.00001]", MACRO) == 0
    assert "decided by rounding" in str(told("[1EQ1.00001]", None))
    assert told("[1EQ1.001]", None) == 0


def test_round_in_a_word_may_be_to_the_least_increment() -> None:
    assert told("ROUND[2.3]", NGC, word=True) == 2
    assert told("ROUND[2.0]", None, word=True) == 2
    assert told("ROUND[2.3]", None, word=True) == "ROUND in a word differs between controls"
    assert told("ROUND[2.3]", MACRO) == 2


class TestNull:
    """A variable that was never set counts as 0 in a sum everywhere; what it equals differs."""

    @staticmethod
    def macro_level(family: str | None) -> Variables:
        variables = Variables({}, family)
        variables.enter({1: 0.0, 2: 5.0}, frozenset(), ngc=False)
        return variables

    def test_in_sums_it_is_0(self) -> None:
        variables = self.macro_level(None)
        assert figure("[#9+2]", variables) == 2
        assert figure("[#9*2]", variables) == 0
        assert figure("#9", variables) is None

    def test_it_equals_another_that_was_never_set(self) -> None:
        variables = self.macro_level(None)
        assert truth("[#9EQ#0]", variables)
        assert not truth("[#9NE#0]", variables)
        assert not truth("[#2EQ#0]", variables)
        assert truth("[#2NE#0]", variables)

    def test_whether_it_equals_0_differs(self) -> None:
        with pytest.raises(NotKnown, match="never set equals 0 differs"):
            truth("[#1EQ#0]", self.macro_level(None))
        assert not truth("[#1EQ#0]", self.macro_level(MACRO))
        assert not truth("[#9EQ0]", self.macro_level(MACRO))

    def test_a_common_variable_that_this_program_did_not_set_is_not_null_but_unknown(self) -> None:
        for family in (NGC, MACRO, None):
            with pytest.raises(NotKnown, match="#100 is not known"):
                figure("#100", self.macro_level(family))

    def test_the_control_answers_for_the_rest(self) -> None:
        variables = Variables({}, None)
        variables.write(5021, 4.0)
        with pytest.raises(NotKnown, match="#5021 is read from the control"):
            figure("#5021", variables)
        in_rs274 = Variables({}, NGC)
        in_rs274.write(3000, 4.0)
        assert figure("#3000", in_rs274) == 4


class TestLevels:
    def test_locals_come_back(self) -> None:
        variables = Variables({1: 1.0, 100: 5.0}, None)
        variables.enter({1: 7.0}, frozenset({2}), ngc=False)
        assert figure("#1", variables) == 7
        with pytest.raises(NotKnown):
            figure("#2", variables)
        variables.write(100, 6.0)
        variables.leave()
        assert figure("#1", variables) == 1
        assert figure("#100", variables) == 6
        with pytest.raises(NotKnown):
            figure("#2", variables)

    # LinuxCNC documentation, O codes, "Subroutines": #1 to #30 are local, those without an argument are 0.
    def test_locals_of_an_o_call_are_0(self) -> None:
        variables = Variables({31: 9.0}, NGC)
        variables.enter({1: 7.0}, frozenset(), ngc=True)
        assert figure("#2", variables) == 0
        assert figure("#31", variables) == 9

    def test_null_is_kept_through_a_level(self) -> None:
        variables = Variables({}, None)
        variables.write(1, None)
        variables.enter({1: 2.0}, frozenset(), ngc=False)
        variables.leave()
        assert figure("#1", variables) is None

    def test_what_is_lost_is_not_known(self) -> None:
        variables = Variables({1: 1.0, 100: 2.0}, None)
        variables.lose(locals_too=False)
        assert figure("#1", variables) == 1
        with pytest.raises(NotKnown):
            figure("#100", variables)
        variables.lose(locals_too=True)
        with pytest.raises(NotKnown):
            figure("#1", variables)
        variables.write(100, 3.0)
        assert figure("#100", variables) == 3

    def test_named_ones(self) -> None:
        variables = Variables({}, NGC)
        variables.write_name("Safe Z", 5.0)
        variables.write_name("_common", 6.0)
        assert figure("#<safez>", variables) == 5
        assert figure("EXISTS[#<safez>]", variables) == 1
        assert figure("EXISTS[#<other>]", variables) == 0
        with pytest.raises(NotKnown, match="whether #<_x> exists"):
            figure("EXISTS[#<_x>]", variables)
        variables.enter({}, frozenset(), ngc=True)
        assert figure("#<_common>", variables) == 6
        with pytest.raises(NotKnown, match="#<safez> is not known"):
            figure("#<safez>", variables)


@pytest.mark.parametrize(
    ("text", "family"),
    [
        (b"#1=1\nG1 X#1\n", None),
        (b"o100 sub\n#1=1\no100 endsub\n", NGC),
        (b"o<face> call [1]\n", NGC),
        (b"#<depth>=1\n", NGC),
        (b"IF [#1 EQ 1] GOTO 10\n", MACRO),
        (b"WHILE[#1LT5]DO1\nEND1\n", MACRO),
        (b"G65 P9001 A1.\n#1=1\n", MACRO),
        (b"#1=1 (IF [#1 EQ 1] GOTO 10)\n", None),
        (b"#1=1 ; o100 sub\n", None),
        (b"o100 if [#1 eq 1]\n#1=2\no100 endif\no101 do\no101 while [#1 lt 1]\n", NGC),
        (b"o100 if [#1 eq 1]\nIF [#1 EQ 1] GOTO 10\n", None),
        (b"G0 X1.\nM30\n", None),
    ],
)
def test_the_words_that_tell_a_family(text: bytes, family: str | None) -> None:
    assert family_of(text) == family
