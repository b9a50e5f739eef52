"""What a control does to a text, on a real FAT image and through the real verb: a row a way, recognised or not.

What controls do to files is common practice, no source. The image is unmounted, looked at by fsck.vfat and mounted
again before ``collect`` reads it, so that names and bytes are those the file system kept.
"""

import json
from pathlib import Path

import pytest

from tests.cli.test_stick_on_fat import export, write_anew
from tests.fakes.fat import PlainStick, stick_of
from tests.fakes.shop_folder import ShopFolder
from tests.fakes.stick_shop import edited, renumbered

LOWER_JOB = """format = 1
[job]
number = "4472"
[[operations]]
id = "op10"
program = "op10/o1003.nc"
machines = ["MILL2"]
units = "inch"
[[operations.tools]]
number = 5
stick_out = 2.0
"""
LOWER = (
    "%\no1003 (bracket)\nn10 g20\nn20 g0 g17 g40 g80 g90\nn30 t5 m6\nn40 g54 g0 x1. y1. s2000 m3\nn50 g43 h5 z1. m8\n"
    "n60 g1 z-0.2 f9.\nn70 x3.\nn80 g0 z1. m9\nn90 m30\n%\n"
)


class _Silent:
    """Stands in for capsys where a module's fixture cannot have it."""

    def readouterr(self) -> tuple[str, str]:
        return "", ""


@pytest.fixture(scope="module")
def released_once(tmp_path_factory) -> Path:
    """Two jobs released for MILL2, the second written in small letters by the office."""
    folder = tmp_path_factory.mktemp("controls") / "shop"
    folder.mkdir()
    with pytest.MonkeyPatch.context() as world:
        shop = ShopFolder(folder, _Silent(), world)
        shop.at("2026-02-02T09:00:00Z")
        shop.begin()
        shop.put("jobs/4472/job.toml", LOWER_JOB)
        shop.put("jobs/4472/op10/o1003.nc", LOWER)
        shop.run("checkin", "4472", "-m", "first issue", "--by", "np")
        shop.prove()
        words = ("--machine", "MILL2", "--by", "ss", "--accept", "--first-piece", "report 7")
        shop.run("prove", "4472/op10@r1", *words, "--answers", shop.answers(), "--yes")
        for job in ("4471", "4472"):
            shop.run("release", job, "--by", "dg", "--yes")
    return folder


@pytest.fixture
def shop(released_once, capsys, monkeypatch) -> ShopFolder:
    """Nothing is recorded in it: `collect` is asked with ``--dry-run``, and an export stands in a record once."""
    made = ShopFolder(released_once, capsys, monkeypatch)
    made.at("2026-02-06T09:00:00Z")
    return made


@pytest.fixture(params=["FAT16 mounted", "FAT32 mounted", "FAT16 carried"])
def stick(request, shop, tmp_path, outside_program):
    with stick_of(request.param, tmp_path, outside_program) as stick:
        export(shop, stick)
        yield stick


def without_per_cent(data: bytes) -> bytes:
    return b"".join(line for line in data.splitlines(keepends=True) if line.strip() != b"%")


def blanks_out(data: bytes) -> bytes:
    return b"".join(
        line if b"(" in line else line.replace(b" ", b"") for line in data.splitlines(keepends=True)
    )


def remade(name: str, make):
    def change(folder: Path) -> str:
        write_anew(folder / name, make((folder / name).read_bytes()))
        return name

    return change


def renamed(folder: Path) -> str:
    (folder / "O1001.NC").rename(folder / "PROG0001.TXT")
    return "PROG0001.TXT"


def in_small_letters(folder: Path) -> str:
    """FAT has one name for both: the file is moved out of the way first."""
    (folder / "O1001.NC").rename(folder / "X.TMP")
    (folder / "X.TMP").rename(folder / "o1001.nc")
    return next(one.name for one in folder.iterdir() if one.name.upper() == "O1001.NC")


def dumped(folder: Path) -> str:
    texts = [without_per_cent((folder / name).read_bytes()) for name in ("O1001.NC", "O1002.NC", "O1003.NC")]
    for name in ("O1001.NC", "O1002.NC", "O1003.NC"):
        (folder / name).unlink()
    (folder / "ALL-PROG.TXT").write_bytes(b"%\r\n" + b"".join(texts) + b"%\r\n")
    return "ALL-PROG.TXT"


def cut_off(data: bytes) -> bytes:
    return data[: data.index(b"Q0.15")]


# what it did, verdict, kinds, what it was, part of what is said
ROWS = [
    ("as it went", remade("O1001.NC", bytes), "as-exported", set(), "4471", "release 1"),
    ("renamed", renamed, "as-exported", set(), "4471", "Under another name: it was O1001.NC."),
    ("name in small letters", in_small_letters, "as-exported", set(), "4471", "release 1"),
    (
        "O number changed",
        remade("O1001.NC", lambda data: edited(data, (b"O1001", b"O5555"))),
        "changed-code",
        {"program-number"},
        "4471",
        "O1001 to O5555",
    ),
    ("both % lost", remade("O1001.NC", without_per_cent), "same-code", {"format"}, "4471", "format only"),
    ("renumbered", remade("O1001.NC", renumbered), "same-code", {"numbering"}, "4471", "differs in"),
    ("blanks out", remade("O1001.NC", blanks_out), "same-code", {"format"}, "4471", "format only"),
    ("in capitals", remade("O1003.NC", bytes.upper), "same-code", {"format"}, "4472", "differs in"),
    (
        "line ends of one character",
        remade("O1001.NC", lambda data: data.replace(b"\r\n", b"\n")),
        "same-code",
        {"format"},
        "4471",
        "format only",
    ),
    ("several in one dump", dumped, "same-code", set(), "4471", "3 programs in one file: O1001 same-code"),
    ("cut off", remade("O1001.NC", cut_off), "incomplete", set(), "4471", "read it out of the control again"),
    (
        "a figure changed",
        remade("O1001.NC", lambda data: edited(data, (b"Z-1.16", b"Z-1.17"))),
        "changed-code",
        {"motion"},
        "4471",
        "motion",
    ),
]


@pytest.mark.parametrize(
    ("change", "verdict", "kinds", "job", "says"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS]
)
def test_what_came_home_from_a_control(shop, stick: PlainStick, change, verdict, kinds, job, says):
    name = change(stick.folder / "MILL2")
    stick.settle()
    status, out = _collected(shop, stick)
    found = {one["file"]: one for one in out["files"]}
    one = found[f"MILL2/{name}"]
    assert (one["verdict"], one["job"]) == (verdict, job)
    assert kinds <= set(one["kinds"])
    assert says in one["message"]
    assert "missing" not in {one["verdict"] for one in out["files"]}
    in_the_way = verdict == "same-code" and bool(kinds)  # in its place, in a writing that is in no record
    assert status == (1 if in_the_way or verdict in ("changed-code", "incomplete") else 0)


def _collected(shop: ShopFolder, stick: PlainStick) -> tuple[int, dict]:
    status, out, _ = shop.call("collect", str(stick.folder), "--by", "ss", "--dry-run", "--json")
    return status, json.loads(out)
