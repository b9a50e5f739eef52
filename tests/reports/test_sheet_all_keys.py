"""Every key of a setup sheet that is stated stands on the printed sheet and on the screen: none is for the checks alone."""

import pytest

from tests.fakes.floor import SHOP, Floor
from tests.reports.test_sheet_report import SHEET, Reader, asked, flat, shown
from tracker.records.fields import STOCK, TOOL
from tracker.reports.sheet_html import page

OF_STOCK = {
    "top": ("0.0625", "0.0625 inch above the finished top"),
    "bottom": ("-1.1875", "underside at Z-1.1875"),
    "x": ("[-0.125, 4.625]", "X -0.125 to 4.625 inch"),
    "y": ("[-0.1875, 3.375]", "Y -0.1875 to 3.375 inch"),
    "diameter": ("2.125", "diameter 2.125 inch"),
    "out_of_jaws": ("3.875", "3.875 inch out of the jaws"),
    "bar_past_spindle": ("7.125", "bar 7.125 inch past the spindle"),
    "supported": ("true", "; supported"),
    "steadied": ("false", "not steadied in front"),
}
OF_TOOL = {
    "number": ("3", "T3"),
    "description": ('"7/16 REAMER"', "7/16 REAMER"),
    "diameter": ("0.4375", "0.4375"),
    "stick_out": ("1.875", "1.875"),
    "h": ("43", "43"),
    "d": ("53", "53"),
    "offset": ("63", None),  # of a lathe; of a mill it is not entered
    "nose_radius": ("0.0313", "nose radius 0.0313"),
    "insert": ('"CNMG 120408"', "insert CNMG 120408"),
    "large": ("true", "LARGE: neighbours empty"),
    "through_coolant": ("true", "coolant through the tool"),
    "flute_length": ("1.0625", "cutting edges 1.0625"),
    "length": ("5.125", "length with holder 5.125"),
    "weight": ("6.75", "weight 6.75"),
    "lowest_z": ("-0.8125", "no lower than Z-0.8125"),
}


def test_no_key_is_left_out_here():
    assert OF_STOCK.keys() == {field.key for field in STOCK.fields}
    assert OF_TOOL.keys() == {field.key for field in TOOL.fields}


def sheets(job: str) -> tuple[str, str]:
    report = asked(Floor(shop=SHOP, job=job))
    return flat(shown(report)), Reader(page(report, "a4")).words


@pytest.mark.parametrize("key", OF_STOCK)
def test_a_key_of_the_stock(key):
    value, words = OF_STOCK[key]
    first = "" if key == "top" else "top = 0.5, "
    job = SHEET.replace("stock = { top = 0.05, supported = false }", f"stock = {{ {first}{key} = {value} }}")
    assert job != SHEET
    for text in sheets(job):
        assert words in text


@pytest.mark.parametrize("key", OF_TOOL)
def test_a_key_of_a_tool(key):
    value, words = OF_TOOL[key]
    head, _, _ = SHEET.partition("[[operations.tools]]")
    own = "" if key == "number" else "number = 3\n"
    for text in sheets(f"{head}[[operations.tools]]\n{own}{key} = {value}\n"):
        if words is None:
            assert f" {value} " not in text
        else:
            assert words in text
