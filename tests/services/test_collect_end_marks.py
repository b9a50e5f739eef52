"""A control that ends each block with ``;``: code, by SAME-CODE, and yet a person is told which program it is.

That some controls show or punch ``;`` for end of block: from memory.
"""

import re

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop
from tracker.services.identify import NamedFile, identify

MAIN = "MILL2/O1001.NC"
EDIT = (b"Z0. F20.", b"Z0. F18.")


def ended(data: bytes) -> bytes:
    return data.replace(b"\r\n", b";\r\n")


def per_cents_kept(data: bytes) -> bytes:
    return ended(data).replace(b"%;", b"%")


def with_blanks(data: bytes) -> bytes:
    return data.replace(b"\r\n", b" ; \r\n")


def found_on(shop: StickShop, path: str = MAIN):
    return next(one for one in shop.collect(dry_run=True).files if one.file == path)


@pytest.mark.parametrize("as_written", [ended, per_cents_kept, with_blanks])
def test_what_the_control_ended_each_block_of_is_said_to_be_what_it_was(as_written):
    shop = exported_shop()
    shop.files[MAIN] = as_written(shop.files[MAIN])
    one = found_on(shop)
    assert (one.verdict, one.job, one.operation, one.revision) == ("changed-code", "4471", "op10", "r1")
    assert "other" in one.kinds
    assert "Its lines end with ;, and that counts as code" in one.message
    assert "without these no difference is found in code" in one.message
    assert "id line is lost" not in one.message


@pytest.mark.parametrize("as_written", [ended, per_cents_kept, with_blanks])
def test_of_an_edit_on_such_a_control_it_is_said_what_else_differs(as_written):
    shop = exported_shop()
    shop.files[MAIN] = as_written(edited(shop.files[MAIN], EDIT))
    one = found_on(shop)
    assert (one.verdict, one.operation, one.revision) == ("changed-code", "op10", "r1")
    assert "without these this differs: feed." in one.message


def test_identify_tells_the_same_and_that_it_may_not_run():
    shop = exported_shop()
    data = ended(edited(shop.files[MAIN], EDIT))
    (one,) = identify(shop.desk(), shop.shaper, [NamedFile(name="X.NC", data=data)], "MILL2").files
    assert (one.identity, one.operation, one.revision, one.may_run) == ("changed", "op10", "r1", False)
    assert "without these this differs: feed." in one.why


def test_a_few_such_ends_are_an_edit_like_any_other():
    shop = exported_shop()
    shop.files[MAIN] = shop.files[MAIN].replace(b"M30\r\n", b"M30;\r\n")
    one = found_on(shop)
    assert (one.verdict, one.revision) == ("changed-code", "r1")
    assert "lines end with ;" not in one.message


def test_the_id_of_such_a_text_is_the_next_exports_once_it_is_taken_in():
    shop = exported_shop()
    shop.files[MAIN] = ended(shop.files[MAIN])
    shop.collect(checkin="4471/op10", reason="as the control has it")
    shop.for_proving("4471/op10")
    out = shop.files["MILL2/FOR-PROVING/O1001.NC"]
    assert re.findall(rb"\(ID [^)]*R\d", out) == [out[out.index(b"(ID") : out.index(b" R2") + 3]]
