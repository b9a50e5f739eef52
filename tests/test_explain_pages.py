"""Every name the program can show has a page: errors, findings, standings, kinds, verdicts."""

import ast
from pathlib import Path

import pytest

from tracker.checks.registry import RULES
from tracker.checks.rule import Rule
from tracker.errors import BadCall
from tracker.nc.kinds import KINDS
from tracker.reports.explain import all_pages, page
from tracker.reports.pages_errors import ERRORS
from tracker.reports.pages_rules import rule_pages
from tracker.reports.pages_sheet import SHEET
from tracker.reports.pages_store import PROBLEMS, SETUP
from tracker.services.collect_report import VERDICTS

RAISERS = {"BadCall", "Refused", "CouldNot", "ProveoutError"}


def names_raised(project: Path) -> dict[str, str]:
    """Error name -> where it is raised, read from the code."""
    found = {}
    for path in sorted((project / "tracker").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in RAISERS
                and node.args
            ):
                first = node.args[0]
                if isinstance(first, ast.Constant) and isinstance(first.value, str):
                    found[first.value] = f"{path.relative_to(project)}:{node.lineno}"
    return found


def test_errors_are_found_in_the_code(project: Path) -> None:
    assert {"unknown-person", "unknown-command", "no-shop"} <= set(names_raised(project))


def test_every_error_has_a_page(project: Path) -> None:
    pages = all_pages()
    assert {name: where for name, where in names_raised(project).items() if name not in pages} == {}


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_of_change_has_a_page(name: str) -> None:
    assert page(name).means


@pytest.mark.parametrize(
    "name",
    [
        "proven",
        "carried",
        "unproven",
        "lapsed",
        "rejected",
        "held",
        "withdrawn",
        "as-exported",
        "forged-manifest",
    ],
)
def test_standings_and_verdicts_have_pages(name: str) -> None:
    assert page(name).means


@pytest.mark.parametrize("name", VERDICTS)
def test_every_verdict_of_collect_has_a_page(name: str) -> None:
    assert page(name).means


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("damaged", "A file on a stick (verdict of collect): it cannot be read"),
        ("damaged", "something in the repository cannot be read back"),
        ("damaged", "read the program out of the control again"),
        ("damaged", "run proveout audit"),
        ("incomplete", "more than a tenth of its code is not"),
        ("incomplete", "--whole"),
        ("same-code", "an export does not write over it"),
        ("same-code", "id line is of another text"),
        ("unknown", "evidence of the machine, never as a program"),
        ("taken-in", "It counts as decided in that collect."),
        ("taken-in", "the next collect names it again"),
        (
            "stick",
            "replaced only where an export record has its SHA-256 or its bytes are those of a revision",
        ),
        ("stick", "held against the SHA-256 of what was shaped"),
    ],
)
def test_a_page_says_what_the_stick_needs(name: str, says: str) -> None:
    """Each of these is what the tests of export and collect hold."""
    assert says in f"{page(name).means} {page(name).put_right}"


def test_an_unknown_name_gets_the_nearest() -> None:
    with pytest.raises(BadCall) as caught:
        page("provn")
    assert "proven" in (caught.value.fix or "")


def test_no_page_says_safe() -> None:
    assert [p.name for p in all_pages().values() if " is safe" in p.means] == []


@pytest.mark.parametrize("rule", RULES, ids=[rule.name for rule in RULES])
def test_every_rule_has_a_page_made_from_it(rule: Rule) -> None:
    shown = page(rule.name)
    assert shown.sort == "finding"
    assert rule.what in shown.means
    assert rule.reason in shown.means
    assert rule.source in shown.means
    assert rule.remedy[1:] in shown.put_right


def test_no_two_pages_have_one_name() -> None:
    names = [p.name for p in (*rule_pages(), *ERRORS, *PROBLEMS, *SETUP, *SHEET)]
    assert len(set(names)) == len(names)
