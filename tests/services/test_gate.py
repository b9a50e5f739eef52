"""The gate on release tags: one by one, as a set, and stricter on a push."""

from dataclasses import replace

import pytest

from tests.fakes.floor import FULL, Floor, done
from tracker.policy.gate import Change
from tracker.records.events import HoldRecord
from tracker.services.gate import gate
from tracker.services.naming import parse_named
from tracker.services.ports import TagSeen
from tracker.services.prove import Answers, begin, finish
from tracker.services.release import release

REF = "refs/tags/release/4471/{}"
NAMED = parse_named("4471")


class Shop:
    """A floor with some releases made; their tags can be taken away and asked for again."""

    def __init__(self, releases=1):
        self.floor = Floor()
        desk = self.floor.desk()
        begun = begin(desk, parse_named("4471/op10"), machine="MILL2", by="ss")
        finish(desk, begun, Answers(result="accepted", cause=None, steps=done(*FULL), first_piece="report 1"))
        for _ in range(releases):
            release(self.floor.desk(), NAMED, by="dg")
        self.made = dict(self.floor.repo.tags)
        self.odd = {}

    def without(self, *numbers):
        for number in numbers:
            del self.floor.repo.tags[REF.format(number)]
        return self

    def look(self, ref, object_id):
        return self.odd.get(object_id) or self.made[ref]

    def ask(self, *changes, push=False):
        return gate(self.floor.repo, changes, self.look, push=push)

    def new(self, *numbers, push=False):
        return self.ask(
            *(Change(ref=REF.format(n), old=None, new=self.made[REF.format(n)].object_id) for n in numbers),
            push=push,
        )


def test_a_sound_release_opens():
    answer = Shop().without(1).new(1)
    assert (answer.opens, answer.lines) == (True, ())


def test_other_references_and_what_changes_nothing_pass():
    shop = Shop()
    same = shop.made[REF.format(1)].object_id
    assert shop.ask(
        Change(ref="refs/heads/main", old=None, new="1"), Change(ref="refs/tags/v1", old="1", new=None)
    ).opens
    assert shop.ask(Change(ref=REF.format(1), old=same, new=same)).opens
    assert shop.ask(Change(ref=REF.format(1), old=None, new=None)).opens


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [("1", None, "would be deleted"), ("1", "2", "exists already")],
)
def test_a_release_is_never_moved_or_deleted(old, new, words):
    answer = Shop().ask(Change(ref=REF.format(1), old=old, new=new))
    assert words in answer.lines[0]
    assert answer.lines[0].startswith("release/4471/1: ")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "commit", "target": None, "header_name": None}, "is no annotated tag"),
        ({"kind": "blob", "target": None, "header_name": None}, "points straight at a blob"),
        ({"target": None}, "does not stand straight on a commit"),
        ({"header_name": "release/4471/7"}, "is called release/4471/7 inside"),
        ({"message": "looks good"}, "names no release record"),
    ],
)
def test_tags_that_are_no_releases(change, words):
    shop = Shop().without(1)
    shop.odd["odd"] = replace(shop.made[REF.format(1)], **change)
    answer = shop.ask(Change(ref=REF.format(1), old=None, new="odd"))
    assert words in answer.lines[0]


@pytest.mark.parametrize("change", [{"kind": "blob", "target": None}, {"kind": "commit"}, {"target": None}])
def test_what_never_was_a_release_may_be_deleted_and_takes_no_number(change):
    shop = Shop(releases=2)
    ref = REF.format(2)
    shop.odd["odd"] = replace(shop.made[ref], object_id="odd", **change)
    assert shop.ask(Change(ref=ref, old="odd", new=None)).opens
    assert not shop.ask(Change(ref=ref, old="odd", new=shop.made[ref].object_id)).opens
    assert not shop.ask(Change(ref=ref, old=shop.made[ref].object_id, new=None)).opens


def test_a_name_that_is_none():
    shop = Shop()
    assert (
        "is not called like a release"
        in shop.ask(Change(ref="refs/tags/release/x", old=None, new="1")).lines[0]
    )


def test_a_release_on_another_commit():
    shop = Shop().without(1)
    later = shop.floor.repo.save({"note.txt": "x"})
    shop.odd["odd"] = replace(shop.made[REF.format(1)], target=later)
    assert "came in with commit" in shop.ask(Change(ref=REF.format(1), old=None, new="odd")).lines[0]


def test_numbers_are_a_set():
    shop = Shop(releases=3).without(2, 3)
    assert shop.new(3, 2).opens
    assert shop.new(2).opens
    # here the record of 2 in the history is enough, as when tags are fetched one by one; on a push it is not
    assert shop.new(3).opens
    assert any("leaves a gap: there is no release 2" in line for line in shop.new(3, push=True).lines)
    assert not any("gap" in line for line in shop.new(3, 2, push=True).lines)


def test_a_gap_without_a_record():
    shop = Shop().without(1)
    made = shop.made[REF.format(1)]
    shop.odd["odd"] = replace(made, ref=REF.format(2), header_name="release/4471/2")
    lines = shop.ask(Change(ref=REF.format(2), old=None, new="odd")).lines
    assert any("is no readable record of release 2" in line for line in lines)


def test_a_push_knows_stops_of_every_branch():
    shop = Shop().without(1)
    repo = shop.floor.repo
    repo.branches["other"] = list(repo.commits)[1]
    repo.switch("other")
    at = shop.floor.now
    repo.record(
        "jobs/4471/records/op10/x-hold-kp.toml",
        HoldRecord(
            job="4471", operation="op10", at=at, entered=at, by="kp", scope="operation", reason="gauge"
        ),
    )
    repo.switch("main")
    assert shop.new(1).opens
    assert any("held by kp" in line for line in shop.new(1, push=True).lines)


def test_a_push_turns_clocks_set_by_hand_away():
    lines = Shop().without(1).new(1, push=True).lines
    assert lines
    assert all("was made with a clock set by hand" in line for line in lines)


def test_a_tag_seen_has_no_say():
    shop = Shop().without(1)
    shop.floor.repo.tags[REF.format(1)] = TagSeen(ref=REF.format(1), object_id="x", kind="commit")
    answer = shop.ask(Change(ref=REF.format(1), old="x", new=shop.made[REF.format(1)].object_id))
    assert "exists already" in answer.lines[0]
