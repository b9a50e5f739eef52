"""Pre-calls written into a text: at their places, nothing else touched, and refused where the order is open."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.checks.subjects import subject
from tests.checks.variations import MEANING_THE_SAME, m6_first, tool_call_split
from tracker.checks.check import check
from tracker.checks.examples import MILLING, edited
from tracker.checks.precalls_written import NOTICE, NotWrittenError, with_precalls
from tracker.nc.compare import compare

BARE = edited(("T2\nG0 G17", "G0 G17"), ("T1\nG0 G17", "G0 G17"))
RULES = {"no-precall", "precall-wrong", "two-precalls"}


def written(text: str) -> str:
    return with_precalls(text.encode("latin-1")).data.decode("latin-1")


def test_each_change_calls_for_the_next_tool_and_the_last_for_the_first():
    made = with_precalls(BARE.encode())
    assert made.data.decode() == MILLING.replace("(TWO TOOLS)\n", f"(TWO TOOLS)\n{NOTICE}\n")
    lines = BARE.splitlines()
    assert [(lines[line - 1], tool) for line, tool in made.added] == [("T1 M6", 2), ("T2 M6", 1)]
    assert made.corrected == ()


def test_what_is_right_stays_to_the_byte():
    made = with_precalls(MILLING.encode())
    assert (made.data, made.changes) == (MILLING.encode(), False)


def test_a_right_one_is_kept_and_a_missing_one_added():
    half = edited(("T1\nG0 G17", "G0 G17"))
    made = with_precalls(half.encode())
    assert [tool for _, tool in made.added] == [1]
    assert made.data.decode().replace(NOTICE + "\n", "") == MILLING


def test_a_wrong_one_gets_the_right_number_in_its_place():
    wrong = edited(("T1 M6\nT2\n", "T1 M6\nT9 (NOT T7)\n"))
    made = with_precalls(wrong.encode())
    assert "T1 M6\nT2 (NOT T7)\n" in made.data.decode()
    assert (made.added, len(made.corrected)) == ((), 1)


def test_the_comment_stands_once():
    once = written(BARE)
    again = once.replace("T2\nG0", "G0", 1)
    assert written(again).count(NOTICE) == 1


@pytest.mark.parametrize(
    ("text", "start"),
    [
        (BARE, f"%\nO1001 (TWO TOOLS)\n{NOTICE}\n"),
        (BARE.replace("O1001 (TWO TOOLS)\n", ""), f"%\n{NOTICE}\nG20\n"),
        (BARE.replace("%\nO1001 (TWO TOOLS)\n", ""), f"{NOTICE}\nG20\n"),
    ],
)
def test_where_the_comment_stands(text, start):
    assert written(text).startswith(start)


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
def test_line_ends_and_characters_are_kept(end):
    text = BARE.replace("(NO. 7 DRILL)", "(BOHRER \xd84, \xe4\xff)").replace("\n", end)
    made = written(text)
    added = {f"{NOTICE}{end}", f"T2{end}", f"T1{end}"}
    kept = list(made.splitlines(keepends=True))
    for line in added:
        kept.remove(line)
    assert "".join(kept) == text


def test_the_number_is_written_as_in_its_change():
    made = written(BARE.replace("T2 M6", "M06T02"))
    assert "T1 M6\nT02\n" in made


def test_the_same_tool_twice_needs_none():
    one = BARE.replace("T2 M6", "T1 M6").replace("H2", "H1")
    assert with_precalls(one.encode()).changes is False


def test_a_t_on_a_line_of_its_own_before_m6_is_what_is_changed_to():
    staged = BARE.replace("T2 M6", "T2\nM6")
    made = with_precalls(staged.encode())
    assert [tool for _, tool in made.added] == [1]


@pytest.mark.parametrize("change", MEANING_THE_SAME, ids=[change.__name__ for change in MEANING_THE_SAME])
def test_the_result_passes_its_rules_in_every_spelling_and_only_calls_differ(change):
    text = change(BARE)
    try:
        made = written(text)
    except NotWrittenError:
        assert change.__name__ == "comments_between"
        return
    assert not RULES & {one.rule for one in check(subject(made)).findings}, made
    kinds = set(compare(text.encode("latin-1"), made.encode("latin-1")).kinds)
    # where M6 has no T of its own, or has it behind itself, a T that waits may be the one that is changed to: compare does
    # not call it a pre-call
    may_be_taken = change in (tool_call_split, m6_first)
    assert kinds <= {"tool" if may_be_taken else "precall", "wording"}


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ("X2.\nY2.", "GOTO 10\nX2.\nN10 Y2.", "GOTO may change the order"),
        ("X2.\nY2.", "IF [#1 EQ 1] GOTO 10\nN10", "may change the order"),
        ("X2.\nY2.", "M97 P10\nX2.", "M97 calls lines"),
        ("T2 M6", "/T2 M6", "block skip"),
        ("T2 M6", "T#100 M6", "by a variable"),
        ("T1 M6\n", "T1 M6\nT2\nX1.\nT3\n", "several tools"),
        ("T1 M6", "M6", "M6 with no T"),
    ],
)
def test_where_the_order_is_open_nothing_is_written(old, new, why):
    with pytest.raises(NotWrittenError) as caught:
        with_precalls(BARE.replace(old, new, 1).encode())
    assert why in caught.value.why
    assert caught.value.line


def test_a_text_without_a_change_or_that_ends_with_one():
    for text in ("", "%\nO1\nG0 X1.\nM30\n%\n", "\xff\xfe"):
        with pytest.raises(NotWrittenError, match="no tool change"):
            written(text)
    with pytest.raises(NotWrittenError, match="ends with a tool change"):
        written("T1 M6\nG0 X1.\nT2 M6")


@given(st.lists(st.integers(1, 12), min_size=1, max_size=8), st.lists(st.booleans(), min_size=8, max_size=8))
def test_any_row_of_tools(tools, kept):
    lines = ["O1001"]
    for at, tool in enumerate(tools):
        lines.append(f"T{tool} M6")
        following = tools[(at + 1) % len(tools)]
        if kept[at] and following != tool:
            lines.append(f"T{following}")
        lines.append(f"G43 H{tool} Z1.")
    text = "\n".join([*lines, "M30", ""])
    made = written(text)
    said = [line for line in made.splitlines() if line.startswith("T")]
    spoken = [int(line[1:].split(" ")[0]) for line in said if " M6" not in line]
    wanted = [tools[(at + 1) % len(tools)] for at in range(len(tools))]
    assert spoken == [nxt for nxt, tool in zip(wanted, tools, strict=True) if nxt != tool]
    assert written(made) == made
