"""A PC of the shop: shared by several people, standing at a machine; through the command line on real git."""

import json
import subprocess

import pytest

from tests.fakes.floor import FIGURES, FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT
from tests.store.shop_repo import git, write
from tracker.cli.entry import main
from tracker.wiring import MACHINE, SHARED, open_desk

SIGN = ["--by", "ss", "--accept", "--first-piece", "report 7", "--yes"]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:10:00Z")
    folder = tmp_path / "Werkstatt Süd"
    assert main(["-C", str(tmp_path), "init", folder.name, "--name", "Bench"]) == 0
    write(folder, "shop.toml", SHOP)
    git(folder, "add", "shop.toml")
    git(folder, "commit", "-q", "-m", "people and machines")
    git(folder, "config", "user.email", " SS@Bench.Example")
    write(folder, JOB_PATH, JOB)
    write(folder, PROGRAM, TEXT)
    assert main(["-C", str(folder), "checkin", "4471/op10", "-m", "first issue", "--by", "np"]) == 0
    form = folder.with_name("form.toml")
    form.write_text("".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in FULL))
    return folder


@pytest.fixture
def call(shop, capsys):
    def run(*words):
        capsys.readouterr()
        status = main(["-C", str(shop), *words])
        out, err = capsys.readouterr()
        return status, out, err

    return run


def point(call, name):
    said = json.loads(call("doctor", "--json")[1])["points"]
    return next(one for one in said if one["point"] == name)


def test_a_shared_pc_asks_who_it_is(shop, call):
    assert point(call, "person")["says"] == "this PC stands for ss"
    status, out, _ = call("install", "--shared", "--machine", "mill2")
    assert status == 0
    assert "this PC stands for nobody: --by is always asked" in out
    assert "this PC stands at MILL2: it is meant where --machine is left out" in out.replace("\n  ", " ")
    assert (git(shop, "config", "--local", SHARED), git(shop, "config", "--local", MACHINE)) == (
        "true",
        "MILL2",
    )
    status, _, err = call("hold", "4471/op10", "-m", "tool broke")
    assert status == 2
    assert "[who]" in err
    assert "--by INITIALS" in err
    assert call("hold", "4471/op10", "-m", "tool broke", "--by", "kp")[0] == 0
    assert point(call, "person")["says"].startswith("this PC is shared")
    assert (
        point(call, "machine")["says"] == "this PC stands at MILL2: it is meant where --machine is left out"
    )


def test_the_machine_of_this_pc_is_meant_and_said(shop, call):
    status, _, err = call("prove", "4471/op10", "--answers", str(shop.with_name("form.toml")), *SIGN)
    assert status == 2
    assert "[which-machine]" in err
    assert call("install", "--machine", "MILL2")[0] == 0
    status, out, err = call("prove", "4471/op10", "--answers", str(shop.with_name("form.toml")), *SIGN)
    assert status == 0
    assert "on MILL2, where this PC stands" in err
    assert "PROVEN" in out
    stick = shop.with_name("BLUE")
    stick.mkdir()
    assert call("release", "4471", "--by", "dg", "--yes")[0] == 0
    for words in (
        ["sheet", "4471/op10"],
        ["ran", "4471/op10", "--by", "ss", "--lot", "A1"],
        ["export", "--to", str(stick), "--by", "ss"],
    ):
        status, out, err = call(*words)
        assert status == 0, (words, err)
        assert "on MILL2, where this PC stands" in err
    status, _, err = call("sheet", "4471/op10", "--machine", "MILL2")
    assert (status, err) == (0, "")
    status, out, err = call("sheet", "4471/op10", "--json")
    assert json.loads(out)["machine"] == "MILL2"


def test_a_machine_that_is_named_comes_first(call):
    assert call("install", "--machine", "MILL3")[0] == 0
    assert call("ran", "4471/op10", "--by", "ss", "--machine", "MILL2")[0] == 0
    _, out, _ = call("history", "--event", "ran", "--json")
    assert [one["machine"] for one in json.loads(out)["events"]] == ["MILL2"]


def test_undo_takes_both_away(shop, call):
    before = git(shop, "config", "--local", "--list")
    call("install", "--shared", "--machine", "MILL2")
    assert [one["state"] for one in json.loads(call("install", "--shared", "--machine", "MILL2", "--json")[1])["actions"]] \
        == ["kept"] * 6  # fmt: skip
    status, out, _ = call("install", "--undo", "--json")
    assert status == 0
    assert [one["state"] for one in json.loads(out)["actions"]] == ["removed"] * 5
    assert git(shop, "config", "--local", "--list") == before
    desk = open_desk(str(shop))
    assert (desk.email, desk.machine) == (" SS@Bench.Example", None)
    assert "no machine in particular" in point(call, "machine")["says"]


def test_a_machine_shop_toml_does_not_know(shop, call):
    status, _, err = call("install", "--machine", "MILL9")
    assert (status, "[unknown-machine]" in err) == (2, True)
    assert subprocess.run(["git", "config", MACHINE], cwd=shop, check=False).returncode == 1
    git(shop, "config", MACHINE, "MILL9")
    seen = point(call, "machine")
    assert seen["state"] == "off"
    assert "shop.toml has no such machine" in seen["says"]
    status, _, err = call("ran", "4471/op10", "--by", "ss")
    assert (status, "[unknown-machine]" in err) == (2, True)


@pytest.mark.parametrize("more", [["--undo"], ["--server", "."]])
@pytest.mark.parametrize("said", [["--shared"], ["--machine", "MILL2"]])
def test_what_goes_with_a_plain_install_only(call, said, more):
    status, _, err = call("install", *said, *more)
    assert (status, "[wrong-call]" in err) == (2, True)


def test_one_who_has_left_is_told_by_doctor_and_at_every_verb(shop, call):
    write(shop, "shop.toml", SHOP.replace('initials = "ss"\n', 'initials = "ss"\nleft = 2026-02-01\n'))
    assert call("checkin", "shop.toml", "-m", "Sol left", "--by", "dg")[0] == 0
    said = "ss left on 1 Feb 2026 and is not listed for 2 Feb 2026 in shop.toml"
    assert (point(call, "person")["state"], point(call, "person")["says"]) == ("off", said)
    status, _, err = call("hold", "4471/op10", "-m", "tool broke")
    assert (status, said in err) == (2, True)
    status, _, err = call("hold", "4471/op10", "-m", "tool broke", "--by", "ss")
    assert (status, "[wrong-role]" in err, said in err) == (1, True, True)
    status, _, err = call(
        "checkin", "4471/op10", "-m", "x", "--by", "kp", "--entered-by", "ss", "--off-control"
    )
    assert (status, said in err) == (1, True)


def test_a_shop_of_one_person_does_it_all(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:10:00Z")
    shop = tmp_path / "alone"
    assert main(["-C", str(tmp_path), "init", "alone", "--name", "Alone", "--alone"]) == 0
    text = (shop / "shop.toml").read_text(encoding="utf-8")
    write(shop, "shop.toml", text + '\n[[machines]]\nid = "MILL2"\ntype = "mill"\nunits = "inch"\n')
    person = open_desk(str(shop)).repo.tree().shop().people[0]
    git(shop, "config", "user.email", person.email)
    write(shop, JOB_PATH, JOB)
    write(shop, PROGRAM, TEXT)
    form = tmp_path / "form.toml"
    form.write_text("".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in FULL))
    for words in (
        ["checkin", "shop.toml", "-m", "the mill"],
        ["install", "--machine", "MILL2"],
        ["checkin", "4471/op10", "-m", "first issue"],
        ["prove", "4471/op10", "--accept", "--first-piece", "r 1", "--answers", str(form), "--yes"],
        ["release", "4471", "--yes"],
    ):
        assert main(["-C", str(shop), *words]) == 0, words
    capsys.readouterr()
    assert main(["-C", str(shop), "history", "--json"]) == 0
    events = json.loads(capsys.readouterr().out)["events"]
    assert {one["by"] for one in events} == {person.initials}
