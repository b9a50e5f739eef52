import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tracker.errors import BadCall, CouldNot, Refused
from tracker.services.ports_stick import ToWrite
from tracker.stick.disk import DEEPEST
from tracker.stick.medium import open_medium

SECRET = b"%\nO6666 (NOT ON THE STICK)\nM30\n%\n"


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "Stick of Jürgen (blue)"
    folder.mkdir()
    return folder


def write(path: Path, data: bytes = b"x") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


def link(path: Path, target: Path) -> None:
    try:
        path.symlink_to(target)
    except OSError:
        pytest.skip("this system does not let us make links")


def test_what_lies_on_it_is_seen_and_read(stick):
    write(stick / "MILL2" / "O1001.NC", b"abc")
    medium = open_medium(stick)
    assert medium.label == "Stick of Jürgen (blue)"
    assert [(seen.path, seen.kind, seen.size) for seen in medium.look()] == [
        ("MILL2", "folder", 0),
        ("MILL2/O1001.NC", "file", 3),
    ]
    assert medium.read("MILL2/O1001.NC") == b"abc"
    assert medium.digest("MILL2/O1001.NC") == sha(b"abc")


def test_a_copy_ends_up_on_the_disk(stick):
    medium = open_medium(stick)
    data = os.urandom(3_000_000)
    medium.stage([ToWrite(path="MILL2/FOR-PROVING/O1.NC", data=data, sha256=sha(data))]).finish()
    assert (stick / "MILL2" / "FOR-PROVING" / "O1.NC").read_bytes() == data
    assert [path.name for path in stick.rglob("*.TMP")] == []
    medium.stage([ToWrite(path="O1.NC", data=b"", sha256=sha(b""))]).finish()
    assert (stick / "O1.NC").read_bytes() == b""


def test_a_replaced_file_is_replaced_in_one_step(stick):
    write(stick / "MILL2" / "O1.NC", b"old")
    medium = open_medium(stick)
    medium.stage(
        [ToWrite(path="MILL2/O1.NC", data=b"new", sha256=sha(b"new"), replaces=sha(b"old"))]
    ).finish()
    assert (stick / "MILL2" / "O1.NC").read_bytes() == b"new"


def test_links_out_of_the_stick_are_named_and_never_followed(stick, tmp_path):
    write(tmp_path / "office" / "O6666.NC", SECRET)
    link(stick / "O6666.NC", tmp_path / "office" / "O6666.NC")
    link(stick / "MILL2", tmp_path / "office")
    medium = open_medium(stick)
    assert [(seen.path, seen.kind) for seen in medium.look()] == [("MILL2", "link"), ("O6666.NC", "link")]
    for path in ("O6666.NC", "MILL2/O6666.NC"):
        with pytest.raises(CouldNot) as fault:
            medium.read(path)
        assert fault.value.name == "unreadable-file"
        with pytest.raises(CouldNot):
            medium.digest(path)
    with pytest.raises(Refused) as refused:
        medium.stage([ToWrite(path="MILL2/O1.NC", data=b"x", sha256=sha(b"x"))])
    assert refused.value.name == "link-on-stick"
    assert sorted(path.name for path in (tmp_path / "office").iterdir()) == ["O6666.NC"]


def test_a_link_under_a_programs_name_is_not_replaced(stick, tmp_path):
    write(tmp_path / "office.nc", SECRET)
    write(stick / "MILL2" / "a", b"x")
    link(stick / "MILL2" / "O1.NC", tmp_path / "office.nc")
    medium = open_medium(stick)
    with pytest.raises(Refused):
        medium.stage(
            [ToWrite(path="MILL2/O1.NC", data=b"x", sha256=sha(b"x"), replaces=sha(SECRET))]
        ).finish()
    assert (tmp_path / "office.nc").read_bytes() == SECRET
    assert (stick / "MILL2" / "O1.NC").is_symlink()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_a_pipe_is_seen_and_does_not_hang(stick):
    os.mkfifo(stick / "O1.NC")
    medium = open_medium(stick)
    assert [seen.kind for seen in medium.look()] == ["other"]
    with pytest.raises(CouldNot):
        medium.read("O1.NC")


@pytest.mark.skipif(os.name == "nt", reason="names are no bytes on this system")
def test_names_that_are_no_text_are_seen(stick):
    try:
        (Path(os.fsdecode(os.fsencode(stick) + b"/O\xff1.NC"))).write_bytes(b"abc")
    except OSError:
        pytest.skip("this file system wants names to be text")
    medium = open_medium(stick)
    (seen,) = medium.look()
    assert seen.path == "O\udcff1.NC"
    assert medium.read(seen.path) == b"abc"


def test_very_deep_folders_are_named_and_not_looked_into(stick):
    deep = stick
    for _ in range(DEEPEST + 5):
        deep = deep / "d"
    write(deep / "O1.NC")
    seen = open_medium(stick).look()
    assert [one.kind for one in seen if one.kind != "folder"] == ["closed"]
    assert any("deep" in (one.why or "") for one in seen)


def test_more_files_than_anybody_has_are_not_looked_at_without_end(stick, monkeypatch):
    monkeypatch.setattr("tracker.stick.disk.MOST", 5)
    for number in range(9):
        write(stick / f"O{number}.NC")
    seen = open_medium(stick).look()
    assert len([one for one in seen if one.kind == "file"]) == 5
    assert [one.why for one in seen if one.kind == "closed"] == [
        "more than 5 files and folders: the rest was not looked at"
    ]


def test_what_the_system_keeps_on_a_stick_is_passed_over(stick):
    write(stick / "System Volume Information" / "WPSettings.dat")
    write(stick / "$RECYCLE.BIN" / "S-1-5" / "O1.NC")
    assert [one.path for one in open_medium(stick).look()] == []


def test_a_file_that_vanishes_is_said_and_a_stick_that_vanishes_ends_it(stick):
    write(stick / "O1.NC")
    medium = open_medium(stick)
    (stick / "O1.NC").unlink()
    with pytest.raises(CouldNot) as fault:
        medium.read("O1.NC")
    assert (fault.value.name, fault.value.where) == ("unreadable-file", "O1.NC")
    stick.rmdir()
    with pytest.raises(CouldNot) as fault:
        medium.read("O1.NC")
    assert fault.value.name == "medium-gone"
    with pytest.raises(CouldNot) as fault:
        medium.look()
    assert fault.value.name == "medium-gone"
    with pytest.raises(CouldNot) as fault:
        medium.stage([ToWrite(path="MILL2/O1.NC", data=b"x", sha256=sha(b"x"))])
    assert fault.value.name == "medium-gone"
    assert not stick.exists()


def test_a_stick_that_is_not_there_is_never_made(tmp_path):
    with pytest.raises(BadCall) as fault:
        open_medium(tmp_path / "usb")
    assert fault.value.name == "no-stick"
    assert not (tmp_path / "usb").exists()
    file = write(tmp_path / "file")
    with pytest.raises(BadCall, match="is no folder"):
        open_medium(file)


LOOK = """
import os, sys
from pathlib import Path
from tracker.stick.medium import open_medium
stick = Path(sys.argv[1])
assert [one.kind for one in open_medium(stick).look()] == ["folder", "file"]
(stick / "MILL2").chmod(0)
if os.geteuid() == 0:  # nothing is closed to root; what is imported was read before
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
print([one.kind for one in open_medium(stick).look()])
"""


@pytest.mark.skipif(os.name == "nt", reason="this system closes no folder by its mode")
def test_folders_and_files_without_rights_are_said(stick):
    write(stick / "MILL2" / "O1.NC")
    for folder in (stick, *stick.parents):
        if folder.stat().st_uid == os.geteuid() and folder.is_relative_to(tempfile.gettempdir()):
            folder.chmod(folder.stat().st_mode | 0o055)
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    call = [sys.executable, "-c", LOOK, str(stick)]
    try:
        ran = subprocess.run(
            call, capture_output=True, text=True, encoding="utf-8", check=False, env=environment
        )
    finally:
        (stick / "MILL2").chmod(0o755)
    assert (ran.returncode, ran.stdout) == (0, "['folder', 'closed']\n"), ran.stderr


def test_the_folder_of_a_shops_record_is_no_stick(tmp_path):
    (tmp_path / ".git").mkdir()
    assert open_medium(tmp_path).label == tmp_path.name
    (tmp_path / "shop.toml").write_text("format = 1\n")
    with pytest.raises(BadCall) as fault:
        open_medium(tmp_path)
    assert (fault.value.name, fault.value.where) == ("no-stick", str(tmp_path))
    (tmp_path / "sticks" / "jobs").mkdir(parents=True)
    assert open_medium(tmp_path / "sticks").label == "sticks"
    assert open_medium(tmp_path / "sticks" / "jobs").label == "jobs"


@pytest.mark.parametrize("below", ["jobs", "jobs/4471/op10", "Records", ".git"])
def test_a_folder_in_which_the_office_keeps_its_own_is_no_stick(tmp_path, below):
    (tmp_path / below).mkdir(parents=True)
    (tmp_path / ".git").mkdir(exist_ok=True)
    assert open_medium(
        tmp_path / below
    ).label  # a folder of this name in somebody's git folder is none of ours
    (tmp_path / "shop.toml").write_text("format = 1\n")
    with pytest.raises(BadCall) as fault:
        open_medium(tmp_path / below)
    assert fault.value.name == "no-stick"
