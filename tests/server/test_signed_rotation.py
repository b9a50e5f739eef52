"""A key that is changed midway, and one that is taken out: what was signed before stays, what comes after needs what is listed.

Judged by the shop.toml before a record came in, never by a date it claims: at the server by its main branch before the push.
"""

import json
import re
from datetime import UTC, datetime

import pytest

from tests.fakes.shop_folder import CALLED
from tests.server.signed_shop import (
    REQUIRED,
    SignedShop,
    checkin,
    exported,
    into_an_empty_server,
    line_of,
    newest,
    on_stick,
    problems,
    prove,
    proven,
    released,
    row,
    seal,
    signature,
    stays_here,
    why,
)
from tests.server.world import stamp
from tracker.errors import CouldNot
from tracker.records.signatures import NAMESPACE, TAG_NAMESPACE
from tracker.store import ssh_keygen

POLICY = f"{REQUIRED}\ntwo_person = true"


@pytest.fixture
def rotated(signed):
    """Proved with kp's old key and released; then kp's new key, in a commit of its own by quality, pushed by itself."""
    proven(signed)
    released(signed)
    signed.new = signed.new_key("kp")
    signed.change_shop(POLICY, "kp has a new key", kp=[line_of(signed.new)])
    signed.office.shop.run("share", "--by", "dg")
    return signed


def keep(shop: SignedShop) -> None:
    """The floor shares, and kp's new key is put in place there."""
    shop.floor.shop.run("share", "--by", "kp")
    shop.floor.shop.run("install", "--shared", "--key", str(shop.new), "--by", "kp")


def test_what_the_old_key_signed_stays_good_and_goes_on_being_let_out(rotated):
    assert "2 programs may run" in exported(rotated)
    assert row(rotated.floor) == ("proven", 1, True)
    assert rotated.floor.shop.json("show", "4471")["signed"].startswith("signed")
    rows = {one["event"]: one for one in rotated.floor.shop.json("audit", "--list", "signatures")["rows"]}
    assert (rows["proof"]["by"], rows["proof"]["verdict"]) == ("kp", "good")
    assert problems(rotated.floor) == problems(rotated.office) == set()


def test_a_release_after_it_rests_on_what_the_old_key_signed(rotated):
    assert "release 2 made by dg" in released(rotated)
    assert "4471/op10 r1" in exported(rotated)
    assert problems(rotated.floor) == set()


def test_the_old_key_signs_no_more_and_the_new_one_does(rotated):
    checkin(rotated, "Z-1.16", "Z-1.2", "np", "deeper")
    rotated.floor.shop.run("share", "--by", "kp")
    before = rotated.floor.head, rotated.floor.git("status", "--porcelain")
    said = prove(rotated.floor, "kp", status=1)
    assert "[key-not-listed]" in said
    assert (rotated.floor.head, rotated.floor.git("status", "--porcelain")) == before
    keep(rotated)
    prove(rotated.floor, "kp")
    rotated.floor.shop.run("share", "--by", "kp")
    assert "release 2 made by dg" in released(rotated)
    assert "4471/op10 r2" in exported(rotated, by="kp")
    rotated.floor.shop.run("share", "--by", "kp")
    assert problems(rotated.floor) == set()


def test_nobody_is_told_to_put_a_key_back_that_was_taken_out(rotated):
    shop = rotated.floor.shop
    shop.run("share", "--by", "kp")
    old = shop.json("doctor", status=1)["points"]
    (key,) = [one for one in old if one["point"] == "key"]
    assert key["says"] == "This key was taken out of shop.toml for kp: it signs nothing any more."
    assert "install --key FILE --by kp" in key["fix"]
    assert "shop.toml" not in key["fix"]
    assert "never one that was taken out" in " ".join(prove(rotated.floor, "kp", status=1).split())


def old_key(shop: SignedShop) -> str:
    """A proof on the floor after the change, signed with the key that was replaced."""
    keep(shop)
    prove(shop.floor, "kp")
    path = newest(shop.floor, "-proof-")
    seal(shop.floor, path, shop.keys["kp"], "kp")
    return path


def test_a_record_the_old_key_signs_after_the_change_is_refused_and_does_not_count(rotated):
    checkin(rotated, "Z-1.16", "Z-1.2", "np", "deeper")
    path, before = old_key(rotated), rotated.tip()
    done = rotated.floor.push("main")
    assert (done.returncode, f"signature-revoked: {path}" in done.stderr) == (1, True), done.stderr
    assert rotated.tip() == before
    assert row(rotated.floor)[0] == "unproven"
    assert "was taken out of shop.toml before it came in" in why(rotated.floor)
    assert problems(rotated.floor) == {("signature-revoked", path)}


def dated_back(shop: SignedShop, merged: bool) -> str:
    """A proof made today on the state before the change, with the old key and that state's date; its path."""
    floor = shop.floor
    then = datetime.fromisoformat(floor.git("log", "-1", "--format=%cI")).astimezone(UTC)
    prove(floor, "kp")
    path = newest(floor, "-proof-")
    text = re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(then)}"', floor.read(path))
    floor.write(path, text)
    (floor.folder / f"{path}.sig").write_bytes(signature(shop.keys["kp"], text.encode(), NAMESPACE))
    floor.git("add", "-A")
    floor.git("commit", "-q", "--amend", "--no-edit", "--reset-author", who="kp", at=then)
    floor.git("fetch", "-q", "origin")
    floor.git("merge" if merged else "rebase", "-q", "origin/main", who="kp")
    return path


@pytest.mark.parametrize("merged", [True, False])
def test_a_record_dated_back_and_signed_with_the_key_that_was_taken_out_is_refused(rotated, merged):
    path, before = dated_back(rotated, merged), rotated.tip()
    done = rotated.floor.push("main")
    assert (done.returncode, f"signature-revoked: {path}" in done.stderr) == (1, True), done.stderr
    assert rotated.tip() == before


def test_an_honest_record_that_comes_too_late_is_made_again_as_the_page_says(rotated):
    """Made and not shared before the change: nobody can tell it from one that is dated back."""
    floor = rotated.floor
    floor.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    prove(floor, "kp")
    path = newest(floor, "-proof-")
    text = floor.read(CALLED)
    floor.write(CALLED, text + "(EDIT)\n")
    assert f"signature-revoked: {path}" in floor.shop.run("share", "--by", "kp", status=1)
    floor.shop.run("hold", "4471/op10", "--by", "ss", "-m", "again")
    floor.shop.run("share", "--by", "kp", status=1)
    page = " ".join(floor.shop.run("explain", "push-refused").split())
    for command in ("git branch aside", "git status", "git reset --keep origin/main", "git branch -D aside"):
        assert command in page
        floor.git(*command.split()[1:])
    assert floor.read(CALLED) == text + "(EDIT)\n"
    floor.write(CALLED, text)
    keep(rotated)
    floor.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    prove(floor, "kp")
    floor.shop.run("share", "--by", "kp")
    assert rotated.tip() == floor.head
    assert floor.shop.rows()[0]["standing"] == "held"
    assert problems(floor) == set()


def test_who_is_of_quality_changes_the_own_key_and_releases_with_the_new_one(signed):
    proven(signed)
    released(signed)
    new = signed.new_key("dg")
    signed.change_shop(POLICY, "dg has a new key", dg=[line_of(new)])
    signed.office.shop.run("share", "--by", "dg")
    assert "[key-not-listed]" in released(signed, status=1)
    signed.office.shop.run("install", "--shared", "--key", str(new), "--by", "dg")
    assert "release 2 made by dg" in released(signed)
    assert "2 programs may run" in exported(signed)
    assert problems(signed.floor) == set()


def test_a_change_of_keys_signed_with_the_key_it_brings_is_refused(signed):
    new, before = signed.new_key("dg"), signed.tip()
    signed.change_shop(POLICY, "dg has a new key", dg=[line_of(new)])
    path = newest(signed.office, "-shop-")
    seal(signed.office, path, new, "dg")
    said = signed.office.shop.run("share", "--by", "dg", status=1)
    assert f"signature-unknown-key: {path}" in said
    assert signed.tip() == before


# -- a key taken out, because it was lost or stolen ------------------------------------------------------------------


def taken_out(shop: SignedShop) -> None:
    """kp has no key any more."""
    shop.office.shop.run("share", "--by", "dg")
    shop.change_shop(POLICY, "the key of kp is gone", kp=[])
    shop.office.shop.run("share", "--by", "dg")
    shop.floor.shop.run("share", "--by", "ss")


def test_what_a_lost_key_signed_stays_and_it_signs_nothing_more(signed):
    proven(signed)
    released(signed)
    taken_out(signed)
    assert "2 programs may run" in exported(signed)
    before = signed.floor.head
    words = ("ran", "4471/op10@r1", "--machine", "MILL2", "--by", "kp", "--lot", "L1")
    assert "[key-not-listed]" in signed.floor.shop.run(*words, status=1)
    assert signed.floor.head == before
    assert problems(signed.floor) == set()


def test_who_lost_the_key_can_still_stop(signed):
    proven(signed)
    released(signed)
    taken_out(signed)
    said = signed.floor.shop.run("hold", "4471/op10", "--by", "kp", "-m", "chatter")
    assert "unsigned: the key this PC has of kp does not stand in shop.toml" in " ".join(said.split())
    signed.floor.shop.run("share", "--by", "kp")
    signed.office.shop.run("share", "--by", "dg")
    assert row(signed.office) == ("held", 1, False)
    exported(signed, status=1)
    assert on_stick(signed) == []


def test_what_a_stolen_key_signed_before_is_struck_by_its_person_with_the_new_key(signed):
    """Nobody can tell it from honest work; until it is looked at a hold stops it."""
    proven(signed)  # by the thief
    proof = newest(signed.floor, "-proof-")
    taken_out(signed)
    assert row(signed.floor)[0] == "proven"
    signed.office.shop.run("hold", "4471/op10", "--by", "dg", "-m", "the key of kp was stolen")
    signed.office.shop.run("share", "--by", "dg")
    assert "not-released" in released(signed, status=1)
    signed.new = signed.new_key("kp")
    signed.change_shop(POLICY, "kp has a new key", kp=[line_of(signed.new)])
    signed.office.shop.run("share", "--by", "dg")
    keep(signed)
    signed.floor.shop.run("strike", proof, "--by", "kp", "-m", "not made by me", "--yes")
    signed.floor.shop.run("share", "--by", "kp")
    signed.office.shop.run("share", "--by", "dg")
    signed.office.shop.run("lift", "4471/op10", "--by", "dg", "-m", "struck")
    assert row(signed.office)[0] == "unproven"
    assert "not-released" in released(signed, status=1)


# -- a release whose tag was not made before the keys changed ----------------------------------------------------------


def without_tag(shop: SignedShop, monkeypatch) -> str:
    """Release 1 recorded by dg, whose tag could not be signed; sent. The path of the record."""
    proven(shop)
    real = ssh_keygen.sign

    def but_tags(key, texts, namespace, *, may_ask):
        if namespace == TAG_NAMESPACE:
            raise CouldNot("key-locked", "nothing was signed", fix="type it right")
        return real(key, texts, namespace, may_ask=may_ask)

    with monkeypatch.context() as locked:
        locked.setattr("tracker.store.signing.sign", but_tags)
        stays_here(shop, status=4)
    shop.office.shop.run("share", "--by", "dg")
    assert shop.office.git("tag") == ""
    return newest(shop.office, "")


def new_key_of_dg(shop: SignedShop, **others: list[str]) -> None:
    new = shop.new_key("dg")
    shop.change_shop(POLICY, "dg has a new key", dg=[line_of(new)], **others)
    shop.office.shop.run("share", "--by", "dg")
    shop.office.shop.run("install", "--shared", "--key", str(new), "--by", "dg")


def test_another_of_quality_makes_the_tag_that_was_left(signed, monkeypatch):
    without_tag(signed, monkeypatch)
    said = signed.office.shop.json("release", "4471", "--by", "qq", "--yes")
    assert (said["number"], said["taken_up"], said["by"]) == (1, True, "dg")
    assert "tagger Person qq <qq@shop.example>" in signed.office.git("cat-file", "tag", "release/4471/1")
    assert signed.tip("refs/tags/release/4471/1") == signed.office.git("rev-parse", "release/4471/1")
    assert "2 programs may run" in exported(signed)
    assert problems(signed.floor) == set()
    new_key_of_dg(signed, qq=[])
    into_an_empty_server(signed)


def test_after_a_change_of_keys_whose_key_is_listed_still_makes_it_and_the_others_are_told(
    signed, monkeypatch
):
    without_tag(signed, monkeypatch)
    new_key_of_dg(signed)
    before = signed.office.head, signed.tip()
    got, out, _ = signed.office.shop.call("release", "4471", "--by", "dg", "--yes", "--json")
    error = json.loads(out)["error"]
    assert (got, error["name"]) == (1, "waits-for-its-tag")
    assert "qq makes it: proveout release 4471 --by qq" in error["fix"]
    assert (signed.office.head, signed.tip()) == before
    assert signed.office.shop.json("release", "4471", "--by", "qq", "--yes")["taken_up"] is True
    assert "2 programs may run" in exported(signed)


def test_where_nobody_can_make_it_any_more_the_next_number_is_taken(signed, monkeypatch):
    path = without_tag(signed, monkeypatch)
    new_key_of_dg(signed, qq=[])
    said = signed.office.shop.json("release", "4471", "--by", "dg", "--yes")
    assert (said["number"], said["taken_up"]) == (2, False)
    assert signed.tip("refs/tags/release/4471/2") == signed.office.git("rev-parse", "release/4471/2")
    assert "2 programs may run" in exported(signed)
    assert problems(signed.floor) == {("missing-tag", path)}
    into_an_empty_server(signed)


def test_a_number_is_not_passed_over_while_somebody_can_make_its_tag(signed, monkeypatch):
    without_tag(signed, monkeypatch)
    new_key_of_dg(signed)
    with monkeypatch.context() as careless:
        careless.setattr("tracker.services.release.who_can_tag", lambda *_: ())
        said = signed.office.shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "leaves a gap: there is no release 1" in said
