"""release, withdraw and the gate on real git: the hook on this PC, a push into a bare repository."""

import shutil
import subprocess
import sys
import tomllib
from datetime import UTC, datetime, timedelta

import pytest

from tests.fakes.shop_folder import PROGRAM, ShopFolder, git
from tracker.cli import fast_gate, gate_call
from tracker.store.derived import exists, is_remembered, remember

ZERO = "0" * 40
REF = "refs/tags/release/4471/1"


class NothingSaid:
    """In place of pytest's capture while a shop is built once for the session."""

    def readouterr(self):
        return "", ""


@pytest.fixture(scope="session")
def built_once(tmp_path_factory):
    """A proved shop, and the same with the hook and its first release."""
    place = tmp_path_factory.mktemp("built")
    with pytest.MonkeyPatch.context() as world:
        world.setenv("HOME", str(place))
        world.setenv("GIT_CONFIG_GLOBAL", str(place / "gitconfig"))
        world.setenv("GIT_CONFIG_NOSYSTEM", "1")
        for who in ("AUTHOR", "COMMITTER"):
            world.setenv(f"GIT_{who}_NAME", "Test Person")
            world.setenv(f"GIT_{who}_EMAIL", "test@example.invalid")
        proved = ShopFolder(place / "proved", NothingSaid(), world)
        proved.begin()
        proved.git("add", "shop.toml")
        proved.git("commit", "-q", "--allow-empty", "-m", "people")
        proved.prove()
        shutil.copytree(proved.folder, place / "released")
        released = ShopFolder(place / "released", NothingSaid(), world)
        released.run("install")
        released.run("release", "4471", "--by", "dg", "--yes")
    return place


def copy_of(built_once, name, tmp_path, capsys, monkeypatch):
    made = ShopFolder(tmp_path / "Werkstatt Süd", capsys, monkeypatch)
    shutil.copytree(built_once / name, made.folder)
    return made


@pytest.fixture
def shop(built_once, tmp_path, capsys, monkeypatch):
    return copy_of(built_once, "proved", tmp_path, capsys, monkeypatch)


@pytest.fixture
def released(built_once, tmp_path, capsys, monkeypatch):
    return copy_of(built_once, "released", tmp_path, capsys, monkeypatch)


def attempt(folder, *words):
    return subprocess.run(["git", *words], cwd=folder, capture_output=True, text=True, check=False)


def past_the_hook(shop, *words):
    return attempt(shop.folder, "-c", "core.hooksPath=/nowhere", *words)


# -- release --------------------------------------------------------------------------------------------------------------


def test_a_release_is_one_commit_and_an_annotated_tag(released):
    assert released.git("cat-file", "-t", REF) == "tag"
    (added,) = released.git("diff-tree", "--no-commit-id", "--name-status", "-r", "HEAD").splitlines()
    assert added == "A\tjobs/4471/records/release-0001.toml"
    assert released.git("rev-parse", "HEAD") == released.git("rev-parse", f"{REF}^{{commit}}")
    record = tomllib.loads(
        (released.folder / "jobs/4471/records/release-0001.toml").read_text(encoding="utf-8")
    )
    assert (record["event"], record["number"], record["operations"][0]["operation"]) == ("release", 1, "op10")
    assert released.git("tag", "-l", "--format=%(taggeremail)", "release/*") == "<dg@shop.example>"
    (row,) = released.rows()
    assert (row["released"], row["may_run"]) == (1, True)
    assert released.json("audit")["problems"] == []


def test_release_as_json_and_dry_run(shop):
    plan = shop.json("release", "4471", "--by", "dg", "--dry-run")
    assert (plan["schema"], plan["number"], plan["commit"], plan["dry_run"]) == (
        "proveout/release/1",
        1,
        None,
        True,
    )
    assert shop.git("tag") == ""
    made = shop.json("release", "4471", "--by", "dg", "--yes")
    assert made["commit"] == shop.git("rev-parse", "HEAD")
    assert made["operations"] == [
        {
            "operation": "op10",
            "revision": "r1",
            "machines": [
                {
                    "machine": "MILL2",
                    "standing": "proven",
                    "reason": made["operations"][0]["machines"][0]["reason"],
                }
            ],
        }
    ]


def test_release_as_text(shop):
    said = shop.run("release", "4471", "--by", "dg", "--yes")
    assert "4471 release 1 made by dg." in said
    assert "op10 r1 on MILL2: PROVEN by ss" in said
    assert "commit and tag are on this disk only" in said
    assert "last share: never: on this disk only" in said


def test_a_refused_release_says_every_reason_and_what_clears_it(shop):
    shop.put(PROGRAM, (shop.folder / PROGRAM).read_bytes() + b"(NOTE)\n")
    said = shop.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "was edited and is not checked in" in said
    assert "[not-released]" in said
    error = shop.json("release", "4471", "--by", "dg", "--yes", status=1)["error"]
    assert (error["name"], len(error["reasons"])) == ("not-released", 1)


def test_it_asks_before_it_releases_and_before_it_recalls(shop):
    assert "[not-a-terminal]" in shop.run("release", "4471", "--by", "dg", status=2)
    assert "op10 r1 on MILL2: PROVEN by ss" in shop.run("release", "4471", "--by", "dg", "--yes")
    assert "[not-a-terminal]" in shop.run("withdraw", "4471@1", "--by", "dg", "-m", "why", status=2)
    assert "[bad-name]" in shop.run("withdraw", "4471", "--by", "dg", "-m", "why", "--yes", status=2)


def test_withdraw(released):
    said = released.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    assert "4471 release 1 withdrawn by dg: op10 r1." in said
    (row,) = released.rows()
    assert (row["standing"], row["released"], row["may_run"]) == ("withdrawn", None, False)
    assert released.git("tag") == "release/4471/1"
    again = released.json("withdraw", "4471@1", "--by", "dg", "-m", "why", "--yes", status=1)
    assert again["error"]["name"] == "already-withdrawn"


def test_a_tag_made_past_the_hook_is_not_believed(released):
    released.put(PROGRAM, (released.folder / PROGRAM).read_bytes().replace(b"Z-1.16", b"Z-1.26"))
    released.run("checkin", "4471", "-m", "deeper", "--by", "np")
    assert past_the_hook(released, "tag", "-a", "-m", "fine", "release/4471/2").returncode == 0
    (row,) = released.rows()
    assert (row["revision"], row["standing"], row["released"], row["may_run"]) == (
        "r2",
        "unproven",
        None,
        False,
    )
    (row,) = released.rows("--may-run")
    assert (row["revision"], row["released"]) == ("r1", 1)


# -- the hook here --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("tag", "release/4471/2"), "is no annotated tag"),
        (("tag", "-a", "-m", "x", "release/4471/2"), "names no release record"),
        (("tag", "-a", "-m", "x", "release/4471/two"), "is not called like a release"),
        (("tag", "-d", "release/4471/1"), "would be deleted"),
        (("tag", "-f", "-a", "-m", "x", "release/4471/1", "HEAD~1"), "exists already"),
        (("tag", "-a", "-m", "x", "release/4471/2", "release/4471/1"), "does not stand straight on a commit"),
        (("tag", "-a", "-m", "x", "release/4471/2", "HEAD:shop.toml"), "does not stand straight on a commit"),
        (("update-ref", "refs/tags/release/4471/2", "release/4471/1"), "is called release/4471/1 inside"),
    ],
)
def test_the_hook_keeps_the_gate(released, words, said):
    before = released.git("for-each-ref", "refs/tags")
    done = attempt(released.folder, *words)
    assert (done.returncode != 0, said in done.stderr) == (True, True), done.stderr
    assert released.git("for-each-ref", "refs/tags") == before


def test_packing_and_other_references_pass(released):
    released.git("pack-refs", "--all", "--prune")
    released.git("gc", "-q")
    released.git("tag", "v1")
    released.git("branch", "other")
    assert released.git("tag", "-l", "release/*") == "release/4471/1"


def test_a_deleted_tag_may_be_fetched_back_but_not_as_another(released, tmp_path):
    twin = tmp_path / "twin"
    git(tmp_path, "clone", "-q", str(released.folder), str(twin))
    tag = released.git("rev-parse", REF)
    past_the_hook(released, "update-ref", "-d", REF)
    assert attempt(released.folder, "fetch", "-q", str(twin), f"{REF}:{REF}").returncode == 0
    assert released.git("rev-parse", REF) == tag


def test_tags_come_one_by_one_with_a_plain_fetch(released, tmp_path):
    for number in (2, 3):
        released.put(PROGRAM, (released.folder / PROGRAM).read_bytes() + b"(NOTE %d)\n" % number)
        released.run("checkin", "4471", "-m", "note", "--by", "np")
        released.run("release", "4471", "--by", "dg", "--yes")
    twin = ShopFolder(tmp_path / "twin", released._capsys, released._monkeypatch)
    git(tmp_path, "clone", "-q", "--no-tags", str(released.folder), str(twin.folder))
    twin.run("install")
    twin.git("fetch", "-q", "origin", "refs/tags/release/4471/3:refs/tags/release/4471/3")
    twin.git("fetch", "-q", "origin", "--tags")
    assert len(twin.git("tag").split()) == 3


# -- gate REF OLD NEW -----------------------------------------------------------------------------------------------------


def test_the_gate_asked_directly(released):
    tag = released.git("rev-parse", REF)
    head = released.git("rev-parse", "HEAD")
    released.run("gate", "refs/heads/main", ZERO, head)
    released.run("gate", REF, ZERO, tag)
    assert "would be deleted" in released.run("gate", REF, tag, ZERO, status=1)
    # the old value that is handed in is not believed
    assert "exists already" in released.run("gate", REF, ZERO, head, status=1)
    assert "is no annotated tag" in released.run("gate", REF.replace("/1", "/2"), ZERO, head, status=1)
    error = released.json("gate", REF.replace("/1", "/2"), ZERO, head, status=1)["error"]
    assert error["name"] == "gate-closed"
    past_the_hook(released, "update-ref", "-d", REF)
    released.run("gate", REF, tag, tag)
    released.run("gate", REF, ZERO, ZERO)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ((), "wrong-call"),
        ((REF,), "wrong-call"),
        (("--local", "--push"), "wrong-call"),
        (("--push", REF), "wrong-call"),
        (("--nonsense",), "unknown-option"),
    ],
)
def test_calls_of_the_gate_that_are_wrong(released, words, name):
    assert f"[{name}]" in released.run("gate", *words, status=2)


def test_a_gate_that_cannot_find_out_stays_closed(released, tmp_path):
    assert "[damaged]" in released.run("gate", REF.replace("/1", "/2"), ZERO, "ab" * 20, status=4)
    bare = ShopFolder(tmp_path / "nothing", released._capsys, released._monkeypatch)
    bare.folder.mkdir()
    assert "[no-repository]" in bare.run("gate", REF, ZERO, "ab" * 20, status=4)
    shallow = ShopFolder(tmp_path / "shallow", released._capsys, released._monkeypatch)
    git(tmp_path, "clone", "-q", "--depth", "1", "--no-tags", released.folder.as_uri(), str(shallow.folder))
    git(shallow.folder, "fetch", "-q", "--depth", "1", "origin", f"{REF}:{REF}")
    tag = git(shallow.folder, "rev-parse", REF)
    git(shallow.folder, "update-ref", "-d", REF)
    assert "[shallow]" in shallow.run("gate", REF, ZERO, tag, status=4)


# -- what was derived here before -----------------------------------------------------------------------------------------


def test_a_tag_just_derived_is_not_derived_once_more(released, monkeypatch):
    tag = released.git("rev-parse", REF)
    past_the_hook(released, "update-ref", "-d", REF)
    asked = []
    monkeypatch.setattr(gate_call, "decide", lambda lines, *, push: asked.append((lines, push)))
    monkeypatch.chdir(released.folder)
    assert fast_gate.run([REF, ZERO, tag]) == 0
    assert asked == []
    # under another name, as another tag, deleted, with a gap below, or as a push it is looked at closely
    for ref, new in ((REF.replace("/1", "/2"), tag), (REF, "ab" * 20), (REF, ZERO), (REF, "../../HEAD")):
        fast_gate.run([ref, ZERO, new])
    released.git("pack-refs", "--all")
    assert len(asked) == 4
    monkeypatch.setattr(
        "sys.stdin",
        type(
            "Stdin",
            (),
            {"buffer": type("B", (), {"read": staticmethod(lambda: f"{ZERO} {tag} {REF}\n".encode())})},
        )(),
    )
    fast_gate.run(["--push"])
    assert asked[-1] == ([(ZERO, tag, REF)], True)


def test_the_memory_is_of_one_reference_one_tag_one_version(tmp_path, monkeypatch):
    remember(str(tmp_path), REF, "ab" * 20)
    assert is_remembered(str(tmp_path), REF, "ab" * 20)
    assert not is_remembered(str(tmp_path), REF + "0", "ab" * 20)
    assert not is_remembered(str(tmp_path), REF, "cd" * 20)
    monkeypatch.setattr("tracker.store.derived.__version__", "99")
    assert not is_remembered(str(tmp_path), REF, "ab" * 20)
    (tmp_path / "file").write_text("in the way")
    remember(str(tmp_path / "file"), REF, "ab" * 20)
    assert not is_remembered(str(tmp_path / "file"), REF, "ab" * 20)


def test_references_found_without_git(tmp_path):
    (tmp_path / "refs/tags/release/4471").mkdir(parents=True)
    (tmp_path / REF).write_text("ab" * 20)
    (tmp_path / "packed-refs").write_text(f"# pack-refs\n{'ab' * 20} {REF}0\n^{'cd' * 20}\n")
    assert exists(str(tmp_path), REF) is True
    assert exists(str(tmp_path), REF + "0") is True
    assert exists(str(tmp_path), REF + "1") is False
    (tmp_path / "reftable").mkdir()
    assert exists(str(tmp_path), REF) is None


def test_a_worktree_finds_the_same_memory(released, tmp_path, monkeypatch):
    other = tmp_path / "other tree"
    released.git("worktree", "add", "-q", str(other), "-b", "side")
    tag = released.git("rev-parse", REF)
    past_the_hook(released, "update-ref", "-d", REF)
    monkeypatch.setattr(gate_call, "decide", lambda lines, *, push: pytest.fail("looked at closely"))
    monkeypatch.chdir(other)
    assert fast_gate.run([REF, ZERO, tag]) == 0


def test_the_fast_way_imports_next_to_nothing():
    code = (
        "import sys; before = set(sys.modules); import tracker.cli.fast_gate\n"
        "heavy = {'re', 'subprocess', 'dataclasses', 'pathlib', 'hashlib', 'tomllib', 'json', 'typer', 'git', 'rich'}\n"
        "print(sorted(heavy & (set(sys.modules) - before)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# -- a push into a bare repository ------------------------------------------------------------------------------------------


@pytest.fixture
def server(shop, tmp_path):
    """A bare repository with the gate, and releases made here with the clock of this computer.

    It is no remote of the shop: what is sent, and when, is up to the test.
    """
    bare = tmp_path / "server.git"
    git(tmp_path, "init", "-q", "--bare", "-b", "main", str(bare))
    shop.run("install", "--server", str(bare))
    shop.git("push", "-q", str(bare), "HEAD:main")
    return bare


def more(shop, number):
    shop.put(PROGRAM, (shop.folder / PROGRAM).read_bytes() + b"(NOTE %d)\n" % number)
    shop.run("checkin", "4471", "-m", "note", "--by", "np")
    shop.run("release", "4471", "--by", "dg", "--yes")


def push(shop, *refs):
    return attempt(shop.folder, "push", "--atomic", "-q", str(shop.folder.parent / "server.git"), *refs)


def tags(bare):
    return git(bare, "tag").split()


def test_a_push_of_several_releases_in_any_order(shop, server):
    shop.run("release", "4471", "--by", "dg", "--yes")
    more(shop, 2)
    more(shop, 3)
    done = push(shop, "HEAD:main", "release/4471/3")
    assert done.returncode != 0
    assert "leaves a gap: there is no release 1" in done.stderr
    assert tags(server) == []
    done = push(shop, "HEAD:main", "release/4471/3", "release/4471/1", "release/4471/2")
    assert (done.returncode, tags(server)) == (0, ["release/4471/1", "release/4471/2", "release/4471/3"]), (
        done.stderr
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((":release/4471/1",), "would be deleted"),
        (("+HEAD~1:refs/tags/release/4471/1",), "exists already"),
        (("HEAD:refs/tags/release/4471/2",), "is no annotated tag"),
        (("release/4471/1:refs/tags/release/4471/2",), "is called release/4471/1 inside"),
        (("HEAD:refs/tags/release/x",), "is not called like a release"),
        (("HEAD:main", "HEAD:refs/tags/release/4471/2"), "is no annotated tag"),
    ],
)
def test_a_push_the_server_turns_away(shop, server, words, said):
    shop.run("release", "4471", "--by", "dg", "--yes")
    assert push(shop, "HEAD:main", "release/4471/1").returncode == 0
    shop.put("note.txt", "x")
    shop.git("add", "note.txt")
    shop.git("commit", "-q", "-m", "note")
    before = git(server, "for-each-ref")
    done = push(shop, *words)
    assert (done.returncode != 0, said in done.stderr) == (True, True), done.stderr
    assert git(server, "for-each-ref") == before


def test_a_push_with_a_clock_set_by_hand(shop, server):
    shop.at((datetime.now(UTC) + timedelta(minutes=1)).isoformat())
    shop.run("release", "4471", "--by", "dg", "--yes")
    done = push(shop, "HEAD:main", "release/4471/1")
    assert done.returncode != 0
    assert "clock" in done.stderr


def test_a_push_after_somebody_else_held_it(shop, server, tmp_path):
    other = ShopFolder(tmp_path / "other", shop._capsys, shop._monkeypatch)
    git(tmp_path, "clone", "-q", str(server), str(other.folder))
    other.run("hold", "4471/op10", "--by", "ss", "-m", "gauge out")
    other.git("push", "-q", "origin", "HEAD:held")
    shop.run("release", "4471", "--by", "dg", "--yes")
    done = push(shop, "HEAD:main", "release/4471/1")
    assert done.returncode != 0
    assert "held by ss" in done.stderr
    assert tags(server) == []
