"""Sticks between two PCs that did not share in between: neither's records take off a stick what the other put there."""

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, renumbered
from tracker.reports.collect_words import decisions
from tracker.services.audit_lists import audit_list
from tracker.services.carriers import carriers
from tracker.services.naming import parse_named
from tracker.services.release_named import ReleaseNamed
from tracker.services.where import where
from tracker.services.withdraw import withdraw

OP20 = "MILL2/O1003.NC"


def brought_together(mine: StickShop, other: StickShop, *, mine_last: bool = False) -> StickShop:
    """What this PC has after a share; ``mine_last``: its own line of records comes after the other's."""
    lines = [other.repo.commits, mine.repo.commits] if mine_last else [mine.repo.commits, other.repo.commits]
    commits, tags = lines[0] | lines[1], mine.repo.tags | other.repo.tags
    mine.repo.commits, mine.repo.tags = commits, tags
    mine.repo.branches["theirs"] = other.repo.branches["main"]
    mine.repo.merge("theirs", at=max(mine.now, other.now))
    del mine.repo.branches["theirs"]
    mine.now = max(mine.now, other.now)
    return mine


def new_text(shop: StickShop, old: bytes = b"Z-0.5", new: bytes = b"Z-0.55") -> None:
    """The next revision of 4471/op20, proved and released."""
    path = "jobs/4471/op20/O1003.nc"
    shop.save(path, edited(shop.repo.tree().read(path), (old, new)))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")


def called_in(shop: StickShop, name: str) -> dict[str, tuple[str, ...]]:
    """What a recall of this revision calls in, by stick."""
    code = shop.revision(name).record.operation_fingerprint
    return {
        one.stick: one.files for one in carriers(shop.repo.ledger(), "4471", {code}, shop.now) if one.files
    }


ORDER = pytest.mark.parametrize("office_last", [False, True])


@ORDER
def test_what_one_pc_missed_before_the_other_wrote_it_again_is_recalled(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    del floor.files[OP20]
    assert floor.collect().record is not None
    new_text(office.day(17))
    office.disk = floor.disk
    office.export()
    shop = brought_together(office, floor, mine_last=office_last)
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,)}
    said = withdraw(
        shop.desk(), ReleaseNamed(job="4471", number=2), by="dg", reason="too deep", operations=("op20",)
    )
    assert said.sticks == (f"BLUE-1 (MILL2), owner kp: {OP20}",)


@ORDER
def test_what_one_pc_wrote_on_an_emptied_stick_takes_nothing_off_what_the_other_wrote(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    floor.new_stick("BLUE-1")
    floor.export()
    new_text(office.day(17))
    office.new_stick("BLUE-1")
    office.export()
    shop = brought_together(office, floor, mine_last=office_last)
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,)}
    assert called_in(shop, "4471/op20@r1") == {"BLUE-1": (OP20,)}
    shop.day(18).export()  # its list comes from one of them
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,)}


@ORDER
def test_an_edit_one_pc_saw_before_the_other_wrote_over_it_hides_nothing(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    text = floor.files[OP20]
    floor.files[OP20] = edited(text, (b"F15.", b"F12.5"))
    floor.collect()
    floor.files[OP20] = text  # put back by hand
    new_text(office.day(17))
    office.disk = floor.disk
    office.export()
    shop = brought_together(office, floor, mine_last=office_last)
    new_text(shop.day(18), b"Z-0.55", b"Z-0.6")
    shop.new_stick("RED-1")
    assert ("BLUE-1", OP20, "superseded by r3 (release 3)") in {
        (one.stick, one.path, one.why) for one in shop.export().call_in
    }


@ORDER
def test_what_one_pc_saw_before_the_other_wrote_over_it_does_not_come_back(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    floor.collect()
    new_text(office.day(17))
    office.disk = floor.disk
    office.export()
    shop = brought_together(office, floor, mine_last=office_last)
    assert called_in(shop, "4471/op20@r1") == {}
    shop.new_stick("RED-1")
    assert shop.day(18).export().call_in == ()


@ORDER
def test_a_collect_that_knows_what_both_wrote_says_which_it_is(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    floor.new_stick("BLUE-1")
    floor.export()
    new_text(office.day(17))
    office.new_stick("BLUE-1")
    office.export()
    shop = brought_together(office, floor, mine_last=office_last)
    shop.day(18).collect()
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,)}
    assert called_in(shop, "4471/op20@r1") == {}


@ORDER
def test_an_edit_taken_in_on_both_is_recalled_under_either_name(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    floor.files[OP20] = edited(floor.files[OP20], (b"F15.", b"F12.5"))
    office.day(16).disk = floor.disk
    floor.collect(checkin="4471/op20", reason="less burr")
    office.day(16, 2).collect(checkin="4471/op20", reason="less burr, kp said", tidy=True, by="kp")
    shop = brought_together(office, floor, mine_last=office_last)
    names = [
        one.name
        for one in shop.repo.ledger().records
        if "/op20/r0002-" in one.path and one.name.count("-") == 1
    ]
    assert len(set(names)) == 2
    for name in names:
        code = shop.revision("4471/op20@" + name.replace("r0002", "r2")).record.operation_fingerprint
        (one,) = carriers(shop.repo.ledger(), "4471", {code}, shop.now)
        assert (one.stick, one.files) == ("BLUE-1", (OP20,))
    assert called_in(shop, "4471/op20@r1") == {"BLUE-1": (OP20,)}


@ORDER
def test_the_same_edit_on_another_stick_is_recalled_though_it_was_taken_in_tidied_elsewhere(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    edit = edited(floor.files[OP20], (b"F15.", b"F12.5"), (b"(", b"( "))
    office.day(16).files[OP20] = edit
    office.collect(checkin="4471/op20", reason="less burr", tidy=True)
    floor.files[OP20] = edit
    floor.day(16, 2).collect()
    shop = brought_together(office, floor, mine_last=office_last)
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,)}
    assert called_in(shop, "4471/op20@r1") == {"BLUE-1": (OP20,)}
    assert open_edits(shop) == []


@ORDER
def test_what_was_nobodys_text_when_it_came_home_is_recalled_as_what_it_is(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    office.add_job("5001", "O5001.nc", program(5001, depth="0.375"))
    office.check_in("5001/op10")
    floor.files["MILL2/COPY.NC"] = renumbered(program(5001, depth="0.375"))
    (copy,) = [one for one in floor.collect().files if one.file == "MILL2/COPY.NC"]
    assert copy.verdict == "unknown"
    shop = brought_together(office, floor, mine_last=office_last)
    code = shop.revision("5001/op10").record.operation_fingerprint
    (one,) = carriers(shop.repo.ledger(), "5001", {code}, shop.now)
    assert (one.stick, one.files) == ("BLUE-1", ("MILL2/COPY.NC",))


# -- what a PC that has not shared says ----------------------------------------------------------------------------


def open_edits(shop: StickShop) -> list[str]:
    return [row["file"] for row in audit_list(shop.desk(), "open-edits").rows]


@ORDER
def test_what_a_pc_did_not_know_yet_is_no_open_edit_after_the_share(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    new_text(office.day(17))
    office.export()
    floor.day(18).disk = office.disk
    report = floor.collect()
    (one,) = [one for one in report.files if one.file == OP20]
    assert (one.verdict, one.aside) == ("changed-code", "share")
    assert (
        f"{OP20}: its id is in no record here: proveout share, and collect again. Adopt it, or take it in, only if no "
        "other PC wrote it."
    ) in decisions(report)
    assert [line.partition(":")[0] for line in decisions(report) if "another PC exported it" in line] == [
        "MILL2/O1001.NC, MILL2/O1002.NC"
    ]
    assert OP20 in open_edits(floor)
    shop = brought_together(office, floor, mine_last=office_last)
    assert OP20 not in open_edits(shop)


@ORDER
def test_an_edit_one_pc_saw_stays_open_whatever_the_other_saw_meanwhile(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    office.day(15).collect()
    floor.files[OP20] = edited(floor.files[OP20], (b"F15.", b"F12.5"))
    floor.collect()
    shop = brought_together(office, floor, mine_last=office_last)
    assert open_edits(shop) == [OP20]
    shop.day(18).collect()  # put back meanwhile: it knows of both
    assert open_edits(shop) == []


@ORDER
def test_a_copy_a_pc_saw_before_it_knew_the_text_is_recalled(office_last):
    office, floor = exported_shop(), exported_shop().day(16)
    new_text(office.day(17))
    office.add_job("5001", "O5001.nc", program(5001))
    office.check_in("5001/op10")
    office.prove("5001/op10")
    office.release("5001")
    office.export()
    floor.day(18).new_stick("GREEN")
    floor.files.update(office.files)  # copied by hand
    verdicts = {one.file: one.verdict for one in floor.collect().files}
    assert (verdicts[OP20], verdicts["MILL2/O5001.NC"]) == ("changed-code", "unknown")
    shop = brought_together(office, floor, mine_last=office_last)
    assert called_in(shop, "4471/op20@r2") == {"BLUE-1": (OP20,), "GREEN": (OP20,)}
    assert where(shop.desk(), parse_named("4471/op20@r2")).sticks == ("BLUE-1", "GREEN")
    shop.hold("5001/op10")
    shop.new_stick("RED-1")
    assert {(one.stick, one.path) for one in shop.day(19).export().call_in} == {
        (stick, "MILL2/O5001.NC") for stick in ("BLUE-1", "GREEN")
    }
