"""What git's own views show of programs once ``install`` was run: diff, log -p, show, blame, difftool. Real git."""

import os
import shutil
import sys
from pathlib import Path

import pytest

from tests.store.shop_repo import git, write
from tracker.cli.entry import main
from tracker.services.install import DIFFTOOL

pytestmark = pytest.mark.timeout(120)  # a difftool that starts itself again must not go on for long

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = "jobs/4471/op10/O1001.nc"
FIRST = "%\nO1001 (PLATE)\nN10 G20\nN20 T4 M6\nN30 G01 X1.0 F5.\nN40 G1 X2.\nN50 M30\n%\n"
SECOND = FIRST.replace("X2.", "X2.5")
RENUMBERED = SECOND.replace("N40", "N45").replace("PLATE", "LID")


@pytest.fixture
def shop(shop, monkeypatch, capsys):
    """Three commits of one program: written, one block changed, renumbered with another comment."""
    write(shop, ".gitattributes", "* -text\n*.nc -merge diff=nc\n")
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.setenv("GIT_PAGER", "cat")
    for text, word in ((FIRST, "first"), (SECOND, "second"), (RENUMBERED, "renumbered")):
        write(shop, PROGRAM, text)
        git(shop, "add", "-A")
        git(shop, "commit", "-qm", word)
    assert main(["-C", str(shop), "install"]) == 0
    capsys.readouterr()
    return shop


def changed(text):
    return [line for line in text.splitlines() if line and line[0] in "+-" and line[:3] not in ("+++", "---")]


def test_log_p_shows_the_block_that_changed_and_nothing_of_its_number(shop):
    shown = changed(git(shop, "log", "-p", "-1", "--skip=1", "--format=%s", "--", PROGRAM))
    assert [line for line in shown if "bytes " not in line] == ["-G1X2.", "+G1X2.5"]


def test_a_renumbered_program_never_shows_as_nothing(shop):
    shown = changed(git(shop, "show", "--format=", "HEAD"))
    assert len([line for line in shown if "numbering N10-N50" in line]) == 2
    assert "-(PLATE)" in shown
    assert "+(LID)" in shown
    assert not any("G1X" in line for line in shown)


def test_blame_names_the_commit_that_changed_the_code_of_a_block(shop):
    second = git(shop, "rev-parse", "--short=8", "HEAD~1").strip()
    (line,) = [
        one for one in git(shop, "blame", "--abbrev=7", PROGRAM).splitlines() if one.endswith("G1X2.5")
    ]
    assert line.startswith(second[:7])


def test_git_remembers_what_it_was_told(shop):
    first = git(shop, "diff", "HEAD~2", "HEAD~1")
    assert git(shop, "rev-parse", "--verify", "refs/notes/textconv/nc")
    (shop / ".git/proveout/nc-text").write_text("echo not asked\n", encoding="ascii")
    assert git(shop, "diff", "HEAD~2", "HEAD~1") == first
    assert "not asked" not in first


def test_a_place_in_the_diff_is_named_by_its_tool(shop):
    body = "".join(f"N{n} G1 X{n}. F5.\n" for n in range(100, 130))
    long = FIRST.replace("N40 G1 X2.\n", body)
    write(shop, PROGRAM, long)
    git(shop, "commit", "-qam", "long")
    write(shop, PROGRAM, long.replace("X128.", "X128.5"))
    assert [line for line in git(shop, "diff").splitlines() if line.startswith("@@") and "T4M6" in line]


@pytest.fixture
def tool(shop):
    """git difftool needs a shell; it runs what was set up."""
    if sys.platform == "win32":
        pytest.skip("git difftool is run by the shell git brings along, which is not on the PATH there")
    return shop


def test_difftool_compares_programs_tool_by_tool(tool):
    said = git(tool, "difftool", "HEAD~2", "HEAD~1", "--", PROGRAM)
    assert f"{PROGRAM}:" in said
    assert "  T4" in said
    assert "was  N40 G1 X2.   (line 6)" in said
    assert said.rstrip().endswith("Different code: motion.")
    same = git(tool, "difftool", "HEAD~1", "HEAD", "--", PROGRAM)
    assert "Changed besides, and no code: numbering, wording." in same


def test_difftool_shows_other_files_as_git_does_and_says_what_is_new_or_gone(tool):
    write(tool, "shop.toml", (tool / "shop.toml").read_text(encoding="utf-8") + "# a remark\n")
    write(tool, "jobs/4471/op10/O1009.nc", "O1009\nM98 P7\nG4 P1.\nM99\n")
    git(tool, "add", "-A")
    (tool / PROGRAM).unlink()
    said = git(tool, "difftool", "HEAD")
    assert "+# a remark" in said
    assert "jobs/4471/op10/O1009.nc: new, there is no older one" in said
    assert f"{PROGRAM}: taken away, there is no newer one" in said


def test_difftool_lives_on_where_ours_is_gone(tool, monkeypatch):
    shutil.rmtree(tool / ".git/proveout")
    assert "+N40 G1 X2.5" in git(tool, "difftool", "HEAD~2", "HEAD~1", "--", PROGRAM)
    assert main(["-C", str(tool), "install"]) == 0
    wrapper = tool / ".git/proveout/nc-difftool"
    wrapper.write_bytes(wrapper.read_bytes().replace(b"python='", b"python='/gone"))
    here = os.environ["PATH"].split(os.pathsep)
    monkeypatch.setenv("PATH", os.pathsep.join(one for one in here if ".venv" not in one))
    assert "+G1X2.5" in git(tool, "difftool", "HEAD~2", "HEAD~1", "--", PROGRAM)


def test_a_tool_somebody_chose_stays(shop, capsys):
    assert main(["-C", str(shop), "install", "--undo"]) == 0
    git(shop, "config", "diff.tool", "mine")
    git(shop, "config", "difftool.prompt", "true")
    assert main(["-C", str(shop), "install"]) == 0
    assert "git difftool --tool proveout" in capsys.readouterr().out
    assert git(shop, "config", "diff.tool").strip() == "mine"
    assert "compare" in git(shop, "config", DIFFTOOL) or "nc-difftool" in git(shop, "config", DIFFTOOL)
    assert main(["-C", str(shop), "install", "--undo"]) == 0
    assert git(shop, "config", "diff.tool").strip() == "mine"
    assert git(shop, "config", "difftool.prompt").strip() == "true"
    assert git(shop, "config", "--get", DIFFTOOL, check=False).returncode == 1


def test_a_tool_chosen_since_stays_too(shop):
    assert main(["-C", str(shop), "install"]) == 0
    git(shop, "config", "diff.tool", "mine")
    assert main(["-C", str(shop), "install", "--undo"]) == 0
    assert git(shop, "config", "diff.tool").strip() == "mine"
    assert git(shop, "config", "--get", "difftool.prompt", check=False).returncode == 1
