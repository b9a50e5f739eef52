"""A shop where everybody signs, from the first check-in to a release that was pushed; and what the screens say of it."""

import hashlib
import json
import subprocess

import pytest

from tests.fakes.shop_folder import SHOP, ShopFolder, git
from tests.store.keys import line_of, make_key
from tracker.errors import CouldNot
from tracker.records.places import is_record
from tracker.records.signatures import signature_path
from tracker.store import ssh_keygen

PEOPLE = ("np", "ss", "dg")


def signing_shop(lines: dict[str, str], policy: str) -> str:
    text = SHOP.replace("[[people]]", f'[policy]\nsignatures = "{policy}"\n[[people]]', 1)
    for who, line in lines.items():
        text = text.replace(
            f'email = "{who}@shop.example"\n', f'email = "{who}@shop.example"\nkeys = ["{line}"]\n'
        )
    return text


@pytest.fixture
def keys(tmp_path, outside_program):
    outside_program("ssh-keygen")
    return {who: make_key(tmp_path / "keys", who) for who in PEOPLE}


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    made = ShopFolder(tmp_path / "Büro 1", capsys, monkeypatch)
    made.folder.mkdir()
    return made


def begin(shop, keys, policy="required"):
    """r1 checked in and proved, everybody's key on this PC."""
    git(shop.folder, "init", "-q", "-b", "main")
    for who, key in keys.items():
        shop.git("config", f"proveout.{who}.key", str(key))
    shop.begin(signing_shop({who: line_of(key) for who, key in keys.items()}, policy))
    shop.prove()


def test_every_record_from_check_in_to_release_is_signed_and_git_says_good(shop, keys, tmp_path):
    begin(shop, keys)
    git(tmp_path, "init", "-q", "--bare", "-b", "main", "server.git")
    shop.git("remote", "add", "origin", str(tmp_path / "server.git"))
    shop.run("share")
    shop.run("install")
    said = shop.json("release", "4471", "--by", "dg", "--yes")
    assert said["signed"].startswith("signed (key SHA256:")
    paths = git(tmp_path / "server.git", "ls-tree", "-r", "--name-only", "main").splitlines()
    records = [path for path in paths if is_record(path)]
    assert len(records) >= 3
    assert {signature_path(path) for path in records} == {path for path in paths if path.endswith(".sig")}
    shop.git("verify-tag", "release/4471/1")
    (row,) = shop.rows()
    assert (row["released"], row["may_run"], row["signed"][:6]) == (1, True, "signed")
    assert {event["signed"][:6] for event in shop.json("history", "4471")["events"]} == {"signed"}


def test_the_screens_say_who_signed(shop, keys):
    begin(shop, keys, "optional")
    show = shop.run("show", "4471")
    assert "  signature signed (key SHA256:" in show
    assert " ".join(show.split()).count("signed (key") == 2
    assert "signed (key" in shop.run("history", "4471")
    assert "unsigned" not in shop.run("status") + shop.run("sheet", "4471", "--machine", "MILL2")


def test_one_who_does_not_sign_is_seen(shop, keys):
    begin(shop, {who: keys[who] for who in ("ss", "dg")}, "optional")
    assert "  signature unsigned" in shop.run("show", "4471")
    assert "unsigned: 4471/op10 r1" in shop.run("status")
    assert "Record of this revision: unsigned" in " ".join(
        shop.run("sheet", "4471", "--machine", "MILL2").split()
    )
    assert [one["signed"][:8] for one in shop.json("history", "4471")["events"]] == ["unsigned", "signed ("]


def test_where_nobody_signs_it_is_said_once(shop):
    shop.begin()
    out = shop.run("status")
    assert out.count("unsigned") == 2  # the sentence, and the page that explains it
    assert "sign" not in shop.run("show", "4471") + shop.run("history", "4471")
    assert shop.rows()[0]["signed"] == "unsigned"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda data, other: other, "does not belong to these bytes"),
        (lambda data, other: data[:-60], "no SSH signature"),
        (lambda data, other: b"", "no SSH signature"),
    ],
)
def test_a_signature_that_does_not_hold_is_told_everywhere(shop, keys, change, why):
    begin(shop, keys, "optional")
    revision, proof = (event["record"] for event in shop.json("history", "4471")["events"])
    place, other = (shop.folder / signature_path(path) for path in (revision, proof))
    place.write_bytes(change(place.read_bytes(), other.read_bytes()))
    shop.git("commit", "-qam", "meddling")
    assert why in shop.json("history", "4471")["events"][0]["signed"]
    assert shop.json("show", "4471")["signed"].startswith("signature does not hold: ")
    assert "its signature does not hold" in " ".join(shop.run("status").split())
    assert "signature does not hold" in " ".join(shop.run("sheet", "4471", "--machine", "MILL2").split())


def test_a_key_of_somebody_else_is_told(shop, keys, tmp_path):
    begin(shop, keys, "optional")
    record = shop.json("history", "4471")["events"][0]["record"]
    made = subprocess.run(
        ["ssh-keygen", "-Y", "sign", "-f", keys["dg"], "-n", "proof@proveout"],
        input=(shop.folder / record).read_bytes(),
        check=True,
        capture_output=True,
    ).stdout
    (shop.folder / signature_path(record)).write_bytes(made)
    shop.git("commit", "-qam", "meddling")
    assert shop.json("show", "4471")["signed"].endswith("and should be by np")


def test_a_key_that_was_replaced_still_says_signed(shop, keys, tmp_path):
    begin(shop, keys, "optional")
    new = make_key(tmp_path / "keys", "new")
    lines = {who: line_of(key) for who, key in keys.items()} | {"np": line_of(new)}
    shop.put("shop.toml", signing_shop(lines, "optional"))
    shop.run("checkin", "shop.toml", "-m", "a new key", "--by", "dg")
    assert shop.json("show", "4471")["signed"].startswith("signed")


def test_a_person_replaces_the_key_that_signs_the_change(shop, keys, tmp_path):
    begin(shop, keys)
    new = make_key(tmp_path / "keys", "new")
    lines = {who: line_of(key) for who, key in keys.items()} | {"dg": line_of(new)}
    shop.put("shop.toml", signing_shop(lines, "required"))
    shop.run("checkin", "shop.toml", "-m", "a new key", "--by", "dg")
    words = ("hold", "4471/op10", "--by", "dg", "-m", "wait", "--yes")
    assert "[key-not-listed]" in shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    shop.run("install", "--key", str(new), "--by", "dg")
    shop.run(*words)
    said = {event["event"]: event["signed"] for event in shop.json("history")["events"]}
    assert {word[:6] for word in said.values()} == {"signed"}
    assert said["shop"] != said["hold"]


def test_required_and_a_person_without_a_key_nothing_is_recorded(shop, keys):
    begin(shop, keys)
    shop.git("config", "--unset", "proveout.dg.key")
    before = shop.git("rev-parse", "HEAD"), shop.git("status", "--porcelain")
    got, out, _ = shop.call("release", "4471", "--by", "dg", "--yes", "--json")
    assert (got, json.loads(out)["error"]["name"]) == (1, "no-signing-key")
    assert (shop.git("rev-parse", "HEAD"), shop.git("status", "--porcelain")) == before
    assert shop.git("tag") == ""


def test_a_release_whose_tag_could_not_be_signed_is_taken_up(shop, keys, monkeypatch):
    begin(shop, keys)
    real = ssh_keygen.sign

    def once(key, texts, namespace, *, may_ask):
        if namespace == "git":
            raise CouldNot("key-locked", "nothing was signed", fix="type it right")
        return real(key, texts, namespace, may_ask=may_ask)

    with monkeypatch.context() as world:
        world.setattr("tracker.store.signing.sign", once)
        said = shop.run("release", "4471", "--by", "dg", "--yes", status=4)
    assert "taken up" in said
    assert shop.git("tag") == ""
    again = shop.json("release", "4471", "--by", "dg", "--yes")
    assert (again["number"], again["taken_up"]) == (1, True)
    assert "BEGIN SSH SIGNATURE" in shop.git("cat-file", "tag", "release/4471/1")


def test_answers_of_a_prove_out_that_could_not_be_signed_are_kept(shop, keys, monkeypatch):
    begin(shop, keys)
    monkeypatch.setattr("tracker.store.signing.Signing.ready", lambda *_: None)  # the key goes away after it
    shop.git("config", "--unset", "proveout.ss.key")
    words = (
        "prove",
        "4471/op10",
        "--machine",
        "MILL2",
        "--by",
        "ss",
        "--accept",
        "--first-piece",
        "report 1",
    )
    got, _, err = shop.call(*words, "--answers", shop.answers(), "--yes")
    assert got == 1
    assert "[no-signing-key]" in err
    assert "--answers" in err
    (kept,) = (shop.folder / ".git" / "proveout").glob("answers-*.toml")
    assert "[P8]" in kept.read_text(encoding="utf-8")


def test_who_cannot_sign_is_told_before_a_question_is_asked(shop, keys, monkeypatch):
    begin(shop, keys)
    shop.git("config", "--unset", "proveout.ss.key")
    monkeypatch.setattr("tracker.cli.kept_answers.finish_or_keep", None)
    got, out, _ = shop.call(
        "prove", "4471/op10", "--machine", "MILL2", "--by", "ss", "--accept", "--first-piece", "7", "--json"
    )
    assert (got, json.loads(out)["error"]["name"]) == (1, "no-signing-key")


def test_a_rejection_needs_no_key_and_says_that_it_is_unsigned(shop, keys):
    begin(shop, keys)
    shop.git("config", "--unset", "proveout.ss.key")
    words = ("prove", "4471/op10", "--machine", "MILL2", "--by", "ss", "--reject", "--cause", "program")
    said = shop.json(*words, "--answers", shop.answers(), "--yes")
    assert said["signed"] == "unsigned"
    assert shop.rows()[0]["standing"] == "rejected"


def take_signature_away(shop, record: str) -> None:
    """As if the record had been made and committed by hand: its commit holds no signature."""
    shop.git("rm", "-q", signature_path(record))
    shop.git("commit", "-q", "--amend", "--no-edit")


def test_a_proof_nobody_signed_gives_no_standing_and_no_release(shop, keys):
    begin(shop, keys)
    proof = shop.json("history", "4471")["events"][-1]["record"]
    take_signature_away(shop, proof)
    (row,) = shop.rows()
    assert row["standing"] == "unproven"
    assert row["reason"] == (
        "unproven: the proof by ss 2 Feb 2026 is not signed, and the shop asks for signatures"
    )
    said = shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "is not signed, and the shop asks for signatures" in " ".join(said.split())
    assert shop.git("tag") == ""
    shop.prove()
    shop.run("release", "4471", "--by", "dg", "--yes")
    assert shop.rows()[0]["released"] == 1


def test_a_text_whose_check_in_nobody_signed_is_not_proven(shop, keys):
    git(shop.folder, "init", "-q", "-b", "main")
    for who, key in keys.items():
        shop.git("config", f"proveout.{who}.key", str(key))
    shop.begin(signing_shop({who: line_of(key) for who, key in keys.items()}, "required"))
    (revision,) = (event["record"] for event in shop.json("history", "4471")["events"])
    take_signature_away(shop, revision)
    shop.prove()
    (row,) = shop.rows()
    assert (row["standing"], row["reason"]) == (
        "unproven",
        "unproven: the record of r1 is not signed, and the shop asks for signatures",
    )


def tag_again(shop, *words: str) -> None:
    """The release tag once more, as git makes it, with the message it had."""
    message = shop.git("tag", "-l", "--format=%(contents:subject)%0a%0a%(contents:body)", "release/4471/1")
    shop.git("tag", "-f", *words, "-m", message, "release/4471/1", "release/4471/1^{commit}")


def test_a_release_tag_nobody_signed_is_none(shop, keys, tmp_path):
    begin(shop, keys)
    shop.run("release", "4471", "--by", "dg", "--yes")
    assert shop.rows()[0]["may_run"] is True
    tag_again(shop, "-a")
    (row,) = shop.rows()
    assert (row["standing"], row["released"], row["may_run"]) == ("proven", None, False)
    (tmp_path / "stick").mkdir()
    refused = shop.json(
        "export", "--machine", "MILL2", "--to", str(tmp_path / "stick"), "--by", "ss", "--yes", status=1
    )
    assert "the tag is not signed" in json.dumps(refused["error"]["reasons"])
    assert [path.name for path in (tmp_path / "stick").iterdir()] == []
    assert "the tag is not signed, and release tags must be signed (by dg)" in json.dumps(
        shop.json("audit", status=1)
    )


def test_a_release_tag_somebody_else_signed_is_none(shop, keys):
    begin(shop, keys)
    shop.run("release", "4471", "--by", "dg", "--yes")
    shop.git("config", "gpg.format", "ssh")
    shop.git("config", "user.signingkey", str(keys["np"]))
    tag_again(shop, "-s")
    assert shop.rows()[0]["released"] is None
    shop.git("config", "user.signingkey", str(keys["dg"]))
    tag_again(shop, "-s")
    assert shop.rows()[0]["released"] == 1


def test_the_local_hook_refuses_an_unsigned_release_tag(shop, keys):
    begin(shop, keys)
    shop.run("install")
    shop.run("release", "4471", "--by", "dg", "--yes")
    message = shop.git("tag", "-l", "--format=%(contents:subject)%0a%0a%(contents:body)", "release/4471/1")
    commit = shop.git("rev-parse", "release/4471/1^{commit}")
    shop.git("-c", "core.hooksPath=/dev/null", "tag", "-d", "release/4471/1")
    with pytest.raises(subprocess.CalledProcessError) as refused:
        shop.git("tag", "-a", "-m", message, "release/4471/1", commit)
    assert "the tag is not signed, and release tags must be signed (by dg)" in refused.value.stderr
    assert shop.git("tag") == ""


def test_where_signatures_are_optional_none_is_asked_for(shop, keys):
    begin(shop, keys, "optional")
    take_signature_away(shop, shop.json("history", "4471")["events"][-1]["record"])
    assert shop.rows()[0]["standing"] == "proven"


def test_the_list_of_signatures_says_who_signed_what_by_which_key(shop, keys):
    begin(shop, keys)
    shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter", "--key", "none")
    proof = next(one["record"] for one in shop.json("history", "4471")["events"] if one["event"] == "proof")
    rows = {row["event"]: row for row in shop.json("audit", "--list", "signatures")["rows"]}
    assert {row["verdict"] for row in rows.values()} == {"good", "unsigned"}
    assert (rows["hold"]["verdict"], rows["hold"]["asked for"], rows["hold"]["key"]) == (
        "unsigned",
        "no, it stops",
        "-",
    )
    assert (rows["proof"]["by"], rows["proof"]["asked for"], rows["proof"]["record"]) == ("ss", "yes", proof)
    assert rows["proof"]["key"].startswith("SHA256:")


def test_two_records_that_say_the_same_in_one_second_have_other_bytes(shop, keys):
    begin(shop, keys)
    for _ in range(2):
        shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    holds = sorted((shop.folder / "jobs/4471/records/op10").glob("*-hold-*.toml"))
    first, second = (path.read_text("utf-8") for path in holds)
    assert second.replace("copy = 2\n", "") == first
    assert "copy = 2\n" in second
    assert all(path.with_name(path.name + ".sig").exists() for path in holds)


def test_a_change_of_shop_toml_is_recorded_with_its_hash(shop, keys):
    begin(shop, keys)
    text = (shop.folder / "shop.toml").read_bytes().replace(b"Test shop", b"Test and Sons")
    shop.put("shop.toml", text)
    shop.run("checkin", "shop.toml", "-m", "a new name", "--by", "dg")
    (record,) = (shop.folder / "records").glob("*-shop-*.toml")
    assert f'shop_sha256 = "{hashlib.sha256(text).hexdigest()}"' in record.read_text("utf-8")
