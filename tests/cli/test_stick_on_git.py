"""The stick on real git and a real folder: out, edited at the control, home, taken in, out again."""

import pytest

from tests.fakes.shop_folder import CALLED, JOB, MAIN, PROGRAM, SHOP, SUB, ShopFolder, git


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    folder = tmp_path / "Werkstatt S\u00fcd"
    folder.mkdir()
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-02T09:00:00Z")
    made.begin()
    made.prove()
    made.run("release", "4471", "--by", "dg", "--yes")
    made.at("2026-02-06T09:00:00Z")
    return made


@pytest.fixture
def stick(tmp_path):
    folder = tmp_path / "BLUE-1"
    folder.mkdir()
    return folder


def export(shop: ShopFolder, stick, *more: str, status: int = 0):
    return shop.json("export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", *more, status=status)


def test_there_and_back_with_an_edit(shop, stick):
    said = export(shop, stick)
    assert git(shop.folder, "log", "-1", "--format=%s|%an") == "export MILL2 to BLUE-1: 2 programs|Sol Shim"
    assert git(shop.folder, "ls-files", "records") == said["record"]
    at_control = stick / "MILL2" / "O1001.NC"
    edit = at_control.read_bytes().replace(b"F15.", b"F12.5")
    at_control.write_bytes(edit)
    shop.at("2026-02-16T09:00:00Z")
    verdicts = {
        one["file"]: one["verdict"]
        for one in shop.json("collect", str(stick), "--by", "ss", status=1)["files"]
    }
    assert verdicts == {"MILL2/O1001.NC": "changed-code", "MILL2/O1002.NC": "as-exported"}
    refused = export(shop, stick, status=1)
    assert refused["error"]["name"] == "collect-first"
    # somebody's other work, staged and not, is left as it is
    shop.put("notes.txt", "mine")
    git(shop.folder, "add", "notes.txt")
    shop.put(CALLED, SUB.replace("(HOME)", "(HOME POSITION)"))
    before = git(shop.folder, "status", "--porcelain")
    taken = shop.json(
        "collect", str(stick), "--checkin", "4471/op10", "--by", "ss", "-m", "less burr", status=1
    )
    assert taken["error"]["name"] == "uncommitted-edits"
    assert git(shop.folder, "status", "--porcelain") == before
    shop.put(CALLED, SUB)
    words = [
        "collect",
        str(stick),
        "--checkin",
        "4471/op10",
        "--by",
        "ss",
        "--entered-by",
        "np",
        "-m",
        "less burr",
    ]
    taken = shop.json(*words)
    assert [one["revision"] for one in taken["checked_in"]] == ["r2"]
    assert (shop.folder / PROGRAM).read_bytes() == edit
    assert git(shop.folder, "status", "--porcelain") == "A  notes.txt"
    assert git(shop.folder, "log", "-2", "--format=%an").splitlines() == ["Nora Pencil", "Sol Shim"]
    # until r2 is proved and released, r1 goes out, over the edit that is now in the record
    again = export(shop, stick)
    assert {one["file"]: one["action"] for one in again["files"]} == {
        "MILL2/O1001.NC": "replaced",
        "MILL2/O1002.NC": "unchanged",
    }
    assert b"F15." in at_control.read_bytes()
    assert shop.json("audit")["problems"] == []


def test_a_release_that_was_never_made_by_us_does_not_go_out(shop, stick):
    git(shop.folder, "-c", "core.hooksPath=/dev/null", "tag", "-a", "release/4471/2", "-m", "mine")
    assert [one["release"] for one in export(shop, stick)["files"]] == [1, 1]


def test_a_detached_head_is_refused_with_1(shop, stick):
    git(shop.folder, "checkout", "-q", "--detach")
    assert export(shop, stick, status=1)["error"]["name"] == "detached-head"
    assert shop.json("collect", str(stick), "--by", "ss", status=1)["error"]["name"] == "detached-head"
    assert list(stick.iterdir()) == []


def test_a_shallow_clone_cannot_tell(shop, stick, tmp_path, capsys, monkeypatch):
    git(tmp_path, "clone", "-q", "--depth", "1", shop.folder.as_uri(), "shallow")
    clone = ShopFolder(tmp_path / "shallow", capsys, monkeypatch)
    assert export(clone, stick, status=4)["error"]["name"] == "shallow"
    assert clone.json("collect", str(stick), status=4)["error"]["name"] == "shallow"
    assert list(stick.iterdir()) == []


def test_identify_from_any_folder(shop, tmp_path):
    shop.put("found.nc", MAIN.replace("N60 ", "").replace("(PLATE)", ""))
    (one,) = shop.json("identify", "found.nc", "--machine", "MILL2")["files"]
    assert (one["identity"], one["revision"], one["may_run"]) == ("known", "r1", True)
    shop.put("found.nc", MAIN.replace("Z-1.16", "Z-1.6"))
    (one,) = shop.json("identify", "found.nc", "--machine", "MILL2", status=1)["files"]
    assert (one["identity"], one["kinds"], one["may_run"]) == ("changed", ["motion"], False)


def test_the_stick_may_be_named_from_the_shops_folder(shop):
    (shop.folder / "sticks" / "RED-2").mkdir(parents=True)
    assert export(shop, "sticks/RED-2")["stick"] == "RED-2"
    assert (shop.folder / "sticks/RED-2/MILL2/O1001.NC").exists()


@pytest.mark.parametrize(
    "named", [("--to", "RED-1"), ("--to", "red-1"), ("--stick", "RED-1"), ("--to", "path")]
)
def test_a_stick_of_shop_toml_goes_by_its_name_whatever_its_folder_is_called(shop, stick, named):
    """Else its export would be one of a stick nobody owns, and a recall would name that."""
    listed = f'[[sticks]]\nname = "RED-1"\nowner = "ss"\npath = \'{stick}\'\n'
    shop.put("shop.toml", SHOP.replace("[[people]]", '[policy]\nsticks = "owned"\n[[people]]', 1) + listed)
    git(shop.folder, "commit", "-qm", "sticks", "shop.toml")
    words = [str(stick) if one == "path" else one for one in named]
    said = shop.json("export", "--machine", "MILL2", *words, "--by", "ss")
    assert (said["stick"], said["owner"]) == ("RED-1", "ss")
    assert (stick / "MILL2" / "O1001.NC").exists()


def test_a_stick_of_shop_toml_is_found_by_itself_and_its_owner_recorded(shop, stick):
    listed = f'[[sticks]]\nname = "BLUE-1"\nowner = "ss"\npath = \'{stick}\'\n'
    shop.put("shop.toml", SHOP.replace("[[people]]", '[policy]\nsticks = "owned"\n[[people]]', 1) + listed)
    git(shop.folder, "commit", "-qm", "sticks", "shop.toml")
    said = shop.json("export", "--machine", "MILL2", "--stick", "blue-1", "--by", "ss")
    assert (stick / "MILL2" / "O1001.NC").exists()
    record = (shop.folder / said["record"]).read_text(encoding="utf-8")
    assert 'owner = "ss"' in record
    assert 'stick = "BLUE-1"' in record  # one stick goes by one name, whatever its letters
    assert shop.json("export", "--machine", "MILL2", "--to", "BLUE-1", "--by", "ss")["stick"] == "BLUE-1"
    assert shop.json("collect", str(stick), "--stick", "Blue-1", "--by", "ss")["stick"] == "BLUE-1"
    away = shop.json("export", "--machine", "MILL2", "--to", "GREEN-9", "--by", "ss", status=2)
    assert away["error"]["name"] == "no-stick"
    (stick.parent / "RED-2").mkdir()
    refused = shop.json(
        "export", "--machine", "MILL2", "--to", str(stick.parent / "RED-2"), "--by", "ss", status=1
    )
    assert refused["error"]["name"] == "stick-without-owner"
    nowhere = shop.json("export", "--machine", "MILL2", "--stick", "RED-2", "--by", "ss", status=2)
    assert nowhere["error"]["name"] == "unknown-stick"
    neither = shop.json("export", "--machine", "MILL2", "--by", "ss", status=2)
    assert neither["error"]["name"] == "wrong-call"
    assert list((stick.parent / "RED-2").iterdir()) == []


def test_a_mirror_takes_off_what_was_withdrawn_and_keeps_what_is_not_ours(shop, stick):
    export(shop, stick)
    (stick / "MILL2" / "NOTES.TXT").write_bytes(b"mine")
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    plan = export(shop, stick, "--mirror", "--dry-run", status=1)
    assert plan["decisions"] == ["MILL2/NOTES.TXT is in no record: collect it, or take it off by hand"]
    assert [one["file"] for one in plan["leaves"]] == ["MILL2/O1001.NC", "MILL2/O1002.NC"]
    assert plan["unknown"] == ["MILL2/NOTES.TXT"]
    assert (stick / "MILL2" / "O1001.NC").exists()
    export(shop, stick, "--mirror", status=1)
    assert sorted(one.name for one in (stick / "MILL2").iterdir()) == [
        "NOTES.TXT",
        "PROVEOUT.JSON",
        "READ-ME.TXT",
    ]
    places = shop.json("where", "4471/op10@r1")
    assert (places["machines"], places["sticks"]) == (["MILL2"], ["BLUE-1"])


def test_a_deviation_opens_every_status_until_it_is_over_and_countersigned(shop, stick):
    shop.put(PROGRAM, MAIN.replace("F15.", "F12.5"))
    shop.run("checkin", "4471/op10", "--by", "np", "-m", "less burr")
    why = ("-m", "spindle of MILL3 is down and the lot is due")
    said = export(shop, stick, "--deviation", "4471/op10@r2", *why, "--hours", "8", "--lot", "L7")
    assert (said["purpose"], said["folder"]) == ("deviation", "MILL2/DEVIATION")
    assert "DEVIATION - NOT RELEASED" in (stick / "MILL2/DEVIATION/O1001.NC").read_text("ascii")
    assert git(shop.folder, "tag") == "release/4471/1"
    (one,) = shop.json("status", "--job", "4471")["deviations"]
    assert (one["state"], one["lot"], one["ends"]) == ("owed", "L7", "2026-02-06T17:00:00Z")
    shop.at("2026-02-07T09:00:00Z")
    assert shop.run("status").startswith("DEVIATION OVERDUE: 4471/op10 r2 on MILL2 by ss, lot L7")
    sign = ("countersign", "4471/op10@r2", "--machine", "MILL2", "-m", "watched it", "--yes")
    refused = shop.json(*sign, "--by", "ss", status=1)
    assert refused["error"]["name"] == "wrong-role"
    shop.run(*sign, "--by", "dg")
    assert "deviations" not in shop.json("status", "--job", "4471")


@pytest.mark.parametrize(
    "words",
    [
        ("--deviation", "4471/op10", "--for-proving", "4471/op10"),
        ("--deviation", "4471/op10", "4471"),
        ("--mirror", "4471"),
        ("--mirror", "--for-proving", "4471/op10"),
        ("--hours", "8"),
        ("--lot", "L7"),
        ("-m", "why not"),
    ],
)
def test_options_that_do_not_go_together(shop, stick, words):
    assert export(shop, stick, *words, status=2)["error"]["name"] == "wrong-call"
    assert list(stick.iterdir()) == []


def moved(shop: ShopFolder, new: str) -> None:
    """The main program of 4471/op10 lies elsewhere from now on, and is released there."""
    (shop.folder / "jobs/4471" / new).parent.mkdir(exist_ok=True)
    git(shop.folder, "mv", PROGRAM, f"jobs/4471/{new}")
    shop.put("jobs/4471/job.toml", JOB.replace("op10/O1001.nc", new))
    shop.run("checkin", "4471", "--by", "np", "-m", "moved")


def test_a_program_the_office_moved_goes_out_over_its_own_copy(shop, stick, tmp_path):
    export(shop, stick)
    moved(shop, "first side/O1001.nc")
    shop.run("release", "4471", "--by", "dg", "--yes")
    actions = {one["file"]: one["action"] for one in export(shop, stick)["files"]}
    assert actions == {"MILL2/O1001.NC": "replaced", "MILL2/O1002.NC": "replaced"}
    assert b"REL 2 MILL2)" in (stick / "MILL2/O1001.NC").read_bytes()
    edit = (stick / "MILL2/O1001.NC").read_bytes().replace(b"F15.", b"F12.5")
    (stick / "MILL2/O1001.NC").write_bytes(edit)
    shop.run("collect", str(stick), "--checkin", "4471", "--by", "ss", "-m", "less burr")
    assert {one["action"] for one in export(shop, stick)["files"]} == {"replaced", "unchanged"}


def test_a_copy_of_a_program_the_office_only_moved_is_not_called_in(shop, stick, tmp_path):
    export(shop, stick)
    moved(shop, "first side/O1001.nc")
    shop.run("release", "4471", "--by", "dg", "--yes")
    (tmp_path / "RED-2").mkdir()
    assert export(shop, tmp_path / "RED-2")["call_in"] == []


def test_an_edit_of_a_program_the_office_moved_since_is_gone_over_once_it_is_taken_in(shop, stick):
    export(shop, stick)
    moved(shop, "first side/O1001.nc")
    at_control = stick / "MILL2/O1001.NC"
    at_control.write_bytes(at_control.read_bytes().replace(b"F15.", b"F12.5"))
    shop.run("collect", str(stick), "--checkin", "4471", "--by", "ss", "-m", "less burr")
    export(shop, stick)  # release 1, which knows the program where it lay then
    assert b"F15." in at_control.read_bytes()


def test_a_called_program_another_job_has_too_is_not_gone_over_by_a_jobs_own(shop, stick):
    job = JOB.replace("4471", "4502").replace("O1001", "O2001")
    shop.put("jobs/4502/job.toml", job)
    shop.put("jobs/4502/op10/O2001.nc", MAIN.replace("O1001", "O2001"))
    shop.run("checkin", "4502", "--by", "np", "-m", "first issue")
    export(shop, stick)
    git(shop.folder, "mv", CALLED, "jobs/4471/O1002.nc")
    shop.run("checkin", "4471", "--by", "np", "-m", "its own now")
    shop.run("release", "4471", "--by", "dg", "--yes")
    assert export(shop, stick, "4471", status=1)["error"]["name"] == "name-taken"


def test_a_text_taken_in_on_another_branch_is_not_called_an_older_one(shop, stick):
    export(shop, stick)
    at_control = stick / "MILL2/O1001.NC"
    at_control.write_bytes(at_control.read_bytes().replace(b"F15.", b"F12.5"))
    git(shop.folder, "checkout", "-q", "-b", "aside")
    shop.run("collect", str(stick), "--checkin", "4471", "--by", "ss", "-m", "less burr")
    git(shop.folder, "checkout", "-q", "-")
    said = {one["file"]: one for one in shop.json("collect", str(stick), "--by", "ss", status=1)["files"]}
    one = said["MILL2/O1001.NC"]
    assert (one["verdict"], one["revision"]) == ("stale", "r2")
    assert one["message"] == (
        "a revision of another branch, which is not brought together with this one; released is r1 (release 1). "
        "Not to be run."
    )


def longer(shop: ShopFolder) -> None:
    """T4 is to stick out further; the text stays, and r2 is proved and released."""
    shop.put("jobs/4471/job.toml", JOB.replace("2.5", "2.9"))
    shop.run("checkin", "4471", "--by", "np", "-m", "T4 touched the clamp")
    shop.prove(revision="r2")
    shop.run("release", "4471", "--by", "dg", "--yes")


def test_of_a_stick_whose_setup_sheet_was_changed_since_it_is_said(shop, stick):
    export(shop, stick)
    longer(shop)
    files = shop.json("collect", str(stick), "--by", "ss", status=1)["files"]
    assert {(one["verdict"], one["revision"]) for one in files} == {("as-exported", "r2")}
    assert all(one["message"].endswith("its setup sheet was changed since r1: export again") for one in files)
    at_control = stick / "MILL2/O1001.NC"
    at_control.write_bytes(at_control.read_bytes().replace(b"N30 ", b"N31 "))
    said = shop.run("collect", str(stick), "--by", "ss", status=1)
    assert "same code as r2" in said
    assert "DECIDE: MILL2/O1001.NC, MILL2/O1002.NC: went out with a setup sheet that was changed" in said
    at_control.write_bytes(at_control.read_bytes().replace(b"N31 ", b"N30 "))
    export(shop, stick)
    assert "Nothing to decide" in shop.run("collect", str(stick), "--by", "ss")


@pytest.mark.parametrize("edit", [(b"", b""), (b"N30 ", b"N31 ")])
def test_a_file_that_went_out_with_another_setup_sheet_is_told_so_by_itself(shop, stick, edit):
    export(shop, stick)
    at_control = stick / "MILL2/O1001.NC"
    at_control.write_bytes(at_control.read_bytes().replace(*edit, 1))
    words = ("identify", str(at_control), "--machine", "MILL2")
    assert "setup sheet was changed" not in shop.run(*words)
    longer(shop)
    (one,) = shop.json(*words)["files"]
    assert (one["revision"], one["may_run"]) == ("r2", True)
    assert one["reason"].endswith("; it went out as r1, and its setup sheet was changed since: export again")


def test_a_run_off_a_stick_is_one_of_the_revision_that_went_out_by_its_sheet(shop, stick):
    export(shop, stick)
    longer(shop)
    run = ("ran", str(stick), "--by", "ss", "--yes", "--lot")
    assert "4471/op10 r1: ran on MILL2" in shop.run(*run, "L1")
    export(shop, stick)
    assert "4471/op10 r2: ran on MILL2" in shop.run(*run, "L2")


def test_a_called_program_an_unproved_text_has_in_common_is_not_called_released(shop, stick):
    shop.put(PROGRAM, MAIN.replace("F15.", "F18."))
    shop.run("checkin", "4471", "--by", "np", "-m", "faster")
    shop.run("export", "--for-proving", "4471", "--machine", "MILL2", "--to", str(stick), "--by", "ss")
    files = shop.json("collect", str(stick), "--by", "ss", status=1)["files"]
    day = "r2, written 6 Feb 2026 by ss, UNPROVEN, for its prove-out only"
    assert {one["file"]: one["message"] for one in files} == {
        "MILL2/FOR-PROVING/O1001.NC": day,
        "MILL2/FOR-PROVING/O1002.NC": day,
    }


def test_of_all_a_control_sent_in_one_file_the_programs_of_the_operation_are_proved(shop, stick, tmp_path):
    """That a control sends all it holds in one file is common practice, no source."""
    job = JOB.replace("4471", "4502").replace("O1001", "O2001")
    shop.put("jobs/4502/job.toml", job)
    shop.put("jobs/4502/op10/O2001.nc", MAIN.replace("O1001", "O2001").replace("Z-1.16", "Z-0.5"))
    shop.run("checkin", "4502", "--by", "np", "-m", "first issue")
    export(shop, stick)
    other = (shop.folder / "jobs/4502/op10/O2001.nc").read_bytes()
    held = [(stick / "MILL2" / name).read_bytes() for name in ("O1001.NC", "O1002.NC")]
    texts = b"".join(text.replace(b"%\r\n", b"") for text in held) + other.replace(b"%\n", b"")
    dump = tmp_path / "O1001.nc"
    prove = ("prove", "4471", "--machine", "MILL2", "--by", "ss", "--accept", "--first-piece", "report 2232")
    prove += ("--answers", shop.answers(), "--yes", "--ran", str(dump))
    dump.write_bytes(b"%\r\n" + texts + b"%\r\n")
    assert "Checked in first" not in shop.run(*prove)
    dump.write_bytes(b"%\r\n" + texts.replace(b"Z-1.16", b"Z-1.2") + b"%\r\n")
    assert "Checked in first: 4471/op10 r2." in shop.run(*prove)
    taken = (shop.folder / PROGRAM).read_bytes()
    assert b"Z-1.2 " in taken
    assert b"O1002" not in taken
    assert b"O2001" not in taken
    assert (shop.folder / CALLED).read_bytes() == SUB.encode()


def test_an_edit_of_a_job_whose_folder_was_moved_whole_is_said_to_be_one_that_cannot_be_compared(shop, stick):
    export(shop, stick)
    at_control = stick / "MILL2" / "O1001.NC"
    at_control.write_bytes(at_control.read_bytes().replace(b"F15.", b"F12.5"))
    git(shop.folder, "mv", "jobs/4471", "jobs/4471-old")
    git(shop.folder, "commit", "-qm", "put away")
    said = shop.json("collect", str(stick), "--by", "ss", "--dry-run", status=1)
    found = next(one for one in said["files"] if one["file"] == "MILL2/O1001.NC")
    assert (found["verdict"], found["job"], found["operation"]) == ("unknown", "4471", "op10")
    assert "4471/op10 r1, whose text cannot be read back from the record: proveout audit" in found["message"]
    shown = shop.run("collect", str(stick), "--by", "ss", "--dry-run", status=1)
    assert "Adopt it" not in f"{shown}"
    one = shop.json("identify", str(at_control), "--machine", "MILL2", status=1)["files"][0]
    assert (one["identity"], one["may_run"]) == ("unknown", False)
    assert "whose text cannot be read back" in one["reason"]


def test_what_to_leave_out_beside_a_mirror_is_named(shop, stick):
    for more, fix in ((("4471",), "leave the names out"), (("--for-proving", "4471"), "leave --mirror out")):
        refused = export(shop, stick, "--mirror", *more, status=2)
        assert (refused["error"]["name"], refused["error"]["fix"]) == ("wrong-call", fix)
