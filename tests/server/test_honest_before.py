"""A repository with years behind it is pushed to a guarded server, and its old texts are taken over: all of it comes in."""

from datetime import UTC, datetime

import pytest

from tests.cli.test_adopt_history import OLD, YOUNG, plate
from tests.fakes.shop_folder import SHOP
from tests.server.world import World


@pytest.fixture
def server(tmp_path, capsys, monkeypatch) -> World:
    """A guarded server that holds the years of before, and a clone; the clock is that of this PC."""
    monkeypatch.delenv("PROVEOUT_NOW", raising=False)
    world = World(tmp_path, capsys, monkeypatch)
    world.folder.mkdir()
    world.git("init", "-q", "-b", "main")
    world.git("init", "-q", "--bare", "-b", "main", str(world.server), folder=tmp_path)
    world.git("remote", "add", "origin", "../server.git")
    for year, (feed, who) in enumerate((("5.", OLD), ("6.", YOUNG), ("7.", OLD)), start=2015):
        world.write("office/plate/O1001.NC", plate(feed).replace("N80 M98 P1002\n", ""))
        world.git("add", "-A")
        date = datetime(year, 3, 1, 8, tzinfo=UTC)
        world.git("commit", "-q", "-m", f"feed {feed}", f"--author={who[0]} <{who[1]}>", at=date)
    world.git("checkout", "-q", "-b", "side", "HEAD~1")
    world.write(
        "office/plate/O1001.NC",
        plate("6.").replace("N80 M98 P1002\n", "").replace("PLATE", "FLAT").replace("G80 G90", "G80"),
    )
    world.commit("longer", at=datetime(2014, 1, 1, tzinfo=UTC))  # by a clock that was wrong
    world.git("checkout", "-q", "main")
    world.git(
        "merge", "-q", "--no-edit", "side", at=datetime(2018, 3, 1, tzinfo=UTC)
    )  # two edits in one text
    assert world.push("main").returncode == 0
    world.shop.run("install", "--server", str(world.server), "--over", "ssh")
    return world


def must(done):
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("at_once", [True, False])
def test_a_shop_is_founded_on_what_the_server_holds_and_takes_it_over(server, at_once):
    server.write("shop.toml", SHOP)
    server.shop.run("init", ".", "--name", "Test shop")
    if not at_once:
        must(server.push("main"))
    server.shop.run("adopt", "office", "--plan", "plan.csv")
    server.shop.run("adopt", "--apply", "plan.csv", "--history", "-m", "taken over", "--by", "np")
    must(server.push("main"))
    assert server.shop.json("audit")["problems"] == []
    events = server.shop.json("history", "plate")["events"]
    assert [one["at"][:4] for one in events if "before" in one] == [
        "2014",
        "2015",
        "2016",
        "2017",
        "2018",
    ]


def test_taken_over_later_it_comes_in_too_and_is_there_in_another_clone(server):
    server.write("shop.toml", SHOP)
    server.shop.run("init", ".", "--name", "Test shop")
    server.shop.run("adopt", "office", "--plan", "plan.csv")
    server.shop.run("adopt", "--apply", "plan.csv", "-m", "taken over", "--by", "np")
    must(server.push("main"))
    server.shop.run("adopt", "--history", "--by", "np")
    must(server.push("main"))
    other = server.second()
    assert other.shop.json("show", "plate@r3")["before"]["author"] == "Jürgen Jung"
    assert other.shop.json("audit")["problems"] == []
