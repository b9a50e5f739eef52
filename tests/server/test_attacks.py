"""Every attack of the table is done for real, with git push, and refused by the rule the table names."""

import pytest

from tests.server.attacks import ATTACKS
from tests.server.scenes import SCENES as PLAIN_SCENES
from tests.server.scenes_before import BEFORE_SCENES
from tests.server.scenes_more import MORE_SCENES
from tests.server.scenes_signed import SIGNED_SCENES

SCENES = PLAIN_SCENES | BEFORE_SCENES | SIGNED_SCENES | MORE_SCENES


def test_every_attack_of_the_table_is_done_and_no_other() -> None:
    assert len(ATTACKS) >= 50
    assert sorted(attack.name for attack in ATTACKS) == sorted(SCENES)


@pytest.mark.parametrize("attack", ATTACKS, ids=lambda attack: attack.name)
def test_the_server_refuses(world, attack):
    done = SCENES[attack.name](world)
    said = done.stderr.replace("remote: ", "")
    assert done.returncode != 0, f"it came in\n{said}"
    assert "Traceback" not in said
    assert "defect" not in said
    if attack.rule == "git":
        assert attack.says in said
        return
    lines = [line.strip() for line in said.splitlines()]
    naming = [
        line for line in lines if line.startswith(f"- {attack.rule}: ") or line.endswith(f"[{attack.rule}]")
    ]
    assert any(attack.says in line for line in naming), said


def test_what_is_refused_changes_nothing(world):
    before = world.refs()
    world.git("tag", "v1")
    done = world.push("v1", "HEAD:refs/heads/good", "+HEAD~1:main")
    assert done.returncode != 0
    assert world.refs() == before
