"""What the gate asks of references, tags and numbers, before it looks at the release."""

from dataclasses import dataclass

import pytest

from tracker.policy.gate import (
    Change,
    ReleaseName,
    change_reasons,
    message_of,
    named_record,
    number_reasons,
    release_name,
    tag_reasons,
)

SHA = "ab" * 32
MESSAGE = message_of("4471", 2, "jobs/4471/records/release-0002.toml", SHA)


@dataclass(frozen=True)
class Seen:
    ref: str = "refs/tags/release/4471/2"
    kind: str = "tag"
    target: str | None = "c" * 40
    header_name: str | None = "release/4471/2"
    message: str = MESSAGE


@pytest.mark.parametrize(
    ("ref", "found"),
    [
        ("refs/tags/release/4471/2", ("4471", 2)),
        ("refs/tags/release/A-1.b/10", ("A-1.b", 10)),
        ("refs/tags/release/4471/02", None),
        ("refs/tags/release/4471/0", None),
        ("refs/tags/release/4471/-1", None),
        ("refs/tags/release/4471/two", None),
        ("refs/tags/release/4471/\u0662", None),
        ("refs/tags/release/4471", None),
        ("refs/tags/release/4471/op10/2", None),
        ("refs/tags/release//2", None),
        ("refs/tags/release/con/2", None),
        ("refs/tags/4471/2", None),
        ("refs/heads/release/4471/2", None),
    ],
)
def test_names(ref, found):
    name = release_name(ref)
    assert (name and (name.job, name.number)) == found
    assert bool(change_reasons(Change(ref=ref, old=None, new="1" * 40))) == (found is None)


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        (Seen(), None),
        (Seen(kind="commit"), "points straight at a commit"),
        (Seen(kind="blob"), "points straight at a blob"),
        (Seen(kind="tree"), "points straight at a tree"),
        (Seen(target=None), "does not stand straight on a commit"),
        (Seen(header_name="release/4471/1"), "is called release/4471/1 inside"),
        (Seen(header_name=None), "is called nothing inside"),
        (Seen(message="4471 release 2"), "names no release record"),
        (Seen(message=MESSAGE + MESSAGE), "names no release record"),
        (Seen(message=MESSAGE.upper()), "names no release record"),
        (Seen(ref="refs/tags/release/4471/x"), "is not called like a release"),
    ],
)
def test_tags(seen, words):
    found = tag_reasons(seen)
    assert found == [] if words is None else words in found[0].words


def test_the_message_names_the_record():
    assert named_record(MESSAGE) == ("jobs/4471/records/release-0002.toml", SHA)
    assert named_record(MESSAGE.replace("\n", "\r\n")) == ("jobs/4471/records/release-0002.toml", SHA)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (None, "1" * 40, None),
        ("1" * 40, None, "would be deleted"),
        ("1" * 40, "2" * 40, "exists already"),
        (None, None, "would be deleted"),
    ],
)
def test_changes(old, new, words):
    found = change_reasons(Change(ref="refs/tags/release/4471/2", old=old, new=new))
    assert found == [] if words is None else words in found[0].words


def names(*numbers, job="4471"):
    return [ReleaseName(job=job, number=number) for number in numbers]


@pytest.mark.parametrize(
    ("taken", "asked", "against"),
    [
        ((), (1,), {}),
        ((1,), (2,), {}),
        ((), (2,), {2: "leaves a gap: there is no release 1"}),
        ((1,), (3,), {3: "there is no release 2"}),
        ((1, 2), (2,), {2: "exists already"}),
        ((1,), (4, 2, 3), {}),
        ((1,), (4, 2), {4: "there is no release 3"}),
        ((), (3, 1), {3: "there is no release 2"}),
        ((1, 3), (4,), {4: "there is no release 2"}),
        ((1, 3), (2,), {}),
        ((), (10**12,), {10**12: "there is no release 1"}),
    ],
)
def test_numbers(taken, asked, against):
    for order in (asked, asked[::-1]):
        found = number_reasons(names(*order), names(*taken))
        said = {name.number: reasons[0].words for name, reasons in found.items() if reasons}
        assert set(said) == set(against)
        assert all(words in said[number] for number, words in against.items())


def test_numbers_of_jobs_do_not_mix_and_case_does_not_matter():
    assert not any(number_reasons(names(2, job="aa"), names(1, job="AA") + names(5, job="bb")).values())
    assert any(number_reasons(names(2, job="bb"), names(1, job="aa")).values())


def test_a_number_passed_over_is_no_gap():
    assert not any(number_reasons(names(3), names(1), {"4471": {2}}).values())
    assert any(number_reasons(names(3), names(1), {"4472": {2}}).values())
