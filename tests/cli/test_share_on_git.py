"""share through the console's own words, on real git: two or three clones and a bare repository between them."""

import re
import shutil
import subprocess
import sys

import pytest

from tests.fakes.shop_folder import CALLED, JOB, JOB_PATH, MAIN, PROGRAM, ShopFolder, git

DEEPER = MAIN.replace("Z-1.16", "Z-1.2")
FASTER = MAIN.replace("F15.", "F18.")


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A shop with r1, and the bare repository it was sent to: made once."""
    place = tmp_path_factory.mktemp("shared")
    with pytest.MonkeyPatch.context() as world:
        world.setenv("HOME", str(place))
        world.setenv("GIT_CONFIG_GLOBAL", str(place / "gitconfig"))
        (place / "gitconfig").write_text("[init]\n defaultBranch = main\n", encoding="ascii")
        for who in ("AUTHOR", "COMMITTER"):
            world.setenv(f"GIT_{who}_NAME", "Test Person")
            world.setenv(f"GIT_{who}_EMAIL", "test@example.invalid")
        world.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
        made = ShopFolder(place / "office", Silent(), world)
        made.folder.mkdir()
        made.begin()
        made.git("branch", "-M", "main")
        git(place, "clone", "-q", "--bare", str(made.folder), "server.git")
    return place


class Silent:
    def readouterr(self):
        return "", ""


@pytest.fixture
def place(kept, tmp_path, monkeypatch):
    """A folder with a blank and an umlaut in its name, the bare repository in it."""
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-03T09:00:00Z")
    here = tmp_path / "Werkstatt Süd"
    here.mkdir()
    shutil.copytree(kept / "server.git", here / "server.git")
    return here


@pytest.fixture
def clone(place, capsys, monkeypatch):
    def make(name: str) -> ShopFolder:
        git(place, "clone", "-q", str(place / "server.git"), name)
        made = ShopFolder(place / name, capsys, monkeypatch)
        made.git("config", "user.email", "np@shop.example")
        made.git("config", "user.name", "Nora Pencil")
        return made

    return make


@pytest.fixture
def two(clone):
    return clone("office"), clone("floor")


def edit(shop: ShopFolder, text: str, why: str, path: str = PROGRAM, by: str = "np") -> None:
    shop.put(path, text)
    shop.run("checkin", "4471", "-m", why, "--by", by)


def hold(shop: ShopFolder, why: str, by: str) -> None:
    shop.run("hold", "4471/op10", "-m", why, "--by", by)


def tip(shop: ShopFolder) -> str:
    return shop.git("rev-parse", "HEAD")


def there(place, ref: str = "main") -> str:
    return git(place / "server.git", "rev-parse", ref)


def clean(shop: ShopFolder) -> bool:
    return shop.git("status", "--porcelain") == ""


# -- the four plain cases -------------------------------------------------------------------------------------------------


def test_nothing_to_do(two):
    office, _ = two
    said = office.json("share")
    assert (said["schema"], said["received"], said["sent"], said["complete"]) == (
        "proveout/share/1",
        0,
        0,
        True,
    )
    assert "Nothing to do" in office.run("share")


def test_only_ours_goes_there(two, place):
    office, _ = two
    edit(office, DEEPER, "deeper")
    said = office.json("share")
    assert (said["received"], said["sent"], said["merge"]) == (0, 1, None)
    assert there(place) == tip(office)


def test_only_theirs_comes_here_and_no_work_is_touched(two):
    office, floor = two
    edit(office, DEEPER, "deeper")
    office.run("share")
    floor.put("notes.txt", "mine, untracked")
    floor.put(CALLED, "%\nO1002 (HOME)\nN10 G91 G28 Z0.\nN20 G90\n(EDITED)\nN30 M99\n%\n")
    floor.put("staged.txt", "mine, staged")
    floor.git("add", "staged.txt")
    before = floor.git("status", "--porcelain")
    said = floor.json("share")
    assert (said["received"], said["sent"]) == (1, 0)
    assert tip(floor) == tip(office)
    assert (floor.folder / PROGRAM).read_text() == DEEPER
    assert floor.git("status", "--porcelain") == before
    assert b"(EDITED)" in (floor.folder / CALLED).read_bytes()


def test_records_of_both_sides_come_together_without_a_question(two, place):
    office, floor = two
    hold(office, "gauge out", "dg")
    hold(floor, "tool broke", "ss")
    office.run("share")
    said = floor.json("share")
    assert (said["received"], said["sent"], said["both_changed"]) == (1, 2, [])
    assert said["merge"] == tip(floor) == there(place)
    parents = floor.git("rev-list", "--parents", "-1", "HEAD").split()[1:]
    assert len(parents) == 2
    office.run("share")
    assert tip(office) == tip(floor)
    assert len([one for one in office.json("history", "4471")["events"] if one["event"] == "hold"]) == 2
    assert clean(office)
    assert clean(floor)
    assert office.json("audit")["problems"] == []


# -- two edits of one file ------------------------------------------------------------------------------------------------


@pytest.fixture
def parted(two):
    """Both made r2 of the same operation; the office shared first."""
    office, floor = two
    edit(office, DEEPER, "deeper")
    edit(floor, FASTER, "faster")
    office.run("share")
    return office, floor


def test_two_edits_of_one_program_stop_and_are_told(parted, place):
    _, floor = parted
    before, server = tip(floor), there(place)
    said = floor.run("share", status=1)
    for words in (
        PROGRAM,
        "here:",
        "there:",
        "Nora Pencil",
        "3 Feb 2026",
        "feed",
        "motion",
        "--take ours|theirs",
    ):
        assert words in said
    (one,) = floor.json("share", status=1)["both_changed"]
    assert (one["file"], one["chosen"], one["gone"]) == (PROGRAM, None, None)
    assert set(one["kinds"]) == {"feed", "motion"} or "motion" in one["kinds"]
    assert (one["ours"]["message"], one["theirs"]["by"]) != ("", "")
    assert (tip(floor), there(place)) == (before, server)
    assert (floor.folder / PROGRAM).read_text() == FASTER


@pytest.mark.parametrize(("side", "text"), [("ours", FASTER), ("theirs", DEEPER)])
def test_a_choice_is_a_merge_whose_program_is_one_parents(parted, place, side, text):
    office, floor = parted
    said = floor.json("share", "--take", side, PROGRAM, "--by", "np", "-m", "measured both")
    assert said["complete"]
    assert (floor.folder / PROGRAM).read_text() == text
    assert there(place) == tip(floor) == said["merge"]
    message = floor.git("log", "-1", "--format=%B")
    assert f"{PROGRAM}: took {side}, chosen by np" in message
    assert "measured both" in message
    (several,) = said["several_newest"]
    assert several["operation"] == "4471/op10"
    assert len(several["revisions"]) == 2
    assert office.run("share", "-n")
    office.run("share")
    assert tip(office) == tip(floor)
    refused = office.run("release", "4471", "--by", "dg", "--yes", status=1)
    assert "not-released" in refused
    edit(office, text + "\n", "both looked at")
    found = office.json("show", "4471/op10@r3")
    assert len(found["origins"]) == 2
    problems = [one["problem"] for one in office.json("audit")["problems"]]
    assert "merged-text" not in problems


def test_choices_are_made_one_by_one_and_kept(two, place):
    office, floor = two
    for shop, text, part in ((office, DEEPER, "D"), (floor, FASTER, "E")):
        shop.put(JOB_PATH, JOB.replace('drawing_revision = "C"', f'drawing_revision = "{part}"'))
        edit(shop, text, "new")
    office.run("share")
    said = floor.json("share", "--take", "ours", PROGRAM, "--by", "np", status=1)
    assert [(one["file"], one["chosen"]) for one in said["both_changed"]] == [
        (JOB_PATH, None),
        (PROGRAM, "ours"),
    ]
    said = floor.json("share", "--take", "theirs", JOB_PATH, "--by", "np")
    assert said["complete"]
    assert (floor.folder / PROGRAM).read_text() == FASTER
    assert 'drawing_revision = "D"' in (floor.folder / JOB_PATH).read_text()
    assert there(place) == tip(floor)


def test_a_choice_holds_for_these_two_edits_only(two):
    office, floor = two
    for shop, text, part in ((office, DEEPER, "D"), (floor, FASTER, "E")):
        shop.put(JOB_PATH, JOB.replace('drawing_revision = "C"', f'drawing_revision = "{part}"'))
        edit(shop, text, "new")
    office.run("share")
    floor.run("share", "--take", "ours", PROGRAM, "--by", "np", status=1)
    edit(office, DEEPER.replace("Z-1.2", "Z-1.3"), "deeper still")
    office.run("share")
    said = floor.json("share", "--take", "theirs", JOB_PATH, "--by", "np", status=1)
    assert {one["file"]: one["chosen"] for one in said["both_changed"]} == {JOB_PATH: "theirs", PROGRAM: None}


def test_shop_toml_is_chosen_by_quality(two):
    office, floor = two
    for shop, name in ((office, "One"), (floor, "Two")):
        text = (shop.folder / "shop.toml").read_text().replace("Test shop", name)
        shop.put("shop.toml", text)
        shop.git("commit", "-qam", "name")
    office.run("share")
    floor.run("share", status=1)
    assert "[wrong-role]" in floor.run("share", "--take", "ours", "shop.toml", "--by", "np", status=1)
    floor.run("share", "--take", "theirs", "shop.toml", "--by", "dg")
    assert "One" in (floor.folder / "shop.toml").read_text()


def test_taken_away_on_one_side_and_changed_on_the_other(two):
    office, floor = two
    office.put("common/notes.nc", "%\nG0 X0\n%\n")
    office.git("add", "-A")
    office.git("commit", "-qm", "notes")
    office.run("share")
    floor.run("share")
    office.git("rm", "-q", "common/notes.nc")
    office.git("commit", "-qm", "away")
    office.run("share")
    floor.put("common/notes.nc", "%\nG0 X1\n%\n")
    floor.git("commit", "-qam", "x1")
    (one,) = floor.json("share", status=1)["both_changed"]
    assert (one["gone"], one["kinds"]) == ("there", None)
    floor.run("share", "--take", "theirs", "common/notes.nc", "--by", "np")
    assert not (floor.folder / "common/notes.nc").exists()
    assert clean(floor)


def test_nothing_to_choose(two, parted):
    office, floor = two
    assert "[nothing-to-choose]" in office.run("share", "--take", "ours", PROGRAM, "--by", "np", status=2)
    said = floor.run("share", "--take", "ours", "jobs/4471/op10/O9.nc", "--by", "np", status=2)
    assert "[nothing-to-choose]" in said
    assert PROGRAM in said
    assert "[wrong-call]" in floor.run("share", "--take", "ours", status=2)
    assert "[wrong-call]" in floor.run("share", PROGRAM, status=2)
    assert "[wrong-call]" in floor.run("share", "--take", "mine", PROGRAM, status=2)


# -- what git itself does with two edits ----------------------------------------------------------------------------------


def mixed(shop: ShopFolder, *words: str) -> bool:
    """Whether git put two edits of the program together without a word."""
    done = subprocess.run(["git", *words], cwd=shop.folder, capture_output=True, text=True, check=False)
    return done.returncode == 0


@pytest.mark.parametrize("tree_file", [True, False])
@pytest.mark.parametrize("way", ["merge", "rebase", "cherry-pick", "stash"])
def test_git_by_hand_mixes_no_two_edits_either(clone, way, tree_file):
    shop = clone("hand")
    shop.run("install")
    if not tree_file:
        shop.git("rm", "-q", ".gitattributes")
        shop.git("commit", "-qm", "without")
    shop.git("branch", "other")
    shop.put(PROGRAM, MAIN.replace("N10 G20", "N10 G20 (A)"))
    shop.git("commit", "-qam", "top")
    top = (shop.folder / PROGRAM).read_bytes()
    shop.git("switch", "-q", "other")
    shop.put(PROGRAM, MAIN.replace("N100 M30", "N100 M30 (B)"))
    if way == "stash":
        shop.git("stash", "-q")
        shop.git("switch", "-q", "main")
        assert not mixed(shop, "stash", "pop")
        assert (shop.folder / PROGRAM).read_bytes() == top
        assert shop.json("status")["edited"] == [PROGRAM]  # who looks gets an answer
        assert "[uncommitted-edits]" in shop.run(
            "prove", "4471", "--machine", "MILL2", "--by", "ss", status=1
        )
        return
    shop.git("commit", "-qam", "bottom")
    bottom = (shop.folder / PROGRAM).read_bytes()
    assert not mixed(shop, way, "main")
    assert (shop.folder / PROGRAM).read_bytes() in (top, bottom)
    assert shop.json("status")["edited"] == [PROGRAM]
    assert "[unmerged]" in shop.run("share", status=1)


# -- what stands in the way -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("staged", [True, False])
def test_edits_that_would_be_written_over_stop_it(two, staged):
    office, floor = two
    edit(office, DEEPER, "deeper")
    office.run("share")
    floor.put(PROGRAM, FASTER)
    if staged:
        floor.git("add", PROGRAM)
        floor.put(PROGRAM, MAIN)
    before = tip(floor)
    said = floor.run("share", status=1)
    assert "[in-the-way]" in said
    assert PROGRAM in said
    assert tip(floor) == before
    assert floor.git("show", f":{PROGRAM}") == (FASTER if staged else MAIN).rstrip("\n")
    assert (floor.folder / PROGRAM).read_text() == (MAIN if staged else FASTER)


def test_an_untracked_file_is_never_written_over(two):
    office, floor = two
    office.put("common/O8001.nc", "%\nO8001\nM99\n%\n")
    office.git("add", "-A")
    office.git("commit", "-qm", "new")
    office.run("share")
    floor.put("common/O8001.nc", "mine")
    assert "[in-the-way]" in floor.run("share", status=1)
    assert (floor.folder / "common/O8001.nc").read_text() == "mine"


def test_a_detached_head(two):
    office, _ = two
    office.git("switch", "-q", "--detach")
    assert "[detached-head]" in office.run("share", status=1)


def test_no_shared_repository(two):
    office, _ = two
    office.git("remote", "remove", "origin")
    said = office.run("share", status=1)
    assert "[no-shared-repository]" in said
    assert "on this disk only" in said


def test_an_empty_shared_repository_is_filled(two, place):
    office, _ = two
    git(place, "init", "-q", "--bare", "empty.git")
    office.git("remote", "set-url", "origin", str(place / "empty.git"))
    said = office.json("share")
    assert said["sent"] > 0
    assert git(place / "empty.git", "rev-parse", "main") == tip(office)


def test_an_empty_clone_takes_what_is_there(place, capsys, monkeypatch):
    git(place, "init", "-q", "-b", "main", "fresh")
    fresh = ShopFolder(place / "fresh", capsys, monkeypatch)
    fresh.git("remote", "add", "origin", str(place / "server.git"))
    assert fresh.json("share")["received"] > 0
    assert fresh.git("rev-parse", "HEAD") == there(place)
    assert clean(fresh)
    assert (fresh.folder / PROGRAM).read_text() == MAIN


def test_an_empty_clone_on_another_branch_is_told(place, capsys, monkeypatch):
    git(place, "init", "-q", "-b", "trunk", "fresh")
    fresh = ShopFolder(place / "fresh", capsys, monkeypatch)
    fresh.git("remote", "add", "origin", str(place / "server.git"))
    said = fresh.run("share", status=1)
    assert "[other-branch]" in said
    assert "git switch main" in said


def test_both_empty(place, capsys, monkeypatch):
    git(place, "init", "-q", "--bare", "empty.git")
    git(place, "init", "-q", "-b", "main", "fresh")
    fresh = ShopFolder(place / "fresh", capsys, monkeypatch)
    fresh.git("remote", "add", "origin", str(place / "empty.git"))
    assert "Nothing to do" in fresh.run("share")


def test_two_records_are_never_made_one(two, place, capsys, monkeypatch):
    other = ShopFolder(place / "other", capsys, monkeypatch)
    other.folder.mkdir()
    other.begin()
    other.git("branch", "-M", "main")
    other.git("remote", "add", "origin", str(place / "server.git"))
    assert "[unrelated]" in other.run("share", status=1)


def test_a_branch_of_its_own_is_sent_as_such(two, place):
    office, _ = two
    office.git("switch", "-qc", "trial")
    edit(office, DEEPER, "deeper")
    office.run("share")
    assert there(place, "trial") == tip(office)


def test_a_remote_of_another_name_and_an_address(two, place):
    office, floor = two
    office.git("remote", "rename", "origin", "Halle-2")
    edit(office, DEEPER, "deeper")
    assert office.json("share")["remote"] == "Halle-2"
    assert "[unknown-remote]" in office.run("share", "--remote", "nowhere", status=2)
    assert floor.json("share", "--remote", str(place / "server.git"))["received"] == 1


def test_several_remotes_ask_which(two, place):
    office, _ = two
    office.git("remote", "rename", "origin", "one")
    office.git("remote", "add", "two", str(place / "server.git"))
    office.git("config", "--unset-all", "branch.main.remote")
    assert "[unknown-remote]" in office.run("share", status=2)
    office.run("share", "--remote", "two")


# -- the way there --------------------------------------------------------------------------------------------------------


def test_offline_keeps_everything(two, place):
    office, _ = two
    edit(office, DEEPER, "deeper")
    before = tip(office)
    (place / "server.git").rename(place / "away.git")
    said = office.run("share", status=4)
    assert "[unreachable]" in said
    assert "kept" in said
    assert tip(office) == before
    (place / "away.git").rename(place / "server.git")
    office.run("share")
    assert there(place) == before


def test_a_host_nobody_knows_does_not_hang(two):
    office, _ = two
    office.git("remote", "set-url", "origin", "https://nobody.invalid/shop.git")
    assert "[unreachable]" in office.run("share", status=4)


def test_a_password_that_nobody_can_be_asked_for(two, place, monkeypatch):
    office, _ = two
    helper = place / "ssh.sh"
    helper.write_text(
        "#!/bin/sh\necho 'nia@host: Permission denied (publickey).' >&2\nexit 255\n", encoding="ascii"
    )
    helper.chmod(0o755)
    monkeypatch.setenv("GIT_SSH", str(helper))
    office.git("remote", "set-url", "origin", "ssh://nia@host.invalid/shop.git")
    assert "[not-let-in]" in office.run("share", status=4)


def test_the_servers_hook_turns_it_away_with_its_own_words(two, place):
    office, _ = two
    edit(office, DEEPER, "deeper")
    hook = place / "server.git/hooks/pre-receive"
    hook.write_text("#!/bin/sh\necho 'records are only ever added' >&2\nexit 1\n", encoding="ascii")
    hook.chmod(0o755)
    before, server = tip(office), there(place)
    said = office.run("share", status=1)
    assert "[push-refused]" in said
    assert "records are only ever added" in said
    assert (tip(office), there(place)) == (before, server)


def test_somebody_was_faster(two, place):
    office, floor = two
    hold(office, "gauge out", "dg")
    hold(floor, "tool broke", "ss")
    office.run("share")
    hold(office, "once more", "dg")
    hook = floor.folder / ".git/hooks/pre-push"
    hook.write_text(
        f"#!/bin/sh\n[ -e done ] && exit 0\n: > .git/done\nmv .git/hooks/pre-push .git/hooks/gone\n"
        f"unset GIT_DIR GIT_INDEX_FILE\ncd '{office.folder}' && git push -q origin main\n",
        encoding="utf-8",
    )
    hook.chmod(0o755)
    said = floor.json("share")
    assert said["complete"]
    assert there(place) == tip(floor)
    assert floor.git("merge-base", "--is-ancestor", tip(office), "HEAD") == ""


def test_a_dry_run_changes_nothing(parted, place):
    office, floor = parted
    before, server = tip(floor), there(place)
    floor.run("share", "-n", "--take", "ours", PROGRAM, "--by", "np")
    assert (tip(floor), there(place)) == (before, server)
    edit(office, FASTER, "more")
    assert office.json("share", "-n")["sent"] == 1
    assert there(place) == server


# -- records are only ever added ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("where", ["here", "there"])
def test_a_record_that_was_taken_away_stops_it(two, where):
    office, floor = two
    record = office.git("ls-files", "jobs/4471/records").splitlines()[0]
    office.git("rm", "-q", record)
    office.git("commit", "-qm", "tidy")
    if where == "there":
        office.git("push", "-q", "origin", "main")
    said = (floor if where == "there" else office).run("share", status=1)
    assert "[records-changed]" in said
    assert record in said
    assert (floor.folder / record).exists()


def test_names_that_are_one_on_another_pc(two):
    office, floor = two
    for shop, name in ((office, "common/O8001.nc"), (floor, "common/o8001.NC")):
        shop.put(name, "%\nO8001\nM99\n%\n")
        shop.git("add", "-A")
        shop.git("commit", "-qm", name)
    office.run("share")
    before = tip(floor)
    assert "[name-clash]" in floor.run("share", status=1)
    assert tip(floor) == before


# -- how old the last share is ----------------------------------------------------------------------------------------------


def test_doctor_says_when_it_was(two):
    office, _ = two
    office.run("share")
    assert "last share: today" in " ".join(office.call("doctor")[1].split())


# -- killed --------------------------------------------------------------------------------------------------------------

KILLED = """
import os, sys
from datetime import UTC, datetime
from tracker.services.desk import Desk
from tracker.services.share import share
from tracker.services.share_asked import Asked
from tracker.store.open_clone import open_clone
from tracker.store.sharing import Sharing
from tracker.store.sharing_wire import Wire
from tracker.wiring import open_clock

stop = sys.argv[2]

def step(name):
    if name == stop:
        os._exit(9)

clone = open_clone(sys.argv[1])
clock = open_clock()
share(Desk(repo=clone, clock=clock, email="np@shop.example"),
      Sharing(clone, Wire(git=clone.git), step), Asked())
"""


@pytest.mark.parametrize("stop", ["noted", "file", "files", "staged", "moved"])
def test_killed_in_the_middle_the_next_goes_on(two, place, project, stop):
    office, floor = two
    edit(office, DEEPER, "deeper")
    hold(office, "gauge out", "dg")
    office.run("share")
    hold(floor, "tool broke", "ss")
    floor.put("mine.txt", "mine")
    before = tip(floor)
    done = subprocess.run([sys.executable, "-c", KILLED, str(floor.folder), stop], cwd=project, check=False)
    assert done.returncode == 9
    assert (tip(floor) == before) is (stop != "moved")
    edit(office, FASTER, "faster")
    office.run("share")
    floor.run("share")
    assert there(place) == tip(floor)
    assert floor.git("status", "--porcelain") == "?? mine.txt"
    assert (floor.folder / PROGRAM).read_text() == FASTER
    assert not list((floor.folder / ".git/proveout").glob("share-moving*"))


STOPS = ["noted", "file", "files", "staged", "moved"]


def kill(shop: ShopFolder, project, stop: str) -> None:
    done = subprocess.run([sys.executable, "-c", KILLED, str(shop.folder), stop], cwd=project, check=False)
    assert done.returncode == 9


def revisions(shop: ShopFolder) -> int:
    """Of op10, as the branch holds them."""
    names = shop.git("ls-tree", "-r", "--name-only", "HEAD", "jobs/4471/records/op10/").splitlines()
    return sum(re.fullmatch(r"r\d{4}-\w{8}\.toml", name.rpartition("/")[2]) is not None for name in names)


@pytest.fixture
def incoming(two):
    """The office has r2 of the program, which the floor has not yet; the floor has a hold of its own."""
    office, floor = two
    edit(office, DEEPER, "deeper")
    office.run("share")
    hold(floor, "tool broke", "ss")
    return office, floor


@pytest.mark.parametrize("stop", STOPS)
def test_what_a_killed_share_brought_is_never_checked_in_as_ones_own(incoming, place, project, stop):
    office, floor = incoming
    kill(floor, project, stop)
    said = floor.json("checkin", "4471", "-m", "mine?", "--by", "np")
    assert (said["revisions"], said["unchanged"]) == ([], ["4471/op10"])
    assert (floor.folder / PROGRAM).read_text() == DEEPER
    assert revisions(floor) == 2
    assert clean(floor)
    floor.run("share")
    assert there(place) == tip(floor)
    office.run("share")
    assert revisions(office) == 2


@pytest.mark.parametrize("stop", STOPS)
def test_an_edit_made_behind_a_killed_share_is_told_where_nobody_can_tell_what_it_is_of(
    incoming, place, project, stop
):
    _, floor = incoming
    kill(floor, project, stop)
    before = tip(floor)
    floor.put(PROGRAM, FASTER)
    got, out, err = floor.call("checkin", "4471", "-m", "faster", "--by", "np")
    if stop == "moved":  # it is through: the edit is one of what came in, and goes back to the old depth
        assert got == 0
        return
    assert (got, "[share-cut-short]" in err, PROGRAM in err) == (1, True, True), out + err
    assert (tip(floor), revisions(floor)) == (before, 1)
    assert "[share-cut-short]" in floor.run("share", status=1)
    hold(floor, "and what stops use is not hindered", "np")
    assert "[share-cut-short]" in floor.run("checkin", "4471", "-m", "faster", "--by", "np", status=1)
    assert (floor.folder / PROGRAM).read_text() == FASTER
    (floor.folder / PROGRAM).rename(place / "aside.nc")
    floor.run("share")
    assert there(place) == tip(floor)
    assert (floor.folder / PROGRAM).read_text() == DEEPER
    edit(floor, FASTER, "faster, and up again")
    assert revisions(floor) == 3
    assert clean(floor)


@pytest.mark.parametrize("stop", STOPS[:-1])
def test_recorded_by_git_itself_behind_a_killed_share(incoming, place, project, stop):
    """The branch is elsewhere by then: what came in is put back as the branch has it, and comes again."""
    _, floor = incoming
    kill(floor, project, stop)
    floor.put("notes.txt", "by hand")
    floor.git("add", "notes.txt")
    floor.git("commit", "-qm", "by hand", "--only", "notes.txt")
    said = floor.json("checkin", "4471", "-m", "mine?", "--by", "np")
    assert (said["revisions"], said["unchanged"]) == ([], ["4471/op10"])
    assert (floor.folder / PROGRAM).read_text() == MAIN
    assert clean(floor)
    floor.run("share")
    assert (floor.folder / PROGRAM).read_text() == DEEPER
    assert there(place) == tip(floor)
    assert clean(floor)


@pytest.mark.parametrize("stop", STOPS[:-1])
def test_another_branch_in_hand_behind_a_killed_share(incoming, project, stop):
    _, floor = incoming
    kill(floor, project, stop)
    floor.git("symbolic-ref", "HEAD", "refs/heads/other")
    floor.git("branch", "other", "main~1")
    floor.run("status")
    assert (floor.folder / PROGRAM).read_text() == MAIN
    assert floor.git("diff", "--name-only", "--", PROGRAM) == ""
    assert floor.git("diff", "--cached", "--name-only", "--", PROGRAM) == ""


def test_a_note_of_commits_that_are_gone_is_told(incoming, project):
    _, floor = incoming
    kill(floor, project, "files")
    note = floor.folder / ".git/proveout/share-moving.json"
    note.write_text(note.read_text().replace(floor.git("rev-parse", "HEAD"), "0" * 40), encoding="ascii")
    text = note.read_text()
    at = text.index('"to": "') + 7
    note.write_text(text[:at] + "1" * 40 + text[at + 40 :], encoding="ascii")
    said = floor.run("share", status=1)
    assert "[share-cut-short]" in said
    assert "share-moving.json" in said


def test_somebody_records_in_the_same_clone_while_a_share_moves_it(incoming, place):
    """The branch has moved when the share wants to: what it had put there goes back, and it begins again on top."""
    from tracker.services.desk import Desk
    from tracker.services.share import share
    from tracker.services.share_asked import Asked
    from tracker.store.open_clone import open_clone
    from tracker.store.sharing import Sharing
    from tracker.store.sharing_wire import Wire
    from tracker.wiring import open_clock

    _, floor = incoming
    met = []

    def step(name: str) -> None:
        if name == "staged" and not met:
            met.append(name)
            hold(floor, "meanwhile", "np")

    clone = open_clone(str(floor.folder))
    desk = Desk(repo=clone, clock=open_clock(), email="np@shop.example")
    report = share(desk, Sharing(clone, Wire(git=clone.git), step), Asked())
    assert (met, report.complete, report.sent) == (["staged"], True, 3)
    assert there(place) == tip(floor)
    assert (floor.folder / PROGRAM).read_text() == DEEPER
    assert clean(floor)


def test_nothing_it_touches_is_checked_in_while_a_share_moves_the_clone(incoming):
    from tracker.store.open_clone import open_clone
    from tracker.store.share_lock import ShareLock

    _, floor = incoming
    floor.git("fetch", "-q")
    clone = open_clone(str(floor.folder))
    from tracker.store.sharing_note import Note, put_note
    from tracker.wiring import open_clock

    note = Note(
        branch="main", old=tip(floor), new=floor.git("rev-parse", "origin/main"), at=open_clock().now()
    )
    put_note(clone.git_dir, note)
    lock = ShareLock(clone.git_dir)
    assert lock.take()
    floor.put(PROGRAM, FASTER)
    assert "[sharing]" in floor.run("checkin", "4471", "-m", "faster", "--by", "np", status=4)
    lock.release()


def test_two_shares_at_once_in_one_clone(two):
    from tracker.store.open_clone import open_clone
    from tracker.store.sharing import Sharing
    from tracker.store.sharing_wire import Wire

    office, _ = two
    clone = open_clone(str(office.folder))
    held = Sharing(clone, Wire(git=clone.git))
    held.begin()
    assert "[sharing]" in office.run("share", status=4)
    held.end()
    office.run("share")


def test_a_shallow_clone_is_no_ground(two, place, capsys, monkeypatch):
    office, _ = two
    edit(office, DEEPER, "deeper")
    office.run("share")
    git(place, "clone", "-q", "--depth", "1", (place / "server.git").as_uri(), "shallow")
    assert "[shallow]" in ShopFolder(place / "shallow", capsys, monkeypatch).run("share", status=4)


# -- other branches -------------------------------------------------------------------------------------------------------


def test_a_hold_on_a_side_branch_is_told_to_who_keeps_it_and_to_who_gets_it(two):
    office, floor = two
    office.git("switch", "-q", "-c", "side")
    hold(office, "chatter", "np")
    office.git("switch", "-q", "main")
    said = office.json("share", status=1)
    assert (said["complete"], said["only_here"]) == (False, [{"branch": "side", "records": 1}])
    said = office.run("share", status=1)
    assert "hold the same" not in said
    assert "On this PC only: 1 record on branch side" in said
    office.git("switch", "-q", "side")
    office.run("share")
    office.git("switch", "-q", "main")
    assert office.json("share")["only_here"] == []
    first = floor.json("share")
    assert (first["complete"], first["branches_received"]) == (True, [{"branch": "side", "changes": 1}])
    assert floor.rows("--job", "4471")[0]["standing"] == "held"
    assert floor.json("share")["branches_received"] == []
    assert "hold the same" in floor.run("share")


def test_a_branch_the_shared_repository_has_no_more_is_told(two, place):
    office, floor = two
    office.git("switch", "-q", "-c", "side")
    hold(office, "chatter", "np")
    office.run("share")
    floor.run("share")
    git(place / "server.git", "update-ref", "-d", "refs/heads/side")  # past every gate
    said = floor.json("share", status=1)
    assert (said["complete"], said["only_here"]) == (False, [{"branch": "side", "records": 1}])
    floor.git("switch", "-q", "side")  # as the answer says; git makes it of what it fetched
    floor.run("share")
    floor.git("switch", "-q", "main")
    assert floor.json("share")["complete"] is True


def test_a_branch_merged_here_or_without_records_is_nothing_to_tell(two):
    office, _ = two
    office.git("switch", "-q", "-c", "side")
    hold(office, "chatter", "np")
    office.git("switch", "-q", "-c", "trial", "main")
    office.put("notes.txt", "soft jaws")
    office.git("add", "notes.txt")
    office.git("commit", "-q", "-m", "notes")
    office.git("switch", "-q", "main")
    office.git("merge", "-q", "--no-edit", "side")
    said = office.json("share")
    assert (said["complete"], said["sent"], said["only_here"]) == (True, 1, [])
