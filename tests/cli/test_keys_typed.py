"""How many keys it takes at a terminal to put a run or a prove-out down straight from a stick, Enter among them.

What README.md says of it is held against this.
"""

from pathlib import Path

import pytest

from tests.fakes.stick_shop import StickShop, released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame

README = " ".join((Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").split())


@pytest.fixture
def shop(monkeypatch) -> StickShop:
    made = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    return made


def written_to(stick: Path, shop: StickShop) -> Path:
    for path, data in shop.files.items():
        (stick / path).parent.mkdir(parents=True, exist_ok=True)
        (stick / path).write_bytes(data)
    return stick


def records(shop: StickShop, event: str) -> list[object]:
    return [one.record for one in shop.repo.ledger().records if event == one.record.EVENT]


def test_a_run_again_takes_four_keys(shop, typed, tmp_path):
    shop.export()
    del shop.files["MILL2/O1003.NC"]
    answers = ["kp", ""]
    keys = typed(*answers)
    assert main(["ran", str(written_to(tmp_path, shop))]) == 0
    assert keys.read() == ""
    (run,) = records(shop, "ran")
    assert (run.by, run.operation, run.machine) == ("kp", "op10", "MILL2")
    assert len(keys.getvalue()) == 4
    assert "`ran DIR` takes 4 keys" in README


def test_with_two_operations_on_the_stick_it_takes_six(shop, typed, tmp_path):
    shop.export()
    keys = typed("2", "kp", "")
    assert main(["ran", str(written_to(tmp_path, shop))]) == 0
    assert keys.read() == ""
    assert [one.operation for one in records(shop, "ran")] == ["op20"]
    assert len(keys.getvalue()) == 6
    assert "6 where the stick holds several operations" in README


def test_a_prove_out_ticked_on_the_sheet_takes_34(shop, typed, tmp_path):
    """Initials, all ticked, warm-up, no Z shift, rapid, override, minutes, accepted, report, the id read back."""
    shop.for_proving("4471/op10-m3", machine="MILL3")
    mark = shop.revision("4471/op10-m3").record.operation_fingerprint[:8].upper()
    keys = typed("kp", "y", "20", "", "25", "100", "7", "a", "2231", mark)
    assert main(["prove", str(written_to(tmp_path, shop))]) == 0
    assert keys.read() == ""
    proof = records(shop, "proof")[-1]
    assert (proof.by, proof.operation, proof.machine, proof.result) == ("kp", "op10-m3", "MILL3", "accepted")
    assert len(keys.getvalue()) == 34
    assert "`prove DIR` 34" in README
