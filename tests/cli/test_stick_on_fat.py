"""The real verbs on real media: out, edited at the control, home, out again, mirrored; FAT16, FAT32, ext4 and a plain folder.

What FAT makes of names is read back with mdir, and fsck.vfat or e2fsck looks at the image whenever the stick is pulled out.
"""

import json
import shutil
from pathlib import Path

import pytest

from tests.fakes.boundaries import WatchedOs
from tests.fakes.fat import (
    KINDS,
    MOUNTED,
    CarriedStick,
    ImageStick,
    PlainStick,
    copied,
    state_of,
    stick_of,
)
from tests.fakes.shop_folder import MAIN, PROGRAM, ShopFolder

OURS = {"O1001.NC", "O1002.NC", "PROVEOUT.JSON", "READ-ME.TXT"}


@pytest.fixture(scope="module")
def released_once(tmp_path_factory):
    """A shop with one release, made once."""
    folder = tmp_path_factory.mktemp("shop") / "shop"
    folder.mkdir()
    with pytest.MonkeyPatch.context() as world:
        shop = ShopFolder(folder, _Silent(), world)
        shop.at("2026-02-02T09:00:00Z")
        shop.begin()
        shop.prove()
        shop.run("release", "4471", "--by", "dg", "--yes")
    return folder


class _Silent:
    """Stands in for capsys where a module's fixture cannot have it; statuses are asserted all the same."""

    def readouterr(self) -> tuple[str, str]:
        return "", ""


@pytest.fixture
def shop(released_once, tmp_path, capsys, monkeypatch) -> ShopFolder:
    folder = tmp_path / "shop"
    shutil.copytree(released_once, folder, symlinks=True)
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-06T09:00:00Z")
    return made


@pytest.fixture(params=KINDS)
def stick(request, tmp_path, outside_program):
    with stick_of(request.param, tmp_path, outside_program) as stick:
        yield stick


def export(shop: ShopFolder, stick: PlainStick, *more: str, status: int = 0, stay: bool = False):
    said = shop.json(
        "export", "--machine", "MILL2", "--to", str(stick.folder), "--by", "ss", *more, status=status
    )
    if not stay:
        stick.settle()
    return said


def write_anew(path: Path, data: bytes) -> None:
    """As controls save: the old file goes first. (The FUSE driver loses a file that is cut short in place.)"""
    path.unlink()
    path.write_bytes(data)


def verdicts(shop: ShopFolder, stick: PlainStick, status: int = 0) -> dict[str, str]:
    said = shop.json("collect", str(stick.folder), "--by", "ss", "--dry-run", status=status)
    return {one["file"]: one["verdict"] for one in said["files"]}


def names(stick: PlainStick, folder: str = "MILL2") -> set[str]:
    return {one.name for one in (stick.folder / folder).iterdir() if one.is_file()}


def test_there_and_back(shop, stick):
    said = export(shop, stick)
    assert {one["action"] for one in said["files"]} == {"written"}
    assert names(stick) == OURS
    if isinstance(stick, ImageStick):
        assert set(stick.listing()) == OURS
    assert verdicts(shop, stick) == {"MILL2/O1001.NC": "as-exported", "MILL2/O1002.NC": "as-exported"}
    # edited at the control: no export goes over it, neither a plain one nor a mirror
    at_control = stick.folder / "MILL2" / "O1001.NC"
    edit = at_control.read_bytes().replace(b"F15.", b"F12.5")
    write_anew(at_control, edit)
    stick.settle()
    shop.at("2026-02-16T09:00:00Z")
    for more in ((), ("--mirror",)):
        refused = export(shop, stick, *more, status=1)
        assert refused["error"]["name"] == "collect-first"
        assert at_control.read_bytes() == edit
        assert names(stick) == OURS
    assert verdicts(shop, stick, status=1)["MILL2/O1001.NC"] == "changed-code"
    # taken in, proved, released: the same bytes may go again
    words = ("collect", str(stick.folder), "--checkin", "4471/op10", "--by", "ss", "-m", "less burr")
    assert [one["revision"] for one in shop.json(*words)["checked_in"]] == ["r2"]
    assert (shop.folder / PROGRAM).read_bytes() == edit
    shop.prove("ss", "r2")
    shop.run("countersign", "4471/op10@r2", "--machine", "MILL2", "--by", "dg", "-m", "watched", "--yes")
    shop.run("release", "4471", "--by", "dg", "--yes")
    shop.at("2026-02-17T09:00:00Z")
    again = export(shop, stick)
    assert {one["file"]: (one["action"], one["release"]) for one in again["files"]} == {
        "MILL2/O1001.NC": ("replaced", 2),
        "MILL2/O1002.NC": ("replaced", 2),
    }
    assert b" R2 REL 2 MILL2)" in at_control.read_bytes()
    assert names(stick) == OURS
    places = shop.json("where", "4471/op10@r2")
    assert (places["machines"], places["sticks"]) == (["MILL2"], ["BLUE-1"])
    assert shop.json("audit")["problems"] == []


def test_apart_for_a_prove_out_and_an_emergency_and_off_again(shop, stick):
    shop.put(PROGRAM, MAIN.replace("F15.", "F12.5"))
    shop.run("checkin", "4471/op10", "--by", "np", "-m", "less burr")
    export(shop, stick, "--for-proving", "4471/op10@r2")
    assert b"(UNPROVEN - FOR PROVE-OUT ONLY)" in (stick.folder / "MILL2/FOR-PROVING/O1001.NC").read_bytes()
    export(shop, stick, "--deviation", "4471/op10@r2", "-m", "spindle of MILL3 is down, lot is due")
    assert b"(DEVIATION - NOT RELEASED)" in (stick.folder / "MILL2/DEVIATION/O1001.NC").read_bytes()
    found = verdicts(shop, stick, status=1)
    assert found["MILL2/FOR-PROVING/O1001.NC"] == "for-proving"
    if isinstance(stick, ImageStick):
        assert set(stick.listing("MILL2/FOR-PROVING")) == OURS
        assert set(stick.listing("MILL2/DEVIATION")) == OURS
    # a week later both have had their day; the plain export takes them off and leaves what is not ours
    (stick.folder / "MILL2" / "DEVIATION" / "MINE.TXT").write_bytes(b"mine")
    shop.at("2026-02-14T10:00:00Z")
    export(shop, stick)
    assert list((stick.folder / "MILL2" / "FOR-PROVING").iterdir()) == []
    assert not [name for name in names(stick, "MILL2/DEVIATION") if name.endswith(".NC")]
    assert (stick.folder / "MILL2" / "DEVIATION" / "MINE.TXT").read_bytes() == b"mine"


def test_a_mirror_with_sheets(shop, stick):
    export(shop, stick, "--with-sheets")
    sheet = "SHEET 4471 OP10.HTM"
    assert names(stick) == {*OURS, sheet}
    (stick.folder / "MILL2" / "NOTES.TXT").write_bytes(b"mine")
    stick.settle()
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    plan = export(shop, stick, "--mirror", "--dry-run", status=1)
    assert {one["file"] for one in plan["leaves"]} == {
        "MILL2/O1001.NC",
        "MILL2/O1002.NC",
        f"MILL2/{sheet}",
    }
    export(shop, stick, "--mirror", status=1)
    assert names(stick) == {"NOTES.TXT", "PROVEOUT.JSON", "READ-ME.TXT"}
    if isinstance(stick, ImageStick):
        assert set(stick.listing()) == {"NOTES.TXT", "PROVEOUT.JSON", "READ-ME.TXT"}


def test_what_came_back_in_other_letters_is_known_and_gets_no_second_copy(shop, stick):
    """A control that writes small letters; FAT has one name for both, other disks have two."""
    export(shop, stick)
    folder = stick.folder / "MILL2"
    (folder / "O1001.NC").rename(folder / "X.TMP")
    (folder / "X.TMP").rename(folder / "o1001.nc")
    stick.settle()
    said = export(shop, stick)
    assert {one["action"] for one in said["files"]} == {"unchanged"}
    assert {name.upper() for name in names(stick)} == OURS
    assert len(names(stick)) == len(OURS)


def test_short_names_are_names_of_their_own(shop, stick):
    """A control that shows 8.3 names alone shows what we call a program, not an alias of it.

    The short entry next to a long name is the driver's affair (fatgen103, "basis name"); mtools follows it.
    """
    export(shop, stick)
    if isinstance(stick, CarriedStick):
        listed = stick.listing()
        assert (listed["O1001.NC"], listed["READ-ME.TXT"]) == ("O1001.NC", "READ-ME.TXT")
    said = shop.json("identify", str(stick.folder / "MILL2" / "O1001.NC"), "--machine", "MILL2")
    assert [(one["revision"], one["may_run"]) for one in said["files"]] == [("r1", True)]


@pytest.mark.parametrize("kind", MOUNTED)
def test_the_power_goes_while_an_export_writes_to_an_image(
    shop, tmp_path, outside_program, monkeypatch, kind
):
    """The image and the repository as they are between any two calls that write, each tried from there on."""
    states: dict[tuple[str, str], Path] = {}

    def look(_: str) -> None:
        key = (state_of(stick.image), shop.git("rev-parse", "HEAD"))
        if key not in states:
            states[key] = tmp_path / "states" / str(len(states))
            states[key].mkdir(parents=True)
            copied(stick.image, states[key])
            shutil.copytree(shop.folder, states[key] / "shop", symlinks=True)

    with stick_of(kind, tmp_path, outside_program) as stick:
        export(shop, stick)
        before = {one.name: one.read_bytes() for one in (stick.folder / "MILL2").glob("*.NC")}
        shop.put(PROGRAM, MAIN.replace("F15.", "F12.5"))
        shop.run("checkin", "4471/op10", "--by", "np", "-m", "less burr")
        shop.prove("ss", "r2")
        shop.run("release", "4471", "--by", "dg", "--yes")
        with monkeypatch.context() as world:
            world.setattr("tracker.stick.disk.os", WatchedOs(before=look, after=look))
            export(shop, stick, stay=True)
        after = {one.name: one.read_bytes() for one in (stick.folder / "MILL2").glob("*.NC")}
        # ext4 keeps what it may until it is asked to put it through
        assert len(states) >= (6 if kind.startswith("ext4") else 12)
        for place in states.values():
            stick.close()
            stick.repair(place / "stick.img")
            stick.mount(place / "stick.img")
            shop.folder = place / "shop"
            _carries_on(shop, stick, before, after)


def _carries_on(
    shop: ShopFolder, stick: PlainStick, before: dict[str, bytes], after: dict[str, bytes]
) -> None:
    folder = stick.folder / "MILL2"
    for one in folder.glob("*.NC"):
        assert one.read_bytes() in (before[one.name], after[one.name])
    words = ("collect", str(stick.folder), "--by", "ss", "--dry-run", "--json")
    status, out, _ = shop.call(*words)
    assert status in (0, 1)
    found = {one["file"].rpartition("/")[2]: one["verdict"] for one in json.loads(out)["files"]}
    left = {one.name for one in folder.iterdir() if one.name.endswith(".TMP")}
    assert {found.pop(name) for name in left} <= {"incomplete"}
    # bytes no name led to any more, which fsck laid into the root as files: told by content, and no program's name
    saved = {name for name in found if name.startswith("FSCK")}
    assert {found.pop(name) for name in saved} <= {"same-code", "stale", "unknown", "incomplete"}
    # O1002 has the code of r1 in r2 too: the copy of release 1 is old, and the code is that of today
    same = {name for name, verdict in found.items() if verdict == "same-code"}
    assert same <= {"O1002.NC"}, out
    assert {found[name] for name in found if name not in same} <= {"as-exported", "stale"}
    export(shop, stick, status=1 if left else 0, stay=True)
    assert {one.name: one.read_bytes() for one in folder.glob("*.NC")} == after
