"""A text of ours that holds several programs, as a control sends it home: in a dump with others, edited, or torn apart.

That controls keep the programs of one file apart and send all they hold in one file is common practice, no source.
"""

import pytest

from tests.fakes.stick_shop import StickShop, edited, program, sub_program
from tracker.errors import Refused
from tracker.services.identify import NamedFile, identify

OFFICE = "jobs/4471/op10/O1001.nc"
MAIN, SECOND, DUMP = "MILL2/O1001.NC", "MILL2/O1003.NC", "MILL2/ALL-PROG.TXT"
LESS = (b"F60.", b"F50.")


def bare(data: bytes) -> bytes:
    return data.replace(b"%\r\n", b"").replace(b"%\n", b"")


@pytest.fixture
def shop() -> StickShop:
    """op10's main program and the one it calls are one file."""
    made = StickShop()
    made.save(OFFICE, b"%\n" + bare(program(1001, sub=1002)) + bare(sub_program(1002)) + b"%\n")
    del made.repo.work["jobs/4471/sub/O1002.nc"]
    made.save("jobs/4471/op10-m3/O1001.nc", program(1001, depth="-0.6"))
    made.check_in("4471/op10", "4471/op20", "4471/op10-m3")
    made.prove("4471/op10")
    made.prove("4471/op20")
    made.release("4471")
    made.export()
    return made.day(16)


def dump(shop: StickShop, *texts: bytes) -> dict[str, str]:
    for path in (MAIN, SECOND):
        shop.files.pop(path, None)
    shop.files[DUMP] = b"%\r\n" + b"".join(map(bare, texts)) + b"%\r\n"
    return shop.verdicts()


def test_in_a_dump_it_is_one_of_the_programs(shop):
    main, second = shop.files[MAIN], shop.files[SECOND]
    for texts in ((main, second), (second, main)):
        said = dump(shop, *texts)
        assert said == {DUMP: "same-code"}
    parts = {one.file: (one.verdict, one.operation) for one in shop.collect(dry_run=True).programs}
    assert parts == {f"{DUMP}#O1001": ("same-code", "op10"), f"{DUMP}#O1003": ("same-code", "op20")}


def test_an_edit_of_it_in_a_dump_is_taken_in_without_the_others(shop):
    dump(shop, edited(shop.files[MAIN], LESS), shop.files[SECOND])
    parts = {one.file: one.verdict for one in shop.collect(dry_run=True).programs}
    assert parts == {f"{DUMP}#O1001": "changed-code", f"{DUMP}#O1003": "same-code"}
    shop.collect(checkin="4471/op10", reason="less burr")
    taken = shop.repo.tree().read(OFFICE)
    assert taken is not None
    assert b"F50." in taken
    assert b"O1002" in taken
    assert b"O1003" not in taken


def test_alone_and_edited_it_is_still_one_text(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], LESS)
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert (found.verdict, found.kinds, found.parts) == ("changed-code", ("feed",), ())
    shop.files[MAIN] = edited(shop.files[MAIN], (b"M99\r\n", b"M99\r\nO1009\r\nG4 P1.\r\nM99\r\n"))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert (found.verdict, found.parts) == ("changed-code", ())


@pytest.mark.parametrize("edit", [LESS, (b"F15.", b"F14."), (b"(OFFICE TEXT)", b"(TEXT)")])
def test_a_part_of_it_alone_is_not_taken_for_all_of_it(shop, edit):
    whole = edited(shop.files[MAIN], edit)
    shop.files[MAIN] = whole[: whole.index(b"O1002")] + b"%\r\n"
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert (found.verdict, found.message) == (
        "incomplete",
        "O1002 of the same file is not in it: a control keeps programs apart; put them into one file again and collect that",
    )
    with pytest.raises(Refused) as fault:
        shop.collect(checkin="4471/op10", reason="less burr")
    assert fault.value.name == "not-whole"
    file = NamedFile(name="O1001.NC", data=shop.files[MAIN])
    (told,) = identify(shop.desk(), shop.shaper, [file], "MILL2").files
    assert told.why == found.message


def test_where_its_first_program_was_cut_off_that_is_said(shop):
    shop.files[MAIN] = shop.files[MAIN][: shop.files[MAIN].index(b"N200")]
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert found.verdict == "incomplete"
    assert "the transfer was cut" in found.message


def test_two_texts_of_one_program_in_one_dump_are_not_chosen_between(shop):
    second = shop.files[SECOND]
    dump(shop, edited(second, (b"F15.", b"F14.")), edited(second, (b"F15.", b"F13.")))
    with pytest.raises(Refused) as fault:
        shop.collect(checkin="4471/op20", reason="less burr")
    assert (fault.value.name, fault.value.what) == (
        "two-copies",
        f"two different texts of jobs/4471/op20/O1003.nc lie in one file: {DUMP} holds it twice",
    )
    assert fault.value.fix == (
        "find out which one was cut, and read that one out of the control into a file of its own"
    )
