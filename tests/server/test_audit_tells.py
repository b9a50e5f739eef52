"""What came past the gate is told by an audit, under the name the server refuses it by: one code path for both.

The server's hook is taken off, so that every scene comes in; then the shop's own clone is audited.
"""

import json

import pytest

from tests.server.attacks import ATTACKS
from tests.server.scenes import SCENES as PLAIN_SCENES
from tests.server.scenes_before import BEFORE_SCENES
from tests.server.scenes_more import MORE_SCENES
from tracker.services.audit_commits import PUSH_ONLY

SCENES = PLAIN_SCENES | BEFORE_SCENES | MORE_SCENES
OF_COMMITS = {
    "record-changed",
    "record-deleted",
    "record-in-merge",
    "record-misplaced",
    "record-copied",
    "evidence-missing",
    "text-not-recorded",
    "wrong-digits",
    "unreadable-record",
    "date-forged",
    "time-goes-back",
    "not-its-author",
    "no-authority",
    "shop-no-authority",
    "after-leaving",
    "merged-text",
    "merged-shop",
    "link",
    "bad-name",
    "bytes-altered",
    "before-forged",
    "before-record",
    "founded-twice",
}
# those of signed records need a world of keys, which is not made here
HERE = [attack for attack in ATTACKS if attack.name in SCENES]
# told of one push as a whole: each of its commits is as a shop may have it
ONLY_TOGETHER = {"authority taken in two commits"}
TOLD = [attack for attack in HERE if attack.rule in OF_COMMITS and attack.name not in ONLY_TOGETHER] + [
    attack for attack in HERE if attack.name == "key slipped in"
]


def audited(world, capsys):
    with world.monkeypatch.context() as patch:
        patch.delenv("PROVEOUT_NOW", raising=False)
        from tracker.cli.entry import main

        status = main(["-C", str(world.folder), "audit", "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_as_many_families_as_the_server_has():
    assert len(TOLD) >= 25
    assert not PUSH_ONLY & OF_COMMITS


@pytest.mark.parametrize("attack", TOLD, ids=lambda attack: attack.name)
def test_an_audit_tells_what_came_past_the_gate(world, capsys, attack):
    (world.server / "hooks" / "pre-receive").unlink()
    assert SCENES[attack.name](world).returncode == 0
    capsys.readouterr()
    status, said = audited(world, capsys)
    assert status == 1
    assert attack.rule in {problem["problem"] for problem in said["problems"]}


def test_an_honest_shop_has_none(world, capsys):
    status, said = audited(world, capsys)
    assert (status, said["problems"]) == (0, [])


def test_what_was_found_is_told_again_beside_a_new_commit(world, capsys):
    (world.server / "hooks" / "pre-receive").unlink()
    SCENES["record edited and put back"](world)
    first = audited(world, capsys)[1]["problems"]
    world.write("note.txt", "x")
    world.commit(who="np")
    assert first
    assert audited(world, capsys)[1]["problems"] == first


def test_what_a_branch_that_is_gone_held_is_not_told_again(world, capsys):
    tip = world.head
    world.write("note.txt", "x")
    world.commit(at=world.now(days=-30))
    assert audited(world, capsys)[0] == 1
    world.git("reset", "-q", "--hard", tip)
    assert audited(world, capsys)[0] == 0
