"""The index is never the truth: with it, without it, and whatever becomes of its file, the answers are the same."""

import json
import random
import shutil
import sqlite3
import subprocess
import sys

import pytest

from tests.benchmarks import big_shop
from tests.server.scenes import SCENES
from tests.server.world import build, copied
from tests.store.shop_repo import git
from tracker import __version__
from tracker.cli.entry import main
from tracker.nc.identity import RULE_VERSION
from tracker.store.clone import Clone
from tracker.store.history import walk
from tracker.store.kept import Kept, _seal
from tracker.store.kept_walk import kept_walk
from tracker.store.open_clone import open_clone
from tracker.wiring import open_desk, open_gate, open_view

NOW = big_shop.NOW
CALLS = (
    ["status"],
    ["status", "--json"],
    ["status", "--may-run", "--json"],
    ["status", "--machine", "MILL2", "--json"],
    ["status", "--job", "1002", "--json"],
    ["history", "--json"],
    ["history", "1001", "--json"],
    ["history", "1002/op10", "--json"],
    ["history", "1003", "--person", "dg", "--json"],
    ["where", "1001/op10", "--json"],
)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kept") / "shop"
    big_shop.make(folder, jobs=3, rounds=2, exports=3, operations=2)
    return folder


@pytest.fixture
def shop(made, tmp_path, monkeypatch):
    folder = tmp_path / "shop"
    shutil.copytree(made, folder)
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    return folder


def index(folder):
    return folder / ".git" / "proveout" / "index.db"


def told(folder, capsys, words):
    status = main(["-C", str(folder), *words])
    said = capsys.readouterr()
    return status, said.out, said.err


def answers(folder, capsys, calls=CALLS):
    return [told(folder, capsys, list(words)) for words in calls]


def bare_answers(folder, capsys, calls=CALLS):
    """Without an index: nothing is looked at, and nothing is left."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Clone, "look_back", lambda self: None)
        return answers(folder, capsys, calls)


def act(folder, capsys, dice):
    """Something that changes what there is to tell: by the tool, by git, on a branch or beside it."""
    job = dice.choice(("1001", "1002", "1003"))
    chosen = dice.choice(
        ("hold", "ran", "branch", "merge", "back", "tag", "edit", "checkin", "gone", "amend")
    )
    if chosen == "hold":
        told(folder, capsys, ["hold", f"{job}/op10", "--by", "dg", "-m", "look at it again"])
    elif chosen == "ran":
        told(folder, capsys, ["ran", f"{job}/op10", "--machine", "MILL1", "--by", "ss", "--lot", "X"])
    elif chosen == "branch":
        git(folder, "checkout", "-q", "-b", f"b{dice.random()}", check=False)
    elif chosen == "merge":
        names = git(folder, "for-each-ref", "--format=%(refname:short)", "refs/heads").split()
        git(folder, "merge", "-q", "--no-edit", dice.choice(names), check=False)
        git(folder, "merge", "--abort", check=False)
    elif chosen == "back":
        git(folder, "checkout", "-q", "main", check=False)
    elif chosen == "tag":
        git(folder, "tag", f"release/{job}/{dice.randrange(3, 99)}", check=False)
    elif chosen == "edit":
        path = folder / "jobs" / job / "job.toml"
        path.write_bytes(path.read_bytes() + b"# x\n")
    elif chosen == "checkin":
        program = next((folder / "jobs" / job / "op10").glob("*.nc"))
        program.write_bytes(program.read_bytes().replace(b"F300.", b"F%d." % dice.randrange(200, 400), 1))
        told(folder, capsys, ["checkin", f"{job}/op10", "-m", "why", "--by", "np", "--yes"])
    elif chosen == "gone":
        names = git(folder, "for-each-ref", "--format=%(refname)", "refs/heads", "refs/tags").split()
        git(folder, "update-ref", "-d", dice.choice([one for one in names if one != "refs/heads/main"]))
    else:
        git(folder, "commit", "-q", "--amend", "--no-edit", "--date=2026-04-02T00:00:00Z", check=False)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_shop_where_anything_happens_is_told_the_same_with_and_without(shop, capsys, seed):
    dice = random.Random(seed)
    some = [list(one) for one in CALLS]
    for _ in range(7):
        act(shop, capsys, dice)
        calls = dice.sample(some, 4)
        assert answers(shop, capsys, calls) == bare_answers(shop, capsys, calls)
    assert answers(shop, capsys) == bare_answers(shop, capsys)


def test_what_is_asked_twice_comes_from_the_index(shop, capsys):
    first = answers(shop, capsys)
    assert index(shop).is_file()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tracker.services.board_kept.Look.at", lambda desk: pytest.fail("judged anew"))
        patch.setattr("tracker.store.kept_walk.walk", lambda git, tips: pytest.fail("walked anew"))
        patch.setattr("tracker.store.toml_files.record_mapping", lambda data, path: pytest.fail(path))
        calls = [words for words in CALLS if "--may-run" not in words]
        assert answers(shop, capsys, calls) == [a for a, w in zip(first, CALLS, strict=True) if w in calls]


def test_the_sample_shop_is_told_the_same_with_and_without(threepenny, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    folder = threepenny
    jobs = sorted(path.name for path in (folder / "jobs").iterdir())
    calls = [["status", "--json"], ["status"], ["history", "--json"]]
    calls += [["history", job, "--json"] for job in jobs]
    calls += [
        ["status", "--may-run", "--json"],
        ["audit", "--list", "carries", "--json"],
        ["where", "4471/op10", "--json"],
    ]
    bare = bare_answers(folder, capsys, calls)
    assert answers(folder, capsys, calls) == bare  # while it is made
    assert answers(folder, capsys, calls) == bare  # out of it


def test_one_more_day_is_judged_anew(shop, capsys, monkeypatch):
    answers(shop, capsys)
    now = answers(shop, capsys, [["status", "--json"]])
    monkeypatch.setenv("PROVEOUT_NOW", "2028-06-01T09:00:00Z")
    later = answers(shop, capsys, [["status", "--json"]])
    assert "lapsed" not in now[0][1]
    assert "lapsed" in later[0][1]
    assert later == bare_answers(shop, capsys, [["status", "--json"]])


def cut(path, dice):
    path.write_bytes(path.read_bytes()[: dice.randrange(path.stat().st_size)])


def flip(path, dice):
    data = bytearray(path.read_bytes())
    for _ in range(60):
        data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
    path.write_bytes(data)


def swap(path, _dice):
    """Every row with the value of another of its kind, under its own seal: seals are of key and value together."""
    with sqlite3.connect(path) as base:
        rows = base.execute("select kind, key, value, seal from kept order by kind, key").fetchall()
        for (kind, key, _, _), (other, _, value, seal) in zip(rows, rows[1:] + rows[:1], strict=True):
            if kind == other:
                base.execute(
                    "update kept set value = ?, seal = ? where kind = ? and key = ?", (value, seal, kind, key)
                )
    base.close()


def reworded(path, _dice):
    with sqlite3.connect(path) as base:
        for word in ("proven", "unproven", "held"):
            base.execute(
                "update kept set value = cast(replace(cast(value as text), ?, 'PROVEN!') as blob)", (word,)
            )
    base.close()


def nonsense_in_sealed_rows(path, _dice):
    with sqlite3.connect(path) as base:
        rows = base.execute("select kind, key from kept").fetchall()
        for place, (kind, key) in enumerate(rows):
            value = (b"", b"[]", b"{}", b"null", b"\xff", b'["a"]', b'{"jobs":3}', b"7")[place % 8]
            base.execute(
                "update kept set value = ?, seal = ? where kind = ? and key = ?",
                (value, _seal(kind, key, value), kind, key),
            )
    base.close()


def other_version(path, _dice):
    with sqlite3.connect(path) as base:
        base.execute("update about set version = 'of long ago'")
    base.close()
    reworded(path, _dice)


def of_format_4(path, _dice):
    """Whole and sealed, as answered before what clears a step of an old text was a proof of the text asked about."""
    with sqlite3.connect(path) as base:
        base.execute("update about set version = ?", (f"{__version__} index-4 code-{RULE_VERSION}",))
        for kind, key, value in base.execute("select kind, key, value from kept").fetchall():
            value = value.replace(b"proven by ", b"proven of old by ")
            base.execute(
                "update kept set value = ?, seal = ? where kind = ? and key = ?",
                (value, _seal(kind, key, value), kind, key),
            )
    base.close()


def no_seals(path, _dice):
    with sqlite3.connect(path) as base:
        base.execute("update kept set seal = null")
    base.close()


def half_gone(path, _dice):
    with sqlite3.connect(path) as base:
        base.execute("delete from kept where key < '8'")
    base.close()


def a_folder(path, _dice):
    path.unlink()
    (path / "in it").mkdir(parents=True)


def text(path, _dice):
    path.write_text("no database\n" * 1000)


DAMAGES = (
    cut,
    flip,
    swap,
    reworded,
    nonsense_in_sealed_rows,
    other_version,
    of_format_4,
    no_seals,
    half_gone,
    a_folder,
    text,
    lambda path, _: path.write_bytes(b""),
    lambda path, _: path.unlink(),
)


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda one: one.__name__)
def test_whatever_becomes_of_the_file_the_answers_are_the_same(shop, capsys, damage):
    right = bare_answers(shop, capsys)
    assert answers(shop, capsys) == right
    for seed in range(2):
        damage(index(shop), random.Random(seed))
        assert answers(shop, capsys) == right
        assert answers(shop, capsys) == right
        if index(shop).is_dir():
            shutil.rmtree(index(shop))
            assert answers(shop, capsys) == right
        if not index(shop).exists():  # what was damaged was taken away; the next call makes it
            answers(shop, capsys)
        assert index(shop).is_file()


def test_a_locked_or_read_only_place_costs_time_and_nothing_else(shop, capsys, monkeypatch):
    right = bare_answers(shop, capsys)
    answers(shop, capsys)
    monkeypatch.setattr("tracker.store.kept._WAIT_SECONDS", 0.05)
    base = sqlite3.connect(index(shop))
    base.execute("begin exclusive")
    assert answers(shop, capsys) == right
    base.rollback()
    base.close()
    assert index(shop).is_file()  # a lock is no damage
    index(shop).unlink()
    index(shop).parent.rename(index(shop).parent.with_name("aside"))
    index(shop).parent.write_text("in the way of the folder")
    assert answers(shop, capsys) == right


def test_processes_at_once_tell_the_same_and_leave_a_whole_index(shop, capsys):
    right = bare_answers(shop, capsys, [["status", "--json"], ["history", "1001", "--json"]])
    for _ in range(2):
        index(shop).unlink(missing_ok=True)
        calls = [["status", "--json"], ["history", "1001", "--json"]] * 3
        running = [
            subprocess.Popen(
                [sys.executable, "-m", "tracker", "-C", str(shop), *words],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
            )
            for words in calls
        ]
        said = [process.communicate() for process in running]
        assert [err for _, err in said] == [b""] * len(calls)
        assert [out.decode() for out, _ in said] == [right[place % 2][1] for place in range(len(calls))]
        base = sqlite3.connect(index(shop))
        assert base.execute("pragma integrity_check").fetchone() == ("ok",)
        rows = base.execute("select kind, key, value, seal from kept").fetchall()
        base.close()
        assert rows
        assert all(seal == _seal(kind, key, value) for kind, key, value, seal in rows)
    assert answers(shop, capsys) == bare_answers(shop, capsys)


def lie(folder_of_git, records):
    """An index whose seals are right and whose records are those of other files."""
    kept = Kept(folder_of_git)
    blobs = list(records)
    kept.put("record", {one: records[other] for one, other in zip(blobs, blobs[1:] + blobs[:1], strict=True)})
    kept.put("jobs", {"all": json.dumps(dict.fromkeys(blobs, "nobody's")).encode()})
    kept.put("walk", {"last": b'{"tips":[],"commits":[],"changes":[]}'})
    kept.close()
    return (folder_of_git / "proveout" / "index.db").read_bytes()


def test_the_server_never_looks_at_an_index(tmp_path, capsys, monkeypatch):
    built = tmp_path / "built"
    built.mkdir()
    build(built)
    world = copied(built, tmp_path / "w", capsys, monkeypatch)
    main(["-C", str(world.folder), "history"])
    with sqlite3.connect(world.folder / ".git" / "proveout" / "index.db") as base:
        records = dict(base.execute("select key, value from kept where kind = 'record'"))
    base.close()
    assert len(records) > 2
    false = lie(world.server, records)
    for name in ("record edited", "evidence of another job", "release without evidence"):
        other = copied(built, tmp_path / name, capsys, monkeypatch)
        lie(other.server, records)
        assert SCENES[name](other).returncode != 0
    world.shop.run("hold", "4471/op10", "--by", "dg", "-m", "look at it again")
    assert world.push("main").returncode == 0
    assert (world.server / "proveout" / "index.db").read_bytes() == false
    monkeypatch.setattr("sqlite3.connect", lambda *_, **__: pytest.fail("looked at an index"))
    for opened in (open_gate, open_desk):
        clone = opened(str(world.folder)).repo
        assert clone.ledger().records
        assert clone.kept is None
    with pytest.raises(pytest.fail.Exception):
        open_view(str(world.folder)).repo.ledger()


@pytest.mark.parametrize("seed", range(5))
def test_a_walk_carried_on_is_a_walk_made_anew(shop, capsys, seed):
    dice = random.Random(100 + seed)
    clone = open_clone(shop)
    kept = Kept(shop / ".git")
    for _ in range(10):
        act(shop, capsys, dice)
        tips = clone.tips(clone.head().commit)
        found, anew = kept_walk(clone.git, kept, tips), walk(clone.git, tips)
        assert found.commits == anew.commits
        assert list(found.changes) == list(anew.changes)
        assert found.tips == anew.tips
        pairs = [(dice.choice(list(anew.commits)), dice.choice(list(anew.commits))) for _ in range(20)]
        assert [found.descends(*pair) for pair in pairs] == [anew.descends(*pair) for pair in pairs]
        some = {change.blob for change in anew.changes if dice.random() < 0.5}
        wanted = [change for change in anew.changes if change.blob in some]
        for one in (found, anew):
            assert list(one.changes_of(lambda _, blob, some=some: blob in some)) == wanted
    kept.close()
    clone.close()
