"""The interpreter from outside: where it is, and a run of it."""

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from tests.oracle.machine import tool_table, variables

HERE = Path(__file__).resolve().parent
PROGRAMS = HERE / "programs"
RECORDED = HERE / "recorded"
_COUNTER = re.compile(r"^ *[0-9]+ +N\S*\s+")


def find() -> str | None:
    """Path of the interpreter: as ``tests/oracle/fetch`` lays it down, or on the PATH."""
    fetched = HERE.parent.parent / ".venv-oracle" / "bin" / "rs274"
    return str(fetched) if fetched.is_file() else shutil.which("rs274")


def answer(program: str, path: str, *, skip: bool = False) -> str:
    """Canonical moves of a program, one a line, an error it ended with as ``error: …`` behind them."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "tools").write_text(tool_table())
        (home / "variables").write_text(variables())
        (home / "program.ngc").write_text(program)
        flags = ["-b"] if skip else []
        ran = subprocess.run(
            [path, *flags, "-t", "tools", "-v", "variables", "-n", "2", "-g", "program.ngc"],
            cwd=home,
            env=os.environ | {"HOME": folder},
            capture_output=True,
            text=True,
            timeout=60,
        )
    lines = [_COUNTER.sub("", line) for line in ran.stdout.splitlines()]
    if ran.returncode:
        lines += [
            "error: " + line for line in ran.stderr.splitlines() if line.strip() and line != "executing"
        ]
    return "\n".join(lines) + "\n"


def skips(name: str) -> bool:
    """Whether a program is run with block delete on."""
    return name.endswith("_delete_on")
