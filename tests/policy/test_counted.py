import pytest

from tracker.policy.spelled import counted


@pytest.mark.parametrize(
    ("number", "words", "said"),
    [
        (0, ("machine",), "0 machines"),
        (1, ("machine",), "1 machine"),
        (2, ("machine",), "2 machines"),
        (1, ("person", "people"), "1 person"),
        (3, ("person", "people"), "3 people"),
        (6000, ("record",), "6,000 records"),
    ],
)
def test_a_number_with_what_it_counts(number, words, said):
    assert counted(number, *words) == said
