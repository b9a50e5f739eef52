import tomllib
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from tracker.store.toml_plain import plain_toml

KEYS = st.sampled_from(["a", "b", "c-d", "e_1", "7"])
FIGURES = st.one_of(
    st.integers(-(10**12), 10**12),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
    st.dates(),
)
TEXTS = st.text(alphabet=st.sampled_from("ab #,=[]{}'\"\\-.1\n\t\u00e4\u00a0"), max_size=8)
VALUES = st.recursive(
    FIGURES | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)
DOCUMENTS = st.dictionaries(KEYS, VALUES, max_size=5).map(tomli_w.dumps)
LINES = st.sampled_from(
    """a = 1|b = "x"|c = 'x'|a = [|]|"x",|1,|1|{ k = 1 },|{ k = 1, k = 2 }|[a]|[[a]]|[a.b]|[[a.b]]|[a.a]|a.b = 1|# x
a = {}|a = []|b = [1, 2]|b = [1,, 2]|b = { x = [1] }|b = { x = 1, }|b = [1,]|a = "x" # y|a = "#" # "|a = 1 # y|a = [1] # y
a = ["]"]|a = ["a, b", 'c"']|a = 01|a = -0|a = +1|a = 1.|a = .5|a = 1_0|a = 2026-01-31|a = 2026-02-30|a = 1e3|a = ''''
a = \"\"\"|a = ""|a = "\\\\"|a = "\\\\\\""|a = "\\""|a = "x\\n"|a = "\\\\n"|"a" = 1|a = |= 1|a|a = true|a = tru|[a|[ a ]|[[a.a]]|[b]
a = '#'|a = '#' # '|a = 'x' 'y'|a = "x" "y"|a = [["x"], ["y"]]|a = 0.10|a = -0.0|a = 00.1|a = 1.2.3|\t|  a = 1|a\t=\t1""".replace(
        "\n", "|"
    ).split("|")
)


def agrees(text):
    """Read alike, or left to the other; never read where the other finds a mistake."""
    ours = plain_toml(text)
    if ours is None:
        return False
    assert repr(ours) == repr(tomllib.loads(text)), text
    return True


@given(DOCUMENTS)
def test_what_is_written_is_read_as_the_standard_library_reads_it(text):
    agrees(text)


@given(st.lists(LINES, max_size=7).map("\n".join))
def test_lines_in_any_order_are_read_alike_or_not_at_all(text):
    agrees(text)


@given(st.data())
def test_a_document_with_a_character_changed_is_read_alike_or_not_at_all(data):
    text = data.draw(DOCUMENTS)
    at = data.draw(st.integers(0, len(text)))
    agrees(text[:at] + data.draw(TEXTS) + text[at + data.draw(st.integers(0, 2)) :])


def test_the_sample_shop_is_plain():
    files = sorted((Path(__file__).parents[2] / "sample_repo" / "shop").rglob("*.toml"))
    assert len(files) >= 3
    assert all(agrees(file.read_text("utf-8")) for file in files)


@pytest.mark.parametrize(
    "text",
    [
        'format = 1\nreason = "a 1/4\\" drill, C:\\\\x"\n\n[[files]]\nnumber = 7\n\n[[files.of]]\nx = 1\n\n[[files]]\nx = 2\n',
        'x = [\n    "a",\n    "b",\n]\ny = [\n    { a = 1, b = [1.5, -2] },\n]\n[t]\n[t.u]\nz = 2026-01-31\n',
        'a = 1 # one\r\nb = "#" # two\r\nc = ["#"]\r\n',
    ],
)
def test_what_records_hold_is_plain(text):
    assert agrees(text)


@pytest.mark.parametrize(
    "text",
    [
        "a = 1\na = 2",
        "[a]\n[a]",
        "[[a]]\n[a]",
        "a = []\n[[a]]",
        "a = {}\n[a.b]",
        'a = "\x01"',
        'a = "x\\q"',
        "a = [\n1",
        "a",
    ],
)
def test_a_mistake_is_not_judged_here(text):
    assert plain_toml(text) is None


def test_tables_that_say_the_same_are_tables_of_their_own():
    text = "a = [\n    { k = 1 },\n    { k = 1 },\n]\nb = 1\n[c]\nb = 1\n"
    first, again = plain_toml(text), plain_toml(text)
    assert first == again == {"a": [{"k": 1}, {"k": 1}], "b": 1, "c": {"b": 1}}
    first["a"][0]["k"] = 2
    assert again == plain_toml(text) == {"a": [{"k": 1}, {"k": 1}], "b": 1, "c": {"b": 1}}
    assert plain_toml("b = 1\nb = 1\n") is None
