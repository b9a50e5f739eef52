"""``--json`` of every verb: one object, its schema first, the shapes that scripts rely on key by key."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls, program_path, stick_of
from tracker.cli.verbs import VERBS

NO_JSON = {"normalize"}  # its answer is a program
KEYS = {
    "adopt": "folders counts rows plan",
    "audit": "problems checked",
    "backup": "at file sha256 bytes references words",
    "checkin": "revisions unchanged only_text problems dry_run",
    "collect": "files stick notes record summary decisions",
    "compare": "same_code kinds changes effect",
    "countersign": "said event job operation revision machine by entered_by reason at records standings notes",
    "doctor": "folder points",
    "explain": "pages",
    "export": "machine stick owner folder purpose dry_run operations files papers left_out call_in leaves summary decisions notes at until record cautions",
    "fingerprint": "files",
    "gate": "opens",
    "history": "events",
    "hold": "said event job operation revision machine by entered_by reason at records standings notes",
    "identify": "machine files",
    "init": "folder written kept others people notes",
    "install": "folder server guard undone actions notes",
    "lift": "said event job operation revision machine by entered_by reason at records standings notes",
    "measured": "said event job operation revision machine by entered_by reason at records standings notes",
    "new": "job job_file added written operations open left_out",
    "prove": "job operation revision id machine result by at tools lacks standing reason clears record findings notes",
    "ran": "said event job operation revision machine by entered_by reason at records standings notes",
    "release": "job number tag commit record by dry_run taken_up operations not_included notes",
    "report": "job title operations deviations at written",
    "review": "said event job operation revision machine by entered_by reason at records standings notes",
    "share": "remote address branch complete received sent pushes merge tags_received tags_sent both_changed several_newest "
    "tag_notes branches_received only_here stops_sent stops_not_sent unread dry_run",
    "sheet": "job operation revision id machine standing reason clears released part name drawing drawing_revision "
    "material units fixture clearance_z max_rpm programs offsets tools since list steps findings signed remarks cautions at",
    "show": "job operation revision newest record record_sha256 id operation_fingerprint sheet_fingerprint rule_version "
    "strict at entered by entered_by reason post files lost origins checks_version findings waivers outside signed proofs reviews standings",
    "status": "operations at last_share edited",
    "strike": "said event job operation revision machine by entered_by reason at records standings notes",
    "summary": "units tools cutting_length rapid_length cutting_minutes not_followed dwell_minutes lathe order stops calls "
    "offsets_written blocks guesses file of machine id",
    "verify": "findings not_computed",
    "where": "job operation revision machines sticks places limit",
    "witness": "at source line references followed findings releases records",
    "withdraw": "job number commit record format event at entered by reason clock operations sticks were_on machines",
}
RECORDS = {
    "checkin",
    "collect",
    "countersign",
    "export",
    "hold",
    "lift",
    "measured",
    "prove",
    "ran",
    "release",
    "review",
    "strike",
    "withdraw",
}
"""Verbs that put a record down: they add what became of its signature."""
OLD_NEWS = {"export", "release"}
"""Verbs after whose answer stands how old what the others said is."""
HEX = re.compile(r"[0-9a-f]{64}")


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("json") / "kept"


@pytest.fixture
def shop(kept, capsysbinary, monkeypatch, tmp_path) -> ByteShop:
    monkeypatch.chdir(tmp_path)
    return BusyShop(kept).copy(tmp_path / "here", lambda folder: ByteShop(folder, capsysbinary, monkeypatch))


def asked(shop: ByteShop, *words: str, status: int = 0) -> dict[str, Any]:
    got, out, err = shop.call(*words, "--json")
    assert (got, err) == (status, ""), out
    said = json.loads(out)
    assert next(iter(said)) == "schema"
    return said


def test_every_verb_is_listed():
    assert set(KEYS) | NO_JSON | {"demo"} == {verb.name for verb in VERBS}


@pytest.mark.parametrize("verb", sorted(KEYS))
def test_one_object_with_its_keys(shop, verb):
    said = asked(shop, *good_calls(shop)[verb], status=1 if verb == "doctor" else 0)
    assert said["schema"] == f"proveout/{verb}/1"
    added = [*(["signed"] if verb in RECORDS else []), *(["last_share"] if verb in OLD_NEWS else [])]
    assert list(said)[1:] == [*KEYS[verb].split(), *added]
    assert said.get("signed", "unsigned") == "unsigned"  # nobody here has a key


@pytest.mark.parametrize("verb", ["status", "compare", "fingerprint", "export"])
def test_json_may_stand_before_the_verb(shop, verb):
    got, out, _ = shop.call("--json", *good_calls(shop)[verb])
    assert (got, json.loads(out)["schema"]) == (0, f"proveout/{verb}/1")


@pytest.mark.parametrize(
    ("words", "schema", "name"),
    [
        (["frob"], "frob", "unknown-command"),
        (["status", "--frob"], "status", None),
        (["show"], "show", "wrong-call"),
        (["normalize", "a.nc"], "normalize", "no-json"),
        (["-C", "nowhere", "status"], "status", "no-such-folder"),
    ],
)
def test_wrong_calls(shop, words, schema, name):
    got, out, err = shop.call(*words, "--json")
    said = json.loads(out)
    assert (got, err, said["schema"]) == (2, "", f"proveout/{schema}/1")
    assert list(said["error"]) == ["name", "message", "where", "fix"]
    assert name in (None, said["error"]["name"])
    assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", said["error"]["name"])


def test_the_shape_of_fingerprint(shop):
    path = program_path("4471")
    (found,) = asked(shop, "fingerprint", path)["files"]
    assert list(found) == [
        "file",
        "fingerprint",
        "raw_sha256",
        "bytes",
        "blocks",
        "dialect",
        "rule_version",
        "notes",
    ]
    assert (found["file"], found["bytes"]) == (path, (shop.folder / path).stat().st_size)
    assert HEX.fullmatch(found["fingerprint"])
    assert HEX.fullmatch(found["raw_sha256"])
    assert (found["blocks"], found["dialect"], found["rule_version"], found["notes"]) == (
        10,
        "word-address",
        1,
        [],
    )


def test_the_shape_of_compare(shop):
    said = asked(shop, "compare", "4472/op10@r1", "4472/op10@r2", "--exit-code", status=1)
    assert (said["same_code"], said["kinds"]) == (False, ["coolant", "wording"])
    change, wording = said["changes"]
    assert (wording["kind"], wording["tool"], wording["old"], wording["new"]) == ("wording", None, None, None)
    assert list(change) == ["kind", "file", "tool", "old", "new"]
    assert change["old"] == {"line": 7, "text": "N50 G43 H4 Z1. M8"}
    assert change["new"] == {"line": 7, "text": "N50 G43 H4 Z1. M7"}
    assert (change["kind"], change["file"], change["tool"]) == ("coolant", "O4472.nc", "4")


def test_compare_says_wording_once_a_file_and_without_sides(shop):
    (shop.folder / "a.nc").write_bytes(b"O1\nN1 G1 X1.(A)\nN2 X2. (B)\nM30\n")
    (shop.folder / "b.nc").write_bytes(b"O1\nN5 G1 X1.(C)\nN6 X2. (D)\nM30\n")
    said = asked(shop, "compare", "a.nc", "b.nc")
    assert (said["same_code"], said["kinds"]) == (True, ["numbering", "wording"])
    assert [(c["kind"], c["old"], c["new"]) for c in said["changes"]] == [
        ("numbering", None, None),
        ("wording", None, None),
    ]


def test_the_shape_of_status(shop):
    rows = asked(shop, "status")["operations"]
    assert len(rows) == 9
    keys = ["job", "operation", "revision", "machine", "standing", "reason", "released", "may_run", "next"]
    assert all(list(row) == [*keys, "signed"] for row in rows)
    seen = {row["job"]: (row["revision"], row["standing"], row["released"], row["may_run"]) for row in rows}
    assert seen["4471"] == ("r1", "proven", 1, True)
    assert seen["4472"] == ("r2", "unproven", None, False)
    assert seen["4475"] == ("r1", "held", None, False)
    assert seen["4478"] == ("r1", "proven", None, False)


def test_the_shape_of_history(shop):
    events = asked(shop, "history", "4472")["events"]
    keys = ["at", "event", "job", "operation", "revision", "machine", "by", "kinds", "reason", "record"]
    assert all(list(event)[:10] == keys for event in events)
    assert {key for event in events for key in event} - set(keys) == {"words", "signed"}
    assert [(e["event"], e["revision"], e["machine"], e["kinds"]) for e in events] == [
        ("revision", "r1", None, []),
        ("proof", "r1", "MILL2", []),
        ("revision", "r2", None, ["coolant", "wording"]),
    ]
    assert all((shop.folder / event["record"]).is_file() for event in events)


def test_history_says_what_was_run(shop):
    run = [event for event in asked(shop, "history", "4471")["events"] if event["event"] == "ran"]
    assert [event["words"] for event in run] == ["lot L1"]


def test_the_shape_of_collect(shop):
    stick = stick_of(shop)
    (stick / "MILL2/O9.NC").write_bytes(b"%\nO0009\nG1 X1.\nM30\n%\n")
    files = asked(shop, "collect", str(stick), "--by", "ss", status=1)["files"]
    keys = ["file", "verdict", "job", "operation", "revision", "kinds", "message"]
    assert all(list(file) == keys for file in files)
    assert [(f["file"], f["verdict"], f["job"], f["revision"]) for f in files] == [
        ("MILL2/O4471.NC", "as-exported", "4471", "r1"),
        ("MILL2/O9.NC", "unknown", None, None),
    ]


def test_the_shape_of_audit(shop):
    assert asked(shop, "audit")["checked"] == {"commits": 22, "programs": 10, "records": 21, "releases": 1}
    shop.git("tag", "release/4478/1")
    said = asked(shop, "audit", status=1)
    keys = ["problem", "severity", "where", "message"]
    assert all(list(problem) == keys for problem in said["problems"])
    assert {problem["where"] for problem in said["problems"]} == {"refs/tags/release/4478/1"}


def test_a_struck_record_does_not_hide_the_record_of_the_strike(shop):
    said = asked(shop, *good_calls(shop)["strike"])
    (record,) = said["records"]
    assert (shop.folder / record["record"]).is_file()
    assert "strike" in record["record"]
    assert "-ran-" in record["struck"]


def test_a_refusal_lists_its_reasons(shop):
    error = asked(shop, "release", "4475", "--by", "dg", "--yes", status=1)["error"]
    assert list(error) == ["name", "message", "where", "fix", "reasons"]
    assert (error["name"], len(error["reasons"])) == ("not-released", 1)
