"""``audit --integrity``: whether the record is whole, without asking checks and runs again."""

import json

import pytest

from tests.store.test_audit import (
    apart,
    audited,
    edit,
    problems,
    revisions,
    runs_of_what_was_not_proven,
    shop,
    sound,
)
from tracker.cli.entry import main
from tracker.services import judged_again
from tracker.store import processes

__all__ = ["apart", "shop", "sound"]


def integrity(shop, capsys, status):
    assert main(["-C", str(shop), "audit", "--integrity", "--json"]) == status
    return json.loads(capsys.readouterr().out)


@pytest.fixture
def asked(monkeypatch):
    """How often programs were checked, in this process."""
    monkeypatch.setattr(processes, "_processors", lambda: 1)
    found = []
    verified = judged_again.verified
    monkeypatch.setattr(
        judged_again,
        "verified",
        lambda text, *more, **named: found.append(text) or verified(text, *more, **named),
    )
    return found


def test_checks_are_not_asked_again_and_the_answer_says_so(shop, capsys, asked):
    said = integrity(shop, capsys, 0)
    assert said["not_asked"] == ["checks", "runs"]
    assert said["checked"]["releases"] == 1
    assert asked == []
    assert main(["-C", str(shop), "audit", "--integrity"]) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert "Not asked: the checks of released programs, and whether what ran was usable" in words


def test_nothing_is_noted_that_a_whole_audit_would_believe(shop, capsys, asked):
    integrity(shop, capsys, 0)
    (shop / ".git/proveout/audit-found").unlink()  # of the audit that found the shop sound
    (shop / ".git/proveout/audit-derived").unlink()
    integrity(shop, capsys, 0)
    said = audited(shop, capsys)
    assert len(asked) == 1
    assert "not_asked" not in said


def test_a_run_of_what_was_not_proven_is_told_by_the_whole_audit_alone(shop, capsys):
    runs_of_what_was_not_proven(shop)
    whole = problems(shop, capsys)
    assert "ran-not-usable" in {name for name, _ in whole}
    said = integrity(shop, capsys, 1)["problems"]
    assert [(one["problem"], one["where"]) for one in said] == [
        one for one in whole if one[0] != "ran-not-usable"
    ]


def test_a_record_that_was_edited_is_told_by_both(shop, capsys):
    edit(shop, revisions(shop)[0])
    whole = [(one["problem"], one["where"]) for one in integrity(shop, capsys, 1)["problems"]]
    assert ("record-changed", revisions(shop)[0]) in whole
    assert whole == problems(shop, capsys)


def test_damage_is_told_and_the_answer_still_says_what_was_not_asked(shop, capsys):
    loose = next((shop / ".git/objects").glob("[0-9a-f][0-9a-f]/*"))
    loose.chmod(0o644)
    loose.write_bytes(b"damaged")
    said = integrity(shop, capsys, 1)
    assert said["problems"][0]["problem"] == "damaged-object"
    assert said["not_asked"] == ["checks", "runs"]


@pytest.mark.parametrize("more", [["--list", "lapse"], ["--bundle", "package.zip"]])
def test_it_goes_without_lists_and_packages(shop, capsys, tmp_path, monkeypatch, more):
    monkeypatch.chdir(tmp_path)
    assert main(["-C", str(shop), "audit", "--integrity", *more]) == 2
    assert "leave --integrity out" in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.glob("*.zip")) == []
    assert list(shop.glob("*.zip")) == []


def test_no_index_is_begun_for_it(shop, capsys):
    """It asks once whether everything is whole; what it read is of use to nobody afterwards."""
    place = shop / ".git/proveout"
    for path in place.glob("index*"):
        path.unlink()
    integrity(shop, capsys, 0)
    assert list(place.glob("index*")) == []
    audited(shop, capsys)
    assert list(place.glob("index*"))
