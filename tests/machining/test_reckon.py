"""Figures of expressions, against values printed elsewhere.

T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274/NGC Interpreter - Version 3", NISTIR 6556 (2000): sections
3.3.2.2 to 3.3.2.4 and appendix C.2.
"""

import pytest

from tracker.machining.family import NGC
from tracker.machining.reckon import figure, split_assignment, target, truth
from tracker.machining.variables import NotKnown, Variables
from tracker.nc.word import words


def value(text: str, *, family: str | None = None, word: bool = False, **variables: float) -> float | None:
    """The figure of an expression as written; variables as ``v1=...``."""
    known: dict[float, float | None] = {int(name[1:]): figure for name, figure in variables.items()}
    (canonical,) = words("X" + text)
    return figure(canonical.number, Variables(known, family), word=word)


# NISTIR 6556 section 3.3.2.3: "[2.0 / 3 * 1.5 - 5.5 / 11.0] evaluates to 0.5" - exactly so in floats too.
def test_the_printed_order_of_operations() -> None:
    assert value("[2.0 / 3 * 1.5 - 5.5 / 11.0]") == 0.5


# NISTIR 6556 appendix C.2, with the accuracy printed there; angles in degrees.
@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("[1 + 2 * 3 - 4 / 5]", 6.2),
        ("[15 MOD 4.0]", 3),
        ("sin[30]", 0.5),
        ("tan[60.0]", 1.7321),
        ("atan[1.7321]/[1.0]", 60.0),
        ("acos[0.707107]", 45.0000),
        ("exp[2.3026]", 10),
        ("ln[10.0]", 2.3026),
        ("[2 ** 3.0]", 8),
        ("sqrt[3**2 + 4**2]", 5),
        ("[2 xor 2]", 0),
        ("[1 --3]", 4),
    ],
)
def test_printed_values(text: str, printed: float) -> None:
    assert value(text, family=NGC) == pytest.approx(printed, abs=0.001)


def test_an_or_of_numbers_is_1_in_rs274() -> None:  # appendix C.2
    assert value("[2 or 2]", family=NGC) == 1


# NISTIR 6556 section 3.3.2.4 and appendix C.2.
@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("fix[2.8]", 2),
        ("fix[-2.8]", -3),
        ("fup[2.8]", 3),
        ("fup[-2.8]", -2),
        ("round[-0.499]", 0),
        ("round[-0.5001]", -1),
        ("fix[-0.499]", -1),
        ("fup[-0.5001]", 0),
    ],
)
def test_rounding_as_printed(text: str, printed: float) -> None:
    assert value(text, family=NGC) == printed


# NISTIR 6556 section 3.3.2.2: "#1+2" is the value of #1 and 2; "#[1+2]" is the value of #3; "##2" goes by way of #2.
def test_what_the_number_sign_takes() -> None:
    known = {"v1": 10.0, "v2": 3.0, "v3": 7.0}
    assert value("[#1+2]", **known) == 12
    assert value("#[1+2]", **known) == 7
    assert value("##2", **known) == 7
    assert value("-#1", **known) == -10
    assert value("[-#1-#2]", **known) == -13
    assert value("[-[#1]]", **known) == -10
    assert value("#[#2]", **known) == 7


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[10 - 3 - 2]", 5),  # left to right, NISTIR 6556 section 3.3.2.3
        ("[2 ** 3 ** 2]", 64),
        ("[-2 ** 2]", 4),  # a sign belongs to its number
        ("[8 / 4 / 2]", 1),
        ("[2 + 3 * 2 ** 2]", 14),
        ("[[2 + 3] * 2]", 10),
        ("abs[-3.5]", 3.5),
        ("cos[60]", 0.5),
        ("asin[0.5]", 30),
        ("atan[1]", 45),
        ("atan[1, 1]", 45),
        ("pow[2, 5]", 32),
        ("[7.5 mod 2]", 1.5),
        ("[3 gt 2]", 1),
        ("[3 le 2]", 0),
        ("[1 + 1 eq 2]", 1),
        ("[2 ne 2]", 0),
        ("[5 ge 5]", 1),
        ("[4 lt 5]", 1),
        ("[[1 eq 1] and [2 eq 3]]", 0),
        ("[[1 eq 1] or [2 eq 3]]", 1),
        ("[[1 eq 1] xor [3 eq 3]]", 0),
    ],
)
def test_the_rest_of_what_rs274_has(text: str, expected: float) -> None:
    assert value(text, family=NGC) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("[1 / 0]", "division by zero"),
        ("[1 / [2 - 2]]", "division by zero"),
        ("[5 mod 0]", "division by zero"),
        ("sqrt[-1]", "SQRT has no figure"),
        ("ln[0]", "LN has no figure"),
        ("asin[2]", "ASIN has no figure"),
        ("tan[90]", "TAN of a right angle"),
        ("exp[99999]", "EXP has no figure"),
        ("[0 ** -1]", "a power that has no figure"),
        ("[-8 ** 0.5]", "a power that has no figure"),
        ("[1e]", None),
        ("bin[12]", "BIN depends on the control"),
        ("#500", "#500 is not known"),
        ("[1 + #500 * 2]", "#500 is not known"),
        ("#[1.5]", "there is no variable #1.5"),
        ("#[-3]", "there is no variable #-3"),
        ("#1000000", "there is no variable #1e\\+06"),
        ("sin[1, 2]", "SIN has no figure"),
        ("[" + "9" * 400 + "]", "beyond all bounds"),
    ],
)
def test_what_has_no_figure_says_why(text: str, why: str | None) -> None:
    if why is None:  # not even words
        assert words("X" + text)[0].letter == ""
        return
    with pytest.raises(NotKnown, match=why):
        value(text)


def test_sums_as_long_as_a_line_do_not_go_deeper() -> None:
    assert value("[" + "+".join(["1"] * 20_000) + "]") == 20_000


def test_brackets_as_deep_as_they_are_read() -> None:
    assert value("[" * 40 + "2 + 3 * 4" + "]" * 40) == 14


@pytest.mark.parametrize(
    "text", ["", "[", "[1", "1+", "[1]]", "#", "#[", "SIN", "SIN[", "[,]", "ATAN[1]/[", "*2", "[1 2]"]
)
def test_text_that_is_no_expression_is_not_known(text: str) -> None:
    with pytest.raises(NotKnown, match="does not read"):
        figure(text, Variables({}, None))


def test_both_sides_of_an_assignment() -> None:
    assert split_assignment("#1=#2+1") == ("#1", "#2+1")
    assert split_assignment("#[#1EQ2]=5") == ("#[#1EQ2]", "5")
    assert split_assignment("#<a=b>=5") == ("#<a=b>", "5")


def test_which_variable_is_set() -> None:
    known = Variables({1: 10.0}, None)
    assert target("#5", known) == 5
    assert target("#[#1+2]", known) == 12
    assert target("#<depth>", known) == "depth"
    with pytest.raises(NotKnown, match="#7 is not known"):
        target("#[#7+2]", known)


def test_a_condition_holds_where_its_figure_is_not_0() -> None:
    known = Variables({1: 2.0}, None)
    assert truth("[#1EQ2]", known)
    assert truth("[#1]", known)
    assert not truth("[#1-2]", known)
