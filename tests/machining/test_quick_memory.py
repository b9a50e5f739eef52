import sys
import tracemalloc

import pytest

from tests.benchmarks import arcing, surfacing
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.nc import scan

KNOWN = Setting(lathe=False, units="mm", decimal="calculator")
ENGINES = ["plain"] if scan.engine() == "plain" else ["plain", "compiled"]


def most_held(data):
    """Bytes held at most beside the file while it is summed up, and blocks run."""
    tracemalloc.start()
    try:
        told = summarise(data, KNOWN)
        return tracemalloc.get_traced_memory()[1], told.blocks
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("maker", [surfacing, arcing], ids=["surface", "arcs"])
def test_a_long_program_takes_no_more_memory_beside_its_file(maker, engine, tmp_path):
    short, long = tmp_path / "short.nc", tmp_path / "long.nc"
    maker.write(short, 300_000)
    maker.write(long, 3_000_000)
    scan.use(plain=engine == "plain")
    try:
        summarise(short.read_bytes(), KNOWN)
        little, few = most_held(short.read_bytes())
        much, many = most_held(long.read_bytes())
    finally:
        scan.use(plain=False)
    assert many > 9 * few
    assert much < little + 1_000_000
    assert sys.getsizeof(b"") + 3_000_000 > much
