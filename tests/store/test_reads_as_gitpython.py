"""Our bulk reader against an independent one: GitPython sees the same files, bytes, tags and ancestry."""

import hashlib
from pathlib import Path

from git import Repo

from tracker.wiring import open_desk


def test_files_and_their_bytes(threepenny: Path) -> None:
    tree = open_desk(str(threepenny)).repo.tree()
    with Repo(threepenny) as repo:
        theirs = {
            str(b.path): b.data_stream.read() for b in repo.head.commit.tree.traverse() if b.type == "blob"
        }
    assert {path: tree.read(path) for path in tree.paths()} == theirs
    assert len(theirs) > 30


def test_records_come_from_the_commit_that_added_them(threepenny: Path) -> None:
    ledger = open_desk(str(threepenny)).repo.ledger()
    with Repo(threepenny) as repo:
        for stored in ledger.records:
            first = list(repo.iter_commits(paths=stored.path))[-1]
            data = (first.tree / stored.path).data_stream.read()
            assert (stored.commit, stored.sha256) == (first.hexsha, hashlib.sha256(data).hexdigest())
    assert len(ledger.records) > 20


def test_tags_and_ancestry(threepenny: Path) -> None:
    ours = open_desk(str(threepenny)).repo
    with Repo(threepenny) as repo:
        theirs = {tag.path: (tag.tag.hexsha, tag.commit.hexsha, tag.tag.tag) for tag in repo.tags}
        assert {t.ref: (t.object_id, t.target, t.header_name) for t in ours.release_tags()} == theirs
        commits = [commit.hexsha for commit in repo.iter_commits()]
        descends = ours.ledger().descends
        for later in commits[::7]:
            for earlier in commits[::5]:
                assert descends(later, earlier) == (later == earlier or repo.is_ancestor(earlier, later))
