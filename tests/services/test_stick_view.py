from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tests.fakes.disk import MemoryDisk
from tracker.errors import BadCall, CouldNot, Refused
from tracker.records.shop import Machine, Person, Policy, Shop, Stick
from tracker.services.ports_stick import FOR_PROVING, RELEASED
from tracker.services.stick_view import (
    Contents,
    Home,
    home_of,
    homes,
    known_stick,
    need_owner,
    owner_note,
    owner_of,
    stick_name,
    written,
)
from tracker.stick.layout import StickShaper
from tracker.stick.medium import FolderMedium

MILL2 = Machine(id="MILL2", type="mill", units="inch")
MILL3 = Machine(id="MILL3", type="mill", units="inch", folder="CNC/Mill 3")
SHOP = Shop(name="Bench", machines=(MILL2, MILL3), sticks=(Stick(name="BLUE-1", owner="kp"),))


def contents(*paths: str, label: str = "BLUE-1") -> Contents:
    disk = MemoryDisk(dict.fromkeys(paths, b"x"))
    return Contents.of(FolderMedium(disk, label), StickShaper())


def test_a_file_belongs_to_the_machine_whose_folder_it_lies_in():
    seen = contents("MILL2/O1.NC", "cnc/mill 3/O2.NC", "O3.NC")
    places = homes(SHOP, seen)
    assert [
        home_of(path, places) for path in ("MILL2/O1.NC", "cnc/mill 3/O2.NC", "O3.NC", "MILL2x/O1.NC")
    ] == [
        Home(machine=MILL2, path="MILL2"),
        Home(machine=MILL3, path="cnc/mill 3"),
        None,
        None,
    ]


def test_a_machines_own_folder_may_be_named_itself():
    places = homes(SHOP, contents("O1.NC", label="mill2"))
    assert home_of("O1.NC", places) == Home(machine=MILL2, path="")
    assert homes(SHOP, contents("O1.NC", label="usb")) == ()


@pytest.mark.parametrize("own", ["PROVEOUT.JSON", "For-Proving/O3.NC", "DEVIATION/O3.NC"])
def test_a_machine_s_folder_by_itself_is_no_stick_because_another_machine_s_lies_in_it(own):
    inside = contents(own, "CNC/Mill 3/O1.NC", "MILL2/O2.NC", label="MILL2")
    assert homes(SHOP, inside) == (Home(machine=MILL2, path=""),)
    stick = homes(SHOP, contents("MILL2/" + own, "CNC/Mill 3/O1.NC", label="MILL2"))
    assert {home.path for home in stick} == {"MILL2", "CNC/Mill 3"}


def test_folders_are_used_as_they_are_spelled():
    seen = contents("mill2/For-Proving/O1.NC")
    assert seen.folder_of(MILL2, RELEASED) == "mill2"
    assert seen.folder_of(MILL2, FOR_PROVING) == "mill2/For-Proving"
    assert contents().folder_of(MILL2, FOR_PROVING) == "MILL2/FOR-PROVING"
    assert contents("cnc/x").folder_of(MILL3, RELEASED) == "cnc/Mill 3"


def test_what_stands_somewhere_is_found_in_whatever_letters():
    seen = contents("MILL2/o1001.nc")
    there = seen.at("MILL2/O1001.NC")
    assert there is not None
    assert there.path == "MILL2/o1001.nc"
    assert seen.at("MILL2/O1002.NC") is None


def test_a_file_is_hashed_once():
    seen = contents("O1.NC")
    first = seen.digest("O1.NC")
    seen.medium._disk.files["O1.NC"] = b"changed"
    assert seen.digest("O1.NC") == first


def test_a_file_that_cannot_be_read_has_no_hash_and_a_stick_that_is_gone_ends_it():
    seen = contents("O1.NC")
    disk = seen.medium._disk
    disk.fails["read O1.NC"] = OSError(5, "input/output error")
    assert seen.digest_if_readable("O1.NC") is None
    disk.fails["look"] = OSError(5, "gone")
    with pytest.raises(CouldNot) as fault:
        seen.digest_if_readable("O1.NC")
    assert fault.value.name == "medium-gone"


def test_a_stick_goes_by_the_name_stated_else_by_that_of_its_folder():
    medium = FolderMedium(MemoryDisk(), "BLUE-1")
    assert stick_name(SHOP, medium, None) == "BLUE-1"
    assert stick_name(SHOP, medium, "RED-2") == "RED-2"
    assert stick_name(SHOP, medium, "Blue-1") == "BLUE-1"
    with pytest.raises(BadCall) as fault:
        stick_name(SHOP, FolderMedium(MemoryDisk(), ""), None)
    assert fault.value.name == "stick-name"


def test_the_stick_a_label_names_is_that_stick_whatever_a_list_on_it_says():
    shop = replace(SHOP, sticks=(*SHOP.sticks, Stick(name="RED-2", owner="kp", label="KP_USB")))
    usb = FolderMedium(MemoryDisk(), "kp_usb")
    assert stick_name(shop, usb, None) == "RED-2"
    assert stick_name(shop, usb, None, "BLUE-1") == "RED-2"
    assert stick_name(shop, usb, "BLUE-1", "RED-2") == "BLUE-1"
    assert stick_name(shop, FolderMedium(MemoryDisk(), "usb"), None, "BLUE-1") == "BLUE-1"
    twice = replace(shop, sticks=(*shop.sticks, Stick(name="RED-3", owner="kp", label="KP_USB")))
    assert stick_name(twice, usb, None) == "kp_usb"


def test_a_stick_nobody_owns_is_said():
    assert owner_note(SHOP, "blue-1") is None
    assert owner_note(SHOP, "usb") == "usb is no stick of shop.toml: nobody is named as its owner"
    assert owner_note(Shop(name="Bench"), "usb") is None


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("MILL2/O1.NC", "MILL2/O1.NC"),
        ("Tr\u00e4ger 2.nc", "Tr\u00e4ger 2.nc"),
        ("O\udcff1.NC", "O\\xff1.NC"),
        ("a\x1b[31mred\nline", "a\\x1b[31mred\\nline"),
    ],
)
def test_names_are_written_so_that_no_terminal_obeys_them(path, shown):
    assert written(path) == shown


NOW = datetime(2026, 2, 6, 9, tzinfo=UTC)


def owned(*, left: date | None = None) -> Shop:
    keeper = Person(initials="kp", name="Kit Parallel", email="kp@x.example", roles=("setup",), left=left)
    return replace(SHOP, people=(keeper,), policy=Policy(sticks="owned"))


def test_a_stick_is_owned_by_who_shop_toml_names_until_he_leaves():
    assert owner_of(owned(), "blue-1", NOW) == "kp"
    assert owner_of(owned(left=date(2026, 2, 6)), "BLUE-1", NOW) == "kp"
    assert owner_of(owned(left=date(2026, 2, 5)), "BLUE-1", NOW) is None
    assert owner_of(owned(), "usb", NOW) is None


def test_where_policy_asks_for_owned_media_others_are_refused():
    need_owner(owned(), "BLUE-1", NOW)
    need_owner(SHOP, "usb", NOW)
    for shop, stick, why in (
        (owned(), "usb", "it is not in shop.toml"),
        (owned(left=date(2026, 1, 1)), "BLUE-1", "its owner has left"),
    ):
        with pytest.raises(Refused, match=why) as fault:
            need_owner(shop, stick, NOW)
        assert fault.value.name == "stick-without-owner"
        assert "[[sticks]]" in (fault.value.fix or "")


def test_a_stick_that_is_not_listed_names_the_nearest():
    assert known_stick(SHOP, "blue-1").owner == "kp"
    with pytest.raises(BadCall) as fault:
        known_stick(SHOP, "BLUE-2")
    assert fault.value.name == "unknown-stick"
    assert "did you mean BLUE-1?" in (fault.value.fix or "")
