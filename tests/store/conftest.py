from pathlib import Path

import pytest

from tests.benchmarks import big_shop
from tests.store.shop_repo import git, make_shop

_CONFIG = """[user]
 name = Nia Park
 email = nia@shop.example
[init]
 defaultBranch = main
[protocol "file"]
 allow = always
[advice]
 nestedTag = false
 detachedHead = false
"""


@pytest.fixture(autouse=True)
def git_person(own_world, monkeypatch, homes, tmp_path_factory):
    home = homes.new("gitconfig")
    (home / "gitconfig").write_text(_CONFIG, encoding="ascii")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(home / "gitconfig"))
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path_factory.getbasetemp()))
    monkeypatch.setenv("GIT_AUTHOR_DATE", "2026-03-01T08:00:00Z")
    monkeypatch.setenv("GIT_COMMITTER_DATE", "2026-03-01T08:00:00Z")
    return home


@pytest.fixture
def shop(tmp_path) -> Path:
    return make_shop(tmp_path / "Prüf stand" / "shop")


@pytest.fixture(scope="session")
def several_jobs(tmp_path_factory):
    shop = tmp_path_factory.mktemp("made") / "shop"
    big_shop.make(shop, jobs=3, rounds=2)
    return shop


@pytest.fixture
def at_several_jobs(several_jobs, tmp_path, monkeypatch):
    git(tmp_path, "clone", "-q", str(several_jobs), "shop")
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.fixture
def ended_by_the_key(tmp_path, monkeypatch):
    """In place of git a program that Ctrl-C ends before it has said a word."""
    program = tmp_path / "git-that-is-ended"
    program.write_text("#!/bin/sh\nkill -INT $$\nsleep 20\n")
    program.chmod(0o755)

    def stand_in():
        monkeypatch.setattr("tracker.store.git.find_git", lambda: str(program))

    return stand_in
