"""Exchanged and broken objects are found by audit, also when everything was found whole just before."""

import json
import zlib

import pytest

from tests.store.shop_repo import SHOP, git, make_shop, opened, record, record_path, write
from tracker.cli.entry import main

PROGRAM = "jobs/4471/op10/O1001.nc"


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    for name in ("GIT_AUTHOR_DATE", "GIT_COMMITTER_DATE", "PROVEOUT_NOW"):
        monkeypatch.setenv(name, "2026-03-12T08:00:00Z")
    folder = make_shop(tmp_path / "Prüf stand" / "shop", attributes="* -text\n*.nc -merge diff=nc\n")
    write(folder, "shop.toml", SHOP.replace('["setup"]', '["setup", "programmer"]'))
    git(folder, "commit", "-qam", "roles")
    assert main(["-C", str(folder), "checkin", "4471", "-m", "why", "--by", "kp", "--yes"]) == 0
    record(opened(folder), record_path(1))
    capsys.readouterr()
    return folder


def audited(shop, capsys):
    status = main(["-C", str(shop), "audit", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert status == (1 if answer["problems"] else 0)
    return answer


def names(shop, capsys):
    return [one["problem"] for one in audited(shop, capsys)["problems"]]


def loose(shop, object_id):
    return shop / ".git" / "objects" / object_id[:2] / object_id[2:]


def exchange(shop, object_id, data, kind="blob"):
    """Other valid content under the name of an object: git shows it without a word."""
    path = loose(shop, object_id)
    path.chmod(0o644)
    path.write_bytes(zlib.compress(b"%s %d\0" % (kind.encode(), len(data)) + data))


def test_a_program_that_was_exchanged(shop, capsys):
    before = names(shop, capsys)
    blob = git(shop, "rev-parse", f"HEAD:{PROGRAM}")
    exchange(shop, blob, b"%\nO1001\nG0 Z-99.\nM30\n%\n")
    assert "Z-99" in git(shop, "show", f"HEAD:{PROGRAM}")
    found = audited(shop, capsys)["problems"]
    assert [one["problem"] for one in found] not in (before, [])
    told = next(one for one in found if one["problem"] == "damaged-object")
    assert PROGRAM in told["where"]
    assert blob in told["message"]
    assert told["severity"] == "refuse"


def test_an_exchanged_record_stops_what_rests_on_it(shop, capsys):
    blob = git(shop, "rev-parse", f"HEAD:{record_path(1)}")
    exchange(shop, blob, git(shop, "cat-file", "blob", blob).encode() + b"\n# more\n")
    assert names(shop, capsys) == ["damaged-object", "not-looked-at"]


def test_an_exchanged_object_nothing_leads_to(shop, capsys):
    sound = names(shop, capsys)
    spare = git(shop, "hash-object", "-w", "--stdin", stdin=b"spare")
    assert names(shop, capsys) == sound
    exchange(shop, spare, b"other")
    assert names(shop, capsys) == ["damaged-object", *sound]


def test_broken_bytes(shop, capsys):
    spare = git(shop, "hash-object", "-w", "--stdin", stdin=b"spare")
    loose(shop, spare).chmod(0o644)
    loose(shop, spare).write_bytes(b"no zlib")
    assert names(shop, capsys)[0] == "damaged-object"


@pytest.mark.parametrize("looked_before", [True, False])
def test_a_byte_of_a_pack(shop, capsys, looked_before):
    git(shop, "gc", "-q")
    if looked_before:
        names(shop, capsys)
        assert (shop / ".git" / "proveout" / "packs-verified").is_file()
    (pack,) = (shop / ".git" / "objects" / "pack").glob("*.pack")
    data = bytearray(pack.read_bytes())
    data[len(data) // 2] ^= 0x40
    pack.chmod(0o644)
    pack.write_bytes(data)
    assert "damaged-object" in names(shop, capsys)


def test_a_second_audit_says_the_same_and_a_new_commit_is_seen(shop, capsys):
    first = audited(shop, capsys)
    assert (shop / ".git" / "proveout" / "audit-found").is_file()
    assert audited(shop, capsys) == first
    path = shop / record_path(1)
    path.write_bytes(path.read_bytes() + b"# more\n")
    git(shop, "commit", "-qam", "by hand")
    assert "record-changed" in names(shop, capsys)


@pytest.mark.parametrize("text", ["", "{", '{"state": 1}', "[]"])
def test_a_note_that_is_no_note(shop, capsys, text):
    first = audited(shop, capsys)
    (shop / ".git" / "proveout" / "audit-found").write_text(text, encoding="utf-8")
    assert audited(shop, capsys) == first


def test_a_note_about_another_state_or_with_a_key_short(shop, capsys):
    first = audited(shop, capsys)
    note = shop / ".git" / "proveout" / "audit-found"
    said = json.loads(note.read_text(encoding="utf-8"))
    said["found"]["problems"] = [{"problem": "x"}]
    note.write_text(json.dumps(said), encoding="utf-8")
    assert audited(shop, capsys) == first
    said["found"] = {"problems": []}
    note.write_text(json.dumps(said), encoding="utf-8")
    assert audited(shop, capsys) == first


def test_an_uncommitted_file_is_no_matter_of_the_record(shop, capsys):
    first = audited(shop, capsys)
    write(shop, "notes.txt", "x")
    assert audited(shop, capsys) == first
