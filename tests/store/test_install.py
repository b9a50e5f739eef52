"""install, its undo and doctor on real git, through the command line as a person would."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.store.shop_repo import AT, KIM, SHOP, git, opened, record, record_path, write
from tracker.cli.entry import main
from tracker.services.install import CACHE, DRIVER, HEADING, SHARED, install
from tracker.store.setup_site import Site
from tracker.wiring import open_desk

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = "jobs/4471/op10/O1001.nc"
ATTRIBUTES = "* -text\n*.nc -merge diff=nc\n"


@pytest.fixture
def shop(shop, monkeypatch):
    """Ours can be started by the interpreter of the tests from anywhere, as if it were installed."""
    write(shop, ".gitattributes", ATTRIBUTES)
    git(shop, "commit", "-qam", "attributes")
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    git(shop, "config", "user.email", KIM.email)
    return shop


def call(capsys, folder, *words):
    status = main(["-C", str(folder), *words])
    out, err = capsys.readouterr()
    return status, out, err


def points(capsys, folder, *words):
    status, out, _ = call(capsys, folder, "doctor", "--json", *words)
    return status, {point["point"]: point for point in json.loads(out)["points"]}


def test_install_twice_and_undo_leave_no_trace(shop, capsys):
    before = git(shop, "config", "--local", "--list"), sorted(p.name for p in (shop / ".git/hooks").iterdir())
    status, out, _ = call(capsys, shop, "install", "--json")
    assert status == 0
    first = json.loads(out)
    assert first["schema"] == "proveout/install/1"
    assert [one["state"] for one in first["actions"]] == ["written", "written", "kept", "written"]
    second = json.loads(call(capsys, shop / "jobs", "install", "--json")[1])
    assert [one["state"] for one in second["actions"]] == ["kept"] * 4
    assert {DRIVER.lower(), CACHE, HEADING} <= set(
        git(shop, "config", "--local", "--name-only", "--list").split()
    )
    git(shop, "diff")
    status, out, _ = call(capsys, shop, "install", "--undo", "--json")
    assert [one["state"] for one in json.loads(out)["actions"]] == ["removed"] * 3
    after = git(shop, "config", "--local", "--list"), sorted(p.name for p in (shop / ".git/hooks").iterdir())
    assert after == before
    assert git(shop, "for-each-ref", "refs/notes") == ""
    again = json.loads(call(capsys, shop, "install", "--undo", "--json")[1])
    assert [one["state"] for one in again["actions"]] == ["absent"] * 3


def test_the_attributes_hold_where_the_tracked_file_is_gone(shop, capsys):
    call(capsys, shop, "install")
    (shop / ".gitattributes").unlink()
    said = git(shop, "check-attr", "text", "diff", "merge", "--", PROGRAM)
    assert [line.rsplit(": ", 1)[1] for line in said.splitlines()] == ["unset", "nc", "unset"]


def test_git_diff_shows_canonical_text_and_what_it_hides(shop, capsys):
    call(capsys, shop, "install")
    write(shop, PROGRAM, b"%\r\nO1001\r\nN10 G00 G90 X0. Y0.\r\nG1 X1. F5.\r\nM30\r\n%\r\n")
    shown = [line for line in git(shop, "diff").splitlines() if line.startswith(("+", "-"))]
    assert "+G1X1.F5." in shown
    assert not any("G00" in line for line in shown)
    assert any("numbering" in line for line in shown)
    git(shop, "commit", "-qam", "m")
    assert "+G1X1.F5." in git(shop, "log", "-p", "-1")
    assert "G1X1.F5." in git(shop, "blame", "--textconv", PROGRAM)


@pytest.mark.skipif(sys.platform == "win32", reason="the interpreter is named in a shell script's own way")
@pytest.mark.parametrize("gone", ["program", "wrapper", "broken"])
def test_git_diff_lives_on_where_ours_is_gone(shop, gone, tmp_path, monkeypatch):
    python = tmp_path / "python"
    python.write_text("#!/bin/sh\necho rubbish\nexit 3\n" if gone == "broken" else "", encoding="ascii")
    python.chmod(0o755)
    site = Site(opened(shop), python=str(python))

    install(site)
    if gone == "program":
        python.unlink()
    if gone == "wrapper":
        (shop / ".git/proveout/nc-text").unlink()
    monkeypatch.setenv(
        "PATH", os.pathsep.join(d for d in os.environ["PATH"].split(os.pathsep) if ".venv" not in d)
    )
    write(shop, PROGRAM, b"G01 X1.0\n")
    assert "+G01 X1.0" in git(shop, "diff")


def test_a_program_with_nul_leaders_is_shown(shop, capsys):
    write(shop, PROGRAM, b"\x00" * 50 + b"%\nO1001\nG1 X1. F5.\nM30\n%\n" + b"\x00" * 50)
    assert "Binary files" in git(shop, "diff")
    call(capsys, shop, "install")
    assert "+G1X1.F5." in git(shop, "diff")


def test_two_edits_of_one_program_are_never_merged_silently(shop, capsys):
    call(capsys, shop, "install")
    (shop / ".gitattributes").unlink()
    git(shop, "commit", "-qam", "attributes lost")
    text = "".join(f"G1 X{n}. F5.\n" for n in range(40))
    write(shop, PROGRAM, text)
    git(shop, "commit", "-qam", "long")
    git(shop, "switch", "-q", "-c", "side")
    write(shop, PROGRAM, text.replace("X1.", "X1.5"))
    git(shop, "commit", "-qam", "side")
    git(shop, "switch", "-q", "main")
    write(shop, PROGRAM, text.replace("X38.", "X38.5"))
    git(shop, "commit", "-qam", "main")
    assert git(shop, "merge", "side", check=False).returncode == 1
    assert git(shop, "diff", "--name-only", "--diff-filter=U") == PROGRAM


def test_a_shared_pc_stands_for_nobody(shop, capsys):

    assert open_desk(str(shop)).email == KIM.email
    call(capsys, shop, "install", "--shared")
    assert git(shop, "config", SHARED) == "true"
    assert open_desk(str(shop)).email is None
    call(capsys, shop, "install", "--undo")
    assert open_desk(str(shop)).email == KIM.email


def test_a_linked_worktree_shares_the_set_up(shop, capsys, tmp_path):
    git(shop, "worktree", "add", "-q", "-b", "second", str(tmp_path / "second"))
    assert call(capsys, tmp_path / "second", "install")[0] == 0
    assert (shop / ".git/hooks/reference-transaction").exists()
    assert points(capsys, shop)[1]["hook"]["state"] == "on"
    write(tmp_path / "second", PROGRAM, b"G01 X1.0\n")
    assert "+G1X1." in git(tmp_path / "second", "diff")


@pytest.mark.parametrize(("where", "name"), [("tree", "hooks-in-tree"), ("elsewhere", "hooks-elsewhere")])
def test_hooks_that_git_takes_from_another_folder(shop, capsys, tmp_path, where, name):
    folder = shop / "tools" if where == "tree" else tmp_path / "everybody's hooks"
    folder.mkdir()
    git(shop, "config", "core.hooksPath", "tools" if where == "tree" else str(folder))
    status, out, _ = call(capsys, shop, "install", "--json")
    error = json.loads(out)["error"]
    assert (status, error["name"], error["where"]) == (1, name, str(folder))
    assert list(folder.iterdir()) == []
    status, seen = points(capsys, shop)
    assert (status, seen["hook"]["state"]) == (1, "off")
    assert "core.hooksPath" in seen["hook"]["fix"]


def test_wrong_calls(shop, capsys, tmp_path):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    for words, name in (
        (["install", "--server", "."], "not-bare"),
        (["install", "--server", ".", "--undo"], "not-bare"),
        (["install", "--shared", "--undo"], "wrong-call"),
    ):
        status, out, _ = call(capsys, shop, *words, "--json")
        assert (status, json.loads(out)["error"]["name"]) == (2, name)
    status, out, _ = call(capsys, tmp_path / "server.git", "install", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (2, "bare-repository")
    status, out, _ = call(capsys, tmp_path, "install", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (4, "no-repository")


def test_a_server_is_set_up_and_looked_at(shop, capsys, tmp_path):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    status, out, _ = call(capsys, tmp_path, "install", "--server", "server.git")
    assert status == 0
    assert "shared folder" in " ".join(out.split())
    _, seen = points(capsys, tmp_path, "--server", "server.git")
    assert seen["hook"]["state"] == "on"
    assert "person" not in seen
    call(capsys, tmp_path, "install", "--server", "server.git", "--undo")
    _, seen = points(capsys, tmp_path, "--server", "server.git")
    assert seen["hook"]["state"] == "off"


def test_doctor_is_content_with_a_clone_that_is_set_up(shop, capsys, tmp_path):
    shop_toml = SHOP.replace('roles = ["setup"]', 'roles = ["setup", "programmer", "quality"]')
    write(shop, "shop.toml", shop_toml)
    git(shop, "commit", "-qam", "roles")
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    git(shop, "remote", "add", "origin", str(tmp_path / "server.git"))
    git(shop, "fetch", "-q", "origin")
    call(capsys, shop, "install")
    status, seen = points(capsys, shop)
    off = {name: point for name, point in seen.items() if point["state"] != "on"}
    assert off.keys() <= {"scanner", "backup"}
    assert status == 0
    assert seen["share"]["says"] == "last share: today"
    status, out, _ = call(capsys, shop, "doctor")
    assert (status, "Everything is set up." in out) == (0, not off)


def _lost_bit(shop):
    (shop / ".git/hooks/reference-transaction").chmod(0o644)


def _other_python(shop):
    hook = shop / ".git/hooks/reference-transaction"
    hook.write_bytes(hook.read_bytes().replace(b"python='", b"python='/gone"))


def _foreign(shop):
    (shop / ".git/hooks/reference-transaction").write_bytes(b"#!/bin/sh\nexit 0\n")


def _crlf(shop):
    write(shop, ".gitattributes", "*.nc -merge diff=nc\n")
    write(shop, ".git/info/attributes", "*.nc -merge diff=nc\n")
    git(shop, "config", "core.autocrlf", "true")


def _merges(shop):
    write(shop, ".gitattributes", "* -text\n")
    write(shop, ".git/info/attributes", "")


def _old_lock(shop):
    for name in ("index.lock", "refs/heads/main.lock"):
        file = shop / ".git" / name
        file.touch()
        os.utime(file, (time.time() - 7200, time.time() - 7200))


def _names(shop):
    write(shop, "jobs/4471/op10/aux.nc", "x")
    write(shop, "jobs/4471/op10/o1001.NC", "x")


def _link(shop):
    (shop / "link").symlink_to("shop.toml")
    git(shop, "add", "link")
    git(shop, "commit", "-qm", "link")


def _shallow(shop):
    write(shop, ".git/shallow", git(shop, "rev-parse", "HEAD") + "\n")


FAULTS = {
    "lost bit": ("hook", _lost_bit, "lost its right to run", "proveout install"),
    "moved python": ("hook", _other_python, "another version", "proveout install"),
    "foreign hook": ("hook", _foreign, "another program's hook", "proveout install"),
    "no hook": (
        "hook",
        lambda s: (s / ".git/hooks/reference-transaction").unlink(),
        "no hook",
        "proveout install",
    ),
    "driver changed": (
        "diff",
        lambda s: git(s, "config", DRIVER, "cat"),
        "another command",
        "proveout install",
    ),
    "driver gone": (
        "diff",
        lambda s: git(s, "config", "--unset", DRIVER),
        "any other text",
        "proveout install",
    ),
    "wrapper gone": ("diff", lambda s: (s / ".git/proveout/nc-text").unlink(), "is gone", "proveout install"),
    "line ends": ("attributes", _crlf, "core.autocrlf is true", "* -text"),
    "merges": ("attributes", _merges, "by itself", "-merge diff=nc"),
    "person": ("person", lambda s: git(s, "config", "user.email", "x@y.example"), "nobody", "user.email"),
    "roles": ("roles", lambda _: None, "programmer, quality", "shop.toml"),
    "locks": ("locks", _old_lock, "2 hours old", "delete that file"),
    "names": ("names", _names, "Windows keeps the name aux.nc", "rename"),
    "links": ("links", _link, "link", "file itself"),
    "history": ("history", _shallow, "shallow", "git fetch --unshallow"),
    "share": ("share", lambda _: None, "last share: never", "proveout share"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_doctor_names_what_is_off_and_how_to_put_it_right(shop, capsys, fault):
    point, spoil, says, fix = FAULTS[fault]
    if sys.platform == "win32" and fault == "lost bit":
        pytest.skip("there is no run bit on Windows")
    call(capsys, shop, "install")
    spoil(shop)
    status, seen = points(capsys, shop)
    assert status == 1
    assert seen[point]["state"] == "off"
    assert says in seen[point]["says"]
    assert fix in seen[point]["fix"]


def test_doctor_looks_at_programs_that_were_taken_in_where_they_lay(shop, capsys):
    """A shop that adopts keeps its programs where they are, outside jobs/ and common/."""
    write(
        shop,
        "jobs/4471/job.toml",
        'format = 1\n[job]\nnumber = "4471"\n[[operations]]\nprogram = "../../old/O1.MPG"\n',
    )
    write(shop, "old/O1.MPG", "O1\nG1 X1. F5.\nM30\n")
    write(shop, "shop.toml", SHOP.replace('["setup"]', '["setup", "programmer"]'))
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "where it lay")
    call(capsys, shop, "install")
    assert call(capsys, shop, "checkin", "4471", "-m", "first", "--by", "kp")[0] == 0
    _, seen = points(capsys, shop)
    assert seen["attributes"]["state"] == "off"
    assert "old/O1.MPG" in seen["attributes"]["says"]
    git(shop, "config", "core.autocrlf", "true")
    write(shop, ".git/info/attributes", "*.MPG text\n")
    _, seen = points(capsys, shop)
    assert "git may change line ends of old/O1.MPG" in seen["attributes"]["says"]
    assert "proveout install" in seen["attributes"]["fix"]


def test_doctor_tells_what_it_could_not_tell_and_goes_on(shop, capsys):
    call(capsys, shop, "install")
    write(shop, "shop.toml", "broken [")
    git(shop, "commit", "-qam", "broken")
    _, seen = points(capsys, shop)
    assert {seen[name]["state"] for name in ("shop", "person", "roles")} == {"could not tell"}
    assert "shop.toml" in seen["shop"]["says"]
    assert seen["hook"]["state"] == "on"
    _, out, _ = call(capsys, shop, "doctor")
    assert (
        "Could not be told: attributes, shop, person, ssh-keygen, key, signatures, signers, roles."
        in " ".join(out.split())
    )


def test_doctor_sees_a_check_in_that_was_cut_short(shop, capsys):
    run = subprocess.run(
        [sys.executable, "-m", "tests.store.crash_run", str(shop), "staged", record_path(1)],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert run.returncode != 0
    _, seen = points(capsys, shop)
    assert seen["unfinished"]["state"] == "off"
    record(opened(shop), record_path(2))
    assert points(capsys, shop)[1]["unfinished"]["state"] == "on"


def test_a_hook_folder_that_cannot_be_written(shop, capsys, monkeypatch):
    def closed(*_args, **_more):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", closed)
    status, out, _ = call(capsys, shop, "install", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (4, "no-permission")
    assert not list((shop / ".git/hooks").glob("*.part"))


def test_a_bad_clock_is_a_wrong_call(shop, capsys, monkeypatch):
    for text in ("yesterday", "2026-03-11T09:15:02"):
        monkeypatch.setenv("PROVEOUT_NOW", text)
        status, out, _ = call(capsys, shop, "doctor", "--json")
        assert (status, json.loads(out)["error"]["name"]) == (2, "bad-clock")
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-11T10:15:02+01:00")

    desk = open_desk(str(shop))
    assert (desk.clock.now(), desk.clock.is_set) == (AT, True)
