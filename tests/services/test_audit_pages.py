import ast
import re

import pytest

from tracker.reports.explain import all_pages
from tracker.reports.pages_store import PROBLEMS
from tracker.services import audit


def names_in_table():
    table = re.search(r"={20,} =+\n(.*)\n={20,} =+", audit.__doc__, re.DOTALL)[1]
    return [line.split()[0] for line in table.splitlines() if line.strip()]


def names_in_code(project):
    """Every plain name handed to a Problem, by keyword, by `_refuse`, or out of a table of names."""
    files = [p for p in (project / "tracker/services").glob("audit*.py") if p.name != "audit_lists.py"]
    text = "\n".join(p.read_text(encoding="utf-8") for p in files)
    strings = {
        node.value
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return {one for one in strings if re.fullmatch(r"[a-z]+(-[a-z]+)+", one)}


def test_every_problem_stands_in_the_table_and_has_a_page(project):
    table = names_in_table()
    assert sorted(table) == sorted({page.name for page in PROBLEMS})
    assert len(table) == len(set(table))
    assert names_in_code(project) == set(table)


@pytest.mark.parametrize("page", PROBLEMS, ids=lambda page: page.name)
def test_a_page_says_how_to_put_it_right(page):
    assert all_pages()[page.name] is page
    assert page.put_right
    assert "commit" not in page.means + page.put_right
