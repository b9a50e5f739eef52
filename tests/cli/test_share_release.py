"""release with a shared repository: commit and tag in one push, and nothing here unless it was accepted."""

import pytest

from tests.fakes.shop_folder import ShopFolder, git


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    made = ShopFolder(tmp_path / "Büro 1", capsys, monkeypatch)
    made.folder.mkdir()
    made.begin()
    made.git("branch", "-M", "main")
    made.prove()
    git(tmp_path, "init", "-q", "--bare", "-b", "main", "server.git")
    made.git("remote", "add", "origin", str(tmp_path / "server.git"))
    made.run("share")
    return made


def server(shop, *words):
    return git(shop.folder.parent / "server.git", *words)


def state(shop):
    return (
        shop.git("rev-parse", "HEAD"),
        shop.git("tag"),
        shop.git("status", "--porcelain"),
        server(shop, "for-each-ref"),
    )


def test_commit_and_tag_go_in_one_push(shop):
    shop.run("install")
    said = shop.json("release", "4471", "--by", "dg", "--yes")
    assert said["notes"] == ["commit and tag went to origin in one push"]
    assert server(shop, "rev-parse", "release/4471/1") == shop.git("rev-parse", "release/4471/1")
    assert server(shop, "rev-parse", "main") == shop.git("rev-parse", "HEAD") == said["commit"]
    assert shop.git("status", "--porcelain") == ""
    (row,) = shop.rows()
    assert (row["released"], row["may_run"]) == (1, True)


def test_refused_there_nothing_is_made_here(shop):
    hook = shop.folder.parent / "server.git/hooks/pre-receive"
    hook.write_text("#!/bin/sh\necho 'not on a Friday' >&2\nexit 1\n", encoding="ascii")
    hook.chmod(0o755)
    before = state(shop)
    said = shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "[push-refused]" in said
    assert "not on a Friday" in said
    assert state(shop) == before
    hook.unlink()
    assert shop.json("release", "4471", "--by", "dg", "--yes")["number"] == 1


def test_offline_nothing_is_released(shop):
    before = state(shop)
    away = shop.folder.parent / "server.git"
    away.rename(away.with_name("away"))
    assert "[unreachable]" in shop.run("release", "4471", "--by", "dg", "--yes", status=4)
    away.with_name("away").rename(away)
    assert state(shop) == before


def test_what_is_not_here_yet_comes_first_and_no_number_is_given_twice(shop, tmp_path, capsys, monkeypatch):
    git(tmp_path, "clone", "-q", str(tmp_path / "server.git"), "floor")
    floor = ShopFolder(tmp_path / "floor", capsys, monkeypatch)
    shop.run("release", "4471", "--by", "dg", "--yes")
    said = floor.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "[moved]" in said
    assert "proveout share" in said
    got = floor.json("share")
    assert (got["tags_received"], got["complete"]) == (["release/4471/1"], True)
    assert floor.json("release", "4471", "--by", "dg", "--yes")["number"] == 2
    assert shop.json("share")["tags_received"] == ["release/4471/2"]


def test_a_tag_the_server_has_otherwise_is_named_and_neither_is_touched(shop):
    shop.run("release", "4471", "--by", "dg", "--yes")
    bare = shop.folder.parent / "server.git"
    git(
        bare,
        "-c",
        "user.name=X",
        "-c",
        "user.email=x@y",
        "tag",
        "-f",
        "-a",
        "-m",
        "x",
        "release/4471/1",
        "main~1",
    )
    ours, theirs = shop.git("rev-parse", "release/4471/1"), server(shop, "rev-parse", "release/4471/1")
    said = shop.json("share", status=1)
    (note,) = said["tag_notes"]
    assert (note["tag"], note["kept_back"], said["complete"]) == ("release/4471/1", True, False)
    assert "neither was touched" in note["message"]
    assert shop.git("rev-parse", "release/4471/1") == ours
    assert server(shop, "rev-parse", "release/4471/1") == theirs


def test_a_tag_that_cannot_be_derived_comes_in_and_is_shown(shop):
    bare = shop.folder.parent / "server.git"
    git(bare, "-c", "user.name=X", "-c", "user.email=x@y", "tag", "-a", "-m", "x", "release/4471/1", "main")
    shop.run("install")
    said = shop.json("share")
    assert said["tags_received"] == ["release/4471/1"]
    (note,) = said["tag_notes"]
    assert "is not believed" in note["message"]
    assert shop.rows()[0]["released"] is None


def test_a_lightweight_tag_is_left_there(shop):
    git(shop.folder.parent / "server.git", "tag", "release/4471/1", "main")
    said = shop.json("share")
    assert said["tags_received"] == []
    assert "left there" in said["tag_notes"][0]["message"]
    assert shop.git("tag") == ""
