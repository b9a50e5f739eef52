"""Signatures turned from optional to required midway, and back: everything counts by the shop.toml it came in behind."""

from tests.server.signed_shop import (
    OPTIONAL,
    REQUIRED,
    STRANGER,
    SignedShop,
    anew,
    checkin,
    exported,
    into_an_empty_server,
    keep_keys,
    newest,
    on_stick,
    problems,
    prove,
    proven,
    released,
    row,
    side_door,
    sign_tag,
    stays_here,
    why,
)

POLICY = f"{REQUIRED}\ntwo_person = true"


def turned(shop: SignedShop) -> None:
    """Everybody's key on their PC, then signatures are asked for, in a change by itself."""
    keep_keys(shop)
    shop.office.shop.run("share", "--by", "dg")
    shop.change_shop(POLICY, "everybody signs")
    shop.office.shop.run("share", "--by", "dg")
    shop.floor.shop.run("share", "--by", "ss")


def verdicts(shop: SignedShop) -> dict[str, tuple[str, str]]:
    rows = shop.office.shop.json("audit", "--list", "signatures")["rows"]
    return {one["event"]: (one["verdict"], one["asked for"]) for one in rows}


def test_what_came_in_unsigned_goes_on_counting_and_being_let_out(unsigned):
    proven(unsigned)
    released(unsigned)
    assert "2 programs may run" in exported(unsigned)
    unsigned.floor.shop.run("share", "--by", "ss")
    turned(unsigned)
    for world in (unsigned.office, unsigned.floor):
        assert row(world) == ("proven", 1, True)
    assert "2 programs may run" in exported(unsigned)
    unsigned.floor.shop.run("share", "--by", "ss")
    unsigned.floor.shop.run("identify", str(unsigned.stick() / "MILL2/O1001.NC"), "--machine", "MILL2")
    unsigned.office.shop.run("share", "--by", "dg")
    assert problems(unsigned.office) == problems(unsigned.floor) == set()
    found = verdicts(unsigned)
    assert found["revision"] == found["proof"] == found["release"] == ("unsigned", "no")
    assert (found["shop"], found["export"]) == (("good", "no"), ("good", "yes"))
    into_an_empty_server(unsigned)


def test_a_signed_release_may_rest_on_what_came_in_unsigned_before(unsigned):
    proven(unsigned)
    turned(unsigned)
    assert "release 1 made by dg" in released(unsigned)
    assert "2 programs may run" in exported(unsigned)
    assert problems(unsigned.floor) == set()


def test_what_comes_in_after_must_be_signed(unsigned):
    proven(unsigned)
    turned(unsigned)
    checkin(unsigned, "Z-1.16", "Z-1.2", "np", "deeper")
    unsigned.floor.shop.run("share", "--by", "kp")
    unsigned.floor.git("config", "--unset", "proveout.kp.key")
    assert "[no-signing-key]" in prove(unsigned.floor, "kp", status=1)
    unsigned.floor.shop.run("install", "--shared", "--key", str(unsigned.keys["kp"]), "--by", "kp")
    prove(unsigned.floor, "kp")
    path = newest(unsigned.floor, "-proof-")
    honest = unsigned.floor.head
    (unsigned.floor.folder / f"{path}.sig").unlink()
    anew(unsigned.floor, "kp")
    done = unsigned.floor.push("main")
    assert (done.returncode, f"unsigned-record: {path}" in done.stderr) == (1, True), done.stderr
    assert row(unsigned.floor)[0] == "unproven"
    unsigned.floor.git("reset", "-q", "--hard", honest)
    unsigned.floor.shop.run("share", "--by", "kp")
    assert "release 1 made by dg" in released(unsigned)
    assert "4471/op10 r2" in exported(unsigned)


def test_what_was_made_before_and_comes_too_late_is_made_again_as_the_page_says(unsigned):
    """Made unsigned on the state before, pushed after: nobody can tell when it was made."""
    floor = unsigned.floor
    prove(floor, "kp")
    path = newest(floor, "-proof-")
    keep_keys(unsigned)
    unsigned.change_shop(POLICY, "everybody signs")
    unsigned.office.shop.run("share", "--by", "dg")
    before = unsigned.tip()
    assert f"unsigned-record: {path}" in floor.shop.run("share", "--by", "kp", status=1)
    assert unsigned.tip() == before
    for words in (("branch", "aside"), ("reset", "--keep", "origin/main")):
        floor.git(*words)
    prove(floor, "kp")
    floor.git("branch", "-D", "aside")
    floor.shop.run("share", "--by", "kp")
    assert unsigned.tip() == floor.head
    assert "release 1 made by dg" in released(unsigned)
    assert "2 programs may run" in exported(unsigned)


def test_a_release_left_without_its_tag_before_is_tagged_and_signed_after(unsigned):
    """Nobody had a key when it was recorded."""
    proven(unsigned)
    unsigned.office.shop.run("share", "--by", "dg")
    bare = {who: [] for who in unsigned.keys}
    unsigned.change_shop(f"{OPTIONAL}\ntwo_person = true", "no keys yet", **bare)
    unsigned.office.shop.run("share", "--by", "dg")
    stays_here(unsigned)
    unsigned.office.git("tag", "-d", "release/4471/1")
    unsigned.office.shop.run("share", "--by", "dg")
    unsigned.change_shop(f"{OPTIONAL}\ntwo_person = true", "everybody has a key")
    unsigned.office.shop.run("share", "--by", "dg")
    turned(unsigned)
    said = unsigned.office.shop.json("release", "4471", "--by", "dg", "--yes")
    assert (said["number"], said["taken_up"]) == (1, True)
    assert "BEGIN SSH SIGNATURE" in unsigned.office.git("cat-file", "tag", "release/4471/1")
    assert unsigned.tip("refs/tags/release/4471/1") == unsigned.office.git("rev-parse", "release/4471/1")
    assert "2 programs may run" in exported(unsigned)
    assert problems(unsigned.floor) == set()
    into_an_empty_server(unsigned)


def test_into_an_empty_server_comes_no_tag_under_a_key_nobody_has_or_had(unsigned):
    proven(unsigned)
    stays_here(unsigned)
    sign_tag(unsigned.office, unsigned.keys[STRANGER])
    done = into_an_empty_server(unsigned, status=1)
    assert "signature-unknown-key: refs/tags/release/4471/1" in done


def test_turned_back_what_came_in_unsigned_meanwhile_does_not_come_to_count(unsigned):
    turned(unsigned)
    prove(unsigned.floor, "kp")
    path = newest(unsigned.floor, "-proof-")
    (unsigned.floor.folder / f"{path}.sig").unlink()
    anew(unsigned.floor, "kp")
    side_door(unsigned, unsigned.floor, "main")
    unsigned.office.shop.run("share", "--by", "dg")
    unsigned.change_shop(f"{OPTIONAL}\ntwo_person = true", "nobody needs to sign")
    unsigned.office.shop.run("share", "--by", "dg")
    assert "is not signed" in why(unsigned.office)
    assert "not-released" in released(unsigned, status=1)
    exported(unsigned, status=1)
    assert on_stick(unsigned) == []
    unsigned.floor.git("config", "--unset", "proveout.ss.key")
    prove(unsigned.floor, "ss")
    unsigned.floor.shop.run("share", "--by", "ss")
    assert "release 1 made by dg" in released(unsigned)
    assert "2 programs may run" in exported(unsigned)
    assert problems(unsigned.floor) == {("unsigned-record", path)}


def test_turned_back_by_who_may_not_or_unsigned_it_stays(unsigned):
    turned(unsigned)
    before = unsigned.tip()
    unsigned.change_shop(f"{OPTIONAL}\ntwo_person = true", "nobody needs to sign")
    path = newest(unsigned.office, "-shop-")
    (unsigned.office.folder / f"{path}.sig").unlink()
    anew(unsigned.office, "dg")
    done = unsigned.office.push("main")
    assert (done.returncode, f"unsigned-record: {path}" in done.stderr) == (1, True), done.stderr
    anew(unsigned.office, "np")
    done = unsigned.office.push("main")
    assert (done.returncode, "shop-no-authority" in done.stderr) == (1, True), done.stderr
    assert unsigned.tip() == before
