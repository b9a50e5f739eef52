"""Backups on real git through the console: written whole, read back, restored with plain git, and clear when not."""

import hashlib
import json
import shlex
import shutil

import pytest

from tests.fakes.copied_shop import copied_shop
from tests.store.shop_repo import git
from tracker.cli.entry import main

NOW = "2026-03-12T08:00:00Z"


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    for name in ("GIT_AUTHOR_DATE", "GIT_COMMITTER_DATE", "PROVEOUT_NOW"):
        monkeypatch.setenv(name, NOW)
    folder = copied_shop(tmp_path)
    capsys.readouterr()
    return folder


@pytest.fixture
def disk(tmp_path):
    folder = tmp_path / "other disk ü"
    folder.mkdir()
    return folder


def call(shop, capsys, *words):
    status = main(["-C", str(shop), *words])
    out, err = capsys.readouterr()
    return status, out, err


def refs(folder):
    return git(folder, "for-each-ref", "--format=%(refname) %(objectname)")


def made(shop, capsys, disk):
    status, out, err = call(shop, capsys, "backup", "--to", str(disk), "--json")
    assert status == 0, err
    return json.loads(out)


def test_everything_is_in_it_and_plain_git_restores_it(shop, capsys, disk, tmp_path):
    answer = made(shop, capsys, disk)
    assert answer["schema"] == "proveout/backup/1"
    names = sorted(path.name for path in disk.iterdir())
    assert names == ["invented-shop-20260312T080000Z.bundle", "invented-shop-20260312T080000Z.txt"]
    bundle = disk / names[0]
    assert answer["sha256"] == hashlib.sha256(bundle.read_bytes()).hexdigest()
    words = (disk / names[1]).read_text(encoding="utf-8")
    assert answer["sha256"] in words
    git(tmp_path, "clone", "-q", "--mirror", str(bundle), "back.git")
    assert refs(tmp_path / "back.git") == refs(shop)
    git(tmp_path, "clone", "-q", str(bundle), "back")
    assert git(tmp_path / "back", "rev-parse", "HEAD") == git(shop, "rev-parse", "HEAD")
    assert f'git clone "{names[0]}" restored' in words


def test_the_drill_audits_what_comes_out(shop, capsys, disk):
    bundle = made(shop, capsys, disk)["file"]
    status, out, err = call(shop.parent, capsys, "backup", "--drill", bundle, "--json")
    assert status == 0, err
    assert json.loads(out)["checked"]["records"] == 1
    assert "derived again" in call(shop.parent, capsys, "backup", "--drill", bundle)[1]


def test_the_drill_of_a_broken_record_says_no(shop, capsys, disk):
    record = next(iter((shop / "jobs/4471/records/op10").iterdir()))
    record.write_bytes(record.read_bytes() + b"# more\n")
    git(shop, "commit", "-qam", "by hand")
    bundle = made(shop, capsys, disk)["file"]
    status, out, _ = call(shop, capsys, "backup", "--drill", bundle, "--json")
    assert status == 1
    assert "record-changed" in {one["problem"] for one in json.loads(out)["problems"]}


@pytest.mark.parametrize("at", [0.3, 0.6, 0.9])
def test_the_drill_of_a_damaged_file(shop, capsys, disk, at):
    bundle = disk / made(shop, capsys, disk)["file"]
    data = bytearray(bundle.read_bytes())
    data[int(len(data) * at)] ^= 0xFF
    bundle.write_bytes(data)
    status, out, err = call(shop, capsys, "backup", "--drill", str(bundle))
    assert (status, out) == (4, "")
    assert "[backup-not-whole]" in err


def test_an_exchanged_object_does_not_get_into_a_backup_unseen(shop, capsys, disk):
    import zlib

    blob = git(shop, "rev-parse", "HEAD:jobs/4471/op10/O1001.nc")
    path = shop / ".git" / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(zlib.compress(b"blob 2\0xx"))
    status, out, err = call(shop, capsys, "backup", "--to", str(disk))
    assert (status, out) == (4, ""), err
    assert list(disk.iterdir()) == []


def test_a_file_of_that_name_is_not_replaced(shop, capsys, disk):
    made(shop, capsys, disk)
    before = {path.name: path.read_bytes() for path in disk.iterdir()}
    status, _, err = call(shop, capsys, "backup", "--to", str(disk))
    assert status == 1
    assert "[backup-exists]" in err
    assert {path.name: path.read_bytes() for path in disk.iterdir()} == before


@pytest.mark.parametrize(
    ("words", "status", "slug"),
    [
        (["backup"], 2, "wrong-call"),
        (["backup", "--to", "a", "--drill", "b"], 2, "wrong-call"),
        (["backup", "--to", "nowhere"], 2, "no-backup-folder"),
        (["backup", "--to", "."], 2, "backup-inside"),
        (["backup", "--to", ".git"], 2, "backup-inside"),
        (["backup", "--drill", "nowhere.bundle"], 2, "missing-file"),
        (["backup", "--drill", "jobs"], 2, "is-a-folder"),
        (["backup", "--drill", "shop.toml"], 4, "backup-not-whole"),
    ],
)
def test_a_wrong_call(shop, capsys, words, status, slug):
    got, out, err = call(shop, capsys, *words)
    assert (got, out) == (status, "")
    assert f"[{slug}]" in err


def test_a_folder_that_goes_away_meanwhile_leaves_nothing(shop, capsys, disk, monkeypatch):
    from tracker.store import bundles

    real = bundles._through

    def gone(path):
        real(path)
        shutil.rmtree(disk, ignore_errors=True)

    monkeypatch.setattr(bundles, "_through", gone)
    status, out, err = call(shop, capsys, "backup", "--to", str(disk))
    assert (status, out) == (4, ""), err
    assert not disk.exists()


@pytest.mark.parametrize("fails", [0, 1, 2])
def test_a_full_disk_leaves_nothing_half_named(shop, capsys, disk, monkeypatch, fails):
    import errno

    from tracker.store import bundles

    real, calls = bundles._through, []

    def full(path):
        calls.append(path)
        if len(calls) == fails + 1:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(path)

    monkeypatch.setattr(bundles, "_through", full)
    status, out, err = call(shop, capsys, "backup", "--to", str(disk))
    assert (status, out) == (4, "")
    assert "[disk-full]" in err
    left = sorted(path.suffix for path in disk.iterdir())
    assert left == ([".bundle", ".txt"] if fails == 2 else [])


def test_an_empty_repository(tmp_path, capsys, disk):
    git(tmp_path, "init", "-q", "empty")
    assert call(tmp_path / "empty", capsys, "backup", "--to", str(disk))[0] == 4
    assert list(disk.iterdir()) == []


def test_doctor_says_how_old_the_backup_is(shop, capsys, disk, monkeypatch):
    def told():
        out = call(shop, capsys, "doctor", "--json")[1]
        return next(one for one in json.loads(out)["points"] if one["point"] == "backup")

    assert told()["state"] == "off"
    file = made(shop, capsys, disk)["file"]
    assert told()["state"] == "on"
    assert file in told()["says"]
    monkeypatch.setenv("PROVEOUT_NOW", "2026-05-12T08:00:00Z")
    assert told()["state"] == "off"
    assert "61 days ago" in told()["says"]


def restored_by(words, disk, shell_words):
    """Do the lines of git in the words beside a backup, as a person would type them."""
    lines = [line.strip() for line in words.splitlines() if line.strip().startswith(shell_words)]
    for line in lines:
        git(disk, *shlex.split(line)[1:])
    return lines


def test_a_hold_on_a_branch_of_the_shared_repository_alone_is_restored_too(shop, capsys, disk, tmp_path):
    git(tmp_path, "init", "-q", "--bare", "-b", "main", "shared.git")
    git(shop, "remote", "add", "origin", str(tmp_path / "shared.git"))
    git(shop, "push", "-q", "origin", "main")
    assert "from-backup" not in restore_text(shop, capsys, disk)
    git(shop, "switch", "-q", "-c", "trial")
    assert call(shop, capsys, "hold", "4471/op10", "--by", "kp", "-m", "chatter", "--yes")[0] == 0
    git(shop, "push", "-q", "origin", "trial")
    git(shop, "switch", "-q", "main")
    git(shop, "branch", "-q", "-D", "trial")
    words = restore_text(shop, capsys, disk)
    lines = restored_by(words, disk, ("git clone", "git -C restored fetch", "git -C restored.git fetch"))
    assert len(lines) == 4
    git(disk, "clone", "-q", "restored.git", "of the server")
    for folder in (shop, disk / "restored", disk / "of the server"):
        rows = json.loads(call(folder, capsys, "status", "--job", "4471", "--json")[1])["operations"]
        assert {row["standing"] for row in rows if row["operation"] == "op10"} == {"held"}, folder


def restore_text(shop, capsys, disk):
    """The words beside a new backup, the only one there."""
    for path in disk.iterdir():
        path.unlink()
    made(shop, capsys, disk)
    (found,) = disk.glob("*.txt")
    return found.read_text(encoding="utf-8")
