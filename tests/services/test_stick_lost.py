"""A stick that was given up: called in no more, named by a recall all the same, and nothing goes on it."""

import pytest

from tests.fakes.stick_shop import JOB, SHOP, StickShop, exported_shop, program
from tests.services.test_carriers import recall
from tracker.errors import Refused
from tracker.services.carriers import carriers

BLUE = 'name = "BLUE-1"\nowner = "kp"\n'


def lose(shop: StickShop, day: str) -> None:
    text = shop.repo.tree().read("shop.toml").decode()
    assert BLUE in text
    shop.repo.save({"shop.toml": text.replace(BLUE, f"{BLUE}lost = {day}\n")}, at=shop.now)


def red_export_of_a_newer_release(shop: StickShop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.new_stick("RED-2")
    return shop.export()


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def test_it_is_called_in_until_its_day_and_no_more(shop):
    lose(shop, "2026-02-17")
    assert [one.stick for one in red_export_of_a_newer_release(shop).call_in] == ["BLUE-1"]
    shop.day(17)
    report = shop.export()
    assert (report.call_in, report.decisions) == ((), ())


def test_a_recall_names_it_with_the_day(shop):
    lose(shop, "2026-02-15")
    shop.withdraw("4471", 1)
    released = next(one.record for one in shop.repo.ledger().records if one.record.EVENT == "release")
    prints = {one.operation_fingerprint for one in released.operations}
    (blue,) = carriers(shop.repo.ledger(), "4471", prints, shop.now)
    assert blue.spelled == "BLUE-1 (MILL2), owner kp, lost 15 Feb 2026"
    assert len(blue.files) == 3


def test_withdraw_says_so_too(shop):
    lose(shop, "2026-02-15")
    report = recall(shop)
    assert any("lost 15 Feb 2026" in one for one in report.sticks)


def test_nothing_goes_on_it(shop):
    lose(shop, "2026-02-15")
    before = dict(shop.files)
    with pytest.raises(Refused) as caught:
        shop.export()
    assert caught.value.name == "stick-lost"
    assert "given up as lost on 15 Feb 2026" in caught.value.what
    assert shop.files == before
    report = shop.collect(dry_run=True)
    assert report.notes == (
        "BLUE-1 was given up as lost on 15 Feb 2026 by shop.toml, and is here: take lost out of its table",
    )


def test_other_sticks_with_an_older_setup_sheet_are_called_in(shop):
    """The same code and another sheet has another id, and who mounts by the old one mounts otherwise."""
    assert "[[sticks]]" in SHOP
    shop.save("jobs/4471/job.toml", JOB.replace('id = "op20"', 'id = "op20"\nfixture = "soft jaws"'))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.new_stick("RED-2")
    report = shop.export()
    assert [(one.stick, one.path, one.why) for one in report.call_in] == [
        ("BLUE-1", "MILL2/O1003.NC", "its setup sheet was changed since: r2 (release 2)")
    ]
    assert len(report.decisions) == 1
