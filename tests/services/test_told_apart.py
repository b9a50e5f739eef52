"""Two clones made one number: whoever is named by it afterwards is named so that a command takes it."""

import pytest

from tests.fakes.medium import memory_medium
from tests.fakes.stick_shop import StickShop, exported_shop
from tracker.errors import BadCall
from tracker.services.audit_lists import audit_list
from tracker.services.from_stick import from_stick
from tracker.services.naming import parse_named
from tracker.services.recorded import recorded
from tracker.stick.layout import StickShaper


@pytest.fixture
def shop() -> StickShop:
    """r1 of 4471/op10 was made twice; that of the office was proved, and lies on the stick."""
    made = exported_shop()
    made.repo.record("jobs/4471/records/op10/r0001-dddddddd.toml", made.revision("4471/op10@r1").record)
    return made


def digits(shop: StickShop) -> str:
    first = next(
        one for one in shop.repo.ledger().records if one.path.endswith(".toml") and "op10/r0001" in one.path
    )
    return f"r1-{first.name.partition('-')[2]}"


@pytest.mark.parametrize("name", ["first-piece", "post"])
def test_rows_of_an_audit_s_list(shop, name):
    whats = {row["what"] for row in audit_list(shop.desk(), name).rows}
    assert whats == {f"4471/op10@{digits(shop)}", "4471/op20@r1"}
    for what in whats:
        assert recorded(shop.desk(), parse_named(what)).stored.record.revision == "r0001"


def test_a_command_that_names_what_is_on_a_stick(shop):
    medium = memory_medium(dict(shop.files), label="BLUE-1")[0]
    with pytest.raises(BadCall) as caught:
        from_stick(shop.desk(), medium, StickShaper())
    assert caught.value.name == "which-operation"
    assert caught.value.fix.endswith(f"or the operation: 4471/op10@{digits(shop)} --machine MILL2")
