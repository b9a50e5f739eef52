import os
import time

import pytest

from tests.store.shop_repo import AT, KIM, PROGRAM, git, make_shop, opened, record, record_path, write
from tracker.errors import BadCall, CouldNot, Refused
from tracker.services.ports import Head, NewFile
from tracker.store import index


def status(folder):
    return git(folder, "status", "--porcelain", "--untracked-files=all")


def show(folder, path, commit="HEAD"):
    return git(folder, "cat-file", "blob", f"{commit}:{path}", check=False).stdout


def test_one_commit_holds_record_and_program_and_nothing_else(shop):
    write(shop, "jobs/4471/op10/O1001.nc", PROGRAM + b"\n")
    write(shop, "staged.txt", "staged")
    git(shop, "add", "staged.txt")
    write(shop, "staged.txt", "edited after staging")
    write(shop, "untracked.txt", "mine")
    clone = opened(shop)
    before = git(shop, "ls-files", "-s", "staged.txt")
    commit = clone.commit(
        [NewFile(path=record_path(1), data=b"format = 1\n")],
        from_work_tree=["jobs/4471/op10/O1001.nc"],
        message="r2: why\n\nmore",
        author=KIM,
        at=AT,
    )
    assert git(shop, "rev-parse", "HEAD") == commit
    changed = git(shop, "diff-tree", "-r", "--name-status", "--no-commit-id", commit).splitlines()
    assert changed == ["M\tjobs/4471/op10/O1001.nc", f"A\t{record_path(1)}"]
    assert show(shop, "jobs/4471/op10/O1001.nc") == PROGRAM + b"\n"
    assert git(shop, "ls-files", "-s", "staged.txt") == before
    assert (shop / "staged.txt").read_text() == "edited after staging"
    assert status(shop).splitlines() == ["AM staged.txt", "?? untracked.txt"]
    said = git(shop, "log", "-1", "--format=%an|%ae|%cn|%at|%ct|%B")
    assert (
        said.strip()
        == f"Kim Pine|kim@shop.example|Kim Pine|{int(AT.timestamp())}|{int(AT.timestamp())}|r2: why\n\nmore"
    )
    assert not list((shop / ".git" / "proveout").iterdir())


def test_a_later_plain_commit_does_not_take_the_record_out(shop):
    write(shop, "staged.txt", "staged")
    git(shop, "add", "staged.txt")
    record(opened(shop), record_path(1))
    git(shop, "commit", "-q", "-m", "by hand")
    assert record_path(1) in git(shop, "ls-tree", "-r", "--name-only", "HEAD")
    assert status(shop) == ""


def test_the_first_commit_of_an_empty_repository(tmp_path):
    git(tmp_path, "init", "-q", "-b", "main")
    write(tmp_path, "shop.toml", "x")
    commit = opened(tmp_path).commit([], from_work_tree=["shop.toml"], message="begin", author=KIM, at=AT)
    assert git(tmp_path, "rev-list", "HEAD") == commit
    assert status(tmp_path) == ""


def test_a_repository_of_sha256_ids(tmp_path):
    git(tmp_path, "init", "-q", "-b", "main", "--object-format=sha256")
    write(tmp_path, "shop.toml", "x")
    write(tmp_path, "gone.nc", "x")
    clone = opened(tmp_path)
    clone.commit([], from_work_tree=["shop.toml", "gone.nc"], message="begin", author=KIM, at=AT)
    (tmp_path / "gone.nc").unlink()
    clone.commit([], removed=["gone.nc"], message="gone", author=KIM, at=AT)
    assert git(tmp_path, "ls-tree", "-r", "--name-only", "HEAD") == "shop.toml"
    assert status(tmp_path) == ""


@pytest.mark.parametrize("setting", ["true", "input", "false"])
@pytest.mark.parametrize("attributes", [None, "* text=auto\n", "*.nc text eol=crlf\n", "*.nc filter=upper\n"])
def test_line_ends_and_filters_never_change_a_byte(tmp_path, setting, attributes):
    data = b"%\r\nO1\nG0\r\n\x00\xff\r\r\n"
    folder = make_shop(tmp_path / "s", attributes=attributes)
    git(folder, "config", "core.autocrlf", setting)
    git(folder, "config", "filter.upper.clean", "tr a-z A-Z")
    write(folder, "jobs/4471/op10/O1001.nc", data)
    clone = opened(folder)
    clone.commit(
        [NewFile(path="jobs/4471/op10/O1002.nc", data=data)],
        from_work_tree=["jobs/4471/op10/O1001.nc"],
        message="m",
        author=KIM,
        at=AT,
    )
    for name in ("O1001", "O1002"):
        assert show(folder, f"jobs/4471/op10/{name}.nc") == data
        assert (folder / f"jobs/4471/op10/{name}.nc").read_bytes() == data
    assert list(clone.uncommitted(["jobs/4471/op10/O1001.nc", "jobs/4471/op10/O1002.nc"])) == []


@pytest.mark.parametrize(
    "name",
    [
        "with blank.nc",
        "Prüfling Nr. 7.nc",
        '"quoted.nc',
        "star*[1].nc",
        "-dash.nc",
        "tab\there.nc",
        "ASCII.NC",
    ],
)
def test_names_of_every_kind(shop, name):
    path = f"jobs/4471/op 10/{name}"
    write(shop, path, "one")
    clone = opened(shop)
    clone.commit([], from_work_tree=[path], message="m", author=KIM, at=AT)
    assert clone.tree().read(path) == b"one"
    assert path in clone.work_tree().paths()
    assert list(clone.uncommitted([path])) == []
    write(shop, path, "two")
    assert list(clone.uncommitted([path])) == [path]
    assert len(clone.path_history(path)) == 1


def test_a_name_that_is_no_utf8_comes_back_unchanged(shop):
    path = b"jobs/4471/op10/\xe9.nc".decode("utf-8", "surrogateescape")
    write(shop, path, "one")
    clone = opened(shop)
    clone.commit([], from_work_tree=[path], message="m", author=KIM, at=AT)
    assert clone.tree().read(path) == b"one"
    assert clone.work_tree().read(path) == b"one"


@pytest.mark.parametrize(
    "path", ["../out.nc", "/abs.nc", "a//b.nc", ".git/config", "a/.GIT/x", "a\nb.nc", "", "./a"]
)
def test_paths_that_leave_the_repository_are_refused(shop, path):
    with pytest.raises(BadCall) as caught:
        opened(shop).commit([NewFile(path=path, data=b"x")], message="m", author=KIM, at=AT)
    assert caught.value.name == "bad-path"


def test_a_detached_head_is_refused_and_nothing_is_written(shop):
    git(shop, "checkout", "-q", "--detach")
    clone = opened(shop)
    assert clone.head().branch is None
    assert clone.head().commit == git(shop, "rev-parse", "HEAD")
    with pytest.raises(Refused) as caught:
        record(clone, record_path(1))
    assert caught.value.name == "detached-head"
    assert status(shop) == ""


def test_edits_that_are_nowhere_else_are_not_written_over(shop):
    write(shop, "jobs/4471/op10/O1001.nc", "edited at the desk")
    clone = opened(shop)
    new = NewFile(path="jobs/4471/op10/O1001.nc", data=b"off the control")
    with pytest.raises(Refused) as caught:
        clone.commit([new], message="m", author=KIM, at=AT)
    assert caught.value.name == "uncommitted-edits"
    assert (shop / "jobs/4471/op10/O1001.nc").read_bytes() == b"edited at the desk"


def test_staged_edits_that_are_nowhere_else_are_not_lost(shop):
    write(shop, "jobs/4471/op10/O1001.nc", "staged")
    git(shop, "add", "-A")
    write(shop, "jobs/4471/op10/O1001.nc", PROGRAM)
    before = git(shop, "ls-files", "-s")
    with pytest.raises(Refused) as caught:
        opened(shop).commit(
            [NewFile(path="jobs/4471/op10/O1001.nc", data=b"new")], message="m", author=KIM, at=AT
        )
    assert caught.value.name == "uncommitted-edits"
    assert git(shop, "ls-files", "-s") == before


def test_a_file_saved_again_after_it_was_read_is_refused(shop):
    clone = opened(shop)
    write(shop, "jobs/4471/op10/O1001.nc", "one")
    assert clone.work_tree().read("jobs/4471/op10/O1001.nc") == b"one"
    write(shop, "jobs/4471/op10/O1001.nc", "two")
    with pytest.raises(Refused) as caught:
        clone.commit([], from_work_tree=["jobs/4471/op10/O1001.nc"], message="m", author=KIM, at=AT)
    assert caught.value.name == "changed-meanwhile"


def test_a_named_file_that_is_missing_or_still_there(shop):
    clone = opened(shop)
    with pytest.raises(BadCall) as caught:
        clone.commit([], from_work_tree=["jobs/none.nc"], message="m", author=KIM, at=AT)
    assert caught.value.name == "missing-file"
    with pytest.raises(Refused) as refused:
        clone.commit([], removed=["shop.toml"], message="m", author=KIM, at=AT)
    assert refused.value.name == "still-there"


def test_a_link_is_no_file(shop, tmp_path):
    (tmp_path / "outside.nc").write_bytes(b"outside")
    (shop / "link.nc").symlink_to(tmp_path / "outside.nc")
    clone = opened(shop)
    assert clone.work_tree().read("link.nc") is None
    assert "link.nc" not in clone.work_tree().paths()
    git(shop, "add", "-A")
    git(shop, "commit", "-q", "-m", "link")
    assert clone.tree().read("link.nc") is None
    with pytest.raises(BadCall):
        clone.commit([], from_work_tree=["link.nc"], message="m", author=KIM, at=AT)


def test_in_the_middle_of_a_merge_of_that_file_it_waits(shop):
    path = "jobs/4471/op10/O1001.nc"
    git(shop, "switch", "-q", "-c", "side")
    write(shop, path, "side")
    git(shop, "commit", "-qam", "side")
    git(shop, "switch", "-q", "main")
    write(shop, path, "main")
    git(shop, "commit", "-qam", "main")
    assert git(shop, "merge", "side", check=False).returncode == 1
    with pytest.raises(Refused) as caught:
        opened(shop).commit([], from_work_tree=[path], message="m", author=KIM, at=AT)
    assert caught.value.name == "unmerged"


def test_what_the_decision_rests_on_changed_meanwhile(shop):
    clone = opened(shop)
    seen = clone.head()
    write(shop, "shop.toml", (shop / "shop.toml").read_bytes() + b"# policy\n")
    git(shop, "commit", "-qam", "policy")
    data = NewFile(path=record_path(1), data=b"format = 1\n")
    with pytest.raises(Refused) as caught:
        clone.commit([data], message="m", author=KIM, at=AT, expect=seen)
    assert caught.value.name == "moved"
    assert status(shop) == ""
    clone.commit([data], message="m", author=KIM, at=AT, expect=clone.head())


def test_a_change_elsewhere_does_not_matter(shop):
    clone = opened(shop)
    seen = clone.head()
    write(shop, "jobs/4488/job.toml", "x")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "another job")
    record(clone, record_path(2, "op20"))
    clone.commit(
        [NewFile(path=record_path(1), data=b"format = 1\n")], message="m", author=KIM, at=AT, expect=seen
    )
    assert git(shop, "ls-tree", "-r", "--name-only", "HEAD").count("records/") == 2


def test_another_branch_in_hand_is_a_move(shop):
    clone = opened(shop)
    seen = clone.head()
    git(shop, "switch", "-q", "-c", "side")
    with pytest.raises(Refused) as caught:
        clone.commit([], message="m", author=KIM, at=AT, expect=seen)
    assert caught.value.name == "moved"
    assert clone.head() == Head(commit=seen.commit, branch="side")


def test_a_record_is_never_written_over_another(shop):
    clone = opened(shop)
    record(clone, record_path(1))
    with pytest.raises(Refused) as caught:
        record(clone, record_path(1), reason="another reason")
    assert caught.value.name == "moved"


@pytest.mark.parametrize("lock", ["index.lock", "refs/heads/main.lock"])
def test_a_lock_that_stays_is_told_with_its_age_and_never_deleted(shop, monkeypatch, lock):
    monkeypatch.setattr(index, "PATIENCE_SECONDS", 0.3)
    file = shop / ".git" / lock
    file.touch()
    old = time.time() - 3 * 3600
    os.utime(file, (old, old))
    with pytest.raises(CouldNot) as caught:
        record(opened(shop), record_path(1))
    assert caught.value.name == "locked"
    assert caught.value.where == str(file)
    assert "3 hours old, owner " in caught.value.what
    assert file.exists()
    file.unlink()
    record(opened(shop), record_path(1))
    assert status(shop) == ""


def test_a_lock_that_goes_away_is_waited_for(shop):
    import threading

    file = shop / ".git" / "index.lock"
    file.touch()
    timer = threading.Timer(0.3, file.unlink)
    timer.start()
    record(opened(shop), record_path(1))
    timer.join()
    assert status(shop) == ""


def test_a_linked_worktree_commits_to_its_own_branch(shop, tmp_path):
    git(shop, "worktree", "add", "-q", "-b", "second", str(tmp_path / "wt"))
    clone = opened(tmp_path / "wt")
    record(clone, record_path(1))
    assert clone.head().branch == "second"
    assert status(tmp_path / "wt") == ""
    assert status(shop) == ""
    assert record_path(1) in git(tmp_path / "wt", "ls-tree", "-r", "--name-only", "HEAD")


def test_leaked_git_variables_do_not_lead_elsewhere(shop, tmp_path, monkeypatch):
    other = make_shop(tmp_path / "other")
    monkeypatch.setenv("GIT_DIR", str(other / ".git"))
    monkeypatch.setenv("GIT_INDEX_FILE", str(tmp_path / "index"))
    monkeypatch.setenv("GIT_WORK_TREE", str(other))
    clone = opened(shop)
    assert clone.root == str(shop)
    commit = record(clone, record_path(1))
    monkeypatch.undo()
    assert not (tmp_path / "index").exists()
    assert clone.head().commit == commit
