"""Hostile and broken sticks through the real verb, as a process of its own: every file has its line, memory stays bounded."""

import json
import os
import shutil
import socket
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.fakes.fat import FOUR_GIB, large_image, mount, run, with_a_file
from tests.fakes.shop_folder import ShopFolder

MEGABYTE = 1 << 20
MOST = 400 * MEGABYTE
"""Address space is no measure; this is the most resident memory the process may have had."""
AS_POSIX = pytest.mark.skipif(
    os.name == "nt", reason="asks the system what a process took, and for its links"
)
pytestmark = AS_POSIX
RUN = """
import json, os, resource, sys
from tracker.cli.entry import main
status = main(sys.argv[1:])
sys.stdout.flush()
try:  # the most this program held; what the kernel counts for the process holds the one it was forked from as well
    with open("/proc/self/status") as said:
        most = next(int(line.split()[1]) for line in said if line.startswith("VmHWM:"))
except OSError:
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(most, file=sys.stderr)
sys.exit(status)
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A shop with a release, and a stick it was exported to; made once."""
    folder = tmp_path_factory.mktemp("hostile")
    with pytest.MonkeyPatch.context() as patch:
        shop = ShopFolder(folder / "shop", _Quiet(), patch)
        shop.folder.mkdir()
        shop.at("2026-02-02T09:00:00Z")
        shop.begin()
        shop.prove()
        shop.run("release", "4471", "--by", "dg", "--yes")
        (folder / "BLUE-1").mkdir()
        shop.run("export", "--machine", "MILL2", "--to", str(folder / "BLUE-1"), "--by", "ss")
    return folder


class _Quiet:
    def readouterr(self):
        return "", ""


@pytest.fixture
def stick(home, tmp_path):
    shutil.copytree(home / "BLUE-1", tmp_path / "BLUE-1")
    return tmp_path / "BLUE-1"


AS_ANYBODY = ("setpriv", "--bounding-set=-dac_override,-dac_read_search")
"""Root may read everything; without these two rights root is held to what a file allows its owner."""


def collect(home: Path, stick: Path, *more: str, through: tuple[str, ...] = ()):
    """Status, the JSON answer by file, standard error, and the most memory it had."""
    return answered(home, "collect", str(stick), "--dry-run", *more, through=through)


def answered(home: Path, *call: str, through: tuple[str, ...] = ()):
    """The same of any call whose answer has files."""
    words = ["-C", str(home / "shop"), *call, "--json"]
    done = subprocess.run(
        [*through, sys.executable, "-c", RUN, *words],
        capture_output=True,
        timeout=600,
        env={**os.environ, "PROVEOUT_NOW": "2026-02-16T09:00:00Z", "PYTHONDONTWRITEBYTECODE": "1"},
    )
    err = done.stderr.decode("utf-8", "replace")
    assert "Traceback" not in err
    assert done.returncode in (0, 1), err
    said = json.loads(done.stdout)
    lines = [line for line in err.splitlines() if line]
    took = int(lines[-1]) * (1 if sys.platform == "darwin" else 1024)
    assert took < MOST, f"{took / MEGABYTE:.0f} MB"
    return done.returncode, {one["file"]: one for one in said["files"]}, took


def test_ten_thousand_files_have_a_line_each(home, stick):
    many = stick / "MANY"
    many.mkdir()
    for number in range(10_000):
        (many / f"P{number:05}.NC").write_bytes(
            b"%%\nO%04d\nG0 X%d.\nM30\n%%\n" % (number % 9000 + 1, number)
        )
    status, files, took = collect(home, stick)
    assert status == 1
    assert sum(name.startswith("MANY/") for name in files) == 10_000
    assert all(one["message"] for one in files.values())
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"
    assert took < 150 * MEGABYTE


def test_a_file_of_a_gigabyte_is_read_in_pieces(home, stick):
    with (stick / "BIG.NC").open("wb") as file:
        file.truncate(1 << 30)  # nothing but NULs, and no room on the disk
    with (stick / "MILL2" / "LONG.NC").open("wb") as file:
        file.write(b"%\nO1001\n")
        block = b"".join(b"N%06d G01 X%d.125 Y%d.5\n" % (at, at % 97, at % 53) for at in range(40_000))
        for _ in range(40):
            file.write(block)
        file.write(b"M30\n%\n")
    status, files, _ = collect(home, stick)
    assert status == 1
    assert files["BIG.NC"]["verdict"] == "unknown"
    assert files["MILL2/LONG.NC"]["verdict"] in ("unknown", "changed-code")
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"


def test_identify_holds_no_file_that_is_too_long_to_be_compared(home, stick):
    """Two that no record has, one of them text to its end, and a text of ours made longer than what is compared."""
    nuls, text, ours = stick / "BIG.NC", stick / "LONG.NC", stick / "OURS.NC"
    with nuls.open("wb") as file:
        file.truncate(300 * MEGABYTE)
    blocks = b"".join(b"N%06d G01 X%d.125 Y%d.5\n" % (at, at % 97, at % 53) for at in range(40_000))
    with text.open("wb") as file:
        file.write(b"%\nO7007\n")
        for _ in range(140 * MEGABYTE // len(blocks)):
            file.write(blocks)
        file.write(b"M30\n%\n")
    own = (stick / "MILL2" / "O1001.NC").read_bytes()
    lines = b"(FILLED UP)\r\n" * 80_000
    with ours.open("wb") as file:
        file.write(own[: own.rindex(b"M30")])
        for _ in range(130 * MEGABYTE // len(lines)):
            file.write(lines)
        file.write(own[own.rindex(b"M30") :])
    words = "nothing in the record has this code; too long to be compared"
    status, files, took = answered(home, "identify", str(nuls), str(text), str(ours), "--machine", "MILL2")
    assert status == 1
    assert [(one["identity"], one["reason"]) for one in files.values()][:2] == [("unknown", words)] * 2
    known = files[str(ours)]
    assert (known["identity"], known["operation"], known["may_run"]) == ("known", "op10", True)
    assert took < 150 * MEGABYTE


@pytest.mark.takes_long
def test_the_longest_file_a_stick_takes_is_named_and_costs_no_memory(home, stick, tmp_path, outside_program):
    """Of 4 GiB less one, in a folder and on a real FAT32 image; a driver that cannot read as far says so, and so do we."""
    with (stick / "LONGEST.NC").open("wb") as file:
        file.truncate(FOUR_GIB - 1)
    _, files, took = collect(home, stick)
    assert files["LONGEST.NC"]["verdict"] == "unknown"
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"
    assert took < 150 * MEGABYTE

    image = large_image(tmp_path, outside_program)
    with_a_file(image, b"LONGEST NC ", FOUR_GIB - 1)
    mounted = tmp_path / "MOUNTED"
    mounted.mkdir()
    try:
        mount(image, mounted)
    except OSError as fault:
        pytest.skip(str(fault))
    try:
        assert (mounted / "LONGEST.NC").stat().st_size == FOUR_GIB - 1
        status, files, took = collect(home, mounted)
    finally:
        run("umount", mounted)
    assert (status, [*files]) == (1, ["LONGEST.NC"])
    assert files["LONGEST.NC"]["verdict"] in ("unknown", "damaged")
    assert files["LONGEST.NC"]["message"]
    assert took < 150 * MEGABYTE


def test_names_in_any_encoding(home, stick):
    names = [
        b"Tr\xe4ger.nc",
        b"\xff\xfe\xfd",
        b"a\nb.nc",
        b"\x1b[31mred",
        "\u202etxt.exe".encode(),
        b"-rf",
        b"$(touch x)",
    ]
    for name in names:
        try:
            (Path(os.fsdecode(os.fsencode(stick) + b"/" + name))).write_bytes(b"hello")
        except OSError:
            pytest.skip("this file system takes no such names")
    _, files, _ = collect(home, stick)
    odd = [name for name in files if not name.startswith("MILL2/")]
    assert len(odd) == len(names)
    assert all(name.isprintable() for name in odd)
    assert not (home / "shop" / "x").exists()


def test_links_devices_and_pipes_are_named_and_not_opened(home, stick, tmp_path):
    secret = tmp_path / "secret.nc"
    secret.write_bytes((stick / "MILL2" / "O1001.NC").read_bytes())
    (stick / "OUT.NC").symlink_to(secret)
    (stick / "UP").symlink_to(tmp_path)
    (stick / "LOOP").symlink_to(stick)
    (stick / "NOWHERE.NC").symlink_to("/nonexistent")
    (stick / "ZERO.NC").symlink_to("/dev/zero")
    os.mkfifo(stick / "PIPE.NC")
    with socket.socket(socket.AF_UNIX) as one:
        here = os.open(".", os.O_RDONLY)
        try:
            os.chdir(stick)
            one.bind("SOCK.NC")
        finally:
            os.fchdir(here)
            os.close(here)
        _, files, _ = collect(home, stick)
    for name in ("OUT.NC", "UP", "LOOP", "NOWHERE.NC", "ZERO.NC"):
        assert (files[name]["verdict"], files[name]["message"]) == ("unknown", "a link: not opened")
    for name in ("PIPE.NC", "SOCK.NC"):
        assert files[name]["message"] == "a device or pipe: not opened"
    assert not any(name.startswith(("UP/", "LOOP/")) for name in files)


@pytest.mark.parametrize(
    "text",
    [
        b"{}",
        b"[" * 100_000,
        b'{"files": [{"file": "../../../etc/passwd", "sha256": ""}]}',
        b"\x00" * 5000,
        b"",
        b'{"a": "' + b"x" * 5_000_000 + b'"}',
    ],
    ids=["empty", "deep", "outside", "NULs", "nothing", "long"],
)
def test_a_list_that_lies_is_forged_and_the_content_is_believed(home, stick, text):
    (stick / "MILL2" / "PROVEOUT.JSON").write_bytes(text)
    _, files, _ = collect(home, stick)
    assert files["MILL2/PROVEOUT.JSON"]["verdict"] == "forged-manifest"
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"
    assert not any("passwd" in name for name in files)


def test_nuls_in_and_around_a_text(home, stick):
    text = (stick / "MILL2" / "O1001.NC").read_bytes()
    (stick / "AFTER.NC").write_bytes(text + bytes(2000))
    (stick / "INSIDE.NC").write_bytes(text[:60] + bytes(40) + text[60:])
    (stick / "ALL.NC").write_bytes(bytes(4096))
    _, files, _ = collect(home, stick)
    assert {files[name]["verdict"] for name in ("AFTER.NC", "INSIDE.NC", "ALL.NC")} <= {
        "same-code",
        "changed-code",
        "incomplete",
        "damaged",
        "unknown",
    }
    assert files["INSIDE.NC"]["verdict"] not in ("as-exported", "same-code")
    assert all(files[name]["message"] for name in files)


def test_deep_folders_end_somewhere(home, stick):
    deep = stick
    for _ in range(300):
        deep = deep / "d"
    deep.mkdir(parents=True)
    (deep / "O1.NC").write_bytes(b"O1\nM30\n")
    _, files, _ = collect(home, stick)
    (message,) = [one["message"] for name, one in files.items() if name.startswith("d/")]
    assert "folders deep" in message


@pytest.mark.skipif(
    hasattr(os, "geteuid") and os.geteuid() == 0 and not shutil.which("setpriv"),
    reason="root may read everything",
)
def test_what_may_not_be_read_is_damaged_and_the_rest_goes_on(home, stick):
    (stick / "MILL2" / "O1002.NC").chmod(0)
    closed = stick / "CLOSED"
    closed.mkdir(mode=0)
    try:
        _, files, _ = collect(home, stick, through=AS_ANYBODY if os.geteuid() == 0 else ())
    finally:
        closed.chmod(0o700)
    assert files["MILL2/O1002.NC"]["verdict"] == "damaged"
    assert files["CLOSED"]["verdict"] == "damaged"
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"


def test_a_file_that_changes_while_it_is_read(home, stick):
    path = stick / "MILL2" / "GROWS.NC"
    path.write_bytes(b"%\nO0009\n" + b"G0 X1.\n" * 3_000_000)
    done = threading.Event()

    def grow() -> None:
        while not done.is_set():
            with path.open("ab") as file:
                file.write(b"G0 X2.\n")
            done.wait(0.002)

    writer = threading.Thread(target=grow)
    writer.start()
    try:
        _, files, _ = collect(home, stick)
    finally:
        done.set()
        writer.join()
    assert (files["MILL2/GROWS.NC"]["verdict"], files["MILL2/GROWS.NC"]["message"]) == (
        "damaged",
        "cannot be read: it changed while it was read",
    )
    assert files["MILL2/O1001.NC"]["verdict"] == "as-exported"


def test_a_long_dump_of_many_programs(home, stick):
    parts = b"".join(b"O%04d\nG0 X%d.\nM30\n" % (number, number) for number in range(1, 1500))
    (stick / "ALL-PROG.TXT").write_bytes(b"%\n" + parts + b"%\n")
    _, files, _ = collect(home, stick)
    assert files["ALL-PROG.TXT"]["message"].startswith("1,499 programs in one file")
    assert len(files["ALL-PROG.TXT"]["programs"]) == 1499


def test_nothing_on_the_stick_is_touched_or_run(home, stick):
    (stick / "autorun.inf").write_bytes(b"[autorun]\nopen=x.sh\n")
    script = stick / "x.sh"
    script.write_text(f"#!/bin/sh\ntouch {stick.parent}/ran\n", encoding="ascii")
    script.chmod(0o755)
    before = {path: path.read_bytes() for path in stick.rglob("*") if path.is_file()}
    collect(home, stick)
    assert {path: path.read_bytes() for path in stick.rglob("*") if path.is_file()} == before
    assert not (stick.parent / "ran").exists()
