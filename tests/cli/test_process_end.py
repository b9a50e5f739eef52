"""How the console script ends."""

import subprocess
import sys

import pytest

PROGRAM = (
    "import gc, sys; from tracker.cli.entry import script; sys.argv = ['proveout', *sys.argv[1:]]; status = script();"
    "print(status, gc.isenabled(), gc.get_freeze_count() > 0)"
)


@pytest.mark.parametrize(("words", "status"), [(["--version"], 0), (["no-such-verb"], 2)])
def test_the_console_script_ends_with_the_status_and_looks_through_no_objects_once_more(words, status):
    ended = subprocess.run(
        [sys.executable, "-c", PROGRAM, *words], capture_output=True, text=True, check=True
    )
    assert ended.stdout.splitlines()[-1] == f"{status} False True"


def test_python_m_ends_with_the_status_too():
    ended = subprocess.run(
        [sys.executable, "-m", "tracker", "no-such-verb"], capture_output=True, check=False
    )
    assert ended.returncode == 2
