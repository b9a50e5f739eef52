"""What the Tab key offers, asked as bash, zsh and fish ask it: by running the console script with their variables."""

import os
import subprocess
import sys

import pytest

from tests.fakes.shop_folder import JOB, MAIN, SHOP, ShopFolder


@pytest.fixture
def offered(threepenny_once):
    def ask(line, folder=threepenny_once):
        words = line.split(" ")
        world = {
            "_PROVEOUT_COMPLETE": "complete_bash",
            "COMP_WORDS": line,
            "COMP_CWORD": str(len(words) - 1),
        }
        script = "import sys; from tracker.cli.entry import main; sys.argv = ['proveout']; sys.exit(main())"
        done = subprocess.run(
            [sys.executable, "-c", script],
            cwd=folder,
            env={**os.environ, **world},
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, ""), done.stderr
        return done.stdout.split()

    return ask


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("proveout sta", ["status"]),
        ("proveout wit", ["withdraw", "witness"]),
        ("proveout status --st", ["--standing"]),
        ("proveout status --machine M", ["MILL2", "MILL3"]),
        ("proveout status --machine LA", ["LATHE1"]),
        ("proveout status --job 44", ["4471", "4488"]),
        ("proveout status --standing he", ["held"]),
        ("proveout status --standing held,re", ["held,rejected"]),
        ("proveout compare 4471/op10@r4 45", ["4502"]),
        ("proveout compare 4471/op1", ["4471/op10", "4471/op10-m3"]),
        ("proveout prove 4471/op2", ["4471/op20"]),
        ("proveout explain programm", ["programmer"]),
        ("proveout prove 4502 --machine MILL3 --acc", ["--accept"]),
        ("proveout compare 9", []),
    ],
)
def test_what_is_offered(offered, line, wanted):
    assert offered(line) == wanted


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("proveout checkin Br", ["Bracket-7"]),
        ("proveout checkin br", []),
        ("proveout prove Bracket-7", ["Bracket-7", "Bracket-7/op10"]),
        ("proveout status --job B", ["Bracket-7"]),
        ("proveout checkin shop", ["shop.toml"]),
        ("proveout release B", ["Bracket-7"]),
        ("proveout verify Bracket-7/", ["Bracket-7/op10"]),
        ("proveout show B", ["Bracket-7"]),
        ("proveout report B", ["Bracket-7"]),
        ("proveout export --for-proving B", ["Bracket-7"]),
        ("proveout export --machine MILL2 B", ["Bracket-7"]),
        ("proveout collect stick --checkin B", ["Bracket-7"]),
    ],
)
def test_a_job_is_offered_as_it_is_spelled(offered, tmp_path, capsys, monkeypatch, line, wanted):
    shop = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    shop.folder.mkdir()
    shop.put("shop.toml", SHOP)
    shop.run("init", ".", "--name", "Test shop")
    shop.put("jobs/Bracket-7/job.toml", JOB.replace("4471", "Bracket-7"))
    shop.put("jobs/Bracket-7/op10/O1001.nc", MAIN.replace("N90 M98 P1002\n", ""))
    shop.run("checkin", "Bracket-7", "-m", "first", "--by", "np")
    assert offered(line, shop.folder) == wanted


@pytest.mark.parametrize(
    "line", ["proveout status --machine M", "proveout compare 44", "proveout status --job 4"]
)
def test_outside_a_shop_nothing_is_offered_and_nothing_is_said(offered, tmp_path, line):
    assert offered(line, tmp_path) == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_of_a_shell_asks_this_command(shell):
    script = "import sys; from tracker.cli.entry import main; sys.argv[0] = 'proveout'; sys.exit(main())"
    done = subprocess.run(
        [sys.executable, "-c", script, "--show-completion", shell],
        env={**os.environ, "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert f"_PROVEOUT_COMPLETE=complete_{shell}" in done.stdout


def test_bash_itself_completes(offered, threepenny_once, outside_program, tmp_path):
    command = tmp_path / "proveout"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m tracker "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    asked = (
        'eval "$(proveout --show-completion bash)"; COMP_WORDS=(proveout status --machine M); COMP_CWORD=3;'
        ' _proveout_completion proveout; echo "${COMPREPLY[@]}"'
    )
    done = subprocess.run(
        [outside_program("bash"), "-c", asked],
        cwd=threepenny_once,
        env={**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.stdout.split(), done.stderr) == (["MILL2", "MILL3"], "")
