import time
from array import array

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.nc import difference_myers, difference_rows, scan
from tracker.nc.difference import common_back, common_front, difference
from tracker.nc.difference_rows import runs, unmatched

ROWS = st.lists(st.integers(0, 4), max_size=24)
TEXTS = st.lists(st.sampled_from(["G1X1.", "G1X2.", "X1.", "M8", "M9", "G0Z1.", ""]), max_size=16).map(
    lambda blocks: "".join(block + "\n" for block in blocks).encode()
)


def longest_common(old, new):
    table = [[0] * (len(new) + 1) for _ in range(len(old) + 1)]
    for x, one in enumerate(old):
        for y, other in enumerate(new):
            table[x + 1][y + 1] = table[x][y] + 1 if one == other else max(table[x][y + 1], table[x + 1][y])
    return table[-1][-1]


def rebuilt(old, new, gone, come):
    row, x = [], 0
    for x0, x1, y0, y1 in runs(gone, come):
        row += old[x:x0] + new[y0:y1]
        x = x1
    return row + old[x:]


@given(ROWS, ROWS)
def test_the_edit_explains_the_new_row_and_is_the_shortest(old, new):
    gone, come = unmatched(old, new)
    assert rebuilt(old, new, gone, come) == new
    assert gone.count(0) == come.count(0) == longest_common(old, new)


@given(ROWS, ROWS)
@settings(max_examples=200)
def test_out_of_patience_it_is_longer_but_never_false(old, new):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(difference_rows, "EXACT_LIMIT", 1)
        patch.setattr(difference_rows, "COARSE_LIMIT", 1)
        patch.setattr(difference_rows, "STEPS", 3)
        gone, come = unmatched(old, new)
    assert rebuilt(old, new, gone, come) == new
    kept_old = [item for item, mark in zip(old, gone, strict=True) if not mark]
    kept_new = [item for item, mark in zip(new, come, strict=True) if not mark]
    assert kept_old == kept_new


def both_ways(old, new):
    """Marks by the compiled inner loops and by the plain ones."""
    found = []
    for plain in (False, True):
        scan.use(plain=plain)
        found.append(unmatched(old, new))
    scan.use(plain=False)
    return found


@given(ROWS, ROWS, st.sampled_from([(2048, 32), (3, 2), (1, 1)]), st.sampled_from([8_000_000, 30, 3]))
@settings(max_examples=300)
def test_compiled_and_plain_inner_loops_find_the_same(old, new, limits, steps):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(difference_rows, "EXACT_LIMIT", limits[0])
        patch.setattr(difference_rows, "COARSE_LIMIT", limits[1])
        patch.setattr(difference_rows, "STEPS", steps)
        compiled, plain = both_ways(old, new)
    assert compiled == plain


def test_compiled_and_plain_inner_loops_find_the_same_in_long_rows():
    old = [number * number % 97 for number in range(3000)]
    new = [number * number % 101 for number in range(2900)]
    for other in (new, old[1500:] + old[:1500], [*old[:700], *new[:50], *old[720:]]):
        compiled, plain = both_ways(old, other)
        assert compiled == plain


@pytest.mark.skipif(scan.engine() == "plain", reason="built without a C compiler")
def test_the_compiled_inner_loops_take_no_other_array():
    from tracker.nc import _scanner

    trails = difference_myers.Trails(2, 2)
    rows = array("i", [1, 2]), array("i", [3, 4])
    for step in (_scanner.forward, _scanner.backward):
        with pytest.raises(TypeError, match="type q"):
            step(*rows, (0, 2, 0, 2), trails, (0, 0), (1, 0))


@given(TEXTS, TEXTS)
def test_stretches_rebuild_the_new_text(old, new):
    found = difference(old, new)
    old_blocks, new_blocks = old.decode().split("\n")[:-1], new.decode().split("\n")[:-1]
    out, at = [], 0
    for stretch in found.stretches:
        assert stretch.old_from < stretch.old_to or stretch.new_from < stretch.new_to
        out += old_blocks[at : stretch.old_from] + new_blocks[stretch.new_from : stretch.new_to]
        at = stretch.old_to
    assert out + old_blocks[at:] == new_blocks
    for stretch in found.stretches:
        for index in range(stretch.old_from, stretch.old_to):
            assert found.old_block(index) == old_blocks[index]
        for index in range(stretch.new_from, stretch.new_to):
            assert found.new_block(index) == new_blocks[index]


@given(TEXTS)
def test_a_text_does_not_differ_from_itself(text):
    assert difference(text, text).stretches == ()


@pytest.mark.parametrize(
    ("old", "new", "front", "back"),
    [
        (b"", b"", 0, 0),
        (b"G1\nX1.\n", b"G1\nX1.\n", 7, 0),
        (b"G1\nX1.\n", b"G1\nX11.\n", 3, 0),
        (b"X1.\nM30\n", b"X11.\nM30\n", 0, 4),
        (b"X1.\nX1.\n", b"X1.\n", 4, 0),
        (b"A\nX1.\n", b"B\nX1.\n", 0, 4),
        (b"GX1.\n", b"X1.\n", 0, 0),
        (b"X1.\n", b"X2.\nX1.\n", 0, 4),
    ],
)
def test_equal_ends_are_whole_blocks(old, new, front, back):
    assert common_front(old, new) == front
    assert common_back(old, new, front) == back


def test_ends_longer_than_a_slice():
    same = b"".join(b"X%d.\n" % at for at in range(40_000))
    old, new = same + b"M8\n" + same, same + b"M9\n" + same
    found = difference(old, new)
    assert [(s.old_from, s.old_to, s.new_from, s.new_to) for s in found.stretches] == [
        (40_000, 40_001, 40_000, 40_001)
    ]
    assert found.old == ["M8"]


def spent(old, new):
    start = time.process_time()
    gone, come = unmatched(old, new)
    return time.process_time() - start, sum(gone) + sum(come)


def test_repetitive_lines_give_no_more_changes_than_were_made():
    old = [(at % 7) if at % 5 else 50 + at % 31 for at in range(100_000)]
    new = list(old)
    for at in range(0, 100_000, 100):
        new[at] = 1000 + at
    _, marks = spent(old, new)
    assert marks == 2000


def test_half_a_file_moved_ends_in_seconds():
    old = list(range(100_000))
    seconds, marks = spent(old, old[50_000:] + old[:50_000])
    assert marks == 100_000
    assert seconds < 30


@pytest.mark.parametrize("kinds", [5, 5000])
def test_unrelated_files_end_in_seconds(kinds):
    old = [(at * 7919 + at * at) % kinds for at in range(60_000)]
    new = [(at * 104_729 + at * at * 3 + 1) % kinds for at in range(60_000)]
    seconds, _ = spent(old, new)
    assert seconds < 30
