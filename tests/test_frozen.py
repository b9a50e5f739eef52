import copy
import dataclasses
import pickle
from collections.abc import Mapping
from typing import ClassVar

import pytest

from tracker.frozen import dataclass as quick
from tracker.frozen import field, is_made_here, names_of, replace, required_of, types_of
from tracker.records import events, job, shop

OPTIONS = {"frozen": True, "slots": True, "kw_only": True}


def classes(decorator):
    """The same classes, made by one decorator or the other."""

    @decorator(**OPTIONS)
    class Nothing:
        """Without fields."""

    @decorator(**OPTIONS)
    class Base:
        """With defaults before what has none."""

        KIND: ClassVar[str] = "base"
        first: int = 1
        second: str
        extra: Mapping[str, object] = dataclasses.field(default_factory=dict)

    @decorator(**OPTIONS)
    class Further(Base):
        """With fields of its own, and one that nobody compares or sees."""

        KIND: ClassVar[str] = "further"
        third: tuple[int, ...] = ()
        aside: list[int] = dataclasses.field(default_factory=list, compare=False, repr=False)

        @property
        def both(self):
            """Of two fields."""
            return self.second + str(self.first)

    return Nothing, Base, Further


@quick(**OPTIONS)
class Kept:
    """One that can be found by its name, which a pickle needs."""

    name: str
    number: int = 4


OURS, THEIRS = classes(quick), classes(dataclasses.dataclass)


@pytest.mark.parametrize("at", range(3))
def test_fields_and_text_are_those_of_the_standard_library(at):
    assert [field.name for field in dataclasses.fields(OURS[at])] == [
        field.name for field in dataclasses.fields(THEIRS[at])
    ]
    assert OURS[at].__slots__ == THEIRS[at].__slots__
    assert OURS[at].__match_args__ == THEIRS[at].__match_args__
    words = {"second": "x"} if at else {}
    assert repr(OURS[at](**words)) == repr(THEIRS[at](**words))
    assert not hasattr(OURS[at](**words), "__dict__")


def test_what_is_not_said_has_its_default_and_factories_make_a_new_one_each_time():
    one, other = OURS[2](second="x"), OURS[2](second="x")
    assert (one.first, one.second, one.third, one.both, one.KIND) == (1, "x", (), "x1", "further")
    assert one.aside is not other.aside
    assert OURS[2](second="x", aside=[3]).aside == [3]


def test_equality_and_hash():
    _, base, further = OURS
    assert further(second="x", aside=[1]) == further(second="x", aside=[2])
    assert further(second="x") != further(second="y")
    assert base(second="x") != further(second="x")
    assert base(second="x").__eq__("x") is NotImplemented
    assert OURS[0]() == OURS[0]()
    assert len({Kept(name="a"), Kept(name="a", number=4), Kept(name="b")}) == 2
    with pytest.raises(TypeError, match="unhashable"):
        hash(base(second="x", extra={}))


def test_nothing_can_be_changed_or_taken_away():
    one = OURS[2](second="x")
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'second'"):
        one.second = "y"
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot delete field 'second'"):
        del one.second
    with pytest.raises(AttributeError):
        one.new = 1
    assert one.second == "x"


def test_a_wrong_call_is_one():
    for words in ({}, {"second": "x", "fourth": 1}):
        with pytest.raises(TypeError):
            OURS[1](**words)
    with pytest.raises(TypeError):
        OURS[1]("x")


def test_replaced_copied_and_stored():
    one = Kept(name="a", number=5)
    assert dataclasses.replace(one, number=6) == Kept(name="a", number=6)
    assert dataclasses.asdict(one) == {"name": "a", "number": 5}
    for other in (copy.copy(one), copy.deepcopy(one), pickle.loads(pickle.dumps(one))):
        assert other == one
        assert other is not one


def test_a_method_of_the_class_stays():
    @quick(**OPTIONS)
    class Own:
        """With a text of its own."""

        name: str

        def __repr__(self):
            return "own"

    assert repr(Own(name="a")) == "own"


def test_one_that_may_be_changed_and_one_by_place():
    @quick(slots=True)
    class Tally:
        """Counts."""

        name: str
        seen: list[int] = field(default_factory=list)
        most: int = 3

    one = Tally("a")
    one.most += 1
    one.seen.append(2)
    assert one == Tally("a", [2], most=4)
    assert repr(one).endswith("Tally(name='a', seen=[2], most=4)")
    assert Tally.__match_args__ == ("name", "seen", "most")
    assert dataclasses.replace(one, most=1) == replace(one, most=1) == Tally("a", [2], 1)
    assert pickle.loads(pickle.dumps(Kept(name="a"))) == Kept(name="a")
    with pytest.raises(TypeError, match="unhashable"):
        hash(one)
    with pytest.raises(AttributeError):
        one.other = 1


def test_replace_keeps_the_rest():
    assert replace(Kept(name="a", number=5), name="b") == Kept(name="b", number=5)
    with pytest.raises(TypeError, match="colour"):
        replace(Kept(name="a"), colour="red")


def test_what_is_known_of_the_fields():
    assert names_of(OURS[2]) == ("first", "second", "extra", "third", "aside")
    assert required_of(OURS[2]) == ("second",)
    assert types_of(OURS[2])["first"] is int
    assert is_made_here(OURS[2])
    assert is_made_here(OURS[2](second="x"))
    assert not is_made_here(THEIRS[2])


def test_a_class_of_the_standard_library_may_rest_on_one_made_here():
    @dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
    class Upon(Kept):
        """With one field more."""

        last: int = 0

    assert dataclasses.asdict(Upon(name="a", last=2)) == {"name": "a", "number": 4, "last": 2}


def test_the_first_objects_are_as_the_later_ones():
    @quick(slots=True, frozen=True)
    class Many:
        """Made so often that its ``__init__`` is compiled on the way."""

        name: str
        seen: list[int] = field(default_factory=list)
        most: int = 3

    for at in range(40):
        one = Many("a", most=at)
        assert one == Many(name="a", seen=[], most=at) == Many("a", [], at)
        assert one.seen is not Many("a").seen
        for words, named in (
            ((), {}),
            (("a",), {"name": "b"}),
            (("a", [], 1, 2), {}),
            (("a",), {"colour": 1}),
        ):
            with pytest.raises(TypeError, match=r"Many.__init__\(\)"):
                Many(*words, **named)


def test_a_wrong_call_says_what_the_standard_library_says():
    @quick(**OPTIONS)
    class Once:
        """Called wrongly first of all."""

        name: str

    with pytest.raises(
        TypeError, match=r"Once.__init__\(\) missing 1 required keyword-only argument: 'name'"
    ):
        Once()
    assert Once(name="a") == Once(name="a")


def test_only_classes_with_slots_are_made():
    with pytest.raises(TypeError, match="slots"):
        quick(**{**OPTIONS, "slots": False})


def test_the_records_are_made_so():
    for made in (events.Record, job.Job, shop.Shop):
        assert made.__setattr__.__module__ == "tracker.frozen"
