"""Every error the code can raise says how to put it right."""

import ast
from pathlib import Path

RAISERS = {"BadCall", "Refused", "CouldNot"}


def raised(project: Path) -> list[tuple[str, ast.Call]]:
    return [
        (f"{path.relative_to(project)}:{node.lineno}", node)
        for path in sorted((project / "tracker").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in RAISERS
    ]


def test_every_error_has_a_fix(project):
    found = raised(project)
    assert len(found) > 150
    without = [place for place, node in found if not any(word.arg == "fix" for word in node.keywords)]
    assert without == []


def test_a_fix_is_never_none(project):
    empty = [
        place
        for place, node in raised(project)
        for word in node.keywords
        if word.arg == "fix" and isinstance(word.value, ast.Constant) and not word.value.value
    ]
    assert empty == []
