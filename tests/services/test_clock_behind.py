"""A PC whose clock fell back: export and collect say so, since what they judge is another day."""

import pytest

from tests.fakes.stick_shop import exported_shop
from tracker.errors import Refused

WORDS = (
    "this PC's clock says 1 Jan 2020, and there are records of 6 Feb 2026: if the clock is wrong, set it right and do "
    "this again"
)


def test_collect_says_it_first():
    shop = exported_shop().day(1, 1, 2020)
    assert WORDS in shop.collect(dry_run=True).notes


def test_an_export_that_finds_nothing_says_it_first():
    shop = exported_shop().day(1, 1, 2020)
    with pytest.raises(Refused) as fault:
        shop.export()
    assert fault.value.name == "nothing-to-export"
    assert fault.value.reasons[0] == WORDS


def test_an_export_that_goes_out_notes_it():
    shop = exported_shop()
    shop.day(20).export()
    shop.day(17)
    assert shop.export().notes == (WORDS.replace("1 Jan 2020", "17 Feb 2026").replace("6 Feb", "20 Feb"),)


def test_clocks_that_differ_by_hours_are_let_be():
    shop = exported_shop()
    shop.day(20).export()
    shop.day(19)
    assert shop.export().notes == ()
    assert shop.collect(dry_run=True).notes == ()
