"""A witness on real git through the console: it follows work, and neither a rewrite nor a moved or deleted tag."""

import errno
import hashlib
import json
import shutil
import zlib

import pytest

from tests.fakes.copied_shop import copied_shop
from tests.store.shop_repo import git, write
from tracker.cli.entry import main
from tracker.errors import CouldNot
from tracker.store.git import Git

NOW = "2026-03-12T08:00:00Z"


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    for name in ("GIT_AUTHOR_DATE", "GIT_COMMITTER_DATE", "PROVEOUT_NOW"):
        monkeypatch.setenv(name, NOW)
    folder = copied_shop(tmp_path)
    capsys.readouterr()
    return folder


@pytest.fixture
def watch(tmp_path):
    return tmp_path / "second copy ü"


def look(watch, capsys, *words):
    status = main(["witness", str(watch), *words])
    out, err = capsys.readouterr()
    return status, out, err


def begun(shop, watch, capsys):
    status, out, err = look(watch, capsys, "--from", str(shop))
    assert status == 0, out + err


def found(watch, capsys):
    status, out, err = look(watch, capsys, "--json")
    answer = json.loads(out)
    assert "findings" in answer, err
    assert status == (1 if answer["findings"] else 0)
    return [(one["problem"], one["where"]) for one in answer["findings"]]


def kept(watch, ref):
    return git(watch / "record.git", "rev-parse", ref)


def journal(watch):
    return [json.loads(line) for line in (watch / "journal.txt").read_bytes().splitlines()]


def commit(shop, name="note.txt"):
    write(shop, name, name)
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", name)
    return git(shop, "rev-parse", "HEAD")


def test_it_follows_work(shop, watch, capsys):
    begun(shop, watch, capsys)
    head = commit(shop)
    git(shop, "branch", "new")
    assert found(watch, capsys) == []
    assert kept(watch, "refs/heads/main") == kept(watch, "refs/heads/new") == head
    first, second = journal(watch)
    assert (first["before"], first["line"], second["line"]) == ("", 1, 2)
    line = (watch / "journal.txt").read_bytes().splitlines()[0]
    assert second["before"] == hashlib.sha256(line).hexdigest()
    assert second["changed"]["refs/heads/main"][1] == head
    assert found(watch, capsys) == []
    assert journal(watch)[2]["changed"] == {}


def test_it_does_not_follow_a_rewrite(shop, watch, capsys):
    begun(shop, watch, capsys)
    old = kept(watch, "refs/heads/main")
    git(shop, "tag", "-d", "v1")
    git(shop, "branch", "-D", "side")
    git(shop, "reset", "-q", "--hard", "HEAD~1")
    new = commit(shop)
    git(shop, "reflog", "expire", "--expire=all", "--all")
    git(shop, "gc", "-q", "--prune=now")
    expected = [
        ("deleted-branch", "refs/heads/side"),
        ("deleted-tag", "refs/tags/v1"),
        ("rewritten-history", "refs/heads/main"),
    ]
    assert sorted(found(watch, capsys)) == expected
    assert kept(watch, "refs/heads/main") == kept(watch, "refs/heads/side") == old
    assert git(watch / "record.git", "cat-file", "-t", "refs/tags/v1") == "tag"
    assert sorted(found(watch, capsys)) == expected
    assert kept(watch, "refs/seen/20260312T080000Z/heads/main") == new
    assert "not.txt" not in git(watch / "record.git", "ls-tree", "-r", "--name-only", "main")


def test_a_moved_tag(shop, watch, capsys):
    begun(shop, watch, capsys)
    old = kept(watch, "refs/tags/v1")
    commit(shop)
    git(shop, "tag", "-f", "-a", "v1", "-m", "another")
    assert found(watch, capsys) == [("tag-moved-at-source", "refs/tags/v1")]
    assert kept(watch, "refs/tags/v1") == old


def test_a_branch_that_was_brought_in_may_go(shop, watch, capsys):
    begun(shop, watch, capsys)
    git(shop, "branch", "-D", "side")
    assert found(watch, capsys) == []


def test_what_the_record_itself_shows_is_found(shop, watch, capsys):
    begun(shop, watch, capsys)
    record = next(iter((shop / "jobs/4471/records/op10").iterdir()))
    before = record.read_bytes()
    for data in (before + b"# more\n", before):
        record.write_bytes(data)
        git(shop, "commit", "-qam", "by hand")
    assert "record-changed" in {name for name, _ in found(watch, capsys)}


def test_a_planted_release_is_found(shop, watch, capsys):
    begun(shop, watch, capsys)
    git(shop, "tag", "-a", "release/4471/1", "-m", "planted")
    assert found(watch, capsys)[0][1] == "refs/tags/release/4471/1"


@pytest.mark.parametrize("way", ["change", "take out", "cut the end", "cut a line short", "nonsense"])
def test_a_journal_that_was_touched(shop, watch, capsys, way):
    begun(shop, watch, capsys)
    for _ in range(2):
        assert found(watch, capsys) == []
    path = watch / "journal.txt"
    lines = path.read_bytes().splitlines(keepends=True)
    changed = {
        "change": [lines[0], lines[1].replace(b'"changed":{}', b'"changed":[]'), lines[2]],
        "take out": [lines[0], lines[2]],
        "cut the end": lines[:2],
        "cut a line short": [*lines[:2], lines[2][:40]],
        "nonsense": [lines[0], b"\xff\n", lines[2]],
    }[way]
    path.write_bytes(b"".join(changed))
    assert {name for name, _ in found(watch, capsys)} == {"journal-broken"}
    after = path.read_bytes()
    assert after.startswith(b"".join(changed))
    assert after.endswith(b"\n")


def test_a_source_that_cannot_be_reached(shop, watch, capsys):
    begun(shop, watch, capsys)
    shop.rename(shop.with_name("away"))
    status, out, err = look(watch, capsys)
    assert (status, out) == (4, "")
    assert "[unreachable]" in err
    assert journal(watch)[-1]["unreachable"]
    shop.with_name("away").rename(shop)
    assert found(watch, capsys) == []


@pytest.mark.parametrize(
    "source", ["nowhere", "file:///nowhere/at/all", "ext::sh -c touch% pwned", "--upload-pack=x"]
)
def test_a_first_look_that_fails_leaves_nothing(tmp_path, watch, capsys, monkeypatch, source):
    monkeypatch.chdir(tmp_path)
    status, out, err = look(watch, capsys, f"--from={source}")
    assert (status, out) == (4, ""), err
    assert "[unreachable]" in err
    assert not watch.exists()
    assert not (tmp_path / "pwned").exists()


def test_neither_hooks_nor_settings_of_the_source_are_taken(shop, watch, capsys):
    mark = shop.parent / "ran"
    for name in ("reference-transaction", "post-checkout", "pre-receive", "update", "post-update"):
        hook = shop / ".git" / "hooks" / name
        hook.parent.mkdir(exist_ok=True)
        hook.write_text(f"#!/bin/sh\ntouch '{mark.as_posix()}'\n", encoding="utf-8", newline="\n")
        hook.chmod(0o755)
    git(shop, "config", "uploadpack.packObjectsHook", f"touch '{mark.as_posix()}'")
    begun(shop, watch, capsys)
    assert not mark.exists()
    assert not (watch / "record.git" / "hooks").exists()
    config = (watch / "record.git" / "config").read_text(encoding="utf-8")
    assert "packObjectsHook" not in config


@pytest.mark.parametrize(
    ("words", "slug"), [([], "no-source"), (["--from", "other"], "no-source"), (["--frob"], "wrong-call")]
)
def test_a_wrong_call(shop, watch, capsys, words, slug):
    if words:
        begun(shop, watch, capsys)
    status, out, err = look(watch, capsys, *words)
    assert (status, out) == (2, "")
    assert f"[{slug}]" in err


def test_a_folder_of_something_else(shop, watch, capsys):
    watch.mkdir()
    (watch / "letter.txt").write_text("x", encoding="utf-8")
    status, _, err = look(watch, capsys, "--from", str(shop))
    assert status == 2
    assert "[not-a-witness]" in err
    assert [path.name for path in watch.iterdir()] == ["letter.txt"]


def test_a_shallow_source_is_no_evidence(shop, watch, capsys, tmp_path):
    commit(shop)
    git(tmp_path, "clone", "-q", "--depth", "1", shop.as_uri(), "shallow")
    status, out, err = look(watch, capsys, "--from", str(tmp_path / "shallow"))
    assert (status, out) == (4, ""), err


def test_an_exchanged_object_in_the_copy(shop, watch, capsys):
    begun(shop, watch, capsys)
    spare = git(watch / "record.git", "hash-object", "-w", "--stdin", stdin=b"spare")
    path = watch / "record.git" / "objects" / spare[:2] / spare[2:]
    path.chmod(0o644)
    path.write_bytes(zlib.compress(b"blob 1\0x"))
    assert [name for name, _ in found(watch, capsys)] == ["damaged-object"]


def test_a_copy_that_is_gone_is_said(shop, watch, capsys):
    begun(shop, watch, capsys)
    shutil.rmtree(watch / "record.git")
    assert [name for name, _ in found(watch, capsys)] == ["copy-lost"]


def test_a_journal_on_a_disk_that_gets_full_keeps_no_half_line(shop, watch, capsys, monkeypatch):
    begun(shop, watch, capsys)
    before = (watch / "journal.txt").read_bytes()

    def full(_):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as now:
        now.setattr("tracker.store.witness_folder.os.fsync", full)
        status, out, err = look(watch, capsys)
    assert (status, out) == (4, ""), err
    assert "[disk-full]" in err
    assert (watch / "journal.txt").read_bytes() == before
    assert found(watch, capsys) == []
    assert len(journal(watch)) == 2


@pytest.mark.parametrize("left", [["record.git.part"], ["record.git.part", "source.txt.part"]])
def test_a_witness_that_was_killed_as_it_began_is_begun_again(shop, watch, capsys, left):
    watch.mkdir()
    for name in left:
        folder = watch / name
        folder.mkdir() if "git" in name else folder.write_text("half")
    begun(shop, watch, capsys)
    assert sorted(path.name for path in watch.iterdir()) == [
        "journal-last.txt",
        "journal.txt",
        "record.git",
        "source.txt",
    ]


@pytest.mark.parametrize(
    "fault", [CouldNot("disk-full", "the disk is full"), OSError(errno.ENOSPC, "no room")]
)
def test_a_copy_that_is_gone_and_cannot_be_made_again_takes_no_journal_with_it(
    shop, watch, capsys, monkeypatch, fault
):
    begun(shop, watch, capsys)
    kept_lines, source = journal(watch), (watch / "source.txt").read_bytes()
    shutil.rmtree(watch / "record.git")
    run = Git.run

    def full(self, *words, **more):
        if words[0] == "init":
            raise fault
        return run(self, *words, **more)

    with monkeypatch.context() as disk:
        disk.setattr(Git, "run", full)
        status, _, err = look(watch, capsys)
    assert (status, "[disk-full]" in err) == (4, True)
    assert (journal(watch), (watch / "source.txt").read_bytes()) == (kept_lines, source)
    assert sorted(path.name for path in watch.iterdir()) == ["journal-last.txt", "journal.txt", "source.txt"]
