"""Files of many states, carried on from one to the next, held against what each state itself holds."""

import random

import pytest

from tests.store.shop_repo import git, make_shop, opened, write
from tracker.store.push_read import HistoryRead

NAMES = ("a", "b", "d/a", "d/b", "a-b", "d/d/c")


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    make_shop(folder)
    return folder


def wander(folder, seed):
    """Commits that add, change, take away and swap files for links, on two lines that meet."""
    dice = random.Random(seed)
    for turn in range(14):
        if turn == 4:
            git(folder, "branch", "side")
        if turn in (6, 9):
            git(folder, "checkout", "-q", "side" if turn == 6 else "main")
        if turn == 12:
            git(folder, "merge", "-q", "-s", "ours", "--no-edit", "side")
        for name in dice.sample(NAMES, 2):
            path = folder / name
            if path.is_symlink() or (path.is_file() and dice.random() < 0.4):
                path.unlink()
            elif dice.random() < 0.3 and not path.exists():
                path.parent.mkdir(parents=True, exist_ok=True)
                path.symlink_to("shop.toml")
            elif not path.is_dir():
                write(folder, name, str(dice.random()))
        git(folder, "add", "-A")
        git(folder, "commit", "-q", "--allow-empty", "-m", str(turn))


@pytest.mark.parametrize("seed", range(6))
def test_every_state_has_the_files_it_holds(shop, seed):
    wander(shop, seed)
    clone = opened(shop)
    seen = HistoryRead(clone)
    commits = seen.new_commits([git(shop, "rev-parse", "HEAD")])
    held = 0
    for commit in commits:
        held += seen._states.holds(commit.commit)
        for name in (*NAMES, "shop.toml", "no such"):
            assert seen.file(commit.commit, name) == clone.tree(commit.commit).read(name)
    assert held > len(commits) // 2  # else nothing was carried on
    assert [seen.file(one.commit, "a") for one in reversed(commits)] == [
        clone.tree(one.commit).read("a") for one in reversed(commits)
    ]


def test_a_state_nobody_named_is_looked_up(shop):
    seen = HistoryRead(opened(shop))
    head = git(shop, "rev-parse", "HEAD")
    assert seen.file(head, "shop.toml") is not None
    assert not seen._states.holds(head)
