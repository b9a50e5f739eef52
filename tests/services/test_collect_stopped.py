"""Texts out for a prove-out, or taken in and not proved yet, that were stopped since: nobody is told to prove them."""

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program
from tracker.reports.collect_words import decisions

SUB = "MILL2/O1002.NC"
TAKE_OFF = "may not run any more: take it off the stick and the control."


def sent_for_proving() -> StickShop:
    shop = exported_shop()
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    shop.for_proving("5001/op10")
    return shop


def on(shop: StickShop, path: str):
    report = shop.collect(dry_run=True)
    return next(one for one in report.files if one.file == path), decisions(report)


def test_a_text_held_since_it_went_out_for_its_prove_out_is_not_to_be_proved():
    shop = sent_for_proving()
    path = "MILL2/FOR-PROVING/O5001.NC"
    assert on(shop, path)[1] == (f"{path}: for a prove-out only: prove it, or take it off.",)
    shop.hold("5001/op10")
    found, decide = on(shop, path)
    assert (found.verdict, found.stopped) == ("for-proving", True)
    assert "stopped since: held by dg" in found.message
    assert decide == (f"{path}: {TAKE_OFF}",)


def test_one_withdrawn_since_is_withdrawn():
    shop = exported_shop()
    shop.day(20, 2, 2028)  # two years later: it lapsed, and is to be proved again
    shop.for_proving("4471/op10")
    shop.withdraw("4471", 1)
    found, _ = on(shop, "MILL2/FOR-PROVING/O1001.NC")
    assert found.verdict == "withdrawn"
    assert "too low" in found.message


def taken_in() -> StickShop:
    """The subprogram op10 and op20 share was edited at the control, and taken in with op10."""
    shop = exported_shop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op20")
    shop.files[SUB] = edited(shop.files[SUB], (b"Y2.75", b"Y2.7"))
    shop.collect(checkin="4471/op10", reason="burr")
    return shop


def test_an_edit_that_was_taken_in_and_held_is_not_to_be_proved():
    shop = taken_in()
    shop.hold("4471/op10")
    shop.hold("4471/op20")
    shop.hold("4471/op10-m3")
    found, decide = on(shop, SUB)
    assert found.stopped
    assert "prove-out" not in found.message
    assert any(line.startswith(SUB) and line.endswith(TAKE_OFF) for line in decide)


def test_of_a_shared_one_a_hold_of_another_operation_does_not_stop_it():
    shop = taken_in()
    newest = on(shop, SUB)[0].operation
    shop.hold(f"4471/{newest}")
    found, decide = on(shop, SUB)
    assert found.operation != newest
    assert not found.stopped
    assert f"{SUB}: for a prove-out only: prove it, or take it off." in decide
