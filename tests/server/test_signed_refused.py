"""What is not signed as it must be, in a shop that asks for it: at the server, at a release, at an export, on the screens.

At the server each kind of record is pushed by plain git with every wrong signature first and with its own at last, so that
nothing but the signature can have been refused.
"""

from collections.abc import Callable

import pytest

from tests.fakes.shop_folder import PROGRAM
from tests.server.signed_shop import (
    RELEASE,
    STRANGER,
    SignedShop,
    anew,
    exported,
    newest,
    on_stick,
    problems,
    prove,
    proven,
    put_tag,
    released,
    row,
    seal,
    side_door,
    sign_tag,
    stays_here,
    tag_text,
    why,
)
from tests.server.world import World


def _proof(shop: SignedShop) -> tuple[World, str]:
    prove(shop.floor, "kp")
    return shop.floor, "kp"


def _revision(shop: SignedShop) -> tuple[World, str]:
    shop.office.shop.put(PROGRAM, shop.office.read(PROGRAM).replace("M8", "M7"))
    shop.office.shop.run("checkin", "4471", "-m", "mist", "--by", "np")
    return shop.office, "np"


def _review(shop: SignedShop) -> tuple[World, str]:
    _revision(shop)
    shop.office.shop.run("share", "--by", "np")
    shop.office.shop.run("review", "4471/op10", "--by", "dg", "-m", "mist only", "--yes")
    return shop.office, "dg"


def _countersign(shop: SignedShop) -> tuple[World, str]:
    proven(shop)
    words = ("--machine", "MILL2", "--by", "ss", "-m", "watched", "--yes")
    shop.floor.shop.run("countersign", "4471/op10", *words)
    return shop.floor, "ss"


def _ran(shop: SignedShop) -> tuple[World, str]:
    proven(shop)
    shop.floor.shop.run("ran", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--lot", "L1")
    return shop.floor, "ss"


def _measured(shop: SignedShop) -> tuple[World, str]:
    prove(shop.floor, "kp", piece="waiting")
    shop.floor.shop.run("share", "--by", "kp")
    shop.floor.shop.run("measured", "4471", "--machine", "MILL2", "--report", "77", "--accept", "--by", "ss")
    return shop.floor, "ss"


def _export(shop: SignedShop) -> tuple[World, str]:
    proven(shop)
    released(shop)
    exported(shop)
    return shop.floor, "ss"


def _lift(shop: SignedShop) -> tuple[World, str]:
    shop.office.shop.run("hold", "4471/op10", "--by", "np", "-m", "chatter")
    shop.office.shop.run("share", "--by", "np")
    shop.office.shop.run("lift", "4471/op10", "--by", "dg", "-m", "looked at")
    return shop.office, "dg"


def _strike(shop: SignedShop) -> tuple[World, str]:
    proven(shop)
    record = newest(shop.floor, "-proof-")
    shop.floor.shop.run("strike", record, "--by", "kp", "-m", "the wrong form", "--yes")
    return shop.floor, "kp"


KINDS: dict[str, Callable[[SignedShop], tuple[World, str]]] = {
    "proof": _proof,
    "revision": _revision,
    "review": _review,
    "countersign": _countersign,
    "ran": _ran,
    "measured": _measured,
    "export": _export,
    "lift": _lift,
    "strike": _strike,
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_server_takes_a_record_only_with_its_own_signature(signed, kind):
    world, by = KINDS[kind](signed)
    path, before = newest(world, ""), signed.tip()
    honest = world.head
    other = next(who for who in ("np", "ss") if who != by)
    old = world.read("jobs/4471/records/op10/" + first_revision(world) + ".sig")
    for wrong, rule in (
        (lambda: seal(world, path, signed.keys[other], by), f"signature-not-his-key: {path}"),
        (lambda: seal(world, path, signed.keys[STRANGER], by), f"signature-unknown-key: {path}"),
        (lambda: (world.write(f"{path}.sig", old), anew(world, by)), f"signature-broken: {path}"),
        (lambda: ((world.folder / f"{path}.sig").unlink(), anew(world, by)), f"unsigned-record: {path}"),
    ):
        wrong()
        done = world.push("main")
        assert (done.returncode, rule in done.stderr) == (1, True), done.stderr
        assert signed.tip() == before
    world.git("reset", "-q", "--hard", honest)
    done = world.push("main")
    assert done.returncode == 0, done.stderr


def first_revision(world: World) -> str:
    (path,) = (world.folder / "jobs/4471/records/op10").glob("r0001-????????.toml")
    return path.name


def no_seal(world: World, path: str, shop: SignedShop) -> None:
    (world.folder / f"{path}.sig").unlink()
    anew(world, "kp")


def anothers(world: World, path: str, shop: SignedShop) -> None:
    seal(world, path, shop.keys["ss"], "kp")


def replayed(world: World, path: str, shop: SignedShop) -> None:
    world.write(f"{path}.sig", world.read("jobs/4471/records/op10/" + first_revision(world) + ".sig"))
    anew(world, "kp")


WRONG = [
    (no_seal, "is not signed", "unsigned-record"),
    (anothers, "is signed by ss (key", "signature-not-his-key"),
    (replayed, "has a signature that", "signature-broken"),
]


def lets_nothing_out(shop: SignedShop, released: int | None = None) -> str:
    """Nothing may run on the floor, nothing comes onto the stick; what the export said."""
    said = exported(shop, status=1)
    assert on_stick(shop) == []
    assert row(shop.floor)[1:] == (released, False)
    assert shop.floor.shop.rows("--may-run") == []
    assert shop.floor.shop.call("identify", str(shop.floor.folder / PROGRAM), "--machine", "MILL2")[0] == 1
    return said


@pytest.mark.parametrize(("wrong", "words", "rule"), WRONG)
def test_a_proof_that_came_in_by_a_side_door_counts_nowhere(signed, wrong, words, rule):
    prove(signed.floor, "kp")
    path = newest(signed.floor, "-proof-")
    wrong(signed.floor, path, signed)
    side_door(signed, signed.floor, "main")
    refused = released(signed, status=1)
    assert ("the proof by kp" in refused, words in refused) == (True, True), refused
    for world in (signed.office, signed.floor):
        assert row(world)[0] == "unproven"
        assert words in why(world)
        assert (rule, path) in problems(world)
    assert signed.office.git("tag") == ""
    lets_nothing_out(signed)
    prove(signed.floor, "kp")
    signed.floor.shop.run("share", "--by", "kp")
    released(signed)
    assert "2 programs may run" in exported(signed)


def record_anew(shop: SignedShop, seal_it: Callable[[str], None]) -> None:
    """Release 1 made in the office and not sent; its record's signature meddled with, its tag made again on the new commit."""
    office = shop.office
    text = tag_text(office)
    old = office.head
    seal_it(newest(office, ""))
    put_tag(office, text.replace(old, office.head), shop.keys["dg"])


def _tag_unsigned(shop: SignedShop) -> None:
    put_tag(shop.office, tag_text(shop.office))


def _tag_of_another(shop: SignedShop) -> None:
    sign_tag(shop.office, shop.keys["np"])


def _tag_of_a_stranger(shop: SignedShop) -> None:
    sign_tag(shop.office, shop.keys[STRANGER])


def _tag_with_an_older_seal(shop: SignedShop) -> None:
    put_tag(shop.office, tag_text(shop.office), shop.keys["dg"], b"tag release/4470/1\n")


def _record_unsigned(shop: SignedShop) -> None:
    office = shop.office
    record_anew(shop, lambda path: ((office.folder / f"{path}.sig").unlink(), anew(office, "dg")))


def _record_of_another(shop: SignedShop) -> None:
    record_anew(shop, lambda path: seal(shop.office, path, shop.keys["np"], "dg"))


RELEASES = [
    (_tag_unsigned, "unsigned-record", "the tag is not signed"),
    (_tag_of_another, "signature-not-his-key", "the tag is signed by np"),
    (_tag_of_a_stranger, "signature-unknown-key", "which nobody has in the shop.toml before it"),
    (_tag_with_an_older_seal, "signature-broken", "the tag has a signature that"),
    (_record_unsigned, "unsigned-record", "is not signed, and records must be signed (by dg)"),
    (_record_of_another, "signature-not-his-key", "is signed by np"),
]


@pytest.mark.parametrize(("wrong", "rule", "words"), RELEASES)
def test_a_release_not_signed_as_it_must_be_does_not_come_in_and_past_the_server_lets_nothing_out(
    signed, wrong, rule, words
):
    proven(signed)
    stays_here(signed)
    wrong(signed)
    before = signed.tip()
    done = signed.office.push("--atomic", "main", RELEASE.format(1))
    assert (done.returncode, rule in done.stderr) == (1, True), done.stderr
    assert signed.tip() == before
    side_door(signed, signed.office, "main", RELEASE.format(1))
    said = lets_nothing_out(signed)
    assert words in said
    assert {"release-not-derived"} <= {name for name, _ in problems(signed.floor)}


def test_a_well_signed_release_on_a_proof_nobody_signed_lets_nothing_out(signed, monkeypatch):
    """By a copy of this program that asks for nothing, in the hands of who may release."""
    prove(signed.floor, "kp")
    no_seal(signed.floor, newest(signed.floor, "-proof-"), signed)
    side_door(signed, signed.floor, "main")
    with monkeypatch.context() as careless:
        careless.setattr("tracker.policy.book.not_counting", lambda *_: {})
        stays_here(signed)
    done = signed.office.push("--atomic", "main", RELEASE.format(1))
    assert (done.returncode, "release-gate" in done.stderr) == (1, True), done.stderr
    assert "is not signed, and the shop asks for signatures" in done.stderr
    side_door(signed, signed.office, "main", RELEASE.format(1))
    assert "is not signed" in lets_nothing_out(signed)


def test_a_well_signed_release_comes_in_and_lets_its_programs_out(signed):
    """The tests above go wrong by their signatures alone."""
    proven(signed)
    stays_here(signed)
    record_anew(signed, lambda path: seal(signed.office, path, signed.keys["dg"], "dg"))
    done = signed.office.push("--atomic", "main", RELEASE.format(1))
    assert done.returncode == 0, done.stderr
    assert "2 programs may run" in exported(signed)
    assert row(signed.floor) == ("proven", 1, True)
