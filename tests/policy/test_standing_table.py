"""The rules of standing as tables: what happened, what is asked, the state and words of the reason.

The tables are in ``tables/``, a file a theme; ``table.py`` says how they are read, ``rows.py`` how rows are written.
"""

from collections import Counter

import pytest

from tests.policy.table import Case, agrees, ask, cases, read_table

CASES = cases()


@pytest.mark.parametrize("case", CASES, ids=[f"{case.theme}: {case.name}" for case in CASES])
def test_standing(case: Case):
    for asked, state, words in case.questions:
        found, said = ask(case.rows, asked)
        assert (found, agrees(said, words)) == (state, True), f"{asked}: {found}: {said}"


def test_no_case_says_what_another_says():
    assert len(CASES) >= 200
    names = Counter((case.theme, case.name) for case in CASES)
    asked = Counter((case.rows, question[0]) for case in CASES for question in case.questions)
    assert [key for key, number in (names + asked).items() if number > 1] == []


def test_a_case_that_cannot_be_read_is_an_error(tmp_path):
    for text in ("name\n    02-02 r1 np\n", "name\n    02-02 r1 np\n    ? r1 MILL2 02-03: fine: words\n"):
        (tmp_path / "t.txt").write_text(text, encoding="utf-8")
        with pytest.raises(ValueError, match=r"t\.txt: name"):
            read_table(tmp_path / "t.txt")


def test_words_are_looked_for_in_their_order():
    assert agrees("held by dg; proven by ss", "held by ... ss")
    assert not agrees("held by dg; proven by ss", "ss ... held")
    assert not agrees("held by dg; proven by ss", "held -not- proven")
