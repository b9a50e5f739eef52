"""A full disk and a read-only one, met by every verb that writes, at each of its writes: a clear error, nothing half.

Afterwards, with room again, the same call goes through, and then the shop is to the byte what it is after a call that
nothing disturbed: history, tags, index, working folder and whatever lies beside it. ``PROVEOUT_MOMENTS=300`` takes
every write there is, else some of them are taken.
"""

import os
import re
import shutil
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls, program_path, program_text, stick_of
from tests.fakes.full_disk import CLOSED, FULL, Medium, call_apart, on, places
from tests.fakes.shop_folder import git
from tests.store.killing import MOMENTS, is_sound, locks, quick_folder
from tracker.store.git import find_git

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no fork there")

RECORDING = (
    "checkin",
    "prove",
    "measured",
    "ran",
    "review",
    "countersign",
    "hold",
    "lift",
    "release",
    "withdraw",
    "strike",
)
MOST = ("checkin", "prove", "measured", "release", "withdraw")  # the others write in the same way
BESIDE = ("export", "collect", "share", "init", "install", "new", "backup", "witness", "report")
MORE = ("sheet to a file", "adopt a plan", "adopt", "collect an edit", "share both ways")
FILES = (
    "pre-calls",
    "pre-calls in place",
    "package of an audit",
    "form of a prove-out",
    "show all programs",
    "normalize to a file",
)  # what a person is given besides the record
STICKS = ("export to be proved", "export on a deviation", "export a mirror")
PCS = ("install on the server", "install a machine", "install, undone")
ALL = MOMENTS >= 100
EACH = 1_000 if ALL else 3
EACH_OF_THE_OTHERS = 1_000 if ALL else 2
NAMED = {"disk-full", "not-written", "no-permission", "no-room", "read-only", "journal-not-written"}
# what a call that failed may leave for the next one to go on with: the key of a file in `state`
MAY_STAY = {
    "release": r"refs of shop|/shop/\.git/refs/heads/main|.*/release-0001\.toml|status",
    "collect an edit": r"refs of shop|/shop/\.git/refs/heads/main|.*/O4471\.nc|.*/r0002-\w{8}\.toml|status",
    "share": r"refs of (shop|server\.git)|/server\.git/refs/.*|/shop/\.git/refs/remotes/.*",
    # what came in stays when what is here cannot be sent
    "share both ways": r"refs of shop|/shop/\.git/refs/(remotes/.*|heads/main)|/shop/jobs/4472/records/.*-hold-np\.toml|status",
    "witness": r"refs of record\.git|/second copy/source\.txt",
    "install": r"/shop/\.git/(hooks/reference-transaction|config)",
    "install a machine": r"/shop/\.git/(hooks/reference-transaction|config)",
    "install, undone": r"/shop/\.git/(hooks/reference-transaction|config)",
    "install on the server": r"/server\.git/(hooks/pre-receive|config|HEAD)",
    "backup": r".*\.txt",
    **dict.fromkeys(  # the record comes before the programs, so that a stick never holds what is not recorded
        STICKS,
        r"refs of shop|/shop/\.git/refs/heads/main|/shop/jobs/44\d\d/records/op10/.*-deviation-.*\.toml"
        r"|/shop/records/.*-export-.*\.toml|/BLUE-1/MILL2(/FOR-PROVING|/DEVIATION)?(/[^/]+\.(NC|TXT|JSON))?|status",
    ),
}
OF_NO_ACCOUNT = {
    "refs of shop",
    "/shop/.git/refs/remotes",
}
OF_THE_OTHER_PLACE = re.compile(r"/shop/\.git/refs/remotes/at-[0-9a-f]{8}(/main)?")  # named by its address
NOTES = re.compile(
    r"/\.git/(objects/|proveout(/|$)|index$|logs/|ORIG_HEAD|FETCH_HEAD)|/demo/|/second copy/record.git/|/server.git/objects/|journal|\.bundle$|test-shop-\w+\.txt$"
)


@pytest.fixture(scope="module")
def busy():
    """The shop, made once, in memory where that can be."""
    with quick_folder() as place:
        yield BusyShop(place / "made"), place


@pytest.fixture
def world(busy, capsysbinary, monkeypatch, tmp_path):
    """Gives fresh copies of it."""
    kept, place = busy
    monkeypatch.chdir(tmp_path)
    for who in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{who}_NAME", "n")
        monkeypatch.setenv(f"GIT_{who}_EMAIL", "n@shop.example")
    find_git()

    before = {}

    def fresh(name, top=place / "here"):
        """What has to be there before the call is done once, and taken back as a whole."""
        shutil.rmtree(top, ignore_errors=True)
        aside = place / "before the call"
        if (name, top) in before:
            shutil.copytree(aside, top, symlinks=True)
            shop = ByteShop(top / "shop", capsysbinary, monkeypatch)
            git(shop.folder, "update-index", "-q", "--refresh")
            return shop, before[name, top]
        shop = kept.copy(top, lambda folder: ByteShop(folder, capsysbinary, monkeypatch))
        git(shop.folder, "update-index", "-q", "--refresh")
        words = prepared(shop, name)
        person_at_work(shop)
        shutil.rmtree(aside, ignore_errors=True)
        shutil.copytree(top, aside, symlinks=True)
        before.clear()
        before[name, top] = words
        return shop, words

    return fresh


def person_at_work(shop):
    """Staged, half staged and untracked work that nobody may touch."""
    shop.put("staged.txt", "staged")
    shop.put("half.txt", "first")
    git(shop.folder, "add", "staged.txt", "half.txt")
    shop.put("half.txt", "second")
    shop.put("mine.txt", "untracked")


def prepared(shop, name):
    """The words of a call, and what has to be there before it."""
    stick = str(stick_of(shop))
    if name == "sheet to a file":
        return ["sheet", "4471/op10@r1", "--machine", "MILL2", "--html", "sheet.html"]
    if name == "adopt a plan":
        return ["adopt", "loose", "--plan", "plan.csv"]
    if name == "adopt":
        shop.put("old/4501/O4501.nc", program_text("4501"))
        shop.put("old/4502/O4502.nc", program_text("4502").replace("X1.", "X3."))
        done_apart(shop.folder, "adopt", "old", "--plan", "plan.csv")
        return ["adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over", "--yes"]
    if name in ("pre-calls", "pre-calls in place"):
        two_tools(shop)
        words = ["verify", "4477/op10", "--machine", "MILL2", "--fix", "precalls"]
        return [*words, "--in-place"] if name == "pre-calls in place" else words
    if name == "install, undone":
        done_apart(shop.folder, "install", "--machine", "MILL2")
        return ["install", "--undo"]
    if name == "export a mirror":
        done_apart(shop.folder, "withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
        return exported(shop, "--mirror")
    if name in PLAIN:
        return PLAIN[name](shop)
    if name == "collect an edit":
        file = stick_of(shop) / "MILL2/O4471.NC"
        file.write_bytes(file.read_bytes().replace(b"F15.", b"F12."))
        return [
            "collect",
            stick,
            "--checkin",
            "4471/op10",
            "--by",
            "ss",
            "-m",
            "less burr",
            "--not-cut",
            "--yes",
        ]
    if name == "share both ways":
        share_both_ways(shop)
        return ["share"]
    return good_calls(shop)[name]


def exported(shop, *words):
    to = ["--machine", "MILL2", "--to", str(stick_of(shop)), "--by", "ss", "--yes"]
    return ["export", *words, *to]


PLAIN = {
    "package of an audit": lambda _: ["audit", "--bundle", "package.zip"],
    "form of a prove-out": lambda _: ["prove", "4477/op10", "--machine", "MILL2", "--form", "form.toml"],
    "show all programs": lambda shop: ["show", "4471/op10@r1", "-o", str(stick_of(shop))],
    "normalize to a file": lambda shop: [
        "normalize",
        str(shop.folder / program_path("4471")),
        "-o",
        str(shop.folder / "code.txt"),
    ],
    "export to be proved": lambda shop: exported(shop, "--for-proving", "4477/op10"),
    "export on a deviation": lambda shop: exported(
        shop, "--deviation", "4477/op10", "--reason", "the customer's line stands still", "--hours", "4"
    ),
    "install on the server": lambda shop: ["install", "--server", str(shop.folder.with_name("server.git"))],
    "install a machine": lambda _: ["install", "--machine", "MILL2"],
}
"""Calls that want nothing to be there before them."""


def two_tools(shop):
    """A program that changes tools, committed, for a changer that is called beforehand."""
    text = program_text("4477").replace("N80 ", "N75 T5 M6\nN77 G43 H5 Z1.\nN80 ")
    shop.put(program_path("4477"), text)
    with pytest.MonkeyPatch.context() as once:
        for who in ("AUTHOR", "COMMITTER"):  # the same commit each time
            once.setenv(f"GIT_{who}_DATE", "2026-02-09T09:00:00Z")
        git(shop.folder, "commit", "-q", "-m", "two tools", "--", program_path("4477"))
    there = (shop.folder / "shop.toml").read_text("utf-8")
    shop.put("shop.toml", there.replace('id = "MILL2"', 'id = "MILL2"\nchanger = "side-mount"'))


def share_both_ways(shop):
    """The shared repository has a record this clone lacks."""
    server, other = shop.folder.with_name("server.git"), shop.folder.with_name("other")
    git(shop.folder, "push", "-q", str(server), "HEAD:refs/heads/main")
    git(server, "symbolic-ref", "HEAD", "refs/heads/main")
    git(shop.folder.parent, "clone", "-q", server.name, other.name)
    done_apart(other, "hold", "4472/op10", "--by", "np", "-m", "theirs")
    git(other, "push", "-q", "origin", "HEAD")
    shutil.rmtree(other)
    git(shop.folder, "remote", "add", "origin", "../server.git")
    done_apart(shop.folder, "hold", "4471/op10", "--by", "ss", "-m", "ours")


def done_apart(folder, *words):
    """Not in this process, which would keep the index of a clone open on a disk that is to be closed."""
    with TemporaryDirectory() as says:
        ended = call_apart(["-C", str(folder), *words], Path(says))
    assert ended.status == 0, ended.err


def state(shop):
    """All that can be seen of it: files and their bytes, and of the repositories what git says of them."""
    found = {}
    top = shop.folder.parent
    for at, folders, names in os.walk(top):
        for name in (*folders, *names):
            path = f"{at}/{name}"
            if not NOTES.search(path):
                found[path.removeprefix(str(top))] = Path(path).read_bytes() if name in names else None
    for repository in (shop.folder, top / "server.git", top / "second", top / "second copy/record.git"):
        if (repository / ".git/HEAD").exists() or (repository / "HEAD").exists():
            found[f"refs of {repository.name}"] = refs(repository)
    found["status"] = git(shop.folder, "--no-optional-locks", "status", "--porcelain", "-uall")
    found["staged"] = git(shop.folder, "ls-files", "-s", "staged.txt", "half.txt")
    return found


def refs(folder):
    """What each reference leads to; commits by what they hold, for the moments of two calls need not be the same."""
    rows = git(folder, "for-each-ref", "--format=%(refname) %(objecttype) %(tree)%(*tree)")
    return rows, git(folder, "log", "--all", "--format=%T %an %s")


def different(one, other):
    return sorted(name for name in {*one, *other} if one.get(name, 0) != other.get(name, 0))


def names_it(ended):
    """A clear error: what, its name, how to put it right; never a traceback."""
    said = ended.err
    assert ended.status == 4, (ended.status, said, ended.writes[-3:])
    names = re.findall(r"  \[([a-z-]+)\]$", said, re.MULTILINE)
    assert len(names) == 1, said
    assert names[0] in NAMED, said
    assert "fix: " in said, said
    assert "Traceback" not in said + ended.out


def persons_work(seen):
    mine = {path: seen[path] for path in ("/shop/staged.txt", "/shop/half.txt", "/shop/mine.txt")}
    rows = [
        row for row in seen["status"].splitlines() if row.endswith((" staged.txt", " half.txt", " mine.txt"))
    ]
    return mine, seen["staged"], rows


def nothing_half(name, before, after, wanted=None):
    """With room to take things away, all that is there of the call is what may stay for the next to go on with.

    What came onto a stick under its own name is what an undisturbed call puts there.
    """
    left = [path for path in different(before, after) if after.get(path, "gone") is not None]
    assert [path for path in left if not re.fullmatch(MAY_STAY.get(name, "status"), path)] == []
    on_stick = [path for path in left if path.startswith("/BLUE-1/") and after.get(path) is not None]
    assert wanted is None or [path for path in on_stick if after[path] != wanted.get(path)] == []


def goes_through(name, number, shop, ours, wanted, tmp_path):
    """The next run needs no cleaning, and ends where an undisturbed one does."""
    before = state(shop)
    again = call_apart(ours, tmp_path)
    after = state(shop)
    left = {
        path: data for path, data in after.items() if re.search(r"\.part$|/PO[0-9A-F]{6}\.TMP$|\.half", path)
    }
    if number == FULL:
        assert not left
    if (
        name == "collect an edit" and "[nothing-to-take-in]" in again.err
    ):  # it is in; what else came home is not
        assert any(re.fullmatch(r"/shop/jobs/4471/records/op10/r0002-\w{8}\.toml", path) for path in before)
        alone = ["-C", str(shop.folder), "collect", str(stick_of(shop)), "--by", "ss"]
        assert call_apart(alone, tmp_path).status in (0, 1)
    elif "[backup-exists]" in again.err:  # all of it was there before the last sync failed
        drill = ["-C", str(shop.folder), "backup", "--drill", again.err.split("--> ")[1].splitlines()[0]]
        assert call_apart(drill, tmp_path).status == 0
    elif number == CLOSED and name == "adopt a plan" and "[file-exists]" in again.err:
        path = "/shop/plan.csv"  # all of it was there before the last write failed, and it could not be taken away
        assert before[path] == wanted[path]
    elif number == CLOSED and "[job-exists]" in again.err:  # a drafted file that could not be taken away
        assert name == "new"
    else:
        assert again.status == (1 if name.startswith("export") and left else 0), again.err
        rows = [row for row in after["status"].splitlines() if not row.endswith(".part")]
        assert rows == wanted["status"].splitlines()
        found = {path for path in different(after, wanted) if after.get(path, "gone") is not None}
        assert name.startswith("export") or found - left.keys() <= {
            "status"
        }  # a second export is one more record
    assert persons_work(after) == persons_work(before)
    assert locks(shop.folder) == []
    assert is_sound(shop.folder)


@pytest.mark.parametrize("number", [FULL, CLOSED], ids=["full", "closed"])
@pytest.mark.parametrize("name", [*RECORDING, *BESIDE, *MORE, *FILES, *STICKS, *PCS])
def test_a_disk_that_takes_nothing_from_a_write_on(name, number, world, tmp_path):
    shop, words = world(name)
    ours = ["-C", str(shop.folder), *words]
    top = str(shop.folder.parent)
    undisturbed = call_apart(ours, tmp_path, on(Medium(top=top, number=number, fails_from=1 << 30)))
    assert undisturbed.status == 0, undisturbed.err
    wanted, count = state(shop), len(undisturbed.writes)
    failed = 0
    each = EACH_OF_THE_OTHERS if name in RECORDING and name not in MOST else EACH
    for place in places(count, each, f"{name} {number}"):
        shop, _ = world(name)
        before = state(shop)
        ended = call_apart(ours, tmp_path, on(Medium(top=top, number=number, fails_from=place)))
        after = state(shop)
        assert persons_work(after) == persons_work(before)
        if ended.status == 0:  # what failed is of no account: a note for next time, a file nobody needs
            found = {one for one in different(after, wanted) if not OF_THE_OTHER_PLACE.fullmatch(one)}
            assert found <= OF_NO_ACCOUNT
            continue
        failed += 1
        names_it(ended)
        if number == FULL:
            nothing_half(name, before, after, wanted)
        elif place == 1:
            assert different(before, after) == []
        assert is_sound(shop.folder)
        goes_through(name, number, shop, ours, wanted, tmp_path)
    print(f"{name}: {count} writes, {failed} calls failed")
    assert failed


def test_a_demo_that_runs_out_of_room_leaves_no_half_shop(world, tmp_path):
    shop, words = world("demo")
    ours, top = ["-C", str(shop.folder), *words], shop.folder.parent
    ended = call_apart(ours, tmp_path, on(Medium(top=str(top), number=FULL, fails_from=40)))
    assert ended.status != 0
    assert "[disk-full]" in ended.err + ended.out or "[not-written]" in ended.err + ended.out, ended.err
    assert not (top / "demo").exists()


@contextmanager
def small_disk(place):
    """A file system of its own in memory; None where none may be mounted."""
    disk = place / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", str(disk)]
    try:
        done = subprocess.run(words, capture_output=True, check=False).returncode == 0
    except OSError:
        done = False
    try:
        yield disk if done else None
    finally:
        if done:
            subprocess.run(["umount", "-l", str(disk)], check=True)


@pytest.fixture
def disk(tmp_path):
    with small_disk(tmp_path) as found:
        if found is None:
            pytest.skip("no file system may be mounted here; the stand-in above serves")
        yield found


def remount(disk, how):
    """A git that tidies up in the background may hold a file open for a moment more."""
    end = time.monotonic() + 20
    while subprocess.run(["mount", "-o", f"remount,{how}", str(disk)], check=False).returncode:
        assert time.monotonic() < end
        time.sleep(0.1)


@pytest.mark.parametrize("name", [*MOST, *BESIDE, *MORE, *FILES])
def test_a_real_disk_that_is_read_only(name, world, disk, tmp_path):
    shop, words = world(name, disk / "here")
    before = state(shop)
    ours = ["-C", str(shop.folder), *words]
    remount(disk, "ro")
    try:
        ended = call_apart(ours, tmp_path)
    finally:
        remount(disk, "rw")
    names_it(ended)
    assert state(shop) == before
    assert call_apart(ours, tmp_path).status == 0


@pytest.mark.parametrize("name", [*MOST, *BESIDE, *MORE, *FILES])
def test_a_real_disk_with_little_room(name, world, disk, tmp_path):
    """Pages of room: none at first, then more until the call goes through."""
    room = iter(range(1000) if ALL else (0, *(3 << power for power in range(0, 11, 2))))
    failed = 0
    while True:
        shop, words = world(name, disk / "here")
        ours = ["-C", str(shop.folder), *words]
        before = state(shop)
        filled(disk, next(room))
        ended = call_apart(ours, tmp_path)
        (disk / "filler").unlink()
        after = state(shop)
        assert persons_work(after) == persons_work(before)
        assert is_sound(shop.folder)
        if ended.status == 0:
            break
        names_it(ended)
        nothing_half(name, before, after)
        failed += 1
        again = call_apart(ours, tmp_path)
        assert again.status == 0 or "[nothing-to-take-in]" in again.err, again.err
        shutil.rmtree(disk / "here")
    print(f"{name}: {failed} calls met a full disk")
    assert failed


def filled(disk, left):
    """Leave so many pages of room."""
    found = os.statvfs(disk)
    with (disk / "filler").open("wb") as file:
        file.write(b"\0" * (found.f_frsize * (found.f_bavail - left)))
