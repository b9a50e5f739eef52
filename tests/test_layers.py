"""The map of the rooms holds: imports point inward, and the pure rooms touch neither disk, clock nor screen."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PURE = ("nc", "machining", "records", "policy", "services", "checks")
CALLS = {"open", "print", "input", "exec", "eval"}
ATTRIBUTES = {
    ("datetime", "now"),
    ("datetime", "today"),
    ("date", "today"),
    ("datetime", "utcnow"),
    ("time", "time"),
}
OS_NAMES = {
    "environ",
    "getenv",
    "listdir",
    "remove",
    "rename",
    "replace",
    "unlink",
    "stat",
    "scandir",
    "walk",
}


def trespasses(source: str) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            found.append(f"{node.lineno}: {node.func.id}()")
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            pair = (node.value.id, node.attr)
            if pair in ATTRIBUTES or (pair[0] == "os" and pair[1] in OS_NAMES):
                found.append(f"{node.lineno}: {'.'.join(pair)}")
    return found


@pytest.mark.parametrize(
    "source",
    ["open('x')", "print(1)", "import os\nos.environ['A']", "from datetime import datetime\ndatetime.now()"],
)
def test_the_search_finds_what_it_looks_for(source: str) -> None:
    assert trespasses(source)


@pytest.mark.parametrize("room", PURE)
def test_pure_rooms_do_no_io(project: Path, room: str) -> None:
    found = {
        str(path.relative_to(project)): lines
        for path in (project / "tracker" / room).rglob("*.py")
        if (lines := trespasses(path.read_text(encoding="utf-8")))
    }
    assert found == {}


def test_imports_point_inward(project: Path) -> None:
    tool = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run([str(tool)], cwd=project, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_only_what_chooses_an_engine_imports_the_compiled_parts(project: Path) -> None:
    """Without a C compiler they are not there; whoever imports one in passing would not start."""
    compiled = {"scan_quick", "_scanner", "_walker"}
    found = set()
    for path in (project / "tracker").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                names = {*(alias.name for alias in node.names), (node.module or "").rpartition(".")[2]}
                found |= {str(path.relative_to(project / "tracker"))} if names & compiled else set()
    assert found == {
        "nc/scan.py",
        "nc/scan_find.py",
        "nc/scan_care.py",
        "nc/scan_quick.py",
        "nc/difference_myers.py",
        "machining/thin.py",
        "machining/quick.py",
    }
