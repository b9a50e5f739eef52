"""Where nothing was compiled, a program is run through all the same, and comes to the same."""

import subprocess
import sys
from pathlib import Path

from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise

PROGRAM = b"%\nO1001\nG21 G90 G17 G94 G54\nT1 M6\nS1000 M3\nG0 X0 Y0 Z5\nG1 Z-1 F100\nG2 X10 Y0 R5\nM98 P2 L2\nM30\n%\n"
ALONE = """
import sys
sys.modules["tracker.nc._scanner"] = None
sys.modules["tracker.machining._walker"] = None
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.nc import scan
assert scan.engine() == "plain"
print(summarise(sys.stdin.buffer.read(), Setting()))
"""


def test_summary_without_compiled_code(project: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", ALONE], input=PROGRAM, capture_output=True, cwd=project, timeout=60
    )
    assert ran.stderr.decode() == ""
    assert ran.stdout.decode().strip() == str(summarise(PROGRAM, Setting()))
