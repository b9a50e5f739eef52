"""Records that only stop use go out by themselves wherever the rest of a share cannot, and none of them stays here unsaid."""

from tests.fakes.shop_folder import PROGRAM
from tests.server.sharing import edit, faster, hold, refused_record, stops_there, there
from tests.server.world import stamp


def shared(world, status=1):
    """The reasons share gives, as one text."""
    return " ".join(world.shop.json("share", "--by", "ss", status=status)["error"]["reasons"])


def theirs_changed(world):
    other = world.second()
    other.write(PROGRAM, other.read(PROGRAM).replace("S2000", "S1800"))
    other.shop.run("checkin", "4471", "-m", "slower", "--by", "np")
    other.shop.run("share", "--by", "np")
    return other


def hold_of_long_ago(world, **ago):
    """A hold that waits here since then: its record and its commit say so."""
    hold(world, "chatter")
    path = world.git("diff", "--name-only", "HEAD~1", "HEAD")
    at = world.now(**ago)
    name = path.replace(path.rpartition("/")[2].split("-hold-")[0], f"{at:%Y%m%dT%H%M%SZ}")
    lines = [
        f'{line.split(" = ")[0]} = "{stamp(at)}"' if line.startswith(("at = ", "entered = ")) else line
        for line in world.read(path).splitlines()
    ]
    world.git("reset", "-q", "--soft", "HEAD~1")
    world.git("mv", path, name)
    world.write(name, "\n".join(lines) + "\n")
    world.commit("hold of long ago", who="ss", at=at)
    return name


def test_a_hold_goes_out_although_the_server_turns_the_rest_away(world):
    refused_record(world)
    edit(world, "np")
    hold(world, "chatter")
    error = world.shop.json("share", "--by", "ss", status=1)["error"]
    assert error["name"] == "push-refused"
    (path,) = stops_there(world)
    assert f"sent all the same, since it only stops use: {path}" in error["reasons"]
    assert world.git("show", f"main:{path}", folder=world.server) == world.git("show", f"HEAD:{path}")
    other = world.second()
    held = other.shop.json("status")
    assert "chatter" in str(held)


def test_what_went_out_alone_is_brought_together_once_the_rest_may_go(world):
    refused_record(world)
    hold(world, "chatter")
    edit(world, "np")
    world.shop.json("share", "--by", "ss", status=1)
    hold(world, "again")
    world.shop.json("share", "--by", "ss", status=1)
    assert len(stops_there(world)) == 2
    world.git("branch", "aside")
    world.git("reset", "-q", "--keep", "origin/main")
    world.git("checkout", "-q", "aside", "--", PROGRAM)
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.git("branch", "-D", "aside")
    assert world.shop.json("share", "--by", "np")["complete"]
    assert there(world) == world.head
    assert world.shop.json("audit")["problems"] == []
    assert len(stops_there(world)) == 2


def test_a_line_that_holds_a_stop_which_went_out_alone_goes_out_whole(world):
    """Nothing has to be made again where what was refused is let in later."""
    world.git("config", "proveout.maxfile", "1", folder=world.server)
    world.write("jobs/4471/scan.bin", "x" * (2 << 20))
    world.commit("a large scan")
    hold(world, "chatter")
    world.shop.json("share", "--by", "ss", status=1)
    (path,) = stops_there(world)
    world.git("config", "proveout.maxfile", "50", folder=world.server)
    said = world.shop.json("share", "--by", "ss")
    assert (said["complete"], said["received"]) == (True, 1)
    assert there(world) == world.head
    assert stops_there(world) == [path]
    assert world.shop.json("audit")["problems"] == []


def test_a_stop_that_is_refused_itself_keeps_no_other_back(world):
    refused_record(world)
    new = '[[people]]\ninitials = "zz"\nname = "Z Z"\nemail = "zz@shop.example"\nroles = ["setup"]\n'
    world.write("shop.toml", world.read("shop.toml") + new)
    world.shop.run("checkin", "shop.toml", "-m", "zz is new", "--by", "dg")
    hold(world, "nobody there knows zz", by="zz")
    hold(world, "chatter")
    error = world.shop.json("share", "--by", "np", status=1)["error"]
    (path,) = stops_there(world)
    assert path.endswith("-ss.toml")
    assert f"sent all the same, since it only stops use: {path}" == error["reasons"][-2]
    assert error["reasons"][-1].startswith(
        "NOT sent, so tell the others that this stops use: jobs/4471/records/"
    )
    assert error["reasons"][-1].endswith("-zz.toml")


def test_a_stop_that_waited_here_goes_out_behind_what_others_sent_since(world):
    """Its commit is of today: one that says it is older than what it follows is turned away."""
    refused_record(world)
    old, older = hold_of_long_ago(world, hours=-3), hold_of_long_ago(world, hours=-30)
    assert shared(world).count("sent all the same") == 2
    assert stops_there(world) == [older, old]
    dates = world.git("log", "-1", "--format=%ad %cd", "--date=short", "--", older, folder=world.server)
    assert dates == f"{world.now(hours=-30):%Y-%m-%d} {world.now():%Y-%m-%d}"


def test_somebody_is_faster_while_a_stop_goes_out(world):
    refused_record(world)
    hold(world, "chatter")
    other = world.second()
    hold(other, "theirs", by="np")
    faster(world, other)
    assert "sent all the same" in shared(world)
    assert (world.folder / ".git/done").exists()
    assert len(stops_there(world)) == 2


def test_a_stop_does_not_wait_until_somebody_chooses_between_two_edits(world):
    theirs_changed(world)
    edit(world, "np")
    hold(world, "chatter")
    assert world.shop.json("share", "--dry-run", status=1)["stops_sent"] == []
    assert stops_there(world) == []
    said = world.shop.json("share", "--by", "ss", status=1)
    assert (said["stops_sent"], said["stops_not_sent"]) == (stops_there(world), [])
    assert len(stops_there(world)) == 1
    hold(world, "again", by="dg")
    out = " ".join(world.shop.run("share", "--by", "ss", status=1).split())
    assert out.count("sent all the same, since it only stops use: jobs/") == 1
    said = world.shop.json("share", "--take", "theirs", PROGRAM, "--by", "np")
    assert said["complete"]
    assert len(stops_there(world)) == 2
    (problem,) = world.shop.json("audit", status=1)["problems"]
    assert problem["problem"] == "two-revisions"


def test_a_stop_does_not_wait_for_work_that_stands_in_the_way(world):
    theirs_changed(world)
    hold(world, "chatter")
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    mine = world.read(PROGRAM)
    assert "sent all the same" in shared(world)
    assert len(stops_there(world)) == 1
    assert world.read(PROGRAM) == mine
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    assert world.shop.json("share", "--take", "ours", PROGRAM, "--by", "np")["complete"]


def test_a_stop_that_cannot_go_out_even_alone_is_said_to_be_here_only(world):
    """Of a revision the others do not have, which is refused."""
    refused_record(world)
    edit(world, "np")
    world.shop.run("hold", "4471/op10@r2", "--by", "ss", "-m", "chatter")
    said = shared(world)
    assert "NOT sent, so tell the others that this stops use: jobs/4471/records/op10/" in said
    assert stops_there(world) == []


def test_a_branch_the_others_do_not_have_keeps_no_stop_unsaid(world):
    world.git("switch", "-q", "-c", "trial")
    refused_record(world)
    hold(world, "chatter")
    assert "NOT sent, so tell the others that this stops use: jobs/4471/records/op10/" in shared(world)


def test_of_a_stop_that_was_ended_here_it_is_said_that_its_end_waits(world):
    refused_record(world)
    hold(world, "chatter")
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "it was the holder", "--yes")
    assert "-hold-ss.toml; what ended it here waits with the rest" in shared(world)


def test_the_way_there_is_cut_off_after_the_first_of_two(world):
    refused_record(world)
    hold(world, "chatter")
    hold(world, "again", by="dg")
    hook = world.folder / ".git/hooks/pre-push"
    # the third push gets no answer
    hook.write_text("#!/bin/sh\necho . >> .git/pushes\n[ $(wc -l < .git/pushes) -lt 3 ]\n", encoding="utf-8")
    hook.chmod(0o755)
    said = shared(world)
    (path,) = stops_there(world)
    assert f"sent all the same, since it only stops use: {path}" in said
    assert said.count("NOT sent") == 1


def test_nothing_goes_into_a_record_that_has_nothing_in_common(world):
    bare = world.place / "another.git"
    world.git("clone", "-q", "--bare", str(world.server), str(bare), folder=world.place)
    tree = world.git("rev-parse", "main^{tree}", folder=bare)
    alone = world.git("commit-tree", tree, "-m", "begun anew", folder=bare)
    world.git("update-ref", "refs/heads/main", alone, folder=bare)
    world.git("remote", "set-url", "origin", str(bare))
    hold(world, "chatter")
    assert world.shop.json("share", "--by", "ss", status=1)["error"]["name"] == "unrelated"
    assert world.git("rev-parse", "main", folder=bare) == alone


def unguarded(world):
    """The shared repository is a plain folder: nothing looks at what it is sent."""
    (world.server / "hooks/pre-receive").unlink()


def test_a_stop_of_a_revision_of_here_only_goes_nowhere_and_leaves_the_record_whole(world):
    """Without what it is about it would be a fault of the record for ever, which a server that guards nothing takes in."""
    unguarded(world)
    theirs_changed(world)
    edit(world, "np")
    world.shop.run("hold", "4471/op10@r2", "--by", "ss", "-m", "chatter")
    said = world.shop.json("share", "--by", "ss", status=1)
    assert (said["stops_sent"], len(said["stops_not_sent"])) == ([], 1)
    assert stops_there(world) == []
    world.shop.json("share", "--take", "ours", PROGRAM, "--by", "np")
    assert len(stops_there(world)) == 1
    (problem,) = world.shop.json("audit", status=1)["problems"]
    assert problem["problem"] == "two-revisions"


def test_the_recall_of_a_release_goes_out_where_the_others_have_the_release(world):
    refused_record(world)
    world.shop.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    assert "sent all the same, since it only stops use: jobs/4471/records/" in shared(world)
    other = world.second()
    assert other.shop.json("status")["operations"][0]["standing"] == "withdrawn"
    assert other.shop.json("audit")["problems"] == []


def test_a_stop_by_somebody_the_others_do_not_list_is_not_sent_alone(world):
    unguarded(world)
    theirs_changed(world)
    new = '[[people]]\ninitials = "zz"\nname = "Z Z"\nemail = "zz@shop.example"\nroles = ["setup"]\n'
    world.write("shop.toml", world.read("shop.toml") + new)
    world.shop.run("checkin", "shop.toml", "-m", "zz is new", "--by", "dg")
    hold(world, "nobody there knows zz", by="zz")
    hold(world, "chatter")
    edit(world, "np")
    said = world.shop.json("share", "--by", "ss", status=1)
    assert [path.rpartition("-")[2] for path in said["stops_sent"]] == ["ss.toml"]
    assert [path.rpartition("-")[2] for path in said["stops_not_sent"]] == ["zz.toml"]
    world.shop.json("share", "--take", "theirs", PROGRAM, "--by", "np")
    problems = world.shop.json("audit", status=1)["problems"]
    assert [one["problem"] for one in problems] == ["two-revisions"]


def test_a_signed_stop_goes_out_alone_with_its_signature(signed):
    office, floor = signed.office, signed.floor
    office.write(PROGRAM, office.read(PROGRAM).replace("S2000", "S1800"))
    office.shop.run("checkin", "4471", "-m", "slower", "--by", "np")
    office.shop.run("share", "--by", "np")
    floor.write(PROGRAM, floor.read(PROGRAM) + "(NOTE)\n")
    floor.shop.run(
        "checkin", "4471", "-m", "note", "--by", "kp", status=1
    )  # a setup person takes in edits off a control
    floor.shop.run("hold", "4471/op10", "--by", "kp", "-m", "chatter")
    error = floor.shop.json("share", "--by", "kp", status=1)["error"]
    assert error["name"] == "in-the-way"
    (said,) = [one for one in error["reasons"] if one.startswith("sent all the same")]
    path = said.rpartition(": ")[2]
    assert office.git("cat-file", "-t", f"main:{path}.sig", folder=signed.server) == "blob"
    office.shop.run("share", "--by", "np")
    assert office.shop.json("audit")["problems"] == []
    rows = office.shop.json("audit", "--list", "signatures")["rows"]
    assert [row["verdict"] for row in rows if row["event"] == "hold"] == ["good"]
