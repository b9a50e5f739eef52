"""The fake keeps the promises of the port."""

from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository
from tracker.errors import CouldNot, Refused
from tracker.records.events import HoldRecord
from tracker.records.shop import Person
from tracker.services.ports import NewFile, Repository

AT = datetime(2026, 2, 5, 8, 20, tzinfo=UTC)
DG = Person(initials="dg", name="Dell Gauge", email="dg@shop.example", roles=("quality",))
SHOP = '[shop]\nname = "Bench"\n'


def a_hold(day):
    at = AT.replace(day=day)
    return HoldRecord(
        job="4471", operation="op20", at=at, entered=at, by="dg", reason="gauge", scope="operation"
    )


def repository():
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP, "jobs/4471/op20/O1003.nc": "%\nO1003\nM30\n%\n"})
    return repo


def test_it_is_a_repository_and_starts_empty():
    repo: Repository = FakeRepository()
    assert repo.head().commit is None
    assert list(repo.tree().paths()) == []


def test_a_commit_leaves_staged_and_edited_work_alone():
    repo = repository()
    repo.write("jobs/4471/op20/O1003.nc", "O1003\nG0X1.\n")
    repo.write("notes.txt", "mine")
    repo.stage("notes.txt")
    repo.commit([NewFile(path="records/a.toml", data=b"x")], message="m", author=DG, at=AT)
    assert repo.work["jobs/4471/op20/O1003.nc"] == b"O1003\nG0X1.\n"
    assert "notes.txt" not in repo.tree().files
    assert repo.index["notes.txt"] == b"mine"
    assert list(repo.uncommitted(["jobs/4471/op20/O1003.nc", "notes.txt", "shop.toml"])) == [
        "jobs/4471/op20/O1003.nc",
        "notes.txt",
    ]


def test_staged_and_put_back_in_the_folder_is_still_uncommitted():
    repo = repository()
    repo.write("shop.toml", SHOP + "#\n")
    repo.stage("shop.toml")
    repo.write("shop.toml", SHOP)
    assert list(repo.uncommitted(["shop.toml"])) == ["shop.toml"]


def test_records_of_other_branches_are_in_the_ledger_but_not_in_hand():
    repo = repository()
    repo.branch("other")
    repo.switch("other")
    repo.record("jobs/4471/records/op20/a.toml", a_hold(5))
    repo.switch("main")
    repo.record("jobs/4471/records/op20/b.toml", a_hold(6))
    ledger = repo.ledger()
    assert {one.name: one.in_hand for one in ledger.records} == {"a": False, "b": True}
    repo.merge("other")
    ledger = repo.ledger()
    assert {one.name: one.in_hand for one in ledger.records} == {"a": True, "b": True}
    a, b = ledger.records
    assert not ledger.descends(a.commit, b.commit)
    assert not ledger.descends(b.commit, a.commit)
    assert ledger.later(b, a)


def test_a_record_taken_out_again_stays_in_the_ledger():
    repo = repository()
    repo.record("records/a.toml", a_hold(5))
    repo.commit([], removed=["records/a.toml"], message="gone", author=DG, at=AT)
    (only,) = repo.ledger().records
    assert not only.in_hand


def test_a_commit_stands_after_its_parents():
    repo = repository()
    repo.record("records/a.toml", a_hold(5))
    first = repo.head().commit
    repo.record("records/b.toml", a_hold(6))
    a, b = repo.ledger().records
    assert a.order < b.order
    assert repo.descends(b.commit, first)
    assert not repo.descends(first, b.commit)


def test_shop_versions_follow_the_history_in_hand():
    repo = repository()
    repo.save({"shop.toml": SHOP + "[policy]\nlapse_months = 12\n"})
    assert [one.shop.policy.lapse_months for one in repo.ledger().shops] == [24, 12]
    assert len(repo.path_history("shop.toml")) == 2


def test_a_damaged_record_is_listed_and_a_shallow_clone_says_so():
    repo = repository()
    repo.save({"records/broken.toml": "format = "})
    (only,) = repo.ledger().unreadable
    assert only.path == "records/broken.toml"
    repo.shallow = True
    with pytest.raises(CouldNot):
        repo.ledger()


def test_refusals():
    repo = repository()
    with pytest.raises(CouldNot):
        FakeRepository().ledger()
    expect = repo.head()
    repo.meanwhile = lambda: repo.save({"shop.toml": SHOP + "#\n"})
    with pytest.raises(Refused) as caught:
        repo.commit([], message="m", author=DG, at=AT, expect=expect)
    assert caught.value.name == "moved"
    repo.meanwhile = lambda: repo.save({"notes.txt": "x"})
    repo.commit(
        [NewFile(path="records/a.toml", data=b"x")], message="m", author=DG, at=AT, expect=repo.head()
    )
    repo.locked = True
    with pytest.raises(CouldNot):
        repo.commit([], message="m", author=DG, at=AT)
    repo.locked = False
    repo.detach()
    with pytest.raises(Refused):
        repo.commit([], message="m", author=DG, at=AT)


def test_tags_and_release_numbers():
    repo = repository()
    repo.save({"jobs/4471/records/release-0002.toml": "x"})
    repo.tag("release/4471/1", commit=repo.head().commit or "", message="m", tagger=DG, at=AT)
    with pytest.raises(Refused):
        repo.tag("release/4471/1", commit=repo.head().commit or "", message="m", tagger=DG, at=AT)
    assert list(repo.release_numbers("4471")) == [1, 2]
    assert [one.header_name for one in repo.release_tags()] == ["release/4471/1"]
