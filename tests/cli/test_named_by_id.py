"""An 8-digit id wherever a revision may be named, as typed."""

import json

import pytest

from tests.fakes.stick_shop import StickShop, exported_shop, program
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
    "summary": ["summary", "ID"],
    "verify": ["verify", "ID"],
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


def test_verify_takes_an_id_only_while_its_text_lies_here(shop, capsys):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    assert main(["verify", mark]) == 2
    said = capsys.readouterr().err
    assert f"{mark} is 4471/op10 r1; what lies here has the id " in said
    assert "[not-here]" in said
    assert main(["verify", "4471/op10"]) == 0
    assert mark not in capsys.readouterr().out


def test_verify_and_summary_show_the_id(shop, capsys):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    for words in (["verify", "4471/op10"], ["summary", "4471/op10"], ["summary", "4471/op10@r1"]):
        assert main(words) == 0
        assert mark in capsys.readouterr().out.splitlines()[0]
    assert main(["summary", "4471/op10", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["id"] == mark


def test_an_id_is_of_a_revision_that_is_there_and_a_check_in_makes_the_next(shop, capsys):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    for more in ([], ["--from", "r1"]):
        assert main(["checkin", mark, "-m", "deeper", "--by", "np", *more]) == 2
        said = capsys.readouterr().err
        assert f"{mark} is 4471/op10 r1; a check-in makes the next one" in said
        assert "proveout checkin 4471/op10 -m WHY" in said
    assert main(["checkin", "00000000", "-m", "deeper", "--by", "np"]) == 2
    assert "[unknown-id]" in capsys.readouterr().err
    assert main(["checkin", "4471/op10", "-m", "deeper", "--by", "np"]) == 0
    made = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert made != mark
    assert f"4471/op10 is r2   id {made}" in capsys.readouterr().out


def test_eight_letters_outside_any_shop_are_a_file_that_is_missing(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["summary", "DEADBEEF"]) == 2
    assert "[missing-file]" in capsys.readouterr().err
