"""Trees read by ourselves, held against what git itself lists."""

import subprocess

import pytest

from tests.store.shop_repo import git, make_shop, opened, write
from tracker.errors import CouldNot
from tracker.store.objects import Objects
from tracker.store.tree_objects import Entry


@pytest.fixture
def many(shop):
    """Files at every depth, names of all sorts, a link, and two states that share most of it."""
    for place in (
        "a",
        "a-b/c",
        "a/b",
        "jobs/1/job.toml",
        "jobs/1/records/op10/x.toml",
        "jobs/1-b/ö ä/deep/er/f",
    ):
        if place != "a":
            write(shop, place, place)
    (shop / "run").write_text("#!/bin/sh\n")
    (shop / "run").chmod(0o755)
    (shop / "link").symlink_to("run")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "first")
    write(shop, "jobs/1/records/op10/y.toml", "y")
    git(shop, "rm", "-q", "a-b/c")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "second")
    return shop


def listed(shop, commit):
    out = subprocess.run(
        ["git", "-C", str(shop), "ls-tree", "-r", "-z", "--full-tree", commit],
        capture_output=True,
        check=True,
    ).stdout
    rows = (row.partition(b"\t") for row in out.split(b"\0") if row)
    return {
        path.decode(): Entry(head.split()[0].decode(), head.split()[2].decode()) for head, _, path in rows
    }


def test_a_state_is_listed_as_git_lists_it(many):
    clone = opened(many)
    for state in ("HEAD", "HEAD~1", "HEAD"):
        commit = git(many, "rev-parse", state)
        tree = clone.tree(commit)
        assert tree.all_entries == listed(many, commit)
        assert list(tree.paths()) == sorted(
            path for path, entry in tree.all_entries.items() if entry.mode != "120000"
        )
        assert all(tree.has(path) for path in tree.paths())


def test_one_file_is_found_without_listing(many):
    tree = opened(many).tree()
    assert tree.read("jobs/1-b/ö ä/deep/er/f") == "jobs/1-b/ö ä/deep/er/f".encode()
    assert [
        tree.has(path) for path in ("run", "link", "jobs", "jobs/1", "a-b/c", "run/x", "", "jobs//1")
    ] == [
        True,
        *[False] * 7,
    ]
    assert opened(many).tree(git(many, "rev-parse", "HEAD~1")).has("a-b/c")


@pytest.mark.parametrize("folder", ["HEAD:jobs", "HEAD:jobs/1/records"])
def test_a_missing_folder_is_damage(many, folder):
    tree = git(many, "rev-parse", folder)
    (many / ".git/objects" / tree[:2] / tree[2:]).unlink()
    for ask in (lambda tree: tree.paths(), lambda tree: tree.has("jobs/1/records/op10/x.toml")):
        with pytest.raises(CouldNot) as caught:
            ask(opened(many).tree())
        assert caught.value.name == "damaged"


@pytest.mark.parametrize("kind", ["blob", "tree"])
def test_what_is_no_state_is_damage(many, kind):
    other = git(many, "rev-parse", {"blob": "HEAD:run", "tree": "HEAD^{tree}"}[kind])
    with pytest.raises(CouldNot) as caught:
        opened(many).tree(other).paths()
    assert caught.value.name == "damaged"


@pytest.mark.parametrize(
    "data", [b"100644 name", b"100644 name\0short", b"100644", b"100644 a\0" + b"1" * 20 + b"x"]
)
def test_what_is_no_list_of_files_is_damage(many, data):
    made = subprocess.run(
        ["git", "-C", str(many), "hash-object", "-t", "tree", "-w", "--stdin", "--literally"],
        input=data,
        capture_output=True,
        check=True,
    )
    text = f"tree {made.stdout.decode().strip()}\nauthor a <a@b> 0 +0000\ncommitter a <a@b> 0 +0000\n\nx\n"
    commit = subprocess.run(
        ["git", "-C", str(many), "hash-object", "-t", "commit", "-w", "--stdin", "--literally"],
        input=text.encode(),
        capture_output=True,
        check=True,
    )
    with pytest.raises(CouldNot) as caught:
        opened(many).tree(commit.stdout.decode().strip()).paths()
    assert caught.value.name == "damaged"


def test_small_files_are_read_once_and_large_ones_are_not_kept(many, monkeypatch):
    write(many, "large", "x" * 70_000)
    git(many, "add", "-A")
    git(many, "commit", "-qm", "large")
    objects = opened(many).objects
    small, large = (git(many, "rev-parse", f"HEAD:{name}") for name in ("run", "large"))
    asked = []
    each = objects.each
    monkeypatch.setattr(objects, "each", lambda wanted: asked.extend(wanted) or each(wanted))
    for _ in range(2):
        assert objects.blob(small) == b"#!/bin/sh\n"
        assert len(objects.blob(large)) == 70_000
    assert asked == [small, large, large]


def test_a_long_list_of_files_is_cut_as_a_short_one(shop, monkeypatch):
    from tracker.store import tree_objects

    for place in range(12):
        write(shop, f"many/ {place} \n x", str(place))
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "many")
    commit = git(shop, "rev-parse", "HEAD")
    short = opened(shop).tree(commit).all_entries
    monkeypatch.setattr(tree_objects, "_MANY_BYTES", 0)
    assert opened(shop).tree(commit).all_entries == short == listed(shop, commit)


@pytest.mark.parametrize("size", [0, 1 << 20])
@pytest.mark.parametrize(
    "data", [b"100644 a\0" + b"x" * 19, b"x", b"100644 a", b"100644 a\0" + b" " * 20 + b"rest"]
)
def test_bytes_that_are_no_list_of_files_are_damage_however_long(shop, monkeypatch, size, data):
    from tracker.store import tree_objects

    monkeypatch.setattr(tree_objects, "_MANY_BYTES", size)
    trees = opened(shop)._tree_objects
    with pytest.raises(CouldNot) as fault:
        trees._parsed("f" * 40, data)
    assert fault.value.name == "damaged"


NAMES = [f"{number}" for number in range(3000, 3400)]


@pytest.fixture(scope="module")
def long(tmp_path_factory):
    """A folder of hundreds of rows, names among them that look like rows; nobody changes it."""
    shop = make_shop(tmp_path_factory.mktemp("long") / "shop")
    for name in NAMES:
        write(shop, f"jobs/{name}/job.toml", name)
    write(shop, "jobs/40000 3100", "a name like a row")
    write(shop, "jobs/x40000 3200", "another")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "many")
    return shop


def glanced(folder):
    """A clone that has read nothing yet, the state it stands on, and how many trees it parses whole from now on."""
    clone = opened(folder)
    commit = clone.head().commit
    whole = []
    parsed = clone._tree_objects._parsed
    clone._tree_objects._parsed = lambda tree, data: whole.append(len(data)) or parsed(tree, data)
    return clone, commit, whole


@pytest.mark.parametrize("name", ["3000", "3100", "3200", "3399"])
def test_one_row_of_a_long_folder_is_read_without_the_others(long, name):
    clone, commit, whole = glanced(long)
    rows = clone._tree_objects.folder(commit, f"jobs/{name}")
    assert rows.keys() == {"job.toml"}
    assert rows["job.toml"] == listed(long, "HEAD")[f"jobs/{name}/job.toml"]
    assert max(whole) < 1000
    assert (
        clone._tree_objects.folder(commit, "jobs/3001")["job.toml"]
        == listed(long, "HEAD")["jobs/3001/job.toml"]
    )
    assert max(whole) > 10_000  # asked a second time it is read whole, since more will be asked


@pytest.mark.parametrize(
    "name", ["310", "31000", "x40000", "40000 3100", "3100/nothing", "zzz", "1", "40000 3200"]
)
def test_what_is_not_there_or_no_folder_holds_nothing(long, name):
    clone, commit, _ = glanced(long)
    assert clone._tree_objects.folder(commit, f"jobs/{name}") == {}


def test_a_row_is_found_only_where_a_row_begins(long):
    trees = opened(long)._tree_objects
    ident = bytes(range(13)) + b"40000 a\0"[:7]
    data = b"100644 b\0" + ident + b"40000 a\0" + b"\1" * 20 + b"100644 c 40000 z\0" + b"\2" * 20
    assert len(ident) == 20
    assert trees._picked(data, b"a") == Entry("040000", "01" * 20)
    assert trees._picked(data, b"b") == Entry("100644", ident.hex())
    assert trees._picked(data, b"c 40000 z") == Entry("100644", "02" * 20)
    for name in (b"z", b"40000 z", b"", b"c"):
        assert trees._picked(data, name) is None
    hidden = (
        b"100644 b\0" + b"\3" * 12 + b"40000 a\0" + b"100644 c\0" + b"\2" * 20
    )  # the id of b ends like a row of a
    assert trees._picked(hidden, b"a") is None


@pytest.fixture
def long_folder(many):
    """Hundreds of jobs, so that of the folder that lists them one row is picked."""
    for number in range(400):
        write(many, f"jobs/{number:04}/job.toml", f"number = {number}")
    git(many, "add", "-A")
    git(many, "commit", "-qm", "third")
    return many


PLACES = (
    "",
    "jobs",
    "jobs/1",
    "jobs/1/records/op10",
    "jobs/1/records/op10/x.toml",
    "jobs/0007/job.toml",
    "jobs/0008/job.toml",
    "jobs/0008",
    "a/b",
    "a-b/c",
    "link",
    "run/x",
    "jobs/none/at/all",
)


def asked(monkeypatch):
    """What is asked of the process that reads objects, question by question."""
    found = []
    each = Objects.each

    def counted(objects, wanted):
        found.append(list(wanted))
        return each(objects, wanted)

    monkeypatch.setattr(Objects, "each", counted)
    return found


def test_what_was_looked_at_ahead_says_the_same_and_is_not_asked_again(long_folder, monkeypatch):
    commits = [git(long_folder, "rev-parse", state) for state in ("HEAD", "HEAD~1", "HEAD~2")]
    there = opened(long_folder)
    expected = {
        (c, path): (there.tree(c).has(path), there.tree(c).read(path)) for c in commits for path in PLACES
    }
    ahead = opened(long_folder)
    questions = asked(monkeypatch)
    ahead.look_ahead((c, path) for c in commits for path in PLACES)
    goes = len(questions)
    assert goes <= 2 + max(path.count("/") + 1 for path in PLACES)  # states, a level at a time, files
    found = {
        (c, path): (ahead.tree(c).has(path), ahead.tree(c).read(path)) for c in commits for path in PLACES
    }
    assert found == expected
    assert any(data for _, data in found.values())
    assert questions[goes:] == []


def test_long_files_are_not_read_before_they_are_asked_for(many, monkeypatch):
    write(many, "jobs/1/long.nc", "G1 X1.\n" * 10_000)
    git(many, "add", "-A")
    git(many, "commit", "-qm", "long")
    clone, commit = opened(many), git(many, "rev-parse", "HEAD")
    questions = asked(monkeypatch)
    clone.look_ahead([(commit, "jobs/1/long.nc"), (commit, "jobs/1/job.toml")])
    blobs = {name: git(many, "rev-parse", f"HEAD:jobs/1/{name}") for name in ("long.nc", "job.toml")}
    read = [one for wanted in questions for one in wanted]
    assert blobs["job.toml"] in read
    assert blobs["long.nc"] not in read
    assert clone.tree(commit).read("jobs/1/long.nc") == b"G1 X1.\n" * 10_000


def test_damage_is_not_told_before_it_is_asked_for(many):
    tree, commit = git(many, "rev-parse", "HEAD:jobs/1/records"), git(many, "rev-parse", "HEAD")
    (many / ".git/objects" / tree[:2] / tree[2:]).unlink()
    clone = opened(many)
    clone.look_ahead([(commit, "jobs/1/records/op10/x.toml"), (commit, "a/b")])
    assert clone.tree(commit).has("a/b")
    with pytest.raises(CouldNot) as caught:
        clone.tree(commit).has("jobs/1/records/op10/x.toml")
    assert caught.value.name == "damaged"


def test_a_state_listed_lately_is_not_looked_up_folder_by_folder(many, monkeypatch):
    clone, commit = opened(many), git(many, "rev-parse", "HEAD")
    assert clone.tree(commit).all_entries == listed(many, commit)
    for number in range(40):  # more states than are kept
        clone.tree(f"{number:040x}")
    questions = asked(monkeypatch)
    assert clone.tree(commit).has("jobs/1-b/ö ä/deep/er/f")
    assert not clone.tree(commit).has("jobs/1-b/none")
    assert questions == []
