"""A shop takes over what it has with the proofs it keeps on paper: hundreds of them in one push and one commit, each looked at by the gate.

``PROVEOUT_MOMENTS=100`` or more takes 200 operations instead of 24.
"""

from datetime import timedelta

import pytest

from tests.cli.test_adopt_verb import OTHER, plan, saved
from tests.fakes.shop_folder import SHOP
from tests.server.world import NothingSaid, World, copied
from tests.store.killing import MOMENTS

MANY = 200 if MOMENTS >= 100 else 24
PAPER = {"machine": "MILL2", "prior_by": "ss", "prior_evidence": "card 77, cabinet 2"}


def took_over(place, capsys, monkeypatch):
    """A guarded server that has the shop, and a clone that took all over, proofs included, and pushed none of it."""
    world = World(place, capsys, monkeypatch)
    until = (world.now() + timedelta(days=90)).date().isoformat()
    shop = SHOP.replace("[[people]]", f"[policy]\nprior_until = {until}\n[[people]]", 1)
    world.write("shop.toml", shop)
    world.shop.run("init", ".", "--name", "Test shop")
    world.git("branch", "-q", "-M", "main")
    world.git("init", "-q", "--bare", "-b", "main", str(world.server), folder=place)
    world.shop.run("install", "--server", str(world.server), "--over", "ssh")
    world.git("remote", "add", "origin", "../server.git")
    assert world.push("main").returncode == 0
    for number in range(2001, 2001 + MANY):
        world.write(f"old/part{number}/O{number}.NC", OTHER.replace("O2001 (COVER)", f"O{number} (PART)"))
    world.shop.run("adopt", "old", "--plan", "plan.csv")
    rows = plan(world.shop)
    for row in rows:
        row.update(PAPER)
    saved(world.shop, rows)
    world.shop.run("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert len(proofs(world)) == MANY
    (world.folder / "plan.csv").unlink()
    return world


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    """Built once for the module."""
    place = tmp_path_factory.mktemp("taken")
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.delenv("PROVEOUT_NOW", raising=False)
        took_over(place, NothingSaid(), monkeypatch)
    return place


@pytest.fixture
def world(taken, tmp_path, capsys, monkeypatch):
    return copied(taken, tmp_path / "Werk", capsys, monkeypatch)


def proofs(world):
    return sorted(world.folder.glob("jobs/*/records/*/*-proof-*.toml"))


def in_one_commit(world):
    """All proofs on paper in the last commit, by who vouches for them."""
    first = world.git("log", "--format=%H", "--diff-filter=A", "--", "*-proof-*.toml").split()[-1]
    world.git("reset", "-q", "--soft", f"{first}~1")
    world.commit("proofs on paper", who="ss")
    assert len(world.git("show", "--name-only", "--format=", "HEAD").split()) == MANY


@pytest.mark.parametrize("at_once", [False, True])
def test_what_was_taken_over_comes_in(world, at_once):
    if at_once:
        in_one_commit(world)
    done = world.push("main")
    assert done.returncode == 0, done.stderr
    other = world.second()
    rows = [row for row in other.shop.rows() if row["machine"]]
    assert {(row["standing"], "on paper" in row["reason"]) for row in rows} == {("proven", True)}
    assert len(rows) == MANY
    assert other.shop.json("audit")["problems"] == []


def one_of(world, part):
    (path,) = world.folder.glob(f"jobs/{part}/records/*/*-proof-*.toml")
    return path


def told(done, rule, where):
    """Turned away by this rule, which names the file."""
    assert done.returncode == 1
    assert len([line for line in done.stderr.splitlines() if rule in line]) == 1, done.stderr
    assert where in " ".join(done.stderr.split())


def test_one_put_in_anothers_name_is_refused_by_name(world):
    old = one_of(world, "part2003")
    text = old.read_text(encoding="utf-8")
    new = old.with_name(old.name.replace("-ss.toml", "-np.toml"))
    assert new != old
    old.unlink()
    new.write_text(text.replace('by = "ss"', 'by = "np"'), encoding="utf-8")
    in_one_commit(world)
    done = world.push("main")
    told(done, "not-its-author", new.relative_to(world.folder).as_posix())


def test_one_copied_from_another_job_is_refused_by_name(world):
    there, here = one_of(world, "part2001"), one_of(world, "part2003")
    here.write_bytes(there.read_bytes())
    in_one_commit(world)
    done = world.push("main")
    told(done, "record-copied", here.relative_to(world.folder).as_posix())
