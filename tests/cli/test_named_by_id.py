"""An 8-digit id wherever a revision may be named, as typed."""

import json

import pytest

from tests.fakes.stick_shop import StickShop, exported_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame

WORDS = {
    "show": ["show", "ID"],
    "sheet": ["sheet", "ID", "--machine", "MILL2"],
    "history": ["history", "ID"],
    "where": ["where", "ID"],
    "ran": ["ran", "ID", "--machine", "MILL2", "--by", "ss", "--yes"],
    "hold": ["hold", "ID", "--by", "dg", "-m", "gauge", "--yes"],
    "compare": ["compare", "ID", "ID"],
    "prove": ["prove", "ID", "--machine", "MILL2", "--form", "form.toml"],
    "measured": ["measured", "ID", "--machine", "MILL2", "--by", "ss", "--report", "1", "--accept", "--yes"],
    "countersign": ["countersign", "ID", "--machine", "MILL2", "--by", "kp", "-m", "seen", "--yes"],
    "report": ["report", "ID", "-o", "-"],
}
NOT_FOUND_OUT = {"measured"}
"""It finds the revision, and no first piece that waits to be measured."""


@pytest.fixture
def shop(monkeypatch, tmp_path) -> StickShop:
    made = exported_shop()
    for seat in ("desk", "view"):
        monkeypatch.setattr(Frame, seat, lambda self, **_: made.desk())
    monkeypatch.chdir(tmp_path)
    return made


@pytest.mark.parametrize("verb", sorted(WORDS))
def test_an_id_is_taken_by(shop, capsys, verb):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    status = main([mark if word == "ID" else word for word in WORDS[verb]])
    out, err = capsys.readouterr()
    if verb in NOT_FOUND_OUT:
        assert status == 1, err
        assert "unknown" not in err
    else:
        assert status == 0, err
        assert "4471" in out or verb == "compare"
    assert f"{mark} is 4471/op10 r1" in err or verb == "compare"


@pytest.mark.parametrize("verb", sorted(set(WORDS) - {"compare"}))
def test_an_id_nobody_has_is_a_wrong_call(shop, capsys, verb):
    assert main(["00000000" if word == "ID" else word for word in WORDS[verb]]) == 2
    assert "[unknown-id]" in capsys.readouterr().err


def test_json_says_it_in_its_own_words(shop, capsys):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert main(["show", mark, "--json"]) == 0
    out, err = capsys.readouterr()
    said = json.loads(out)
    assert (said["operation"], said["revision"], err) == ("op10", "r1", "")
