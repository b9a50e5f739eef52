import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.nc.compare_change import Stretch
from tracker.nc.difference import SLICE
from tracker.nc.difference_text import Strand, _differs, same

LINES = [b"line %d" % number for number in range(20_000)]
WHOLE = b"".join(line + b"\n" for line in LINES)


def stretch(old_from, old_to, new_from, new_to):
    return Stretch(old_from=old_from, old_to=old_to, new_from=new_from, new_to=new_to)


@pytest.mark.parametrize("few", [True, False])
@pytest.mark.parametrize("at", [0, 1, SLICE - 1, SLICE, SLICE + 1, 2 * SLICE, len(WHOLE) - 2])
def test_one_byte_anywhere_tells_long_spans_apart(few, at):
    assert len(WHOLE) > 2 * SLICE
    other = bytearray(WHOLE)
    assert other[at] != ord("\n")
    other[at] ^= 1
    one = Strand(WHOLE, few=few)
    assert same(one, (0, None), Strand(WHOLE, few=few), (0, None))
    assert not same(one, (0, None), Strand(bytes(other), few=few), (0, None))


def test_spans_at_other_places_are_the_same_by_what_they_hold():
    one, other = Strand(WHOLE, few=True), Strand(b"first\n" + WHOLE, few=True)
    assert same(one, (3, 19_000), other, (4, 19_001))
    assert same(one, (3, None), other, (4, None))
    assert not same(one, (3, 19_000), other, (3, 19_000))
    assert not same(one, (3, 19_000), other, (4, 19_002))


@pytest.mark.parametrize("few", [False, True])
def test_a_line_that_differs_before_at_and_after_a_stretch(few):
    between = [] if few else [stretch(number, number, number, number) for number in range(60, 90)]
    for line, differs in ((4, True), (5, False), (6, True), (95, True)):
        other = [*LINES[:100]]
        other[line] += b" more"
        texts = [b"\n".join(text) + b"\n" for text in (LINES[:100], other)]
        assert _differs(*texts, [stretch(5, 6, 5, 6), *between], ()) is differs


@given(
    st.lists(st.sampled_from([b"", b"a", b"bb"]), max_size=6),
    st.lists(st.sampled_from([b"", b"a", b"bb"]), max_size=6),
    st.integers(0, 3),
)
def test_the_short_way_says_what_the_long_way_says(old, new, front):
    front = min(front, len(old), len(new))
    whole = [stretch(front, len(old), front, len(new))]
    texts = [b"".join(line + b"\n" for line in lines) + b"end\n" for lines in (old, new)]
    assert _differs(*texts, whole, ()) is (old[:front] != new[:front])
