"""Taking a control edit in where the office has given the program's file another name meanwhile."""

import pytest

from tests.fakes.stick_shop import JOB, StickShop, edited, exported_shop, program, sub_program
from tracker.errors import Refused
from tracker.policy.find import label

MAIN, SUB = "MILL2/O1001.NC", "MILL2/O1002.NC"
OLD, NEW = "jobs/4471/op10/O1001.nc", "jobs/4471/op10/PLATE.nc"


def renamed_shop(text: bytes) -> StickShop:
    """r1 went out; the office renamed op10's file with ``text`` in it, and checked that in; then it comes home edited."""
    shop = exported_shop()
    shop.repo.remove(OLD)
    shop.save(NEW, text)
    shop.save("jobs/4471/job.toml", JOB.replace("op10/O1001.nc", "op10/PLATE.nc"))
    shop.check_in("4471/op10")
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    return shop


def take_in(shop: StickShop):
    return shop.collect(checkin="4471/op10", reason="less burr")


def test_the_edit_is_taken_in_under_the_new_name():
    shop = renamed_shop(program(1001, sub=1002))
    report = take_in(shop)
    assert {file: label(name) for file, name in report.settled.items()} == {MAIN: "r3"}
    assert shop.repo.tree().read(NEW) == shop.files[MAIN]
    assert OLD not in shop.repo.tree().files


def test_where_its_text_was_changed_too_both_lists_are_shown():
    shop = renamed_shop(program(1001, sub=1002, depth="-0.55"))
    with pytest.raises(Refused) as fault:
        take_in(shop)
    assert fault.value.name == "both-changed"
    assert [line.split(":")[0] for line in fault.value.reasons] == [
        "O1001.nc, office since r1 (r2)",
        f"O1001.nc, control since r1 ({MAIN})",
    ]


def test_where_nothing_says_which_program_it_is_now_it_is_refused_by_name():
    shop = renamed_shop(program(1009, sub=1002, depth="-0.55"))
    with pytest.raises(Refused) as fault:
        take_in(shop)
    assert fault.value.name == "both-changed"
    assert fault.value.reasons == (f"{MAIN} was {OLD} in r1",)


def test_a_program_that_is_no_longer_called_is_refused_by_name():
    shop = exported_shop()
    shop.save(OLD, program(1001))
    shop.check_in("4471/op10")
    shop.files[SUB] = edited(shop.files[SUB], (b"Y2.75", b"Y2.7"))
    assert sub_program(1002) != shop.files[SUB]
    with pytest.raises(Refused) as fault:
        take_in(shop)
    assert fault.value.reasons == (f"{SUB} was jobs/4471/sub/O1002.nc in r1",)
