"""What another export left in a folder for a prove-out or a deviation is named, with its own day."""

from datetime import timedelta

import pytest

from tests.fakes.stick_shop import StickShop, program, released_shop, sub_program
from tracker.errors import Refused
from tracker.services.export_deviation import Emergency, export_deviation
from tracker.services.naming import parse_named


def two_new_jobs() -> StickShop:
    shop = released_shop()
    for number in (5001, 5002):
        shop.add_job(str(number), f"O{number}.nc", program(number))
        shop.check_in(f"{number}/op10")
    return shop


def deviate(shop: StickShop, name: str, hours: int):
    why = Emergency(reason="the lot is due today and the spindle is down", hours=hours)
    return export_deviation(shop.desk(), shop.to(), parse_named(name), why)


def until_on(shop: StickShop, folder: str):
    return shop.shaper.read_manifest(shop.files[f"{folder}/PROVEOUT.JSON"]).until


def test_a_second_text_for_its_prove_out_names_the_first_and_keeps_its_day():
    shop = two_new_jobs()
    first = shop.for_proving("5001/op10")
    assert first.notes == shop.for_proving("5001/op10").notes
    shop.day(10)
    second = shop.for_proving("5002/op10")
    assert second.notes[-1] == (
        "UNPROVEN - FOR PROVE-OUT ONLY: not of this export, but there from an earlier one, until 13 Feb 2026: "
        "MILL2/FOR-PROVING/O5001.NC (5001/op10 r1)"
    )
    assert until_on(shop, "MILL2/FOR-PROVING").date() == first.until.date()


def test_one_whose_week_is_over_is_said_not_to_be_run():
    shop = two_new_jobs()
    shop.for_proving("5001/op10")
    shop.day(20)
    assert shop.for_proving("5002/op10").notes[-1] == (
        "UNPROVEN - FOR PROVE-OUT ONLY: not of this export, and its week was over on 13 Feb 2026: MILL2/FOR-PROVING/O5001.NC (5001/op10 r1); "
        "not to be run, a plain export takes it off"
    )


def test_of_a_deviation_the_hours_of_the_first_count():
    shop = two_new_jobs()
    first = deviate(shop, "5001/op10", 2)
    second = deviate(shop, "5002/op10", 20)
    assert second.notes[-1].startswith(
        "DEVIATION - NOT RELEASED: not of this export, but there from an earlier one, until 10:0"
    )
    assert until_on(shop, "MILL2/DEVIATION") - first.until < timedelta(minutes=5)
    shop.day(7)
    assert "its hours were over on 6 Feb 2026" in deviate(shop, "5002/op10", 20).notes[-1]


def two_that_call_one() -> StickShop:
    """5001 and 5002 call common/O8001; r1 of both call one text, r2 of both another."""
    shop = StickShop()
    shop.repo.save({"common/O8001.nc": sub_program(8001)})
    for number in (5001, 5002):
        shop.add_job(str(number), f"O{number}.nc", program(number, sub=8001))
        shop.check_in(f"{number}/op10")
    shop.save("common/O8001.nc", sub_program(8001, depth="0.3"))
    shop.check_in("5001/op10")
    return shop


@pytest.mark.parametrize(
    "out",
    [StickShop.for_proving, lambda shop, name: deviate(shop, name, 20)],
    ids=["for-proving", "deviation"],
)
def test_what_lies_there_keeps_the_text_of_the_program_it_calls(out):
    shop = two_that_call_one()
    out(shop, "5001/op10@r1")
    before = dict(shop.files)
    with pytest.raises(Refused) as fault:
        out(shop, "5002/op10@r2")
    assert fault.value.name == "two-texts"
    (reason,) = fault.value.reasons
    assert reason.startswith("common/O8001.nc has one text in 5001/op10 r1, which lies in MILL2/")
    assert reason.endswith(", and another in 5002/op10 r2")
    assert shop.files == before
    out(shop, "5001/op10@r2")
    out(shop, "5002/op10@r2")
    assert {path.rpartition("/")[2] for path in shop.files} >= {"O5001.NC", "O5002.NC", "O8001.NC"}


def test_one_of_the_same_text_goes_beside_it_and_one_whose_week_is_over_keeps_nothing():
    shop = two_that_call_one()
    shop.for_proving("5001/op10@r1")
    shop.for_proving("5002/op10@r1")
    shop.day(20)
    assert "its week was over" in shop.for_proving("5002/op10@r2").notes[-1]
