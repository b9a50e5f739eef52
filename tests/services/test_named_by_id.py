"""The 8-digit id of a sheet or stamp in place of JOB/OP@rN."""

from dataclasses import replace

import pytest

from tests.fakes.stick_shop import StickShop, exported_shop, program
from tracker.errors import BadCall
from tracker.policy.find import label
from tracker.services.named_by_id import named_or_id


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def the_id(shop: StickShop, name: str) -> str:
    return shop.revision(name).record.operation_fingerprint[:8].upper()


def test_an_id_is_the_revision_it_was_printed_for(shop):
    found = named_or_id(shop.desk(), the_id(shop, "4471/op10"))
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.says == f"{the_id(shop, '4471/op10')} is 4471/op10 r1"
    assert named_or_id(shop.desk(), f" {the_id(shop, '4471/op20').lower()} ").named.operation == "op20"


def test_an_older_revision_keeps_its_id(shop):
    first = the_id(shop, "4471/op10")
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    assert named_or_id(shop.desk(), first).named.revision == 1
    assert named_or_id(shop.desk(), the_id(shop, "4471/op10")).named.revision == 2


def test_of_several_with_one_code_the_newest_is_meant_and_the_others_are_said(shop):
    first = the_id(shop, "4471/op10")
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, name="ANOTHER COMMENT"))
    shop.check_in("4471/op10")
    assert the_id(shop, "4471/op10") == first
    found = named_or_id(shop.desk(), first)
    assert found.named.revision == 2
    assert found.says == f"{first} is 4471/op10 r2 (r1 has the same code)"


def test_an_id_nobody_has_is_said_so(shop):
    with pytest.raises(BadCall) as caught:
        named_or_id(shop.desk(), "00000000")
    assert caught.value.name == "unknown-id"
    assert "proveout share" in (caught.value.fix or "")


def test_two_codes_under_one_id_are_both_named(shop):
    """No two known texts share 8 digits, so the record is told of one that does."""
    mark = the_id(shop, "4471/op10")
    path, record = next(
        (path, record)
        for path, record in ((one.path, one.record) for one in shop.repo.ledger().records)
        if record.EVENT == "revision" and record.operation == "op20"
    )
    other = replace(record, operation_fingerprint=mark.lower() + record.operation_fingerprint[8:])
    shop.repo.record(path.replace("r0001-", "r0002-"), replace(other, revision="r0002"))
    with pytest.raises(BadCall) as caught:
        named_or_id(shop.desk(), mark)
    assert caught.value.name == "ambiguous-id"
    assert "4471/op10@r1-" in caught.value.what
    assert "4471/op20@r2-" in caught.value.what


def test_a_job_of_that_name_comes_first(shop):
    mark = the_id(shop, "4471/op10")
    shop.add_job(mark.lower(), "O7001.nc", program(7001))
    found = named_or_id(shop.desk(), mark)
    assert (found.named.job, found.named.revision, found.says) == (mark, None, None)


@pytest.mark.parametrize("text", ["4471/op10@r1", "4471", "4471/op10", "026200C", "026200C44", "026200CX"])
def test_every_other_name_is_read_as_ever(shop, text):
    found = named_or_id(shop.desk(), text)
    assert found.says is None
    assert label(f"r{found.named.revision or 0}") in ("r1", "r0")
