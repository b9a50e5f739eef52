"""A prove-out that meets a locked record, or Ctrl-C at its last moment, on real git and at a terminal."""

import re
import shlex

import pytest

from tests.fakes.floor import FIGURES, FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT
from tests.store.shop_repo import git, write
from tracker.cli.entry import main
from tracker.store import commit, index


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:10:00Z")
    folder = tmp_path / "Werkstatt Süd"
    assert main(["-C", str(tmp_path), "init", folder.name, "--name", "Bench"]) == 0
    write(folder, "shop.toml", SHOP)
    git(folder, "add", "shop.toml")
    git(folder, "commit", "-q", "-m", "people and machines")
    write(folder, JOB_PATH, JOB)
    write(folder, PROGRAM, TEXT)
    assert main(["-C", str(folder), "checkin", "4471/op10", "-m", "first issue", "--by", "np"]) == 0
    return folder


def sign(shop):
    form = shop.with_name("form.toml")
    form.write_text("".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in FULL))
    return ["-C", str(shop), "prove", "4471/op10", "--machine", "MILL2", "--by", "ss", "--accept",
            "--first-piece", "report 7", "--answers", str(form), "--yes"]  # fmt: skip


def going_on(shop, said):
    """The call the error names, as a shell would hand it over."""
    words = shlex.split(re.search(r"go on with: proveout (.*)", said)[1])
    return ["-C", str(shop), *words, "--yes"]


def test_a_lock_names_age_and_owner_and_the_answers_go_on_afterwards(shop, monkeypatch, capsys):
    monkeypatch.setattr(index, "PATIENCE_SECONDS", 0.1)
    lock = shop / ".git/index.lock"
    lock.touch()
    before = git(shop, "rev-parse", "HEAD")
    capsys.readouterr()
    assert main(sign(shop)) == 4
    said = capsys.readouterr().err
    assert "[locked]" in said
    assert re.search(r"locked \(\d+ seconds old, owner \S+\)", said)
    assert str(lock) in said
    assert "the answers are kept in " in said
    assert lock.exists()
    assert git(shop, "rev-parse", "HEAD") == before
    assert not list(shop.rglob("*-proof-*"))
    lock.unlink()
    shop.with_name("form.toml").unlink()
    assert main(going_on(shop, said)) == 0
    assert "PROVEN" in capsys.readouterr().out
    assert git(shop, "status", "--porcelain") == ""


def test_ctrl_c_at_the_last_moment_ends_with_130_and_keeps_the_answers(shop, monkeypatch, capsys):
    def stop(*words, **named):
        raise KeyboardInterrupt

    with monkeypatch.context() as world:
        world.setattr(commit, "build_tree", stop)
        capsys.readouterr()
        assert main(sign(shop)) == 130
    said = capsys.readouterr().err.replace("\n", " ")
    assert "the answers are kept in " in said
    assert git(shop, "status", "--porcelain") == ""
    (kept,) = (shop / ".git/proveout").glob("answers-*.toml")
    words = sign(shop)
    words[words.index("--answers") + 1] = str(kept)
    assert main(words) == 0
    assert "PROVEN" in capsys.readouterr().out
