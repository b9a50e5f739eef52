"""Everything that keeps the tool from finding out is said, with the fix, and is never an answer."""

import os
import shutil
import stat
import sys
import zlib
from pathlib import Path

import pytest

from tests.store.shop_repo import SHOP, git, hold_record, make_shop, opened, record, record_path, write
from tracker.errors import BadCall, CouldNot, Exit
from tracker.store import git as git_module
from tracker.store.objects import object_id


@pytest.fixture
def look_for_git_anew():
    git_module.find_git.cache_clear()
    yield
    git_module.find_git.cache_clear()


def refused(act):
    with pytest.raises(CouldNot) as caught:
        act()
    assert caught.value.exit == Exit.COULD_NOT
    return caught.value


def test_no_git(shop, monkeypatch, tmp_path, look_for_git_anew):
    monkeypatch.setenv("PATH", str(tmp_path))
    fault = refused(lambda: opened(shop))
    assert fault.name == "no-git"
    assert "install git" in fault.fix


def test_a_git_in_the_folder_in_hand_is_not_taken(shop, monkeypatch, look_for_git_anew):
    write(shop, "git", "#!/bin/sh\nexit 0\n")
    (shop / "git").chmod(0o755)
    monkeypatch.chdir(shop)
    monkeypatch.setenv("PATH", f".{os.pathsep}{os.pathsep}{os.environ['PATH']}")
    assert git_module.find_git() != str(shop / "git")
    assert Path(git_module.find_git()).is_absolute()


def test_no_repository(tmp_path):
    fault = refused(lambda: opened(tmp_path))
    assert fault.name == "no-repository"
    assert fault.where == str(tmp_path)


@pytest.mark.parametrize("name", ["none", "file"])
def test_no_such_folder(tmp_path, name):
    write(tmp_path, "file", "x")
    with pytest.raises(BadCall) as caught:
        opened(tmp_path / name)
    assert (caught.value.name, caught.value.where) == ("no-such-folder", str(tmp_path / name))


def test_a_repository_without_a_shop(tmp_path):
    git(tmp_path, "init", "-q", "-b", "main")
    write(tmp_path, "README", "x")
    git(tmp_path, "add", "-A")
    git(tmp_path, "commit", "-qm", "m")
    clone = opened(tmp_path)
    for act in (clone.ledger, clone.tree().shop, clone.work_tree().shop):
        fault = refused(act)
        assert fault.name == "no-shop"
        assert "proveout init" in fault.fix


def test_a_broken_shop_file_names_its_line(shop):
    write(shop, "shop.toml", SHOP + "colour = 'red'\n")
    git(shop, "commit", "-qam", "broken")
    with pytest.raises(BadCall) as caught:
        opened(shop).ledger()
    assert caught.value.where == f"shop.toml:{len(SHOP.splitlines()) + 1}"


@pytest.mark.skipif(sys.platform == "win32", reason="needs a shell script named git")
def test_dubious_ownership_prints_the_exact_line(shop, tmp_path, monkeypatch, look_for_git_anew):
    real = shutil.which("git")
    write(tmp_path, "bin/git", f'#!/bin/sh\nGIT_TEST_ASSUME_DIFFERENT_OWNER=1 exec "{real}" "$@"\n')
    (tmp_path / "bin/git").chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}")
    fault = refused(lambda: opened(shop))
    assert fault.name == "dubious-ownership"
    # git itself quotes a path with blanks
    assert fault.fix.endswith(f"git config --global --add safe.directory '{shop}'")
    assert git(shop, "config", "--global", "--get-all", "safe.directory", check=False).stdout == b""


def test_a_shallow_clone(shop, tmp_path):
    record(opened(shop), record_path(1))
    git(tmp_path, "clone", "-q", "--depth", "1", f"file://{shop}", "shallow")
    fault = refused(opened(tmp_path / "shallow").ledger)
    assert fault.name == "shallow"
    assert fault.fix == "git fetch --unshallow"


def test_a_partial_clone(shop, tmp_path):
    git(shop, "config", "uploadpack.allowFilter", "true")
    git(tmp_path, "clone", "-q", "--filter=blob:none", "--no-checkout", f"file://{shop}", "partial")
    assert refused(opened(tmp_path / "partial").ledger).name == "partial"


def test_a_grafted_clone(shop):
    write(shop, ".git/info/grafts", "# nothing yet\n\n")
    opened(shop).ledger()
    write(shop, ".git/info/grafts", git(shop, "rev-parse", "HEAD") + "\n")
    assert refused(opened(shop).ledger).name == "grafted"


def test_replaced_objects_are_not_believed(shop):
    write(shop, "jobs/4471/op10/O1001.nc", "as recorded")
    git(shop, "commit", "-qam", "m")
    real = git(shop, "rev-parse", "HEAD:jobs/4471/op10/O1001.nc")
    forged = git(shop, "hash-object", "-w", "--stdin", stdin=b"forged")
    git(shop, "replace", real, forged)
    assert git(shop, "cat-file", "blob", real) == "forged"
    assert opened(shop).tree().read("jobs/4471/op10/O1001.nc") == b"as recorded"


def loose(shop, object_id):
    return shop / ".git/objects" / object_id[:2] / object_id[2:]


def put_loose(shop, object_id, data):
    file = loose(shop, object_id)
    file.chmod(stat.S_IWUSR | stat.S_IRUSR)
    file.write_bytes(data)


def test_a_loose_object_with_other_valid_content_is_damage(shop):
    blob = git(shop, "rev-parse", "HEAD:jobs/4471/op10/O1001.nc")
    put_loose(shop, blob, zlib.compress(b"blob 6\0forged"))
    assert git(shop, "cat-file", "blob", blob) == "forged"
    fault = refused(lambda: opened(shop).tree().read("jobs/4471/op10/O1001.nc"))
    assert fault.name == "damaged"


@pytest.mark.parametrize("content", [b"", b"rubbish", zlib.compress(b"blob 600\0short")])
def test_a_broken_loose_object_is_damage(shop, content):
    blob = git(shop, "rev-parse", "HEAD:shop.toml")
    put_loose(shop, blob, content)
    clone = opened(shop)
    assert refused(clone.ledger).name == "damaged"
    assert clone.tree().read("jobs/4471/op10/O1001.nc")


@pytest.mark.parametrize("name", ["HEAD:shop.toml", "HEAD^{tree}", "HEAD"])
def test_a_missing_object_is_damage(shop, name):
    loose(shop, git(shop, "rev-parse", name)).unlink()
    assert refused(opened(shop).ledger).name == "damaged"


def test_reading_goes_on_after_a_fault(shop):
    clone = opened(shop)
    nothing = object_id("blob", b"never stored", like=clone.git.zero)
    with pytest.raises(CouldNot):
        clone.objects.read([nothing, git(shop, "rev-parse", "HEAD:shop.toml")])
    assert clone.objects.blob(git(shop, "rev-parse", "HEAD:shop.toml")) == SHOP.encode()


def test_many_and_large_objects_come_through_the_pipe(shop):
    data = [b"%d\n" % number * 20000 for number in range(40)]
    for number, text in enumerate(data):
        write(shop, f"big/{number}", text)
    for number in range(3000):
        write(shop, f"small/{number}", str(number))
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "many")
    tree = opened(shop).tree()
    tree.read_ahead(lambda path: path.startswith(("big/", "small/")))
    assert [tree.read(f"big/{number}") for number in range(40)] == data
    assert tree.read("small/2999") == b"2999"


def test_unreadable_records_are_named_and_the_rest_is_read(shop):
    clone = opened(shop)
    record(clone, record_path(1))
    write(shop, record_path(2), "format = 99\nevent = 'hold'\n")
    write(shop, record_path(3), "not toml at all [")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "odd records")
    ledger = clone.ledger()
    assert [one.path for one in ledger.records] == [record_path(1)]
    assert [one.path for one in ledger.unreadable] == [record_path(2), record_path(3)]


def test_a_record_taken_out_of_the_tree_still_counts(shop):
    clone = opened(shop)
    commit = record(clone, record_path(1))
    write(shop, record_path(1), clone.encode(clone.ledger().records[0].record).replace(b"broke", b"is fine"))
    git(shop, "commit", "-qam", "edited")
    git(shop, "rm", "-q", record_path(1))
    git(shop, "commit", "-qm", "taken out")
    stored = clone.ledger().records
    assert [(one.commit == commit, one.in_hand, one.record.reason) for one in stored] == [
        (True, False, "tool broke"),
        (False, False, "tool is fine"),
    ]


def test_records_of_tags_and_remotes_are_seen_and_those_of_stashes_are_not(shop, tmp_path):
    git(tmp_path, "clone", "-q", str(shop), "other")
    other = opened(tmp_path / "other")
    record(other, record_path(1))
    git(shop, "remote", "add", "other", str(tmp_path / "other"))
    git(shop, "fetch", "-q", "other")
    record(other, record_path(2))
    git(tmp_path / "other", "tag", "-a", "-m", "x", "kept")
    git(tmp_path / "other", "reset", "-q", "--hard", "HEAD~1")
    git(shop, "fetch", "-q", "other", "tag", "kept")
    write(shop, record_path(3), other.encode(other.ledger().records[0].record))
    git(shop, "add", "-A")
    git(shop, "stash", "-q")
    seen = {one.path for one in opened(shop).ledger().records}
    assert seen == {record_path(1), record_path(2)}


def test_odd_references_do_not_stop_the_walk(shop):
    blob = git(shop, "rev-parse", "HEAD:shop.toml")
    git(shop, "tag", "on-a-blob", blob)
    git(shop, "tag", "-a", "-m", "x", "release/4471/1", blob)
    git(shop, "tag", "-a", "-m", "x", "release/4471/2", "release/4471/1")
    git(shop, "tag", "on-a-tree", "HEAD^{tree}")
    git(shop, "tag", "release/4471/3")
    git(shop, "tag", "-a", "-m", "text\n\nmore", "release/4471/4")
    git(shop, "tag", "release/4471/nonsense/x")
    clone = opened(shop)
    clone.ledger()
    seen = {tag.ref.removeprefix("refs/tags/release/"): tag for tag in clone.release_tags()}
    kinds = [(tag.kind, tag.target is not None, tag.header_name) for tag in seen.values()]
    assert kinds == [
        ("tag", False, "release/4471/1"),
        ("tag", False, "release/4471/2"),
        ("commit", False, None),
        ("tag", True, "release/4471/4"),
        ("commit", False, None),
    ]
    assert seen["4471/4"].message == "text\n\nmore\n"
    assert clone.release_numbers("4471") == [1, 2, 3, 4]


def test_uncommitted(shop):
    clone = opened(shop)
    paths = ["shop.toml", "jobs/4471/job.toml", "jobs/4471/op10/O1001.nc", "new.nc", "gone.nc", "none.nc"]
    write(shop, "gone.nc", "x")
    git(shop, "add", "gone.nc")
    git(shop, "commit", "-qm", "m")
    assert list(clone.uncommitted(paths)) == []
    write(shop, "shop.toml", "edited")
    write(shop, "jobs/4471/job.toml", "staged")
    git(shop, "add", "jobs")
    write(shop, "jobs/4471/job.toml", "")
    git(shop, "update-index", "--assume-unchanged", "jobs/4471/op10/O1001.nc")
    write(shop, "jobs/4471/op10/O1001.nc", "hidden edit")
    write(shop, "new.nc", "x")
    (shop / "gone.nc").unlink()
    assert list(clone.uncommitted(paths)) == paths[:5]
    assert list(clone.uncommitted(["none.nc"] * 100 + paths)) == paths[:5]


def test_bare_repositories_are_read_and_have_no_folder(shop, tmp_path):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "bare.git")
    clone = opened(tmp_path / "bare.git")
    assert clone.bare
    assert clone.tree().shop().name == "Invented Shop"
    clone.ledger()
    assert refused(clone.work_tree).name == "no-work-folder"
    assert refused(lambda: record(clone, record_path(1))).name == "no-work-folder"


def test_history_in_any_shape_answers_who_descends(tmp_path):
    """Against git's own answer, on a history with merges, octopus, two roots and long lines."""
    folder = make_shop(tmp_path / "s")
    git(folder, "switch", "-q", "--orphan", "island")
    git(folder, "commit", "-q", "--allow-empty", "-m", "other root")
    git(folder, "switch", "-q", "main")
    for number in range(4):
        git(folder, "switch", "-q", "-c", f"b{number}", "main")
        for _ in range(number + 1):
            git(folder, "commit", "-q", "--allow-empty", "-m", "x")
        if number == 2:
            git(folder, "switch", "-q", "main")
            git(folder, "merge", "-q", "--no-ff", "-m", "m", "b0", "b1")
    git(folder, "switch", "-q", "b3")
    git(folder, "merge", "-q", "--allow-unrelated-histories", "-m", "m", "main", "island")
    history = opened(folder).history()
    commits = git(folder, "rev-list", "--branches").split()
    assert set(history.commits) == set(commits)
    for later in commits:
        below = set(git(folder, "rev-list", later).split())
        assert {earlier for earlier in commits if history.descends(later, earlier)} == below
        walked = history.commits[later]
        assert all(history.commits[parent].order < walked.order for parent in walked.parents)


def test_a_record_brought_in_by_a_merge_itself_has_the_merge_as_its_commit(shop):
    clone = opened(shop)
    data = clone.encode(hold_record())
    git(shop, "switch", "-q", "-c", "side")
    record(clone, record_path(1))
    git(shop, "switch", "-q", "main")
    record(clone, record_path(2))
    git(shop, "merge", "-q", "--no-commit", "side")
    write(shop, record_path(3), data)
    git(shop, "add", "-A")
    git(shop, "commit", "-q", "-m", "merge")
    merge = git(shop, "rev-parse", "HEAD")
    assert [one.path for one in clone.ledger().records if one.commit == merge] == [record_path(3)]
    assert all(one.in_hand for one in clone.ledger().records)


def test_the_head_is_found_packed_and_loose(shop):
    clone = opened(shop)
    here = git(shop, "rev-parse", "HEAD")
    assert clone.head().commit == here
    git(shop, "pack-refs", "--all")
    assert clone.head().commit == here
    assert clone.tree().commit == here
    assert clone.path_history("shop.toml") == (here,)
