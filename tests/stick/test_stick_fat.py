"""What a FAT file system itself makes of our names: images made with mkfs.vfat, read with mtools."""

import os
import subprocess
from pathlib import Path

import pytest

from tracker.stick.names import alias, folded, problem


@pytest.fixture
def fat(tmp_path: Path, outside_program):
    make, put, show = outside_program("mkfs.vfat"), outside_program("mcopy"), outside_program("mdir")
    image = tmp_path / "stick.img"
    subprocess.run([make, "-C", "-F", "32", str(image), "40000"], check=True, capture_output=True)
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
