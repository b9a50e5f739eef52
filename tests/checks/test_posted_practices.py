"""Posted programs in the ways shops and posts write the same: silent where they are right, each rule found where not."""

import pytest

from tests.checks import variations as ways
from tests.checks.posted_faults import FAULTS, MISSED, SAID, SHEET
from tests.checks.posted_named import NAMED
from tests.checks.posted_programs import JOBS, judged, machines_of, posted, slipped, texts_of
from tracker.checks.registry import RULES

# what a post or a person does otherwise and means the same
PRACTICES = (
    ways.tool_call_split,
    ways.m6_first,
    ways.h_on_the_next_line,
    ways.h_and_z_swapped,
    ways.offset_before_the_change,
    ways.offset_on_its_own_line,
    ways.one_word_a_line_at_the_start,
    ways.speed_on_its_own_line,
    ways.m3_before_the_position,
    ways.m8_on_its_own_line,
    ways.g91_on_its_own_line,
    ways.stop_after_each_tool,
    ways.comments_behind,
    ways.comments_before,
    ways.comments_between,
    ways.comment_lines,
    ways.lower_case,
    ways.no_blanks,
    ways.more_blanks,
    ways.tabs,
    ways.crlf,
    ways.blank_lines,
    ways.leading_zeros,
    ways.plus_signs,
    ways.trailing_zeros,
)
FEWEST = 5
READS_CAPITALS_ONLY = {"ARM-MM"}

# another way of writing that takes the slip away, or makes another rule's of it
TAKES_AWAY = {"precall-wrong": {"tool_call_split"}}


@pytest.mark.parametrize("way", PRACTICES, ids=[way.__name__ for way in PRACTICES])
def test_written_otherwise_they_are_as_right(way):
    tried = 0
    for job in JOBS:
        texts = texts_of(job)
        written = {name: way(text) for name, text in texts.items()}
        rewritten = (
            way is ways.stop_after_each_tool
        )  # more stops than before are no other way to write the same
        if written == texts:
            continue
        tried += 1
        machine = machines_of(job)[0]
        wanted = set(NAMED.get(job, set()))
        if way is ways.lower_case and machine in READS_CAPITALS_ONLY:
            wanted.add("characters-not-read")
        found = judged(posted(job, machine, written, before=written if rewritten else texts)).findings
        assert {one.rule for one in found} == wanted, (job, [(one.line, one.message) for one in found])
    assert tried >= FEWEST


# a rule about the numbers of other jobs has no slip in a text: tests/services/test_on_record.py tries it
@pytest.mark.parametrize("rule", [rule.name for rule in RULES if not rule.example.others])
def test_each_rule_finds_its_slip_in_five_ways_of_writing(rule):
    """The first slip of the rule in which enough of the ways change the text at all."""
    slips = [one for one in FAULTS if one[3] == rule]
    assert slips, f"no slip in a posted program is the rule {rule}'s: add one to posted_faults.py"
    tried = 0
    for job, old, new, _ in slips:
        texts, sheet = slipped(job, old, new)
        machine = machines_of(job, sheet)[0]
        for way in PRACTICES:
            written = {name: way(text) for name, text in texts.items()}
            if written == texts or way.__name__ in TAKES_AWAY.get(rule, ()):
                continue
            tried += 1
            before = {name: way(text) for name, text in texts_of(job).items()}
            found = {one.rule for one in judged(posted(job, machine, written, sheet, before)).findings}
            assert rule in found, (job, way.__name__)
        if tried >= FEWEST:
            break
    assert tried >= FEWEST


def test_every_slip_names_a_rule():
    names = {rule.name for rule in RULES} | {SAID, MISSED}
    assert {one[3] for one in FAULTS} <= names
    assert all(one[1].removeprefix(SHEET) for one in FAULTS)
