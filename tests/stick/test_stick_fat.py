"""What a FAT file system itself makes of our names: images made with mkfs.vfat, read with mtools."""

import hashlib
import os
import subprocess
from pathlib import Path

import pytest

from tracker.services.ports_stick import ToWrite
from tracker.stick.medium import open_medium
from tracker.stick.names import alias, folded, problem

IMAGES = [("16", "16384"), ("32", "40000")]  # kind of FAT, size in KiB


@pytest.fixture(params=IMAGES, ids=["FAT16", "FAT32"])
def fat(request, tmp_path: Path, outside_program):
    make, put, show = outside_program("mkfs.vfat"), outside_program("mcopy"), outside_program("mdir")
    image = tmp_path / "stick.img"
    kind, size = request.param
    subprocess.run([make, "-C", "-F", kind, str(image), size], check=True, capture_output=True)
    source = tmp_path / "src.nc"
    source.write_bytes(b"%\r\nO1\r\nM30\r\n%\r\n")
    environment = {**os.environ, "LC_ALL": "C.UTF-8", "TZ": "UTC"}

    def copy(name: str) -> bool:
        call = [put, "-D", "s", "-i", str(image), str(source), f"::{name}"]
        return subprocess.run(call, capture_output=True, env=environment, check=False).returncode == 0

    def listing() -> str:
        return subprocess.run(
            [show, "-i", str(image), "::"], capture_output=True, env=environment, check=True
        ).stdout.decode("utf-8", "replace")

    copy.listing = listing  # type: ignore[attr-defined]
    return copy


@pytest.mark.parametrize(
    ("one", "other"), [("O1001.NC", "o1001.nc"), ("O1001", "O1001."), ("Long Program.nc", "LONG PROGRAM.NC")]
)
def test_names_we_call_the_same_cannot_stand_side_by_side(fat, one, other):
    assert folded(one) == folded(other)
    assert fat(one)
    assert not fat(other)


@pytest.mark.parametrize(("one", "other"), [("O1001.NC", "O1001.N"), ("O1001.NC", "O10010.NC")])
def test_names_we_call_different_can(fat, one, other):
    assert folded(one) != folded(other)
    assert fat(one)
    assert fat(other)


@pytest.mark.parametrize(
    "name",
    ["long name prog.nc", "x+y=z.nc", "a b.nc", "[ab].nc", ".hidden", "ABCDEFGHI.NC", "a;b.nc", "ab.c.nc"],
)
def test_the_alias_is_the_one_the_file_system_makes(fat, name):
    assert problem(name) is None
    assert fat(name)
    stem, _, extension = alias(name).partition(".")
    assert f"{stem:<8} {extension:<3}" in fat.listing()


def test_a_trailing_point_and_blank_are_dropped_by_the_file_system_and_refused_by_us(fat):
    assert fat("trail. ")
    assert "trail. " not in fat.listing()
    assert problem("trail. ")


@pytest.mark.parametrize(("kind", "size"), IMAGES)
def test_what_was_exported_comes_back_from_a_fat_stick_to_the_byte(
    tmp_path: Path, outside_program, kind, size
):
    make, put = outside_program("mkfs.vfat"), outside_program("mcopy")
    names = [
        "O1001.NC",
        "Tr\u00e4ger links.nc",
        "Very long name of a program 1.nc",
        "Very long name of a program 2.nc",
    ]
    files = {f"MILL2/{name}": f"%\r\n({name})\r\nM30\r\n%\r\n".encode() for name in names}
    out, home, image = tmp_path / "out", tmp_path / "home", tmp_path / "stick.img"
    out.mkdir()
    home.mkdir()
    assert [problem(name) for name in names] == [None] * len(names)
    written = [
        ToWrite(path=path, data=data, sha256=hashlib.sha256(data).hexdigest()) for path, data in files.items()
    ]
    open_medium(out).stage(written).finish()
    environment = {**os.environ, "LC_ALL": "C.UTF-8"}
    subprocess.run([make, "-C", "-F", kind, str(image), size], check=True, capture_output=True)
    for call in (["-s", str(out / "MILL2"), "::"], ["-s", "::MILL2", str(home)]):
        done = subprocess.run(
            [put, "-i", str(image), *call], capture_output=True, env=environment, check=False
        )
        assert done.returncode == 0, done.stderr
    back = open_medium(home)
    assert {seen.path: back.read(seen.path) for seen in back.look() if seen.kind == "file"} == files
