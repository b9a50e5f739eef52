"""How old the last share is, wherever it is said what may run: a hold of somebody else's comes with a share only."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from tests.fakes.shop_folder import ShopFolder, git
from tracker.services.last_share import NEVER, share_words

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("at", "now", "words"),
    [
        (None, "2026-02-02T09:00", NEVER),
        ("2026-02-02T09:00", "2026-02-02T09:00", "last share: today"),
        ("2026-02-01T23:59", "2026-02-02T00:01", "last share: yesterday"),
        ("2026-01-30T09:00", "2026-02-02T08:00", "last share: 3 days ago"),
        ("2026-02-09T09:00", "2026-02-02T08:00", "last share: today"),  # the clock was set back
        ("2026-06-30T22:59", "2026-06-30T23:01", "last share: yesterday"),  # midnight of the shop in summer
    ],
)
def test_words(at, now, words):
    then = datetime.fromisoformat(at).replace(tzinfo=UTC) if at else None
    assert share_words(then, datetime.fromisoformat(now).replace(tzinfo=UTC), LONDON) == words


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    made = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    made.folder.mkdir()
    made.at("2026-02-02T09:00:00Z")
    made.begin()
    made.git("branch", "-M", "main")
    made.prove()
    git(tmp_path, "init", "-q", "--bare", "-b", "main", "server.git")
    (tmp_path / "BLUE-1").mkdir()
    return made


def calls(shop):
    """The three verbs, each as it says it; the release is only tried."""
    stick = str(shop.folder.parent / "BLUE-1")
    return [
        ("status",),
        ("status", "--may-run"),
        ("release", "4471", "--by", "dg", "--dry-run"),
        ("export", "--machine", "MILL2", "--to", stick, "--by", "np", "--dry-run"),
    ]


def said(shop, words, at):
    for call in calls(shop):
        _, out, err = shop.call(*call)
        assert words in " ".join((out + err).split()), call
        _, out, _ = shop.call(*call, "--json")
        assert f'"at": {at},\n    "says": "{words}"' in out, call


def test_it_is_said_by_what_says_what_may_run(shop):
    shop.run("release", "4471", "--by", "dg", "--yes")
    said(shop, NEVER, "null")
    shop.git("remote", "add", "origin", str(shop.folder.parent / "server.git"))
    said(shop, NEVER, "null")
    shop.run("share")
    said(shop, "last share: today", '"2026-02-02T09:00:00Z"')
    shop.at("2026-02-05T08:00:00Z")
    said(shop, "last share: 3 days ago", '"2026-02-02T09:00:00Z"')
    assert "last share: 3 days ago" in " ".join(shop.call("doctor")[1].split())
    assert "last_share" not in shop.json("history", "4471")
    assert "last share" not in shop.call("status", "--csv")[1]


def test_a_release_that_went_out_has_just_shared(shop):
    shop.git("remote", "add", "origin", str(shop.folder.parent / "server.git"))
    shop.run("share")
    shop.at("2026-02-05T08:00:00Z")
    out = shop.run("release", "4471", "--by", "dg", "--yes")
    assert "last share: today" in out
    assert out.count("last share") == 1 + ("could be made now" in out)


def test_one_that_stays_here_says_so_once(shop):
    out = shop.run("release", "4471", "--by", "dg", "--yes")
    assert out.count(NEVER) == 1
    assert "commit and tag are on this disk only" in " ".join(out.split())
