"""A shop that asks for signatures, from an empty folder to the programs on a stick, through a server that guards."""

import csv

from tests.fakes.shop_folder import PROGRAM
from tests.server.signed_shop import (
    REQUIRED,
    ROLES,
    SignedShop,
    checkin,
    exported,
    line_of,
    problems,
    prove,
    proven,
    released,
    row,
    why,
)
from tests.store.keys import allowed, keygen_verifies
from tracker.records.places import is_record
from tracker.records.signatures import NAMESPACE, signature_path


def test_from_an_empty_folder_to_the_stick(signed):
    office, floor = signed.office.shop, signed.floor.shop
    proven(signed)
    assert "release 1 made by dg" in released(signed)
    assert "2 programs may run" in exported(signed)
    checkin(signed, "M8", "M7", "np", "mist")
    assert row(signed.office)[0] == "unproven"
    office.run("review", "4471/op10", "--by", "dg", "-m", "mist only", "--yes")
    assert "release 2 made by dg" in released(signed)
    assert "4471/op10 r2" in exported(signed)
    checkin(signed, "Z-1.16", "Z-1.2", "bb", "deeper")
    floor.run("share", "--by", "ss")
    floor.run("install", "--shared", "--key", str(signed.keys["bb"]), "--by", "bb")
    prove(signed.floor, "bb")
    assert "second person owed" in why(signed.floor)
    words = ("countersign", "4471/op10", "--machine", "MILL2", "--by", "kp", "-m", "watched", "--yes")
    floor.run(*words)
    floor.run("share", "--by", "kp")
    assert "release 3 made by dg" in released(signed)
    assert "4471/op10 r3" in exported(signed)
    floor.run("share", "--by", "ss")
    assert row(signed.floor) == ("proven", 3, True)
    floor.run("identify", str(signed.stick() / "MILL2/O1001.NC"), "--machine", "MILL2")
    office.run("share", "--by", "dg")
    assert problems(signed.office) == problems(signed.floor) == set()
    assert_others_verify_it_all(signed)


def assert_others_verify_it_all(shop: SignedShop) -> None:
    """What the server holds, verified by ssh-keygen and by git, each record for who put it down."""
    rows = [f'{who} namespaces="{NAMESPACE},git" {line_of(shop.keys[who])}' for who in ROLES if who != "nk"]
    signers = allowed(shop.place, *rows)
    git = shop.office.git
    paths = git("ls-tree", "-r", "--name-only", "main", folder=shop.server).splitlines()
    records = [path for path in paths if is_record(path) and "-shop-" not in path]
    assert len(records) >= 12, records
    for path in records:
        data, seal = ((shop.office.folder / one).read_bytes() for one in (path, signature_path(path)))
        by = data.decode().split('\nby = "')[1][:2]
        assert keygen_verifies(signers, by, NAMESPACE, data, seal), path
        assert not keygen_verifies(signers, "np" if by != "np" else "dg", NAMESPACE, data, seal), path
    for number in (1, 2, 3):
        words = ("-c", f"gpg.ssh.allowedSignersFile={signers}", "verify-tag", f"release/4471/{number}")
        git(*words, folder=shop.server)


def test_a_plan_with_paper_of_somebody_whose_key_is_not_here_takes_nothing_in(signed):
    office = signed.office
    signed.change_shop(f"{REQUIRED}\nprior_until = 2099-01-01", "paper is taken in")
    office.shop.put("old/O7001.NC", office.read(PROGRAM).replace("O1001", "O7001"))
    office.shop.run("adopt", "old", "--plan", "plan.csv", "--by", "np")
    path = office.folder / "plan.csv"
    (plan,) = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())
    plan |= {"take": "yes", "job": "7001", "machine": "MILL2", "prior_by": "kp", "prior_evidence": "card 77"}
    path.write_text(f"{','.join(plan)}\n{','.join(plan.values())}\n", encoding="utf-8")
    before, words = office.head, ("adopt", "--apply", "plan.csv", "-m", "taken over", "--by", "np")
    error = office.shop.json(*words, status=1)["error"]
    assert (error["name"], office.head) == ("no-signing-key", before)
    assert not (office.folder / "jobs/7001").exists()
    assert "kp enters the paper" in " ".join(error["reasons"])
    office.shop.run("install", "--shared", "--key", str(signed.keys["kp"]), "--by", "kp")
    assert office.shop.json(*words)["on_paper"] == ["7001/op10"]
    office.shop.run("share", "--by", "np")
    assert problems(office) == set()
