"""Signatures a clone has verified before: verbs that show something take them from the index, what lets a text out does not."""

import json

import pytest

from tests.cli.test_signing_on_git import PEOPLE, begin
from tests.fakes.shop_folder import ShopFolder
from tests.store.keys import line_of, make_key
from tracker.records.signatures import signature_path
from tracker.records.stored import Found
from tracker.store import sealed
from tracker.store.kept import Kept
from tracker.store.kept_seals import KeptSeals
from tracker.wiring import open_desk, open_gate, open_view

KEY = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIA"


@pytest.fixture
def keys(tmp_path, outside_program):
    outside_program("ssh-keygen")
    return {who: make_key(tmp_path / "keys", who) for who in PEOPLE}


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch, keys):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    made = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    made.folder.mkdir()
    begin(made, keys)
    return made


@pytest.fixture
def verified(monkeypatch):
    """Every signature that is verified from now on."""
    found = []
    really = sealed.sealed

    def counted(message, armoured, namespace):
        found.append(armoured)
        return really(message, armoured, namespace)

    monkeypatch.setattr(sealed, "sealed", counted)
    return found


def seals_of(desk):
    ledger = desk.repo.ledger()
    found = {stored.path: ledger.sealed(stored) for stored in ledger.records}
    desk.repo.close()
    return found


def test_what_shows_verifies_each_once_and_what_lets_out_every_time(shop, verified):
    folder = str(shop.folder)
    for path in (shop.folder / ".git" / "proveout").glob("index.db"):
        path.unlink()
    first = seals_of(open_view(folder))
    assert len(verified) == len(first) >= 2
    assert all(one.key for one in first.values())
    assert seals_of(open_view(folder)) == first
    assert len(verified) == len(first)
    for opened in (open_desk, open_gate):
        verified.clear()
        assert seals_of(opened(folder)) == first
        assert len(verified) == len(first)


def test_a_new_record_alone_is_verified(shop, verified):
    seals_of(open_view(str(shop.folder)))
    shop.prove()
    verified.clear()
    assert all(one.key for one in seals_of(open_view(str(shop.folder))).values())
    assert len(verified) == 1


def test_a_release_does_not_believe_an_index_that_lies(shop, keys):
    """The proof's signature is another record's; the index says that it holds by the right key."""
    revision, proof = (event["record"] for event in shop.json("history", "4471")["events"])
    other = (shop.folder / signature_path(revision)).read_bytes()
    (shop.folder / signature_path(proof)).write_bytes(other)
    shop.git("commit", "-qa", "--amend", "--no-edit")
    assert shop.rows()[0]["standing"] == "unproven"
    pair = tuple(shop.git("rev-parse", f"HEAD:{path}").strip() for path in (proof, signature_path(proof)))
    kept = Kept(shop.folder / ".git")
    assert KeptSeals(kept).get([pair])[pair].fault
    KeptSeals(kept).put({pair: Found(there=True, key=line_of(keys["ss"]))})
    kept.close()
    refused = shop.json("release", "4471", "--by", "dg", "--yes", status=1)
    assert "does not belong to these bytes" in json.dumps(refused["error"])
    assert shop.git("tag") == ""


PAIRS = {
    ("a" * 40, "b" * 40): Found(there=True, key=KEY),
    ("c" * 40, "d" * 40): Found(there=True, fault="does not belong to these bytes"),
}


def test_answers_come_back_as_they_were_put_and_others_are_none(tmp_path):
    kept = Kept(tmp_path)
    seals = KeptSeals(kept)
    seals.put(PAIRS)
    assert seals.get([*PAIRS, ("e" * 40, "f" * 40), ("a" * 40, "d" * 40)]) == PAIRS
    for nonsense in (b"", b"by", b"by ", b"good ssh-ed25519", b"\xff"):
        kept.put("seal 1", {" ".join(next(iter(PAIRS))): nonsense})
        assert set(seals.get(PAIRS)) == {("c" * 40, "d" * 40)}
    kept.close()
