"""Every rule a server refuses by is in the table of attacks and has a page; DEVELOPERS.md shows the table."""

import ast
from pathlib import Path

from tests.server.attacks import ATTACKS
from tests.server.table import with_table
from tracker.reports.explain import all_pages

MODULES = (
    "policy/push_about.py",
    "policy/push_appended.py",
    "policy/push_refs.py",
    "policy/push_records.py",
    "policy/push_signed.py",
    "services/push_evidence.py",
    "services/push_files.py",
    "services/push_judge.py",
    "services/push_signatures.py",
)


def rules(project: Path) -> set[str]:
    found = set()
    for name in MODULES:
        for node in ast.walk(ast.parse((project / "tracker" / name).read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            named = [k.value for k in node.keywords if k.arg == "rule"]
            named += node.args[:2] if getattr(node.func, "id", "") == "_breach" else []
            for value in named:
                found |= {
                    c.value
                    for c in ast.walk(value)
                    if isinstance(c, ast.Constant) and isinstance(c.value, str)
                }
    return {name for name in found if "-" in name and " " not in name} | {"link"}


def test_every_rule_is_attacked(project: Path) -> None:
    assert len(rules(project)) > 30
    assert rules(project) - {attack.rule for attack in ATTACKS} == set()


def test_every_rule_has_a_page(project: Path) -> None:
    named = rules(project) | {attack.rule for attack in ATTACKS} - {"git"}
    assert sorted(named - all_pages().keys()) == []


def test_the_table_in_developers_is_this_one(project: Path) -> None:
    text = (project / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert with_table(text) == text, "run: python -m tests.server.table"
