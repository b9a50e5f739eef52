"""Small modules, short functions: 400 lines and 40 lines are the hard limits."""

import ast
from pathlib import Path

# tables of data, named one by one
TABLES: set[str] = {"fields.py", "pages_errors.py"}


def modules(project: Path) -> list[Path]:
    return sorted((project / "tracker").rglob("*.py"))


def test_there_is_something_to_measure(project: Path) -> None:
    assert len(modules(project)) > 20


def test_modules_stay_under_400_lines(project: Path) -> None:
    long = {
        str(p.relative_to(project)): n
        for p in modules(project)
        if (n := len(p.read_text(encoding="utf-8").splitlines())) > 400 and p.name not in TABLES
    }
    assert long == {}


def test_functions_stay_under_40_lines(project: Path) -> None:
    long = {}
    for path in modules(project):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                first = node.body[0]
                documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
                start = first.end_lineno + 1 if documented and len(node.body) > 1 else node.lineno
                if node.end_lineno - start >= 40:
                    long[f"{path.relative_to(project)}:{node.lineno} {node.name}"] = (
                        node.end_lineno - start + 1
                    )
    assert long == {}
