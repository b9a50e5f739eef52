"""Identify: what is this file, and may it run here."""

import pytest

from tests.fakes.stick_shop import StickShop, edited, program, released_shop, renumbered, sub_program
from tracker.errors import BadCall, CouldNot
from tracker.services.identify import NamedFile, identify
from tracker.services.long_files import LongFile


@pytest.fixture
def shop() -> StickShop:
    return released_shop()


def told(shop: StickShop, data: bytes, machine: str | None = "MILL2", name: str = "X.NC"):
    report = identify(shop.desk(), shop.shaper, [NamedFile(name=name, data=data)], machine)
    (one,) = report.files
    assert one.why
    assert report.all_may_run == one.may_run
    return one


MAIN = program(1001, sub=1002)


def test_a_recorded_text_says_everything(shop):
    one = told(shop, MAIN)
    assert (one.identity, one.job, one.operation, one.revision) == ("known", "4471", "op10", "r1")
    assert one.display_id == shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert (one.same_bytes, one.kinds, one.newer, one.release, one.may_run) == (True, (), (), 1, True)
    assert one.programs == ("O1001.nc", "O1002.nc")
    assert one.why.endswith("(release 1)")


def test_a_text_without_any_stamp_and_written_another_way_is_known_by_its_code(shop):
    one = told(shop, renumbered(MAIN))
    assert (one.identity, one.same_bytes, one.may_run) == ("known", False, True)
    assert one.kinds == ("format", "numbering", "wording")


def test_an_exported_file_may_run(shop):
    shop.export()
    assert told(shop, shop.files["MILL2/O1001.NC"]).may_run


def test_a_program_several_operations_share_names_them_all(shop):
    one = told(shop, sub_program(1002), machine=None)
    assert {f"{one.job}/{one.operation}", *one.also} == {"4471/op10", "4471/op10-m3"}


def test_an_edited_text_may_not_run_and_says_how_it_differs(shop):
    one = told(shop, edited(renumbered(MAIN), (b"F15.", b"F12.5")))
    assert (one.identity, one.operation, one.revision, one.may_run) == ("changed", "op10", "r1", False)
    assert one.kinds == ("format", "numbering", "slower", "wording")


@pytest.mark.parametrize("data", [b"", b"hello\n", b"%\nO7777\nG0 X1.\nM30\n%\n", b"\x00\xff" * 40])
def test_a_stranger_may_not_run(shop, data):
    one = told(shop, data)
    assert (one.identity, one.may_run) == ("unknown", False)


def test_a_text_that_was_cut_may_not_run_and_says_what_it_was(shop):
    for data in (MAIN[:40], MAIN[:300], MAIN[: MAIN.index(b"M30")]):
        one = told(shop, data)
        assert (one.identity, one.may_run, one.operation) == ("changed", False, "op10")
        assert "it is not whole; read it out of the control again" in one.why


def test_the_little_that_is_left_of_a_text_is_told_as_a_collect_tells_it(shop):
    head = b"\n".join(program(1003).split(b"\n")[:5])
    one = told(shop, head + b"\nN210 M30\n%\n")
    assert (one.identity, one.operation, one.may_run) == ("changed", "op20", False)
    assert "Not whole, or cut down at the control: " in one.why


def test_an_older_revision_says_what_is_newer(shop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    one = told(shop, MAIN)
    assert (one.newer, one.may_run) == (("r2",), True)
    shop.prove("4471/op10")
    shop.release("4471")
    one = told(shop, MAIN)
    assert (one.may_run, one.release) == (False, None)
    assert "released is r2 (release 2)" in one.why
    one = told(shop, program(1001, sub=1002, depth="-0.55"))
    assert (one.revision, one.release, one.may_run) == ("r2", 2, True)


def test_a_text_that_is_not_released_may_not_run(shop):
    shop.prove("4471/op10-m3", machine="MILL3")
    one = told(shop, program(1001, sub=1002, depth="-0.6"), "MILL3")
    assert (one.operation, one.may_run, one.why) == ("op10-m3", False, "not released")


def test_a_held_or_withdrawn_text_may_not_run(shop):
    shop.hold("4471/op10")
    one = told(shop, MAIN)
    assert not one.may_run
    assert "held by dg" in one.why
    shop.withdraw("4471", 1)
    assert "withdrawn" in told(shop, program(1003)).why


def test_another_machine_may_not_run_it(shop):
    one = told(shop, MAIN, "MILL3")
    assert (one.may_run, one.why) == (False, "4471/op10 is for MILL2, not for MILL3")


def test_without_a_machine_nothing_may_run(shop):
    one = told(shop, MAIN, None)
    assert (one.identity, one.may_run, one.why) == ("known", False, "on which machine? say --machine")


def test_a_text_out_for_its_prove_out_may_not_run(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3")
    one = told(shop, shop.files["MILL3/FOR-PROVING/O1001.NC"], "MILL3")
    assert (one.may_run, one.why) == (False, "went out for its prove-out only")


def test_bytes_written_for_another_machine_may_not_run(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3")
    one = told(shop, shop.files["MILL3/FOR-PROVING/O1002.NC"], "MILL2")
    assert (one.may_run, one.why) == (False, "was written for MILL3: export it for MILL2")


def test_several_files_may_run_only_together(shop):
    files = [NamedFile(name="a", data=MAIN), NamedFile(name="b", data=b"%\nO7\nM30\n%\n")]
    report = identify(shop.desk(), shop.shaper, files, "MILL2")
    assert [one.may_run for one in report.files] == [True, False]
    assert not report.all_may_run
    assert not identify(shop.desk(), shop.shaper, [], "MILL2").all_may_run


def test_an_unknown_machine_is_a_wrong_call(shop):
    with pytest.raises(BadCall) as fault:
        told(shop, MAIN, "MILL9")
    assert fault.value.name == "unknown-machine"


def test_a_shallow_clone_cannot_tell(shop):
    shop.repo.shallow = True
    with pytest.raises(CouldNot):
        told(shop, MAIN)


def told_long(shop: StickShop, *readings: bytes, head: int = 1 << 20):
    """A file that is read in pieces; each reading gives the next of ``readings``, the last one for good."""
    left = list(readings)

    def pieces():
        data = left.pop(0) if len(left) > 1 else left[0]
        for at in range(0, len(data), 64):
            yield data[at : at + 64]

    long = LongFile(name="X.NC", pieces=pieces, size=len(readings[0]))
    (one,) = identify(
        shop.desk(), shop.shaper, [NamedFile(name="X.NC", data=readings[0][:head], long=long)], "MILL2"
    ).files
    return one


@pytest.mark.parametrize(
    "data", [MAIN, renumbered(MAIN), edited(MAIN, (b"F15.", b"F12.5")), b"%\nO7\nM30\n%\n"]
)
def test_a_file_read_in_pieces_is_told_as_one_that_is_held(shop, data):
    assert told_long(shop, data, head=9) == told(shop, data)


def test_of_a_file_too_long_to_be_compared_its_code_alone_is_told(shop, monkeypatch):
    monkeypatch.setattr("tracker.services.identify.COMPARED", 100)
    one = told_long(shop, renumbered(MAIN))
    assert (one.identity, one.operation, one.kinds, one.may_run) == ("known", "op10", (), True)
    one = told_long(shop, edited(MAIN, (b"F15.", b"F12.5")))
    assert (one.identity, one.why) == (
        "unknown",
        "nothing in the record has this code; too long to be compared",
    )


def test_what_a_file_too_long_to_be_compared_begins_with_is_looked_at_for_its_id_line(shop, monkeypatch):
    shop.export()
    other = shop.files["MILL2/O1003.NC"]
    line = other[other.index(b"(ID") : other.index(b")\r\n", other.index(b"(ID")) + 3]
    data = edited(MAIN, (b"(OFFICE TEXT)\n", line))
    assert told_long(shop, data).why == "its id line is that of 4471/op20 r1: export it again"
    monkeypatch.setattr("tracker.services.identify.COMPARED", 100)
    one = told_long(shop, data)
    assert (one.may_run, one.why) == (False, "its id line is that of 4471/op20 r1: export it again")


@pytest.mark.parametrize("again", [b"%\nO1\nM30\n%\n", MAIN + b"\n"])
def test_a_long_file_that_is_another_one_when_it_is_read_again_cannot_be_told(shop, again):
    with pytest.raises(CouldNot) as fault:
        told_long(shop, MAIN, again)
    assert (fault.value.name, fault.value.what) == ("unreadable-file", "it changed while it was read")
