"""Whatever the bytes, a run ends, says what it could not follow, and raises nothing."""

from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.watched import Watched, watch

MOST = 400
PIECES = st.sampled_from(
    [
        *("N1", "N2", "N10", "O1", "O2", "o1", "%", "/", "/2", "(", ")", ";", "(A)", "\n", "\n", "\n", " "),
        *(
            "G0",
            "G1",
            "G2",
            "G91",
            "G65",
            "G66",
            "G66.1",
            "G67",
            "G81",
            "G71",
            "G10",
            "G11",
            "L50",
            "M98",
            "M97",
        ),
        *(
            "M99",
            "M30",
            "M6",
            "M96",
            "M198",
            "P1",
            "P2",
            "P10001",
            "L2",
            "L999999999",
            "X1",
            "X1.5",
            "Y-2",
            "Z#1",
        ),
        *(
            "I1.",
            "J2.",
            "#1=1",
            "#1=#1+1",
            "#[#1]=2",
            "#2=#0",
            "#<a>=1",
            "#3000=1",
            "#5221=1.",
            "X[#1*2]",
            "X#<a>",
        ),
        *("IF[#1LT5]", "IF[#9EQ#0]", "IF[#500GT1]", "GOTO1", "GOTO10", "GOTO#1", "THEN", "ELSE", "ENDIF"),
        *(
            "WHILE[#1LT9]",
            "WHILE[1]",
            "DO1",
            "DO2",
            "END1",
            "END2",
            "sub",
            "endsub",
            "call",
            "if",
            "[#1 lt 3]",
        ),
        *(
            "else",
            "elseif",
            "endif",
            "while",
            "endwhile",
            "do",
            "repeat",
            "[2]",
            "endrepeat",
            "break",
            "continue",
        ),
        *(
            "return",
            "[",
            "]",
            "[[[[[[",
            "DPRNT[A]",
            "SIN[",
            "**",
            "MOD",
            "AND",
            "G#1",
            "M#1",
            "T#500",
            "Q5",
            "H2",
        ),
    ]
)
PROGRAMS = st.lists(PIECES, max_size=80).map("".join)
O_LINES = st.lists(
    st.sampled_from(
        [
            f"o{n} {keyword}"
            for n in (1, 2)
            for keyword in (
                "sub",
                "endsub",
                "call [1]",
                "if [#1 lt 3]",
                "else",
                "endif",
                "while [#1 lt 4]",
                "endwhile",
                "do",
                "while [0]",
                "repeat [2]",
                "endrepeat",
                "break",
                "continue",
                "return [1]",
            )
        ]
        + ["#1=[#1+1]", "#1=0", "G0 X#1", "M2"]
    ),
    max_size=40,
).map("\n".join)


def sound(seen: Watched) -> None:
    assert len(seen.blocks) <= MOST
    assert seen.blocks == seen.acted_on
    left = [text for text in seen.named if text.startswith("left after") or "goes round for ever" in text]
    over = seen.end is not None
    verbatim = "the text is not in word-address form" in seen.named
    assert over + bool(left) + verbatim == 1


@given(PROGRAMS)
def test_pieces_of_programs(text: str) -> None:
    sound(watch(text, most_blocks=MOST, others={2: text}))


@given(O_LINES)
def test_o_words_in_any_order(text: str) -> None:
    sound(watch(text, most_blocks=MOST))


@given(st.binary(max_size=300), st.booleans(), st.sampled_from([None, "increment", "calculator"]))
def test_any_bytes(data: bytes, lathe: bool, decimal: str | None) -> None:
    sound(watch(data, most_blocks=MOST, lathe=lathe, decimal=decimal, skip=lathe))


@given(PROGRAMS, st.booleans())
def test_the_same_run_twice(text: str, lathe: bool) -> None:
    first, second = (watch(text, most_blocks=MOST, lathe=lathe) for _ in range(2))
    assert first.lines == second.lines
    assert first.moves == second.moves
    assert first.events == second.events
