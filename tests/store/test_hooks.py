"""The hooks on real git, with a gate that answers as it is told and writes down what it was asked."""

import os
import shutil
import subprocess
import sys

import pytest

from tests.store.shop_repo import AT, KIM, git, opened, record, record_path, write
from tracker.errors import Refused
from tracker.services.install import install, install_server, undo, undo_server
from tracker.store.data import hook_start
from tracker.store.setup_site import KEPT, Site

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the stand-in for Python is a shell script")
ZERO = "0" * 40


START = f"-I -S {hook_start()} gate "


class Gate:
    def __init__(self, folder):
        folder.mkdir()
        self.program = folder / "it's a gate" / "python"
        self.log = folder / "asked"
        self.code = folder / "code"
        self.answer(0)
        write(
            folder,
            "it's a gate/python",
            f'#!/bin/sh\necho "$*" >> "{self.log}"\n'
            f'case " $* " in *" --local "*|*" --push "*) sed "s/^/stdin /" >> "{self.log}" ;; esac\n'
            f'[ "$(cat "{self.code}")" = 0 ] || echo "the gate says no" >&2\nexit "$(cat "{self.code}")"\n',
        )
        self.program.chmod(0o755)

    def answer(self, code):
        self.code.write_text(str(code))

    def asked(self):
        lines = self.log.read_text().splitlines() if self.log.exists() else []
        self.log.unlink(missing_ok=True)
        return [line.removeprefix(START) for line in lines]


@pytest.fixture
def gate(tmp_path):
    return Gate(tmp_path / "gate")


@pytest.fixture
def guarded(shop, gate):
    install(Site(opened(shop), python=str(gate.program)))
    return shop


def head(shop):
    return git(shop, "rev-parse", "HEAD")


def test_without_the_file_it_starts_the_package_is_asked_for(shop, gate, monkeypatch):
    monkeypatch.setattr("tracker.store.setup_site.hook_start", lambda: "/gone/hook_start.py")
    install(Site(opened(shop), python=str(gate.program)))
    git(shop, "tag", "release/4471/1")
    (asked,) = gate.asked()
    assert asked.startswith(f"-P -m tracker gate refs/tags/release/4471/1 {ZERO} ")


MAKING = {
    "tag": ["tag", "release/4471/1"],
    "tag -a": ["tag", "-a", "-m", "x", "release/4471/1"],
    "update-ref": ["update-ref", "refs/tags/release/4471/1", "HEAD"],
    "branch like": ["push", "-q", ".", "HEAD:refs/tags/release/4471/1"],
    "fetch": ["fetch", "-q", ".", "HEAD:refs/tags/release/4471/1"],
}


@pytest.mark.parametrize("how", MAKING)
def test_every_way_of_making_a_release_tag_asks_the_gate(guarded, gate, how):
    gate.answer(1)
    refused = git(guarded, *MAKING[how], check=False)
    assert refused.returncode != 0
    assert b"the gate says no" in refused.stderr
    assert git(guarded, "tag") == ""
    (asked,) = gate.asked()
    assert asked.startswith(f"refs/tags/release/4471/1 {ZERO} ")
    gate.answer(0)
    git(guarded, *MAKING[how])
    assert git(guarded, "tag") == "release/4471/1"
    assert len(gate.asked()) == 1


def test_moving_and_deleting_ask_the_gate_with_the_real_old_value(guarded, gate):
    git(guarded, "tag", "release/4471/1")
    old = head(guarded)
    git(guarded, "commit", "-q", "--allow-empty", "-m", "more")
    new = head(guarded)
    gate.asked()
    gate.answer(1)
    for packed in (False, True):
        if packed:
            git(guarded, "pack-refs", "--all")
        for words in (
            ["tag", "-f", "release/4471/1"],
            ["update-ref", "refs/tags/release/4471/1", "HEAD"],
            ["update-ref", "refs/tags/release/4471/1", "HEAD", old],
        ):
            assert git(guarded, *words, check=False).returncode != 0
            assert gate.asked() == [f"refs/tags/release/4471/1 {old} {new}"]
        for words in (
            ["tag", "-d", "release/4471/1"],
            ["update-ref", "-d", "refs/tags/release/4471/1"],
            ["update-ref", "-d", "refs/tags/release/4471/1", old],
            ["push", "-q", ".", ":refs/tags/release/4471/1"],
        ):
            assert git(guarded, *words, check=False).returncode != 0
            assert gate.asked() == [f"refs/tags/release/4471/1 {old} {ZERO}"]
        assert git(guarded, "rev-parse", "refs/tags/release/4471/1") == old


def test_a_deletion_asks_when_the_tag_is_packed_and_loose_at_once(guarded, gate):
    git(guarded, "tag", "release/4471/1")
    git(guarded, "pack-refs", "--all", "--no-prune")
    gate.asked()
    gate.answer(1)
    for words in (["tag", "-d", "release/4471/1"], ["update-ref", "-d", "refs/tags/release/4471/1"]):
        assert git(guarded, *words, check=False).returncode != 0
        assert len(gate.asked()) == 1
    assert git(guarded, "tag") == "release/4471/1"


@pytest.mark.parametrize(
    "words", [["pack-refs", "--all"], ["pack-refs", "--all", "--no-prune"], ["gc", "-q"]]
)
def test_packing_and_cleaning_go_on_and_ask_nobody(guarded, gate, words):
    for number in range(3):
        git(guarded, "tag", f"release/4471/{number}")
    before = git(guarded, "for-each-ref")
    gate.asked()
    gate.answer(1)
    git(guarded, *words)
    git(guarded, *words)
    assert gate.asked() == []
    assert git(guarded, "for-each-ref") == before
    assert "release/4471/0" in (guarded / ".git/packed-refs").read_text()


def test_other_references_ask_nobody(guarded, gate):
    gate.answer(1)
    git(guarded, "tag", "v1")
    git(guarded, "tag", "releases/4471/1")
    git(guarded, "commit", "-q", "--allow-empty", "-m", "x")
    git(guarded, "branch", "release/4471/1")
    git(guarded, "stash", "list")
    assert gate.asked() == []


def test_a_tag_that_stays_as_it_is_asks_nobody(guarded, gate):
    git(guarded, "tag", "release/4471/1")
    gate.asked()
    gate.answer(1)
    git(guarded, "update-ref", "refs/tags/release/4471/1", "HEAD")
    git(guarded, "fetch", "-q", ".", "refs/tags/*:refs/tags/*")
    assert gate.asked() == []


def test_several_release_tags_in_one_go_are_asked_as_a_set(guarded, gate):
    lines = "".join(f"create refs/tags/release/4471/{n} {head(guarded)}\n" for n in (2, 1))
    git(guarded, "update-ref", "--stdin", stdin=f"{lines}create refs/tags/v1 {head(guarded)}\n".encode())
    said = [f"stdin {ZERO} {head(guarded)} refs/tags/release/4471/{n}" for n in (2, 1)]
    assert gate.asked() == ["--local", *said]
    gate.answer(1)
    lines = "".join(f"delete refs/tags/release/4471/{n}\n" for n in (2, 1))
    refused = git(guarded, "update-ref", "--stdin", stdin=lines.encode(), check=False)
    assert refused.returncode != 0
    assert git(guarded, "tag").splitlines() == ["release/4471/1", "release/4471/2", "v1"]


def test_a_forged_clone_is_fetched_without_its_release_tags(guarded, gate, tmp_path):
    git(tmp_path, "clone", "-q", str(guarded), "forged")
    git(tmp_path / "forged", "commit", "-q", "--allow-empty", "-m", "forged")
    for number in (1, 2):
        git(tmp_path / "forged", "tag", f"release/4471/{number}")
    git(tmp_path / "forged", "tag", "v1")
    gate.answer(1)
    git(guarded, "fetch", "-q", str(tmp_path / "forged"), "refs/tags/*:refs/tags/*", check=False)
    assert not [tag for tag in git(guarded, "tag").splitlines() if tag.startswith("release/")]
    gate.asked()
    gate.answer(0)
    git(guarded, "fetch", "-q", str(tmp_path / "forged"), "refs/tags/*:refs/tags/*")
    assert git(guarded, "tag").splitlines() == ["release/4471/1", "release/4471/2", "v1"]


def test_words_of_git_that_are_not_known_today_refuse_nothing(guarded, gate):
    gate.answer(1)
    hook = guarded / ".git/hooks/reference-transaction"
    line = f"{ZERO} {head(guarded)} refs/tags/release/4471/1\n".encode()
    for state in ("committed", "aborted", "preparing", ""):
        done = subprocess.run([str(hook), state], cwd=guarded, input=line, check=False)
        assert done.returncode == 0
    assert gate.asked() == []


@pytest.mark.parametrize("way", ["worktree", "subfolder", "bare env"])
def test_the_gate_is_asked_from_every_place(guarded, gate, tmp_path, way):
    gate.answer(1)
    env, folder = {}, guarded / "jobs"
    if way == "worktree":
        folder = tmp_path / "second tree"
        git(guarded, "worktree", "add", "-q", "-b", "second", str(folder))
    if way == "bare env":
        env, folder = {"GIT_DIR": str(guarded / ".git")}, tmp_path
    assert git(folder, "tag", "release/4471/1", check=False, env=env).returncode != 0
    assert len(gate.asked()) == 1


def test_where_nothing_of_ours_can_be_started_the_gate_stays_closed(guarded, gate, tmp_path):
    gate.program.unlink()
    tools = tmp_path / "tools"
    tools.mkdir()
    for name in ("git", "sh", "tr", "grep", "cat"):
        found = shutil.which(name)
        (tools / name).symlink_to(found)
    refused = git(guarded, "tag", "release/4471/1", check=False, env={"PATH": str(tools)})
    assert refused.returncode != 0
    assert b"fix: install proveout" in refused.stderr
    git(guarded, "tag", "v1", env={"PATH": str(tools)})


def test_the_program_in_the_path_serves_when_python_was_moved(guarded, gate, tmp_path):
    elsewhere = tmp_path / "bin" / "proveout"
    elsewhere.parent.mkdir()
    gate.program.rename(elsewhere)
    path = f"{elsewhere.parent}:{os.environ['PATH']}"
    git(guarded, "tag", "release/4471/1", env={"PATH": path})
    assert gate.asked() == [f"gate refs/tags/release/4471/1 {ZERO} {head(guarded)}"]


def test_a_folder_called_tracker_in_the_shop_is_never_run(shop):
    write(shop, "tracker/__init__.py", "raise SystemExit(0)\n")
    write(shop, "tracker/__main__.py", "raise SystemExit(0)\n")
    install(Site(opened(shop), python=sys.executable))
    git(shop, "tag", "release/4471/1", check=False, env={"PYTHONPATH": ""})
    assert git(shop, "tag") == ""


def test_a_hook_that_was_there_still_runs_and_comes_back(shop, gate, tmp_path):
    hook = shop / ".git/hooks/reference-transaction"
    write(
        shop,
        ".git/hooks/reference-transaction",
        f'#!/bin/sh\necho "$1" >> "{tmp_path}/states"\ncat >> "{tmp_path}/lines"\n'
        f'[ ! -e "{tmp_path}/veto" ] || exit 7\n',
    )
    hook.chmod(0o755)
    before = hook.read_bytes()
    site = Site(opened(shop), python=str(gate.program))
    install(site)
    install(site)
    git(shop, "tag", "v1")
    assert (tmp_path / "states").read_text().split() == ["prepared", "committed"]
    assert (tmp_path / "lines").read_text() == f"{ZERO} {head(shop)} refs/tags/v1\n" * 2
    (tmp_path / "veto").touch()
    assert git(shop, "tag", "v2", check=False).returncode != 0
    assert git(shop, "tag", "release/4471/1", check=False).returncode != 0
    assert gate.asked() == []
    (tmp_path / "veto").unlink()
    git(shop, "tag", "release/4471/1")
    assert len(gate.asked()) == 1
    write(shop, ".git/hooks/post-commit", "#!/bin/sh\n")

    undo(site)
    assert hook.read_bytes() == before
    assert os.access(hook, os.X_OK)
    assert not hook.with_name(hook.name + KEPT).exists()
    assert (shop / ".git/hooks/post-commit").exists()


def test_a_second_foreign_hook_over_ours_is_not_written_over(guarded, gate):
    hook = guarded / ".git/hooks/reference-transaction"
    hook.with_name(hook.name + KEPT).write_bytes(b"#!/bin/sh\nexit 0\n")
    hook.write_bytes(b"#!/bin/sh\nexit 0\n")
    with pytest.raises(Refused) as caught:
        install(Site(opened(guarded), python=str(gate.program)))
    assert caught.value.name == "hook-in-the-way"


@pytest.fixture
def server(shop, gate, tmp_path):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    install_server(Site(opened(tmp_path / "server.git"), python=str(gate.program)))
    git(shop, "remote", "add", "origin", str(tmp_path / "server.git"))
    return tmp_path / "server.git"


PUSHES = {
    "one": ["push", "-q", "origin", "release/4471/1"],
    "many": ["push", "-q", "origin", "main", "release/4471/1", "v1"],
    "tags": ["push", "-q", "origin", "--tags"],
    "mirror": ["push", "-q", "--mirror", "origin"],
    "force": ["push", "-q", "--force", "origin", "release/4471/1"],
    "follow": ["push", "-q", "--atomic", "origin", "main", "release/4471/1"],
}


@pytest.mark.parametrize("how", PUSHES)
def test_every_push_to_the_server_is_judged_whole(shop, server, gate, how):
    git(shop, "commit", "-q", "--allow-empty", "-m", "more")
    git(shop, "tag", "release/4471/1")
    git(shop, "tag", "v1")
    before = git(server, "for-each-ref")
    gate.answer(4)
    refused = git(shop, *PUSHES[how], check=False)
    assert refused.returncode != 0
    assert b"the gate says no" in refused.stderr
    assert git(server, "for-each-ref") == before
    asked = gate.asked()
    assert asked[0] == "--push"
    assert f"stdin {ZERO} {head(shop)} refs/tags/release/4471/1" in asked
    gate.answer(0)
    git(shop, *PUSHES[how])
    assert git(server, "rev-parse", "refs/tags/release/4471/1") == head(shop)


def test_the_server_keeps_its_own_hook_and_settings(shop, tmp_path, gate):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    server = tmp_path / "server.git"
    write(server, "hooks/pre-receive", f'#!/bin/sh\ncat > "{tmp_path}/lines"\nexit 1\n')
    (server / "hooks/pre-receive").chmod(0o755)
    git(server, "config", "receive.denyDeletes", "false")
    site = Site(opened(server), python=str(gate.program))
    install_server(site)
    git(shop, "tag", "v1")
    assert git(shop, "push", "-q", str(server), "v1", check=False).returncode != 0
    assert (tmp_path / "lines").read_text() == f"{ZERO} {head(shop)} refs/tags/v1\n"
    assert gate.asked() == []
    assert git(server, "config", "receive.denyDeletes") == "false"
    assert git(server, "config", "receive.fsckObjects") == "true"

    undo_server(site)
    assert git(server, "config", "receive.denyDeletes") == "false"
    assert git(server, "config", "receive.fsckObjects", check=False).returncode == 1
    assert b"lines" in (server / "hooks/pre-receive").read_bytes()


class CutOffError(Exception):
    """The call ended in the middle."""


def cut_off_after(site, monkeypatch, name, count):
    """`name` of this site works ``count`` times more, then the call ends."""
    real, done = getattr(site, name), []

    def once(*words):
        if len(done) == count:
            raise CutOffError
        done.append(words)
        real(*words)

    monkeypatch.setattr(site, name, once)


@pytest.mark.parametrize("count", range(7))
def test_a_servers_set_up_that_was_cut_off_can_be_undone(shop, tmp_path, gate, count, monkeypatch):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    server = tmp_path / "server.git"
    git(server, "config", "receive.denyDeletes", "false")
    before = git(server, "config", "--local", "--list")
    site = Site(opened(server), python=str(gate.program))
    with monkeypatch.context() as now:
        cut_off_after(site, now, "put_setting", count)
        with pytest.raises(CutOffError):
            install_server(site, over="ssh")
    if count % 2:  # gone on with first
        install_server(site, over="ssh")
    undo_server(site)
    assert git(server, "config", "--local", "--list") == before


def test_a_setting_of_the_server_chosen_otherwise_since_stays(shop, server, gate):
    git(server, "config", "receive.maxInputSize", "1g")
    undone = undo_server(Site(opened(server), python=str(gate.program)))
    assert git(server, "config", "receive.maxInputSize") == "1g"
    assert git(server, "config", "receive.fsckObjects", check=False).returncode == 1
    assert "receive.maxInputSize" not in {one.what for one in undone.actions}


@pytest.mark.parametrize("count", range(6))
def test_an_undo_that_was_cut_off_is_gone_on_with(shop, gate, count, monkeypatch):
    before = git(shop, "config", "--local", "--list")
    site = Site(opened(shop), python=str(gate.program))
    install(site)
    with monkeypatch.context() as now:
        cut_off_after(site, now, "drop_setting", count)
        with pytest.raises(CutOffError):
            undo(site)
    undo(site)
    assert git(shop, "config", "--local", "--list") == before


def test_a_push_into_a_clone_asks_its_hook(guarded, gate, tmp_path):
    git(tmp_path, "clone", "-q", str(guarded), "other")
    git(tmp_path / "other", "tag", "release/4471/1")
    gate.answer(1)
    assert git(tmp_path / "other", "push", "-q", "origin", "release/4471/1", check=False).returncode != 0
    assert git(guarded, "tag") == ""
    assert len(gate.asked()) == 1


def test_our_own_tag_asks_the_gate_and_tells_its_reasons(guarded, gate):

    clone = opened(guarded)
    gate.answer(1)
    with pytest.raises(Refused) as caught:
        clone.tag("release/4471/1", commit=head(guarded), message="m", tagger=KIM, at=AT)
    assert caught.value.name == "gate-closed"
    assert caught.value.reasons == ("the gate says no",)
    gate.answer(0)
    made = clone.tag("release/4471/1", commit=head(guarded), message="jobs/x\n", tagger=KIM, at=AT)
    (seen,) = clone.release_tags()
    assert (seen.object_id, seen.target, seen.header_name, seen.message) == (
        made,
        head(guarded),
        "release/4471/1",
        "jobs/x\n",
    )
    said = git(
        guarded, "for-each-ref", "--format=%(taggername)%(taggeremail) %(taggerdate:unix)", "refs/tags"
    )
    assert said == f"Kim Pine<kim@shop.example> {int(AT.timestamp())}"
    assert git(guarded, "fsck", "--strict", "--no-dangling") == ""
    with pytest.raises(Refused) as again:
        clone.tag("release/4471/1", commit=head(guarded), message="other", tagger=KIM, at=AT)
    assert again.value.name in ("tag-exists", "gate-closed")


def test_our_own_tag_is_never_made_twice(shop):

    clone = opened(shop)
    clone.tag("release/4471/1", commit=head(shop), message="m", tagger=KIM, at=AT)
    git(shop, "commit", "-q", "--allow-empty", "-m", "x")
    with pytest.raises(Refused) as caught:
        clone.tag("release/4471/1", commit=head(shop), message="m", tagger=KIM, at=AT)
    assert caught.value.name == "tag-exists"


def test_the_hook_costs_little_where_it_is_not_concerned(shop, tmp_path):
    """It starts no program at all: only what the shell does by itself."""
    install(Site(opened(shop), python=str(tmp_path / "none")))
    line = f"{ZERO} {head(shop)} refs/heads/x\n".encode()
    hook = shop / ".git/hooks/reference-transaction"
    done = subprocess.run(
        ["/bin/sh", str(hook), "prepared"],
        cwd=shop,
        input=line,
        env={"PATH": ""},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_templates_have_unix_line_ends_and_our_mark(project):
    for name in ("reference-transaction", "pre-receive"):
        data = (project / "hooks" / name).read_bytes()
        assert b"\r" not in data
        assert data.split(b"\n")[1].startswith(b"# proveout hook ")


LOOK = """#!{python}
import sys
sys.path.insert(0, {root!r})
from tracker.wiring import open_gate
desk = open_gate()
for line in sys.stdin:
    old, new, ref = line.split()
    data = desk.repo.tree(new).read("new.nc")
    records = [(one.path, one.in_hand) for one in desk.repo.ledger(new).records]
    open({log!r}, "a").write(f"{{ref}} {{data}} {{records}} {{desk.repo.root}}\\n")
sys.exit(1)
"""


def test_a_servers_hook_sees_what_is_coming_in(shop, project, tmp_path):
    git(tmp_path, "clone", "-q", "--bare", str(shop), "server.git")
    server, log = tmp_path / "server.git", tmp_path / "log"
    write(server, "hooks/pre-receive", LOOK.format(python=sys.executable, root=str(project), log=str(log)))
    (server / "hooks/pre-receive").chmod(0o755)
    record(opened(shop), record_path(1))
    write(shop, "new.nc", "coming in")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "m")
    refused = git(shop, "push", "-q", str(server), "main", check=False)
    assert b"Traceback" not in refused.stderr
    assert refused.returncode != 0
    assert log.read_text() == f"refs/heads/main b'coming in' [('{record_path(1)}', True)] {server}\n"


@pytest.mark.parametrize("how", ["plain", "worktree", "named"])
def test_a_clones_hook_looks_at_the_clone_git_is_busy_with(shop, project, tmp_path, how):
    log = tmp_path / "log"
    write(
        shop,
        ".git/hooks/reference-transaction",
        LOOK.format(python=sys.executable, root=str(project), log=str(log)),
    )
    record(opened(shop), record_path(1))
    (shop / ".git/hooks/reference-transaction").chmod(0o755)
    folder, env = shop / "jobs", {}
    if how == "worktree":
        folder = tmp_path / "second"
        git(shop, "-c", f"core.hooksPath={os.devnull}", "worktree", "add", "-q", "-b", "b2", str(folder))
    if how == "named":
        folder, env = tmp_path, {"GIT_DIR": str(shop / ".git"), "GIT_WORK_TREE": str(shop)}
    refused = git(folder, "update-ref", "refs/tags/x", "HEAD", check=False, env=env)
    assert b"Traceback" not in refused.stderr
    first = log.read_text().splitlines()[0]
    assert first.startswith(f"refs/tags/x None [('{record_path(1)}', True)]")
