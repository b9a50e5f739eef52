"""A stick of a machine that was taken out of shop.toml, or got another id there."""

import pytest

from tests.fakes.stick_shop import exported_shop
from tracker.errors import BadCall
from tracker.reports.collect_words import decisions
from tracker.services.checkin_shop import check_in_shop
from tracker.services.from_stick import from_stick


@pytest.mark.parametrize("instead", ["MILL9", "OLD-MILL2"])
def test_nothing_on_it_is_called_as_exported(instead):
    shop = exported_shop()
    text = shop.repo.tree().read("shop.toml").decode()
    assert text.count('"MILL2"') == 1
    shop.save("shop.toml", text.replace('"MILL2"', f'"{instead}"'))
    check_in_shop(shop.desk("dg@threepenny.example"), by="dg", reason="another mill")
    report = shop.collect(dry_run=True)
    assert [one.operation for one in report.files] == ["op10", "op10", "op20", None]
    assert [(one.file, one.verdict, one.message) for one in report.files] == [
        (f"MILL2/{name}", "other-machine", f"{what}MILL2, which is no machine of shop.toml any more{do}")
        for name, what, do in (
            ("O1001.NC", "for ", "; take it off here"),
            ("O1002.NC", "for ", "; take it off here"),
            ("O1003.NC", "for ", "; take it off here"),
            ("PROVEOUT.JSON", "the list of ", ""),
        )
    ]


def test_whoever_proves_or_ran_from_it_is_asked_on_which_machine():
    shop = exported_shop()
    text = shop.repo.tree().read("shop.toml").decode()
    shop.save("shop.toml", text.replace('"MILL2"', '"MILL9"'))
    check_in_shop(shop.desk("dg@threepenny.example"), by="dg", reason="another mill")
    del shop.files["MILL2/O1003.NC"]
    with pytest.raises(BadCall) as fault:
        from_stick(shop.desk(), shop.medium, shop.shaper)
    assert fault.value.name == "which-machine"
    assert fault.value.what.startswith(
        "MILL2/O1001.NC is for MILL2, which is no machine of shop.toml any more"
    )
    assert from_stick(shop.desk(), shop.medium, shop.shaper, machine="MILL9").machine == "MILL9"


def test_of_a_machine_whose_folder_is_another_one_now_nothing_is_missing_that_was_never_there():
    shop = exported_shop()
    text = shop.repo.tree().read("shop.toml").decode()
    shop.save("shop.toml", text.replace('id = "MILL2"', 'id = "MILL2"\nfolder = "VMC2"'))
    check_in_shop(shop.desk("dg@threepenny.example"), by="dg", reason="folders by kind")
    report = shop.collect(dry_run=True)
    assert {one.verdict for one in report.files if one.known is not None} == {"as-exported"}
    (found,) = [one for one in report.files if one.known is None]
    assert (found.file, found.verdict, found.message) == (
        "MILL2/PROVEOUT.JSON",
        "stale",
        "the list of MILL2 from when its folder was MILL2; it is VMC2 now. Export again.",
    )
    assert decisions(report) == (
        "MILL2/PROVEOUT.JSON: an older list: export again before the stick is used.",
    )
    del shop.files["MILL2/O1003.NC"]
    assert shop.verdicts()["MILL2/O1003.NC"] == "missing"
    shop.export()
    assert shop.verdicts()["VMC2/O1003.NC"] == "as-exported"
    assert "missing" not in shop.verdicts().values()
