"""A server lets nothing through for what lies below its git directory: an index and notes there are looked at by nobody.

Before each push of an attack all of it is written into the server's repository, rightly sealed, and says of exactly
what is pushed that all is well (`tests.fakes.lying_index`).
"""

import json

import pytest

from tests.fakes import lying_index
from tests.fakes.shop_folder import PROGRAM
from tests.server.attacks import ATTACKS
from tests.server.test_attacks import SCENES
from tests.server.world import World
from tracker.store.kept import Kept
from tracker.wiring import open_view

WANTED = (
    # what records say
    "record edited",
    "record deleted",
    "evidence of another job",
    "evidence for another text",
    "evidence for no revision",
    "revision of another text",
    "in another's name",
    "without the role",
    "newer format",
    # which text stands, and what was found in it
    "release without evidence",
    "release on an unproven edit",
    "release aside in two pushes",
    "release of nothing",
    "old rules named",
    # signatures
    "unsigned record",
    "unsigned release",
    "another's key",
    "stranger's key",
    "key taken out",
    "signature of another record",
    "signatures swapped",
    "record edited before the push",
    "signed record again",
)


class LyingWorld(World):
    """The same world, whose server is lied to before each push."""

    lies = 0
    told = b""

    def push(self, *words):
        lying_index.tell_all(self.server, self.folder)
        self.lies += 1
        self.told = (self.server / "proveout" / "index.db").read_bytes()
        return super().push(*words)


@pytest.fixture
def lying(world):
    world.__class__ = LyingWorld
    return world


@pytest.mark.parametrize(
    "attack", [one for one in ATTACKS if one.name in WANTED], ids=lambda attack: attack.name
)
def test_what_is_refused_is_refused_whatever_an_index_says(lying, attack):
    done = SCENES[attack.name](lying)
    said = done.stderr.replace("remote: ", "")
    assert done.returncode != 0, said
    lines = [line.strip() for line in said.splitlines()]
    naming = [
        one for one in lines if one.startswith(f"- {attack.rule}: ") or one.endswith(f"[{attack.rule}]")
    ]
    assert any(attack.says in one for one in naming), said
    assert lying.lies >= 1
    assert (lying.server / "proveout" / "index.db").read_bytes() == lying.told


def test_every_attack_named_here_is_in_the_table():
    assert set(WANTED) <= {attack.name for attack in ATTACKS}


def test_who_looked_at_it_would_be_deceived(world):
    """So that what is held above could fail: the same lies in the clone, and a verb that shows."""
    world.shop.run(
        *("prove", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--reject", "--cause", "program"),
        *("--answers", world.shop.answers(), "--yes"),
    )
    assert world.shop.rows()[0]["standing"] == "rejected"
    world.shop.run("history", "4471")
    lying_index.tell_all(world.folder / ".git", world.folder)
    events = [one.record for one in open_view(str(world.folder)).repo.ledger().records]
    assert {one.result for one in events if one.EVENT == "proof"} == {"accepted"}


def test_lies_against_honest_work_stop_none_of_it(world):
    """The index of the server calls every record damaged, rejected and another job's."""
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.release()
    told = lying_index.mappings(world.folder)
    kept = Kept(world.server)
    kept.put("record", {blob: json.dumps(["0" * 64, {"format": 99}]).encode() for blob, _ in told.values()})
    kept.put("jobs", {"all": json.dumps({blob: "nobody's" for blob, _ in told.values()}).encode()})
    kept.put("walk", {"last": b'{"tips":[],"commits":[],"changes":[]}'})
    kept.close()
    false = (world.server / "proveout" / "index.db").read_bytes()
    done = world.push("--atomic", "main", "release/4471/2")
    assert done.returncode == 0, done.stderr
    assert (world.server / "proveout" / "index.db").read_bytes() == false
