"""Which sticks a recall calls in: by code, as of now, and what went off them since."""

import pytest

from tests.fakes.stick_shop import edited, exported_shop, released_shop
from tracker.services.lift import ReleaseNamed
from tracker.services.withdraw import withdraw

ALL = ("MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC")
OWNED = "BLUE-1 (MILL2), owner kp"


@pytest.fixture
def shop():
    return exported_shop()


def recall(shop, number: int = 1, **more):
    return withdraw(
        shop.desk(), ReleaseNamed(job="4471", number=number), by="dg", reason="grip too low", **more
    )


def test_a_stick_is_called_in_with_its_owner_and_the_machines_it_went_to(shop):
    shop.new_stick("RED-2")
    shop.export()
    said = recall(shop)
    assert said.sticks == (f"{OWNED}: {', '.join(ALL)}", f"RED-2 (MILL2): {', '.join(ALL)}")
    assert (said.were_on, said.machines) == ((), ("MILL2",))


def test_one_operation_calls_in_its_own_files_alone(shop):
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_another_revision_with_the_same_code_is_called_in_too(shop):
    text = shop.repo.tree().read("jobs/4471/op20/O1003.nc")
    shop.save("jobs/4471/op20/O1003.nc", edited(text, (b"(OFFICE TEXT)", b"(OTHER WORDS)")))
    shop.check_in("4471/op20")
    shop.release("4471")
    shop.new_stick("RED-2")
    shop.export()
    # release 1 held r1 of op20; RED-2 got r2, which is the same code
    said = recall(shop, operations=("op20",))
    assert said.sticks == (f"{OWNED}: MILL2/O1003.NC", "RED-2 (MILL2): MILL2/O1003.NC")


def test_what_was_replaced_taken_off_or_not_there_any_more_is_told_apart(shop):
    del shop.files["MILL2/O1002.NC"]
    shop.collect()
    text = shop.repo.tree().read("jobs/4471/op10/O1001.nc")
    shop.save("jobs/4471/op10/O1001.nc", edited(text, (b"Z-0.5", b"Z-0.55")))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    said = recall(shop, operations=("op10",))
    assert said.sticks == ()
    assert said.were_on == (f"{OWNED}: MILL2/O1001.NC, MILL2/O1002.NC",)
    assert said.machines == ("MILL2",)


def test_an_edit_that_came_home_leaves_the_stick_on_the_list(shop):
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    shop.collect()
    assert recall(shop, operations=("op20",)).sticks == (f"{OWNED}: MILL2/O1003.NC",)


def test_what_never_went_out_calls_nothing_in():
    said = recall(released_shop())
    assert (said.carriers, said.sticks, said.were_on, said.machines) == ((), (), (), ())
