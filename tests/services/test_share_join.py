"""Bringing two sides together, file by file: every file of the result has the bytes of one side."""

from hypothesis import given
from hypothesis import strategies as st

from tracker.services.share_join import between, clashes, join, records_changed

FILES = st.dictionaries(st.sampled_from("abcd"), st.sampled_from("123"), max_size=4)


@given(FILES, FILES, st.lists(FILES, min_size=1, max_size=2))
def test_nothing_is_made_up_and_nothing_of_one_side_is_lost(ours, theirs, bases):
    joined = join(ours, theirs, bases)
    for path in "abcd":
        here, there = ours.get(path), theirs.get(path)
        if path in joined.both:
            assert here != there
            continue
        assert joined.entries.get(path) in (here, there)
        if here != there:
            assert all(base.get(path) in (here, there) for base in bases)
            assert joined.entries.get(path) == (there if bases[0].get(path) == here else here)
    assert join(theirs, ours, bases) == joined


def test_a_choice_may_take_a_file_away():
    joined = join({"a": "1"}, {}, [{"a": "2"}], {"a": None})
    assert (joined.entries, joined.both) == ({}, ())


def test_where_the_parting_points_disagree_a_person_chooses():
    assert join({"a": "1"}, {"a": "2"}, [{"a": "1"}, {"a": "2"}]).both == ("a",)


def test_records_are_only_added():
    record = "jobs/4471/records/op10/r0001-7f3a09c2.toml"
    assert records_changed({"x": "1"}, [{record: "1", "x": "2"}]) == (record,)
    assert records_changed({record: "2"}, [{record: "1"}]) == (record,)
    assert records_changed({record: "1", "records/y.toml": "1"}, [{record: "1"}]) == ()


def test_a_file_and_a_folder_of_one_name_clash():
    assert clashes(["a", "a/b"], ["a"], ["a/b"]) == ("a: a file on one side, a folder on the other",)
    assert clashes(["a", "b"], ["a"], ["b"]) == ()


@given(FILES, FILES, st.lists(FILES, min_size=1, max_size=2), FILES)
def test_merges_on_the_way_hold_the_bytes_of_one_side_and_end_with_the_whole(ours, theirs, bases, earlier):
    both = join(ours, theirs, bases).both
    joined = join(ours, theirs, bases, {path: ours.get(path) for path in both}).entries
    assert between(joined, ours, theirs) == joined
    on_the_way = between(joined, earlier, theirs)
    for path in earlier.keys() | theirs.keys() | on_the_way.keys():
        assert on_the_way.get(path) in (earlier.get(path), theirs.get(path))
