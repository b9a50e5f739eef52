"""The longest file a FAT stick takes, 4 GiB less one byte: what a real FAT32 image makes of it, and what export makes of it.

Microsoft, "FAT32 File System Specification" 1.03 (fatgen103): DIR_FileSize is a number of 32 bits; a FAT entry of
0x0FFFFFF8 or more ends a chain; FSI_Free_Count of 0xFFFFFFFF says that nobody knows.
"""

import json
import os
import struct
import subprocess
from pathlib import Path

import pytest

from tests.fakes.fat import ENVIRONMENT, FOUR_GIB, large_image, run, with_a_file
from tests.fakes.stick_shop import released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.stick import names


def test_four_gib_is_one_byte_too_many():
    assert names.too_large(0) is None
    assert names.too_large(FOUR_GIB - 1) is None
    assert (
        names.too_large(FOUR_GIB)
        == "has 4,294,967,296 bytes; a file on a stick has 4,294,967,295 at most (FAT)"
    )


@pytest.fixture
def image(tmp_path, outside_program) -> Path:
    return large_image(tmp_path, outside_program)


def test_a_real_fat32_image_holds_a_file_of_four_gib_less_one(image, outside_program):
    """Not asked of fsck.vfat, whose version 4.2 sums the length of this chain up in 32 bits and finds 0."""
    with_a_file(image, b"LARGEST NC ", FOUR_GIB - 1)
    rows = run(outside_program("mdir"), "-i", image, "::").stdout.splitlines()
    assert [row.split()[2] for row in rows if row.startswith("LARGEST")] == [str(FOUR_GIB - 1)]
    assert image.stat().st_blocks * 512 < 64 * 1024**2


@pytest.mark.takes_long
def test_all_of_it_is_read_out_again(image, outside_program):
    with_a_file(image, b"LARGEST NC ", FOUR_GIB - 1)
    words = [outside_program("mcopy"), "-n", "-i", str(image), "::LARGEST.NC", "-"]
    environment = {**os.environ, **ENVIRONMENT}
    read = 0
    with subprocess.Popen(words, stdout=subprocess.PIPE, env=environment) as process:
        while piece := process.stdout.read(1 << 20):
            assert not piece.strip(b"\0")
            read += len(piece)
    assert (process.returncode, read) == (0, FOUR_GIB - 1)


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
