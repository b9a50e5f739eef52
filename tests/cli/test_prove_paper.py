"""prove --paper, prove DIR and ran DIR at a terminal: the sheet is the form, the stick says the rest."""

import json

import pytest

from tests.fakes.floor import Floor
from tests.fakes.stick_shop import StickShop, edited, program, released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame

KEYS = [f"P{number}" for number in range(14) if number != 11]
FIGURES = ["P1=20", "P7=2", "P8=25", "P9=100", "P10=4.5"]


@pytest.fixture
def floor(monkeypatch):
    made = Floor()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    return made


@pytest.fixture
def shop(monkeypatch, tmp_path) -> StickShop:
    made = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    monkeypatch.chdir(tmp_path)
    main(["export", "--machine", "MILL2", "--to", str(tmp_path), "--stick", "BLUE-1", "--by", "ss"])
    for path in (tmp_path / "MILL2").glob("O1003*"):
        path.unlink()
    made.day(16)
    return made


def mark(floor) -> str:
    return floor.records("revision")[-1].operation_fingerprint[:8].upper()


def proof(floor):
    return floor.records("proof")[-1]


SIGN = ["prove", "4471/op10", "--machine", "MILL2", "--by", "ss", "--paper"]


# -- at a terminal -------------------------------------------------------------------------------------------------


def test_all_ticked_asks_the_figures_only(floor, typed, capsys):
    left = typed("y", "20", "2", "25", "100", "4.5", "a", "2231", mark(floor))
    assert main(SIGN) == 0, capsys.readouterr().err
    assert left.read() == ""
    assert (proof(floor).result, proof(floor).first_piece.report) == ("accepted", "2231")
    assert [step.step for step in proof(floor).steps] == KEYS
    assert all(step.done for step in proof(floor).steps)
    assert {step.step: step.value for step in proof(floor).steps if step.value} == {
        "P1": 20,
        "P7": 2,
        "P8": 25,
        "P9": 100,
        "P10": 4.5,
    }
    err = capsys.readouterr().err
    assert f"The sheet printed for id {mark(floor)}: P0 to P13." in err
    assert "type the id that is printed on the sheet" in err


def test_the_numbers_that_were_not_ticked_are_asked_for_a_reason(floor, typed):
    typed("n", "7, p12", "no room above the part", "", "20", "25", "100", "4,5", "a", "2231", mark(floor))
    assert main(SIGN) == 0
    by_key = {step.step: step for step in proof(floor).steps}
    assert (by_key["P7"].done, by_key["P7"].reason) == (False, "no room above the part")
    assert "P12" not in by_key
    assert by_key["P10"].value == 4.5


def test_a_required_step_that_was_not_ticked_needs_its_reason(floor, typed, capsys):
    typed("n", "6", "", "20", "2", "25", "100", "4.5", "a", "2231")
    assert main(SIGN) == 0
    assert proof(floor).result == "unfinished"
    assert "P6 (graphics) is neither done nor excused" in capsys.readouterr().err


def test_a_shift_that_was_not_used_is_left_empty(floor, typed):
    typed("y", "20", "", "25", "100", "4.5", "a", "2231", mark(floor))
    assert main(SIGN) == 0
    assert "P7" not in {step.step for step in proof(floor).steps}


def test_another_feed_than_100_needs_its_limit(floor, typed, capsys):
    typed("y", "20", "2", "25", "80", "4.5", "a", "2231")
    assert main(SIGN) == 0
    assert proof(floor).result == "unfinished"
    assert "at 80 percent" in capsys.readouterr().err


def test_slips_of_the_finger_are_asked_again(floor, typed, capsys):
    typed("n", "77", "7", "x", "", "0", "20", "fast", "25", "100", "4.5", "a", "2231", mark(floor))
    assert main(SIGN) == 0, capsys.readouterr().err
    assert proof(floor).result == "accepted"
    err = capsys.readouterr().err
    assert "the numbers are 0, 1, 2" in err
    assert "a number above 0, please" in err


def test_going_away_in_the_middle_records_nothing(floor, typed, capsys):
    typed("y", "20")
    assert main(SIGN) == 1
    assert floor.records("proof") == []
    err = capsys.readouterr().err
    assert "the sheet was not gone through to its end: nothing was recorded" in err


def test_named_by_the_id_on_the_sheet_a_yes_signs(floor, typed):
    left = typed("y", "20", "2", "25", "100", "4.5", "a", "2231", "y")
    assert main(["prove", mark(floor).lower(), "--machine", "MILL2", "--by", "ss", "--paper"]) == 0
    assert left.read() == ""
    assert proof(floor).result == "accepted"


def test_a_no_at_the_end_keeps_it_unfinished(floor, typed):
    typed("y", "20", "2", "25", "100", "4.5", "a", "2231", "n")
    assert main(["prove", mark(floor), "--machine", "MILL2", "--by", "ss", "--paper"]) == 0
    assert proof(floor).result == "unfinished"
    assert len(proof(floor).steps) == len(KEYS)


def test_the_id_of_another_sheet_signs_nothing(floor, typed, capsys):
    typed("y", "20", "2", "25", "100", "4.5", "a", "2231", *["00000000"] * 3)
    assert main(SIGN) == 1
    assert floor.records("proof") == []
    assert "[not-signed]" in capsys.readouterr().err


def test_a_rejection_from_paper(floor, typed):
    typed("n", "9 10", "burr", "", "20", "2", "25", "r", "program", "y")
    assert main(SIGN) == 0
    assert (proof(floor).result, proof(floor).cause) == ("rejected", "program")


def test_of_some_tools_the_short_list_is_asked(floor, typed):
    left = typed("", "y", "25", "100", "a", "2231", mark(floor))
    assert main([*SIGN, "--tools", "3"]) == 0
    assert left.read() == ""
    assert [step.step for step in proof(floor).steps] == ["P0", "P2", "P4", "P8", "P9"]


# -- off a terminal ------------------------------------------------------------------------------------------------


def words(*more):
    return [*SIGN, *more, *(word for one in FIGURES for word in ("--figure", one)), "--yes"]


def test_a_script_says_the_same_with_options(floor):
    assert (
        main(words("--accept", "--first-piece", "2231", "--not-done", "p12=none", "--not-done", "P13")) == 0
    )
    by_key = {step.step: step for step in proof(floor).steps}
    assert proof(floor).result == "accepted"
    assert (by_key["P12"].done, by_key["P12"].reason, "P13" in by_key) == (False, "none", False)


def test_without_figures_it_is_not_accepted(floor, capsys):
    assert main([*SIGN, "--accept", "--first-piece", "2231", "--yes"]) == 1
    err = capsys.readouterr().err
    assert "[steps-missing]" in err
    assert err.count("is done and lacks its figure") == 4
    assert floor.records("proof") == []


@pytest.mark.parametrize(
    "more",
    [
        ["--figure", "P99=1"],
        ["--figure", "P8=fast"],
        ["--figure", "P8=0"],
        ["--figure", "P8=nan"],
        ["--figure", "P0=1"],
        ["--figure", "8"],
        ["--not-done", "P11=x"],
        ["--not-done", ""],
        ["--not-done", "P7=no room", "--figure", "P7=2"],
        ["--not-done", "P7=no room", "--not-done", "p7=forgotten"],
        ["--figure", "P8=25", "--figure", "P8=50"],
        ["--answers", "form.toml"],
    ],
)
def test_what_is_no_step_and_no_figure_is_a_wrong_call(floor, capsys, more):
    assert main([*SIGN, *more, "--accept", "--yes"]) == 2
    assert "[wrong-call]" in capsys.readouterr().err


@pytest.mark.parametrize("more", [["--figure", "P8=25"], ["--not-done", "P7=x"]])
def test_they_go_with_paper_only(floor, capsys, more):
    assert main(["prove", "4471/op10", "--machine", "MILL2", "--by", "ss", *more, "--accept", "--yes"]) == 2
    assert "[wrong-call]" in capsys.readouterr().err


def test_paper_does_not_go_with_prior(floor, capsys):
    assert main([*SIGN, "--prior", "--evidence", "folder 3", "--yes"]) == 2
    assert "--prior takes" in capsys.readouterr().err


# -- straight from the stick ---------------------------------------------------------------------------------------


def ran_records(shop):
    return [one.record for one in shop.repo.ledger().records if one.record.EVENT == "ran"]


def test_a_repeat_run_asks_initials_and_how_it_went(shop, typed, tmp_path, capsys):
    answers = ("ss", "")
    left = typed(*answers)
    assert main(["ran", str(tmp_path)]) == 0, capsys.readouterr().err
    assert left.read() == ""
    (record,) = ran_records(shop)
    assert (record.by, record.machine, record.operation, record.reason) == ("ss", "MILL2", "op10", None)
    assert record.revision.startswith("r0001-")
    out, err = capsys.readouterr()
    assert "4471/op10 r1 on MILL2: MILL2/O1001.NC, MILL2/O1002.NC" in err
    assert "No lot is named. To name one: Ctrl-C, and again with --lot LOT." in err
    assert "ran on MILL2 on 16 Feb 2026" in out
    assert "no lot" not in out
    # four keys: two initials, Enter, Enter for yes
    assert sum(len(answer) + 1 for answer in answers) == 4


def test_a_run_from_a_stick_that_is_out_of_date_says_so(shop, tmp_path, capsys):
    call = ["ran", str(tmp_path), "--by", "ss", "--lot", "L7", "--yes"]
    assert main(call) == 0
    assert "is what is released now" not in "".join(capsys.readouterr())
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.day(17)
    assert main(call) == 0
    said = " ".join("".join(capsys.readouterr()).split())
    assert "r2 is what is released now (release 2), and r1 was run: export again" in said
    assert [record.revision[:5] for record in ran_records(shop)] == ["r0001", "r0001"]


def in_turn(said: str, *wanted: str) -> None:
    """These were said, one behind the other."""
    said, at = " ".join(said.split()), 0
    for words in wanted:
        at = said.find(words, at)
        assert at >= 0, f"{words!r} is not said in its turn:\n{said}"


def test_what_is_held_is_said_before_anything_is_asked(shop, typed, tmp_path, capsys):
    shop.hold("4471/op10")
    typed("ss", "")
    assert main(["ran", str(tmp_path)]) == 0
    in_turn(
        capsys.readouterr().err,
        "4471/op10 r1 on MILL2: MILL2/O1001.NC",
        "HELD on MILL2, may not run there: held by dg 16 Feb 2026: gauge out of calibration",
        "Your initials",
    )
    assert len(ran_records(shop)) == 1  # it was run, and that is kept


def test_of_several_a_held_one_is_offered_as_held(shop, typed, tmp_path, capsys):
    main(["export", "--machine", "MILL2", "--to", str(tmp_path), "--stick", "BLUE-1", "--by", "ss"])
    shop.hold("4471/op20")
    capsys.readouterr()
    typed("1", "ss", "")
    assert main(["ran", str(tmp_path)]) == 0
    said = capsys.readouterr().err
    in_turn(
        said,
        "1 4471/op10 r1 in MILL2 2 4471/op20 r1 in MILL2 (HELD) HELD on MILL2, may not run there: held by dg",
        "Which one? (1 to 2)",
        "4471/op10 r1 on MILL2",
        "Your initials",
    )
    assert said.count("may not run there") == 1  # op10 may


def test_what_is_out_of_date_is_said_before_anything_is_asked(shop, typed, tmp_path, capsys):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.day(17)
    typed("ss", "")
    assert main(["ran", str(tmp_path)]) == 0
    out_of_date = "r2 is what is released now (release 2), and r1 was run: export again"
    in_turn(capsys.readouterr().err, out_of_date, "Your initials")
    typed("ss", "")
    assert (
        main(["ran", str(tmp_path), "--date", "2026-02-12"]) == 0
    )  # of a run of another day nothing is said
    assert out_of_date not in " ".join(capsys.readouterr().err.split())


def test_the_keys_to_stop_at_the_last_question_put_nothing_down(shop, typed, tmp_path):
    typed("ss")
    assert main(["ran", str(tmp_path)]) == 130
    assert ran_records(shop) == []


def test_what_was_different_is_kept(shop, typed, tmp_path, capsys):
    typed("ss", "T4 changed after 12 pieces")
    assert main(["ran", str(tmp_path), "--lot", "L7"]) == 0
    assert "Lot L7.\n" in capsys.readouterr().err
    (record,) = ran_records(shop)
    assert (record.lot, record.reason) == ("L7", "T4 changed after 12 pieces")


def test_nothing_is_asked_where_the_call_says_it(shop, typed, tmp_path):
    left = typed("never read")
    assert main(["ran", str(tmp_path), "--by", "ss", "-m", "good", "--yes"]) == 0
    assert left.read() == "never read\n"


def test_off_a_terminal_initials_are_needed(shop, tmp_path, capsys):
    assert main(["ran", str(tmp_path)]) == 2
    assert "[who]" in capsys.readouterr().err
    assert ran_records(shop) == []


def test_an_edited_text_was_not_run_as_the_revision(shop, typed, tmp_path, capsys):
    path = tmp_path / "MILL2" / "O1001.NC"
    path.write_bytes(edited(path.read_bytes(), (b"F15.", b"F12.5")))
    left = typed("ss", "")
    assert main(["ran", str(tmp_path)]) == 1
    assert left.read() == "ss\n\n"  # refused before anything is asked
    said = capsys.readouterr().err
    assert "[edited-at-control]" in said
    assert "proveout collect DIR --checkin 4471/op10" in said
    assert ran_records(shop) == []


def test_of_several_operations_one_is_chosen_by_its_number(shop, typed, tmp_path, capsys):
    main(["export", "--machine", "MILL2", "--to", str(tmp_path), "--stick", "BLUE-1", "--by", "ss"])
    capsys.readouterr()
    left = typed("3", "x", "2", "ss", "")
    assert main(["ran", str(tmp_path)]) == 0, capsys.readouterr().err
    assert left.read() == ""
    assert [one.operation for one in ran_records(shop)] == ["op20"]
    err = capsys.readouterr().err
    assert "1  4471/op10 r1 in MILL2" in err
    assert "2  4471/op20 r1 in MILL2" in err
    assert main(["ran", str(tmp_path), "--by", "ss", "--yes"]) == 2
    assert "[which-operation]" in capsys.readouterr().err


def test_a_prove_out_straight_from_the_stick(shop, typed, tmp_path, capsys):
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8]
    left = typed("ss", "y", "20", "", "25", "100", "4.5", "a", "2231", mark)
    assert main(["prove", str(tmp_path)]) == 0, capsys.readouterr().err
    assert left.read() == ""
    record = [one.record for one in shop.repo.ledger().records if one.record.EVENT == "proof"][-1]
    assert (record.result, record.machine, record.by) == ("accepted", "MILL2", "ss")
    assert {file.raw_sha256 for file in record.files} != {
        file.raw_sha256 for file in shop.revision("4471/op10").record.files
    }


def test_json_asks_nothing_and_says_no_note(shop, typed, tmp_path, capsys):
    (tmp_path / "MILL2" / "PROVEOUT.JSON").write_bytes(b"{}")
    typed("ss", "")
    assert main(["ran", str(tmp_path), "--by", "ss", "--json"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["operation"] == "op10"
    assert err == ""


def test_a_forged_list_is_said_and_not_believed(shop, typed, tmp_path, capsys):
    listed = tmp_path / "MILL2" / "PROVEOUT.JSON"
    listed.write_bytes(listed.read_bytes().replace(b"op10", b"op20").replace(b"MILL2", b"MILL3"))
    typed("ss", "")
    assert main(["ran", str(tmp_path)]) == 0
    assert "note: MILL2/PROVEOUT.JSON: no export recorded here wrote this list" in capsys.readouterr().err
    assert [(one.operation, one.machine) for one in ran_records(shop)] == [("op10", "MILL2")]


@pytest.mark.parametrize("verb", ["prove", "ran"])
@pytest.mark.parametrize("place", ["{}/BLUE-1/MILL2", "../BLUE-1", "E:\\MILL2", "E:", "media/BLUE-1/MILL2"])
def test_a_stick_that_is_not_in_is_said_not_to_be_there(shop, tmp_path, capsys, verb, place):
    assert main([verb, place.format(tmp_path), "--by", "ss", "--yes"]) == 2
    err = capsys.readouterr().err
    assert "is not there  [no-stick]" in err
    assert "put the stick in" in err


@pytest.mark.parametrize("verb", ["prove", "ran"])
def test_a_file_of_a_stick_is_said_to_be_no_folder(shop, tmp_path, capsys, verb):
    assert main([verb, str(tmp_path / "MILL2" / "O1001.NC"), "--by", "ss", "--yes"]) == 2
    assert "is no folder  [no-stick]" in capsys.readouterr().err
