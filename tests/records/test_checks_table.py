import pytest

from tracker.errors import BadCall
from tracker.records.fields import CHECKS
from tracker.records.shop import Checks
from tracker.store.toml_files import load_shop

HEAD = 'format = 1\n[shop]\nname = "Bench"\n'


def test_margins_are_the_tool_s_own_where_a_shop_states_none():
    assert load_shop(HEAD.encode(), "shop.toml").checks == Checks()
    assert load_shop((HEAD + "[checks]\n").encode(), "shop.toml").checks == Checks()


def test_a_shop_may_set_them():
    text = HEAD + "[checks]\nrapid_gap = 2.5\npoints_percent = 90\ncall_depth = 8\n"
    assert load_shop(text.encode(), "shop.toml").checks == Checks(
        rapid_gap=2.5, points_percent=90, call_depth=8
    )


def test_the_table_and_the_noun_have_the_same_defaults():
    assert {one.key: one.default for one in CHECKS.fields} == {
        one.key: getattr(Checks(), one.key) for one in CHECKS.fields
    }


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("rapid_gap = -1", "less than 0"),
        ("points_percent = 101", "more than 100"),
        ("points_percent = 50", "not above 50"),
        ("call_depth = 0", "less than 1"),
        ("rapid_gab = 1", "did you mean rapid_gap"),
    ],
)
def test_what_makes_no_sense_is_told_with_its_line(line, words):
    with pytest.raises(BadCall) as caught:
        load_shop(f"{HEAD}[checks]\n{line}\n".encode(), "shop.toml")
    said = " ".join(
        str(part) for part in (caught.value.what, caught.value.where, caught.value.fix, *caught.value.reasons)
    )
    assert words in said
    assert "shop.toml:5" in said
