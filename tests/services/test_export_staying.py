"""A mirror says what it leaves: texts apart whose day is not over, copies of ours and strangers in no machine's folder."""

import hashlib

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program
from tests.services.test_export_beside import deviate
from tests.services.test_export_mirror import mirror, proving_shop
from tracker.services import export_staying
from tracker.services.export_staying import MOST_NAMED

UNPROVEN = "UNPROVEN - FOR PROVE-OUT ONLY"
COPY = "is a copy of 4471/op20 r1 outside the machines' folders: not removed, take it off by hand"


def test_a_text_out_for_its_prove_out_stays_within_its_week_and_is_named():
    shop = proving_shop()
    report = mirror(shop)
    assert [(one.path, one.job, one.operation, one.revision) for one in report.stays] == [
        ("MILL2/FOR-PROVING/O1001.NC", "4471", "op10", "r2"),
        ("MILL2/FOR-PROVING/O1002.NC", "4471", "op10", "r2"),
    ]
    assert {(one.unreleased, one.why) for one in report.stays} == {
        (UNPROVEN, f"{UNPROVEN}: stays until 23 Feb 2026")
    }
    assert report.stays[0].until.day == 23
    assert (report.leaves, report.decisions) == ((), ())


def test_what_leaves_does_not_stay():
    shop = proving_shop().day(24)
    plan = mirror(shop, dry_run=True)
    assert plan.stays == ()
    assert "MILL2/FOR-PROVING/O1001.NC" in {one.path for one in plan.leaves}
    assert mirror(shop).stays == ()


def test_an_edit_in_the_folder_for_proving_is_changed_and_does_not_stay_as_ours():
    shop = proving_shop()
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"F15.", b"F12.5"))
    report = mirror(shop)
    assert [one.path for one in report.stays] == ["MILL2/FOR-PROVING/O1002.NC"]
    assert [one.path for one in report.changed] == [path]


def test_a_text_of_a_deviation_stays_while_its_hours_run():
    shop = exported_shop()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    deviate(shop, "4471/op10@r2", 8)
    plan = mirror(shop, dry_run=True)
    assert {one.why for one in plan.stays} == {"DEVIATION - NOT RELEASED: stays until 16:02 on 16 Feb 2026"}
    assert len(mirror(shop).stays) == 2
    shop.day(17)
    report = mirror(shop)
    assert report.stays == ()
    assert not [path for path in shop.files if "DEVIATION" in path]


def test_a_plain_export_names_neither():
    shop = proving_shop()
    shop.files["O1003.NC"] = shop.files["MILL2/O1003.NC"]
    report = shop.export()
    assert (report.stays, report.outside.copies, report.outside.unknown) == ((), (), 0)


# -- outside the machines' folders ---------------------------------------------------------------------------------


def test_a_copy_outside_the_folder_is_named_kept_and_to_be_decided():
    shop = exported_shop()
    shop.files["O1003.NC"] = shop.files["OLD/COPY.TXT"] = shop.files["MILL2/O1003.NC"]
    before = dict(shop.files)
    plan = mirror(shop, dry_run=True)
    assert shop.files == before
    report = mirror(shop)
    assert plan.outside == report.outside
    assert [(one.path, one.why) for one in report.outside.copies] == [
        ("O1003.NC", COPY),
        ("OLD/COPY.TXT", COPY),
    ]
    assert report.decisions == (f"O1003.NC {COPY}", f"OLD/COPY.TXT {COPY}")
    assert {path: shop.files[path] for path in before if not path.startswith("MILL2/PROVEOUT")} == {
        path: data for path, data in before.items() if not path.startswith("MILL2/PROVEOUT")
    }


def test_what_a_copy_is_is_told_by_its_bytes():
    shop = proving_shop()
    shop.files["X/APART.NC"] = shop.files["MILL2/FOR-PROVING/O1001.NC"]
    shop.files["X/OFFICE.NC"] = shop.repo.tree().read("jobs/4471/op20/O1003.nc")
    shop.files["X/LIST.JSON"] = shop.files["MILL2/PROVEOUT.JSON"]
    said = {one.path: one.why.partition(" outside")[0] for one in mirror(shop).outside.copies}
    assert said == {
        "X/APART.NC": f"is a copy of 4471/op10 r2, {UNPROVEN},",
        "X/OFFICE.NC": "is a copy of 4471/op20 r1",
        "X/LIST.JSON": "is a copy of a list or paper of ours",
    }


def test_strangers_outside_are_named_and_kept_and_ask_nothing():
    shop = exported_shop()
    shop.files["PICTURE.PNG"] = b"png"
    shop.files["X/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))
    report = mirror(shop)
    assert report.outside.strange == ("X/O1003.NC", "PICTURE.PNG")
    assert (report.unknown, report.decisions) == ((), ())
    assert {"PICTURE.PNG", "X/O1003.NC"} <= set(shop.files)


def test_what_lies_in_another_machines_folder_is_not_outside():
    shop = exported_shop()
    shop.for_proving("4471/op10-m3", machine="MILL3")
    shop.files["mill3/NOTES.TXT"] = b"mine"
    report = mirror(shop)
    assert (report.outside.copies, report.outside.strange) == ((), ())


def test_a_leftover_and_a_folder_the_machine_had_before_are_said_once():
    shop = exported_shop()
    shop.repo.save(
        {
            "shop.toml": shop.repo.tree()
            .read("shop.toml")
            .replace(b'id = "MILL2"', b'id = "MILL2"\nfolder = "M2"')
        },
        at=shop.now,
    )
    shop.files["OLD/PO0A1B2C.TMP"] = b"%"
    report = mirror(shop)
    assert report.cut_off == ("OLD/PO0A1B2C.TMP",)
    assert [one.path for one in report.leaves][:1] == ["MILL2/O1001.NC"]
    assert (report.outside.copies, report.outside.strange) == ((), ())


def crowded(count: int) -> StickShop:
    shop = exported_shop()
    for number in range(count):
        shop.files[f"PHOTOS/{number:05}.JPG"] = b"%d" % number
        shop.files[f"OLD/{number:05}.NC"] = shop.files["MILL2/O1003.NC"]
    return shop


def test_of_very_many_some_are_named_and_the_rest_is_counted():
    there = mirror(crowded(5000)).outside
    assert (len(there.copies), there.more_copies) == (MOST_NAMED, 5000 - MOST_NAMED)
    assert (len(there.strange), there.more_strange) == (MOST_NAMED, 5000 - MOST_NAMED)
    assert there.counted == (
        "4,988 more files outside the machines' folders, of ours: not removed, take them off by hand",
        "4,988 more files outside the machines' folders, in no record: kept",
    )


def test_only_so_much_is_read_programs_first(monkeypatch):
    shop = exported_shop()
    size = len(shop.files["MILL2/O1003.NC"])
    shop.files["A.PNG"] = b"x" * size
    shop.files["B.NC"] = shop.files["MILL2/O1003.NC"]
    monkeypatch.setattr(export_staying, "MOST_BYTES", size)
    there = mirror(shop).outside
    assert [one.path for one in there.copies] == ["B.NC"]
    assert (there.strange, there.unread, there.unknown) == ((), 1, 1)
    assert there.counted == ("1 file outside the machines' folders, not looked into, too much to read: kept",)


@pytest.mark.parametrize("name", ["O1003.NC", "MILL2.NC"])
def test_the_bytes_of_a_copy_are_never_touched(name):
    shop = exported_shop()
    shop.files[name] = shop.files["MILL2/O1003.NC"]
    shop.withdraw("4471", 1)
    wrote = hashlib.sha256(shop.files[name]).hexdigest()
    report = mirror(shop)
    assert "MILL2/O1003.NC" not in shop.files
    assert hashlib.sha256(shop.files[name]).hexdigest() == wrote
    assert [one.path for one in report.outside.copies] == [name]
