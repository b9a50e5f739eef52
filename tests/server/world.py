"""A shop, and the server everybody pushes to: real git, the real hook, real pushes."""

import os
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.fakes.shop_folder import ShopFolder

EMAIL = "@shop.example"
PEOPLE = """[[people]]
initials = "xx"
name = "Gone Away"
email = "xx@shop.example"
roles = ["setup", "quality"]
left = 2025-03-31
[[machines]]
id = "MILL2"
"""


class NothingSaid:
    """In place of pytest's capture while a shop is built once for the session."""

    def readouterr(self):
        return "", ""


class World:
    def __init__(self, place: Path, capsys, monkeypatch) -> None:
        self.place = place
        self.server = place / "server.git"
        self.shop = ShopFolder(place / "shop", capsys, monkeypatch)
        self.folder = self.shop.folder
        self.monkeypatch = monkeypatch

    def git(self, *words, who="np", at=None, authored=None, folder=None, stdin=None, check=True):
        """git in the shop's clone, as somebody, at some moment (a datetime)."""
        moment = (
            {} if at is None else {"GIT_AUTHOR_DATE": at.isoformat(), "GIT_COMMITTER_DATE": at.isoformat()}
        )
        if authored is not None:
            moment["GIT_AUTHOR_DATE"] = authored.isoformat()
        names = {
            f"GIT_{role}_{key}": text
            for role in ("AUTHOR", "COMMITTER")
            for key, text in (("NAME", who), ("EMAIL", who + EMAIL))
        }
        done = subprocess.run(
            ["git", "-c", "core.hooksPath=/nowhere", *words],
            cwd=folder or self.folder,
            env={**os.environ, **names, **moment},
            input=stdin,
            capture_output=True,
            check=False,
        )
        assert not check or done.returncode == 0, (words, done.stderr)
        return done.stdout.decode("utf-8", "surrogateescape").strip()

    def write(self, path, data):
        self.shop.put(path, data)

    def read(self, path):
        return (self.folder / path).read_text(encoding="utf-8")

    def commit(self, message="work", **how):
        self.git("add", "-A", **how)
        self.git("commit", "-q", "-m", message, **how)
        return self.head

    @property
    def head(self):
        return self.git("rev-parse", "HEAD")

    def record(self, pattern):
        """The path of the one record called like this."""
        (found,) = sorted(self.folder.glob(pattern))
        return found.relative_to(self.folder).as_posix()

    def push(self, *words):
        return subprocess.run(
            ["git", "push", "-q", "origin", *words],
            cwd=self.folder,
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
        )

    def refs(self):
        return self.git("for-each-ref", folder=self.server)

    def tag(self, name, target="HEAD", message="x"):
        self.git("tag", "-a", "-m", message, name, target)
        return f"refs/tags/{name}"

    def release(self):
        """A release that stays here for now."""
        self.git("remote", "remove", "origin")
        self.shop.run("release", "4471", "--by", "dg", "--yes")
        self.git("remote", "add", "origin", "../server.git")

    def second(self, name="second"):
        """Another person's clone."""
        other = World(self.place, self.shop._capsys, self.monkeypatch)
        other.shop = ShopFolder(self.place / name, self.shop._capsys, self.monkeypatch)
        other.folder = other.shop.folder
        self.git("clone", "-q", str(self.server), str(other.folder), folder=self.place)
        return other

    def now(self, **span):
        return datetime.now(UTC).replace(microsecond=0) + timedelta(**span)


def stamp(moment):
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"


def build(place: Path) -> None:
    """A shop with release 1 of job 4471, pushed to a server with the gate."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        for name, text in (
            ("HOME", str(place)),
            ("GIT_CONFIG_GLOBAL", str(place / "gitconfig")),
            ("GIT_CONFIG_NOSYSTEM", "1"),
        ):
            monkeypatch.setenv(name, text)
        world = World(place, NothingSaid(), monkeypatch)
        from tests.fakes.shop_folder import SHOP

        world.shop.begin(SHOP.replace('[[machines]]\nid = "MILL2"\n', PEOPLE))
        world.git("init", "-q", "--bare", "-b", "main", str(world.server), folder=place)
        world.shop.run("install", "--server", str(world.server))
        world.git("branch", "-q", "-M", "main")
        world.git("remote", "add", "origin", "../server.git")
        assert world.push("main").returncode == 0
        world.shop.prove()
        world.shop.run("release", "4471", "--by", "dg", "--yes")
        done = world.push("--atomic", "main", "release/4471/1")
        assert done.returncode == 0, done.stderr


def copied(built: Path, place: Path, capsys, monkeypatch) -> World:
    shutil.copytree(built, place, dirs_exist_ok=True, symlinks=True)
    return World(place, capsys, monkeypatch)
