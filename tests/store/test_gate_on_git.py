"""The real gate behind the real hooks: what opens it, and every other way to a release tag."""

import shutil
import sys
from pathlib import Path

import pytest

from tests.store.shop_repo import KIM, PROGRAM, SHOP, git, make_shop, opened, write
from tracker.cli.entry import main
from tracker.services.install import install, install_server
from tracker.store.setup_site import Site

ROOT = Path(__file__).resolve().parents[2]
TEXT = "jobs/4471/op10/O1001.nc"
TAG = "release/4471/1"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return tmp_path_factory.mktemp("made")


@pytest.fixture
def shop(made, monkeypatch, capsys, tmp_path):
    """A clone with the hook and a proven operation; its server has the hook too."""
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.delenv(
        "GIT_COMMITTER_DATE"
    )  # a server takes nothing that says it is older than what it follows
    if not (made / "shop").exists():
        build(made / "half done", capsys, made / "form.toml")
        (made / "half done").rename(made / "shop")
    shutil.copytree(made / "shop", tmp_path / "shop")
    git(tmp_path, "clone", "-q", "--bare", "shop", "server.git")
    install(Site(opened(tmp_path / "shop"), python=sys.executable))
    install_server(Site(opened(tmp_path / "server.git"), python=sys.executable))
    git(tmp_path / "shop", "remote", "add", "origin", str(tmp_path / "server.git"))
    return tmp_path / "shop"


def build(folder, capsys, form):
    make_shop(folder)
    git(folder, "config", "user.email", KIM.email)
    roles = SHOP.replace('["setup"]', '["setup", "programmer", "quality"]')
    write(folder, "shop.toml", roles.replace("[[people]]", "[policy]\ntwo_person = false\n[[people]]"))
    git(folder, "commit", "-qam", "roles")
    call(folder, "checkin", "4471", "-m", "why", "--yes")
    words = ["prove", "4471/op10", "--machine", "MILL2"]
    call(folder, *words, "--form", str(form))
    text = form.read_text(encoding="utf-8").replace("done = false", "done = true")
    form.write_text(text.replace("value = 0", "value = 100"), encoding="utf-8")
    call(folder, *words, "--accept", "--first-piece", "2231", "--answers", str(form), "--yes")
    capsys.readouterr()


def call(folder, *words, status=0):
    assert main(["-C", str(folder), *words]) == status


def tags(folder):
    return git(folder, "for-each-ref", "--format=%(refname:strip=2)", "refs/tags/release").splitlines()


def test_release_opens_the_gate_and_reaches_the_server(shop, tmp_path):
    call(shop, "release", "4471", "--yes")
    assert tags(shop) == [TAG]
    git(shop, "push", "-q", "--atomic", "origin", "main", TAG)
    assert tags(tmp_path / "server.git") == [TAG]
    git(shop, "pack-refs", "--all")
    git(shop, "gc", "-q")
    git(tmp_path, "clone", "-q", "server.git", "second")
    assert tags(tmp_path / "second") == [TAG]
    call(tmp_path / "second", "install")
    git(tmp_path / "second", "fetch", "-q", "--tags")
    git(tmp_path / "second", "tag", "v1")


BY_HAND = {
    "tag": ["tag", TAG],
    "annotated": ["tag", "-a", "-m", "4471 release 1", TAG],
    "update-ref": ["update-ref", f"refs/tags/{TAG}", "HEAD"],
    "pushed to oneself": ["push", "-q", ".", f"HEAD:refs/tags/{TAG}"],
    "another name": ["tag", "-a", "-m", "x", "release/4471"],
}


@pytest.mark.parametrize("how", BY_HAND)
def test_a_tag_made_by_hand_is_refused_with_reasons(shop, how):
    refused = git(shop, *BY_HAND[how], check=False)
    assert refused.returncode != 0
    assert b"[gate-closed]" in refused.stderr
    assert tags(shop) == []


def test_a_release_tag_is_never_moved_or_deleted(shop, tmp_path):
    call(shop, "release", "4471", "--yes")
    git(shop, "push", "-q", "--atomic", "origin", "main", TAG)
    before = git(shop, "rev-parse", TAG)
    for packed in (False, True):
        if packed:
            git(shop, "pack-refs", "--all")
        for words in (
            ["tag", "-d", TAG],
            ["tag", "-f", TAG],
            ["tag", "-f", "-a", "-m", "x", TAG, "HEAD~1"],
            ["update-ref", "-d", f"refs/tags/{TAG}"],
            ["update-ref", f"refs/tags/{TAG}", "HEAD"],
        ):
            assert git(shop, *words, check=False).returncode != 0, words
            assert git(shop, "rev-parse", TAG) == before
    for words in (["--delete", TAG], ["--force", f"HEAD:refs/tags/{TAG}"]):
        assert git(shop, "push", "-q", "origin", *words, check=False).returncode != 0, words
    assert git(tmp_path / "server.git", "rev-parse", TAG) == before


PUSHES = {
    "one": [TAG],
    "many": ["main", TAG, "v1"],
    "mirror": ["--mirror"],
    "tags": ["--tags"],
    "force": ["--force", TAG],
}


@pytest.mark.parametrize("how", PUSHES)
def test_a_forged_tag_does_not_get_into_the_server(shop, tmp_path, how):
    """Made past the local hook, as anybody can."""
    write(shop, TEXT, PROGRAM.replace(b"X0", b"X5"))
    git(shop, "commit", "-qam", "unproven edit")
    git(shop, "-c", "core.hooksPath=/dev/null", "tag", "-a", "-m", "4471 release 1", TAG)
    git(shop, "tag", "v1")
    before = git(tmp_path / "server.git", "for-each-ref")
    refused = git(shop, "push", "-q", "origin", *PUSHES[how], check=False)
    assert refused.returncode != 0
    assert b"[gate-closed]" in refused.stderr
    assert git(tmp_path / "server.git", "for-each-ref") == before
    git(shop, "push", "-q", "origin", "main", "v1")


def test_a_forged_clone_cannot_be_fetched_from(shop, tmp_path):
    git(tmp_path, "clone", "-q", "shop", "forged")
    git(tmp_path / "forged", "tag", "-a", "-m", "4471 release 1", TAG)
    git(shop, "fetch", "-q", str(tmp_path / "forged"), "refs/tags/*:refs/tags/*", check=False)
    assert tags(shop) == []


def test_an_edit_after_the_release_record_is_no_release(shop, tmp_path):
    """The tag object of a real release, put on another state or under another number."""
    call(shop, "release", "4471", "--yes")
    made = git(shop, "rev-parse", f"refs/tags/{TAG}")
    assert git(shop, "update-ref", "refs/tags/release/4471/2", made, check=False).returncode != 0
    text = git(shop, "cat-file", "tag", made)
    write(shop, TEXT, PROGRAM.replace(b"X0", b"X5"))
    git(shop, "commit", "-qam", "unproven edit")
    moved = text.replace(text.split()[1], git(shop, "rev-parse", "HEAD")).replace(TAG, "release/4471/2")
    forged = git(shop, "mktag", stdin=moved.encode() + b"\n")
    assert git(shop, "update-ref", "refs/tags/release/4471/2", forged, check=False).returncode != 0
    assert tags(shop) == [TAG]
