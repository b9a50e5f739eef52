import pytest

from tests.store.shop_repo import PROGRAM, git, opened, record, record_path, write
from tracker.errors import CouldNot


def test_the_files_of_a_commit_and_of_the_folder_are_read_as_bytes(shop):
    clone = opened(shop / "jobs")
    assert clone.tree().read("jobs/4471/op10/O1001.nc") == PROGRAM
    write(shop, "jobs/4471/op10/O1001.nc", b"other")
    write(shop, "new one ü.nc", b"new")
    assert clone.tree().read("jobs/4471/op10/O1001.nc") == PROGRAM
    assert clone.work_tree().read("jobs/4471/op10/O1001.nc") == b"other"
    assert "new one ü.nc" in clone.work_tree().paths()
    assert "new one ü.nc" not in clone.tree().paths()
    assert clone.tree().read("nothing") is None
    assert clone.work_tree().read("nothing") is None
    assert clone.tree().job_paths() == {"4471": "jobs/4471/job.toml"}
    assert clone.tree().job("jobs/4471/job.toml").number == "4471"
    assert clone.tree().shop().name == "Invented Shop"


def test_an_empty_repository_has_a_branch_and_no_commit(tmp_path):
    git(tmp_path, "init", "-q", "-b", "main")
    clone = opened(tmp_path)
    assert (clone.head().commit, clone.head().branch) == (None, "main")
    assert list(clone.tree().paths()) == []
    assert clone.release_tags() == ()
    with pytest.raises(CouldNot) as caught:
        clone.ledger()
    assert caught.value.name == "no-shop"


def test_the_ledger_knows_what_is_in_hand_and_what_other_branches_hold(shop):
    clone = opened(shop)
    first = record(clone, record_path(1))
    git(shop, "switch", "-q", "-c", "side")
    second = record(clone, record_path(2))
    git(shop, "switch", "-q", "main")
    third = record(clone, record_path(3))
    ledger = clone.ledger()
    by_commit = {stored.commit: stored for stored in ledger.records}
    assert [by_commit[each].in_hand for each in (first, second, third)] == [True, False, True]
    assert ledger.descends(third, first)
    assert ledger.descends(second, first)
    assert not ledger.descends(third, second)
    assert not ledger.descends(first, third)
    assert ledger.later(by_commit[third], by_commit[first])
    assert [version.commit for version in ledger.shops] == [git(shop, "rev-list", "--max-parents=0", "HEAD")]


def test_a_reference_that_is_not_there_yet_is_looked_at(shop):
    clone = opened(shop)
    here = git(shop, "rev-parse", "HEAD")
    git(shop, "tag", "-a", "-m", "text", "release/4471/1")
    made = git(shop, "rev-parse", "refs/tags/release/4471/1")
    git(shop, "tag", "-d", "release/4471/1")
    seen = clone.look("refs/tags/release/4471/2", made)
    assert (seen.kind, seen.target, seen.header_name, seen.message) == (
        "tag",
        here,
        "release/4471/1",
        "text\n",
    )
    assert clone.look("refs/tags/x", here).kind == "commit"
    with pytest.raises(CouldNot) as caught:
        clone.look("refs/tags/x", "1" * 40)
    assert caught.value.name == "damaged"
