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


@pytest.mark.parametrize("at_once", [True, False])
@pytest.mark.parametrize("who", ["np", "dg"])
def test_the_first_people_write_themselves_in_as_init_says(server, at_once, who):
    """``init`` makes a shop without people, and says: put people in, then check shop.toml in. Anyone may, and it comes in."""
    server.shop.run("init", ".", "--name", "Test shop")
    if not at_once:
        must(server.push("main"))
    server.write("shop.toml", SHOP)
    server.shop.run("checkin", "shop.toml", "-m", "people and machines", "--by", who)
    must(server.push("main"))
    assert server.shop.json("audit")["problems"] == []


def test_once_somebody_of_quality_is_listed_nobody_writes_himself_in(server):
    server.write("shop.toml", SHOP)
    server.shop.run("init", ".", "--name", "Test shop")
    must(server.push("main"))
    mine = '[[people]]\ninitials = "zz"\nname = "Zoe Zinc"\nemail = "zz@shop.example"\nroles = ["quality"]\n'
    server.write("shop.toml", SHOP + mine)
    server.shop.run("checkin", "shop.toml", "-m", "me too", "--by", "dg")
    (path,) = server.folder.glob("records/*-shop-dg.toml")
    path.rename(forged := path.with_name(path.name.replace("-dg.", "-zz.")))
    forged.write_text(forged.read_text().replace('by = "dg"', 'by = "zz"'))
    server.git("add", "-A")
    server.git("commit", "-q", "--amend", "-m", "me too", "--author=zz <zz@shop.example>")
    refused = server.push("main")
    assert refused.returncode != 0
    assert "no-authority" in refused.stderr
    assert "zz is not in the shop.toml of before this push" in refused.stderr


def test_rules_for_bytes_of_before_the_shop_are_told_until_they_are_taken_out(server):
    """What git was told in the years before is no doubt about the record for ever: only what stands of it now is told."""
    server.write(".gitattributes", "*.NC text eol=crlf\n*.txt text\n")
    server.commit("line ends")
    server.git("branch", "years-before")
    server.write("shop.toml", SHOP)
    server.shop.run("init", ".", "--name", "Test shop")
    found = server.shop.json("audit", status=1)["problems"]
    assert [(one["problem"], one["where"], one["message"].split("`")[1]) for one in found] == [
        ("bytes-altered", ".gitattributes", "*.NC text eol=crlf"),
        ("bytes-altered", ".gitattributes", "*.txt text"),
    ]
    must(server.push("main"))
    server.write(".gitattributes", "* -text\n")
    server.commit("no line ends")
    must(server.push("main"))
    assert server.shop.json("audit")["problems"] == []
