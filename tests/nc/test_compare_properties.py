from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.nc.canonical import read
from tracker.nc.compare import compare, with_slower
from tracker.nc.compare_words import words_of
from tracker.nc.kinds import CODE, TEXT_ONLY
from tracker.nc.word import words

BLOCKS = (
    "G0 X1.",
    "G1 X1. F10.",
    "G1 X1. F9.",
    "X2.",
    "Y3.",
    "X2. Y3.",
    "M8",
    "M9",
    "M0",
    "M1",
    "M0 (TURN)",
    "T1 M6",
    "T2 M6",
    "T2",
    "S500 M3",
    "G43 H1 Z1.",
    "G43 H2 Z1.",
    "G54",
    "G91 G28 Z0.",
    "G83 Z-1. R.1 Q.2 F5.",
    "G84 Z-1. R.1 F5.",
    "G80",
    "M98 P7",
    "#1=5",
    "(MSG, GO ON)",
    "N5 X7.",
    "GOTO 5",
    "NO WORDS HERE",
    "(A COMMENT)",
    "",
)
PROGRAM = st.lists(st.sampled_from(BLOCKS), max_size=18)


def text(blocks):
    return "".join(block + "\n" for block in blocks).encode()


def code_blocks(data):
    return read(data).code.split(b"\n")[:-1]


@given(PROGRAM, PROGRAM)
@settings(max_examples=400)
def test_a_comparison_explains_the_new_text(old, new):
    old, new = text(old), text(new)
    comparison = compare(old, new)
    old_blocks, new_blocks = code_blocks(old), code_blocks(new)
    assert comparison.same_code == (old_blocks == new_blocks)
    rebuilt, at = [], 0
    for stretch in comparison.stretches:
        rebuilt += old_blocks[at : stretch.old_from] + new_blocks[stretch.new_from : stretch.new_to]
        at = stretch.old_to
    assert rebuilt + old_blocks[at:] == new_blocks


@given(PROGRAM, PROGRAM)
@settings(max_examples=400)
def test_kinds_are_those_of_the_changes_and_there_is_one_for_every_difference(old, new):
    old, new = text(old), text(new)
    comparison = compare(old, new)
    assert set(comparison.kinds) == {change.kind for change in comparison.changes} <= CODE | TEXT_ONLY
    assert list(comparison.kinds) == sorted(comparison.kinds)
    assert bool(comparison.kinds) == (old != new)
    assert comparison.same_code == (not set(comparison.kinds) & CODE)
    assert len(set(comparison.changes)) == len(comparison.changes)


@given(PROGRAM, PROGRAM)
@settings(max_examples=200)
def test_sides_are_lines_of_the_texts(old, new):
    comparison = compare(text(old), text(new))
    for change in comparison.changes:
        for side, blocks in ((change.old, old), (change.new, new)):
            assert side is None or blocks[side.line - 1].strip() == side.text
        assert (change.old is None and change.new is None) == (change.kind in TEXT_ONLY)


@given(PROGRAM, st.integers(0, 17), st.sampled_from(BLOCKS))
@settings(max_examples=300)
def test_every_changed_block_is_named(old, place, block):
    new = list(old)
    new[place:place] = [block]
    comparison = compare(text(old), text(new))
    added = sum(stretch.new_to - stretch.new_from for stretch in comparison.stretches)
    named = {change.new.line for change in comparison.changes if change.new}
    assert len(named) == added


@given(PROGRAM, st.integers(0, 17), st.sampled_from(BLOCKS[:13]))
@settings(max_examples=300)
def test_one_edit_has_the_same_kinds_there_and_back(old, place, block):
    new = list(old)
    new[place : place + 1] = [block]
    one_way = {"stop", "stop-removed"}
    there, back = compare(text(old), text(new)), compare(text(new), text(old))
    assert set(there.kinds) - one_way == set(back.kinds) - one_way
    assert bool(set(there.kinds) & one_way) == bool(set(back.kinds) & one_way)


@given(PROGRAM)
def test_a_text_has_no_change_from_itself_and_only_text_from_its_copy_written_otherwise(blocks):
    assert compare(text(blocks), text(blocks)).kinds == ()
    assert set(compare(text(blocks), text(blocks).replace(b"\n", b"\r\n")).kinds) <= {"format"}


@given(PROGRAM, PROGRAM, st.sampled_from([0, 5, 20, 50]))
def test_shown_kinds_are_the_raw_ones_with_slower_for_feed_and_speed(old, new, percent):
    comparison = compare(text(old), text(new))
    shown = with_slower(comparison, percent)
    rest = {"feed", "speed", "slower"}
    assert set(shown.kinds) - rest == set(comparison.kinds) - rest
    assert ("slower" in shown.kinds) <= bool({"feed", "speed"} & set(comparison.kinds))
    assert not ("slower" in shown.kinds and {"feed", "speed"} & set(shown.kinds))


CHARACTERS = "GMXYZNTFSIJKOPQ0123456789.-+ /%#[]()=;,IFGOTO"


@given(st.text(CHARACTERS, max_size=30))
@settings(max_examples=500)
def test_words_read_quickly_are_the_words(line):
    for block in read(line.encode() + b"\n").code.decode("latin-1").split("\n")[:-1]:
        assert words_of(block) == words(block)


@given(st.text(CHARACTERS + "\r\n", max_size=60), st.text(CHARACTERS + "\r\n", max_size=60))
@settings(max_examples=300)
def test_any_text_can_be_compared_with_any_other(old, new):
    comparison = compare(old.encode(), new.encode())
    assert bool(comparison.kinds) == (old != new)
