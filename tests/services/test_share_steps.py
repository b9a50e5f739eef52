"""In which steps commits go out: tables of small histories, and what holds of any history."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.policy.push import NewCommit, Touch
from tracker.services.share_steps import is_mixed, steps_to

AT = datetime(2026, 2, 2, tzinfo=UTC)


def commit(name: str, parents: str = "", path: str | None = "x.nc") -> NewCommit:
    """``path`` None: a merge that makes nothing, each file being what one parent has."""
    touch = Touch(path=path or "x.nc", status="M", mode="100644", blob="0" * 40)
    wide = max(1, len(parents.split()))
    touched = tuple((touch,) if path is not None or number == 0 else () for number in range(wide))
    return NewCommit(
        commit=name, parents=tuple(parents.split()), author="a", authored=AT, committed=AT, touched=touched
    )


def shop(name: str, parents: str = "") -> NewCommit:
    return commit(name, parents, "shop.toml")


def merge(name: str, parents: str) -> NewCommit:
    return commit(name, parents, None)


HISTORIES = [
    ("no change of shop.toml", [commit("a", "T"), commit("b", "a")], "b", "b"),
    ("only one", [shop("s", "T")], "s", "s!"),
    ("first", [shop("s", "T"), commit("a", "s"), commit("b", "a")], "b", "s! b"),
    ("last", [commit("a", "T"), commit("b", "a"), shop("s", "b")], "s", "b s!"),
    ("in the middle", [commit("a", "T"), shop("s", "a"), commit("b", "s")], "b", "a s! b"),
    ("two in a row", [shop("s", "T"), shop("t", "s"), commit("b", "t")], "b", "s! t! b"),
    (
        "two apart",
        [shop("s", "T"), commit("a", "s"), shop("t", "a"), commit("b", "t")],
        "b",
        "s! a t! b",
    ),
    (
        "a merge over it",
        [commit("a", "B"), shop("s", "a"), merge("m", "a T"), merge("n", "m s")],
        "n",
        "m n!",
    ),
    (
        "a merge over everything at once, which cannot be parted",
        [commit("a", "B"), shop("s", "a"), merge("m", "s T")],
        "m",
        None,
    ),
    (
        "only the change of shop.toml is in the merge",
        [shop("s", "B"), merge("m", "s T"), commit("a", "m")],
        "a",
        "m! a",
    ),
]


@pytest.mark.parametrize(
    ("commits", "tip", "wanted"), [row[1:] for row in HISTORIES], ids=[row[0] for row in HISTORIES]
)
def test_steps(commits, tip, wanted):
    found = steps_to(commits, tip, after="T")
    said = None if found is None else " ".join(step.tip + ("!" if step.shop else "") for step in found)
    assert said == wanted


def test_what_is_mixed():
    assert not is_mixed([commit("a"), merge("m", "a b")])
    assert not is_mixed([shop("s"), merge("m", "s b")])
    assert is_mixed([shop("s"), commit("a", "s")])
    assert is_mixed([shop("s"), shop("t", "s")])


@given(st.lists(st.booleans(), min_size=1, max_size=40))
def test_a_line_is_always_parted_in_as_few_pushes_as_can_be(kinds):
    names = [str(number) for number in range(len(kinds))]
    line = [
        (shop if kind else commit)(name, parent)
        for name, parent, kind in zip(names, ["T", *names], kinds, strict=False)
    ]
    steps = steps_to(line, names[-1], after="T")
    assert steps is not None
    went = [one for step in steps for one in sorted(step.commits, key=int)]
    assert went == names
    assert all(step.commits == frozenset({step.tip}) for step in steps if step.shop)
    is_shop = dict(zip(names, kinds, strict=True))
    assert not any(is_shop[one] for step in steps if not step.shop for one in step.commits)
    runs = sum(1 for one, other in zip([True, *kinds], kinds, strict=False) if one and not other)
    assert len(steps) == sum(kinds) + runs


def test_a_long_line_takes_no_time():
    names = [str(number) for number in range(5000)]
    line = [
        (shop if number % 1000 == 999 else commit)(name, parent)
        for number, (name, parent) in enumerate(zip(names, ["T", *names], strict=False))
    ]
    steps = steps_to(line, names[-1], after="T")
    assert steps is not None
    assert len(steps) == 10
