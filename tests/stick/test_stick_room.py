"""How much room is asked for, beside what an image of FAT really gives (mtools tells what is free)."""

import re

import pytest

from tests.fakes.fat import run
from tracker.stick.room import needed


def free(image) -> int:
    found = re.search(r"([\d ]+) bytes free", run("mdir", "-i", image, "::").stdout)
    assert found is not None
    return int(found[1].replace(" ", ""))


@pytest.mark.parametrize(("sectors", "kilobytes"), [(1, 64), (4, 256), (8, 1440)])
@pytest.mark.parametrize("sizes", [[1, 512, 513], [4096] * 7, [0, 20_001, 3]])
def test_what_is_asked_for_is_enough_and_little_more(outside_program, tmp_path, sectors, kilobytes, sizes):
    outside_program("mkfs.vfat")
    outside_program("mdir")
    image, cluster = tmp_path / "stick.img", 512 * sectors
    run("mkfs.vfat", "-C", "-s", str(sectors), image, str(kilobytes))
    before = free(image)
    run("mmd", "-i", image, "::MILL2")
    for number, size in enumerate(sizes):
        file = tmp_path / f"{number} {'long name ' * 20}.NC"
        file.write_bytes(b"G" * size)
        run("mcopy", "-i", image, file, "::MILL2/")
    taken = before - free(image)
    assert taken <= needed(sizes, cluster) <= taken + (4 + len(sizes)) * cluster


def test_where_the_cluster_is_not_known_the_largest_in_common_use_stands_in():
    assert needed([1, 200_000], None) == (1 + 2 + 1 + 3) * 131_072
    assert needed([1], 1 << 30) == needed([1], None)
