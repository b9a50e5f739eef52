"""The longest file a FAT stick takes, 4 GiB less one byte: what a real FAT32 image makes of it, and what export makes of it.

Microsoft, "FAT32 File System Specification" 1.03 (fatgen103): DIR_FileSize is a number of 32 bits; a FAT entry of
0x0FFFFFF8 or more ends a chain; FSI_Free_Count of 0xFFFFFFFF says that nobody knows.
"""

import json
import struct
from array import array
from pathlib import Path

import pytest

from tests.fakes.fat import run
from tests.fakes.stick_shop import released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.stick import names

FOUR_GIB = 4 * 1024**3
IMAGE = 5 * 1024**3
CLUSTER = 64 * 512


def test_four_gib_is_one_byte_too_many():
    assert names.too_large(0) is None
    assert names.too_large(FOUR_GIB - 1) is None
    assert (
        names.too_large(FOUR_GIB)
        == "has 4,294,967,296 bytes; a file on a stick has 4,294,967,295 at most (FAT)"
    )


def with_a_file(image: Path, name: bytes, size: int) -> None:
    """Put a file of NULs into the root of a fresh image of FAT32 without writing its bytes, so that it takes no room."""
    with image.open("r+b") as disk:
        boot = disk.read(512)
        (reserved,), (copies,) = struct.unpack_from("<H", boot, 14), struct.unpack_from("<B", boot, 16)
        (sectors,), (root,) = struct.unpack_from("<I", boot, 36), struct.unpack_from("<I", boot, 44)
        (info,) = struct.unpack_from("<H", boot, 48)
        first, count = root + 1, -(-size // CLUSTER)
        chain = array("I", [*range(first + 1, first + count), 0x0FFFFFFF])
        for copy in range(copies):
            disk.seek((reserved + copy * sectors) * 512 + first * 4)
            disk.write(chain.tobytes())
        disk.seek(info * 512 + 488)
        disk.write(b"\xff" * 4)
        disk.seek((reserved + copies * sectors) * 512 + (root - 2) * CLUSTER)
        entry = struct.pack("<11sB8xHHHHI", name, 0x20, first >> 16, 0, 0x5C21, first & 0xFFFF, size)
        disk.write(entry)


@pytest.fixture
def image(tmp_path, outside_program) -> Path:
    made = tmp_path / "stick.img"
    with made.open("wb") as file:
        file.truncate(IMAGE)
    run(outside_program("mkfs.vfat"), "-F", "32", "-s", "64", made)
    return made


def test_a_real_fat32_image_holds_a_file_of_four_gib_less_one(image, outside_program):
    """Not asked of fsck.vfat, whose version 4.2 sums the length of this chain up in 32 bits and finds 0."""
    with_a_file(image, b"LARGEST NC ", FOUR_GIB - 1)
    rows = run(outside_program("mdir"), "-i", image, "::").stdout.splitlines()
    assert [row.split()[2] for row in rows if row.startswith("LARGEST")] == [str(FOUR_GIB - 1)]
    assert image.stat().st_blocks * 512 < 64 * 1024**2


def test_a_real_fat32_image_takes_no_file_of_four_gib(image, outside_program):
    with pytest.raises(struct.error):  # there are no more than 32 bits to say it in
        with_a_file(image, b"TOOLONG NC ", FOUR_GIB)
    source = image.with_name("toolong.nc")
    with source.open("wb") as file:
        file.truncate(FOUR_GIB)
    put = run(outside_program("mcopy"), "-i", image, source, "::TOOLONG.NC", check=False)
    assert "too big" in put.stdout + put.stderr
    assert "TOOLONG" not in run(outside_program("mdir"), "-i", image, "::").stdout


def test_export_lets_the_longest_go_and_refuses_one_byte_more(monkeypatch, tmp_path, capsys):
    """At the limit itself, which is set to the length of what is exported: nobody's program has 4 GiB."""
    shop = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: shop.desk())
    stick = tmp_path / "BLUE-1"
    stick.mkdir()
    words = ["export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", "--json"]
    assert main([*words, "--dry-run"]) == 0
    capsys.readouterr()
    trial = tmp_path / "TRIAL"
    trial.mkdir()
    assert main([*words[:4], str(trial), *words[5:]]) == 0
    longest = max(one.stat().st_size for one in (trial / "MILL2").glob("*.NC"))
    capsys.readouterr()

    monkeypatch.setattr(names, "LARGEST", longest - 1)
    assert main(words) == 1
    said = json.loads(capsys.readouterr().out)["error"]
    assert f"has {longest:,} bytes; a file on a stick has {longest - 1:,} at most" in str(said)
    assert list(stick.iterdir()) == []

    monkeypatch.setattr(names, "LARGEST", longest)
    assert main(words) == 0
    assert max(one.stat().st_size for one in (stick / "MILL2").glob("*.NC")) == longest
