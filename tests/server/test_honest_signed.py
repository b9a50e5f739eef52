"""Honest signed work comes in, is judged good by an audit, and what came past a gate is told by it."""

import json
import subprocess
import time
from datetime import timedelta

import pytest

from tests.fakes.shop_folder import PROGRAM
from tests.server.scenes_signed import (
    FOLDER,
    change_shop,
    hold,
    lift_unsigned,
    must,
    ran,
    seal,
    signing,
    unsigned,
    with_the_old_key,
)
from tests.server.world import stamp
from tests.store.keys import line_of


@pytest.fixture(autouse=True)
def _keygen(outside_program):
    outside_program("ssh-keygen")


def problems(world):
    got, out, err = world.shop.call("audit", "--json")
    assert got in (0, 1), out + err
    return {(one["problem"], one["where"]) for one in json.loads(out)["problems"]}


def test_a_signed_release_comes_in_and_audit_finds_nothing(world):
    signing(world)
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    hold(world)
    must(world.push("main"))
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "looked at")
    world.shop.run("release", "4471", "--by", "dg", "--yes")
    must(world.push("--atomic", "main", "release/4471/2"))
    assert problems(world) == set()


def test_what_came_in_unsigned_before_it_was_required_counts_as_it_did(world):
    signing(world)
    assert problems(world) == set()
    (row,) = world.shop.rows()
    assert (row["standing"], row["released"]) == ("proven", 1)


def test_a_person_changes_the_key_and_what_the_old_one_signed_stays_good(world):
    signing(world)
    hold(world)
    must(world.push("main"))
    text = world.read("shop.toml").replace(line_of(world.keys["ss"]), line_of(world.keys["zz"]))
    change_shop(world, text)
    must(world.push("main"))
    world.git("config", "proveout.ss.key", str(world.keys["zz"]))
    hold(world, "again")
    must(world.push("main"))
    assert problems(world) == set()


def test_the_whole_signed_history_comes_into_an_empty_server(world):
    signing(world)
    hold(world)
    bare = world.place / "empty.git"
    world.git("init", "-q", "--bare", "-b", "main", str(bare), folder=world.place)
    world.shop.run("install", "--server", str(bare))
    world.git("remote", "set-url", "origin", str(bare))
    must(world.push("--atomic", "main", "release/4471/1"))


@pytest.mark.parametrize(
    ("how", "problem"),
    [
        (lambda world: seal(world, hold(world), "zz"), "signature-unknown-key"),
        (lambda world: seal(world, hold(world), "np"), "signature-not-his-key"),
        (lambda world: seal(world, hold(world), "ss", "file"), "signature-broken"),
    ],
)
def test_audit_tells_what_came_past_the_gate(world, how, problem):
    signing(world)
    how(world)
    path = world.record(f"{FOLDER}/*-hold-*.toml")
    assert problems(world) == {(problem, path)}


def test_audit_tells_an_unsigned_lift(world):
    signing(world)
    path = lift_unsigned(world)
    assert problems(world) == {("unsigned-record", path)}


def test_a_hold_nobody_signed_comes_in_and_holds(world):
    signing(world)
    hold(world, signed=False)
    must(world.push("main"))
    (row,) = world.shop.rows()
    assert row["standing"] == "held"
    assert problems(world) == set()


def test_a_hold_of_a_person_without_a_key_is_recorded_and_comes_in(world):
    signing(world)
    world.git("config", "--unset", "proveout.ss.key")
    said = world.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    assert "unsigned: this PC has no key of ss" in said
    must(world.push("main"))
    (row,) = world.shop.rows()
    assert row["standing"] == "held"


def prove(world, *said):
    """A prove-out put down, its signature taken away."""
    words = ("prove", "4471/op10", "--machine", "MILL2", "--by", "ss", *said)
    before = set(world.folder.glob(f"{FOLDER}/*-proof-*.toml"))
    world.shop.run(*words, "--answers", world.shop.answers(), "--yes")
    (path,) = set(world.folder.glob(f"{FOLDER}/*-proof-*.toml")) - before
    unsigned(world, path.relative_to(world.folder).as_posix())


def test_a_rejection_nobody_signed_comes_in_and_an_acceptance_does_not(world):
    signing(world)
    prove(world, "--reject", "--cause", "program")
    must(world.push("main"))
    (row,) = world.shop.rows()
    assert row["standing"] == "rejected"
    prove(world, "--accept", "--first-piece", "report 2")
    done = world.push("main")
    assert (done.returncode, "unsigned-record" in done.stderr) == (1, True), done.stderr


def test_audit_tells_a_key_that_was_taken_out(world):
    signing(world)
    change_shop(world, world.read("shop.toml").replace(line_of(world.keys["ss"]), line_of(world.keys["zz"])))
    world.git("config", "proveout.ss.key", str(world.keys["zz"]))
    seal(world, ran(world), "ss")
    assert {name for name, _ in problems(world)} == {"signature-revoked"}


def test_a_hold_signed_before_its_key_was_replaced_comes_in_late_and_holds(world):
    """Without a signature it would come in too: what stops use is not sent back for a key that was good when it was made."""
    signing(world)
    _, tip = with_the_old_key(world)
    path = hold(world)
    world.git("merge", "-q", "--no-edit", tip)
    must(world.push("HEAD:main"))
    (row,) = world.shop.rows()
    assert row["standing"] == "held"
    assert problems(world) == set()
    signatures = world.shop.run("audit", "--list", "signatures", "--json")
    (listed,) = [one for one in json.loads(signatures)["rows"] if one["record"] == path]
    assert {"good", "no, it stops"} <= set(listed.values())  # good by the state it was made on


@pytest.mark.slow
def test_five_hundred_signed_commits(world, record_property):
    signing(world)
    text = world.read(hold(world))
    world.git("reset", "-q", "--hard", "HEAD~1")
    start = world.now() - timedelta(seconds=590)
    old = text.split('entered = "')[1].split('"')[0]
    paths = []
    for number in range(500):
        moment = start + timedelta(seconds=number)
        path = f"{FOLDER}/{moment:%Y%m%dT%H%M%SZ}-hold-ss.toml"
        world.write(path, text.replace(old, stamp(moment)).replace("chatter", f"chatter {number}"))
        paths.append((path, moment))
    files = [str(world.folder / path) for path, _ in paths]
    sign = ["ssh-keygen", "-Y", "sign", "-q", "-n", "proof@proveout", "-f", str(world.keys["ss"]), *files]
    subprocess.run(sign, check=True, capture_output=True)
    for path, moment in paths:
        world.git("add", path, f"{path}.sig")
        world.git("commit", "-q", "-m", "hold", who="ss", authored=moment, at=world.now())
    began = time.monotonic()
    must(world.push("main"))
    seconds = time.monotonic() - began
    record_property("seconds", seconds)
    print(f"push of 500 signed commits: {seconds:.1f} s")
