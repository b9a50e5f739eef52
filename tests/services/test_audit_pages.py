import ast
import re

import pytest

from tracker.reports.explain import all_pages
from tracker.reports.pages_store import PROBLEMS
from tracker.services import audit


def names_in_table():
    table = re.search(r"={20,} =+\n(.*)\n={20,} =+", audit.__doc__, re.DOTALL)[1]
    return [line.split()[0] for line in table.splitlines() if line.strip()]


# lists and the words of a call are no problems; the rules of a push have their pages with those of the server
OTHERS = ("audit_lists.py", "audit_lists_more.py", "audit_since.py", "audit_commits.py")


def names_in_code(project):
    """Every plain name handed to a Problem, by keyword, by `_refuse`, or out of a table of names."""
    files = [p for p in (project / "tracker/services").glob("audit*.py") if p.name not in OTHERS]
    return plain_names("\n".join(p.read_text(encoding="utf-8") for p in files))


def plain_names(text):
    strings = {
        node.value
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    return {one for one in strings if re.fullmatch(r"[a-z]+(-[a-z]+)+", one)}


def of_a_push(project):
    return plain_names((project / "tracker/services/audit_commits.py").read_text(encoding="utf-8"))


def test_every_problem_stands_in_the_table_and_has_a_page(project):
    table = names_in_table()
    assert sorted(table) == sorted({page.name for page in PROBLEMS})
    assert len(table) == len(set(table))
    told = names_in_code(project)
    rules = "\n".join(p.read_text(encoding="utf-8") for p in (project / "tracker/policy").glob("push*.py"))
    assert told - set(table) == {"not-its-author"}
    assert (set(table) - told) | {"not-its-author"} <= plain_names(rules)
    assert "not-its-author" in all_pages()


def test_every_rule_of_a_push_that_audit_speaks_of_has_a_page(project):
    assert of_a_push(project) <= set(all_pages())


@pytest.mark.parametrize("page", PROBLEMS, ids=lambda page: page.name)
def test_a_page_says_how_to_put_it_right(page):
    assert all_pages()[page.name] is page
    assert page.put_right
    assert "commit" not in page.means + page.put_right
