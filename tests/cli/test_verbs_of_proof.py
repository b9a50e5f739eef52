"""prove, measured, countersign, review, hold, lift, ran, strike as typed, on a repository in memory."""

import json
import tomllib

import pytest

from tests.fakes.floor import FIGURES, FULL, SHORT, TEXT, Floor
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.reports.cautions import MOTION


@pytest.fixture
def floor(monkeypatch):
    made = Floor()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    return made


def answers(path, keys, **values):
    tables = [f"[{key}]\ndone = true\nvalue = {values.get(key, FIGURES.get(key, 0))}\n" for key in keys]
    path.write_text("".join(tables), encoding="utf-8")
    return str(path)


def proof(floor):
    return floor.records("proof")[-1]


SIGN = ["prove", "4471/op10", "--machine", "MILL2", "--by", "ss"]


def test_form_then_answers(floor, tmp_path, capsys):
    form = tmp_path / "form.toml"
    assert main(["prove", "4471/op10", "--machine", "MILL2", "--form", str(form)]) == 0
    assert floor.records("proof") == []
    tables = tomllib.loads(form.read_text(encoding="utf-8"))
    assert not any(table["done"] for table in tables.values())
    assert str(form) in capsys.readouterr().out
    filled = (
        form.read_text(encoding="utf-8")
        .replace("done = false", "done = true")
        .replace("value = 0", "value = 100")
    )
    form.write_text(filled, encoding="utf-8")
    words = [
        *SIGN,
        "--accept",
        "--first-piece",
        "report 2231",
        "--note",
        "good",
        "--answers",
        str(form),
        "--yes",
    ]
    assert main(words) == 0
    assert proof(floor).result == "accepted"
    assert [step.step for step in proof(floor).steps] == list(tables)
    out = capsys.readouterr().out
    number = floor.records("revision")[0].operation_fingerprint[:8].upper()
    assert f"4471/op10 r1 (id {number}) on MILL2: accepted by ss." in out
    assert "4471/op10 r1 on MILL2: PROVEN by ss " in out
    assert " ".join(MOTION.split()) in " ".join(out.split())


def test_a_form_is_never_written_over_anything(floor, tmp_path, capsys):
    form = tmp_path / "form.toml"
    form.write_text("mine", encoding="utf-8")
    assert main([*SIGN, "--form", str(form)]) == 2
    assert form.read_text(encoding="utf-8") == "mine"
    assert "file-exists" in capsys.readouterr().err
    assert main([*SIGN, "--form", str(tmp_path / "no" / "form.toml")]) == 4
    assert "not-written" in capsys.readouterr().err


def test_the_same_empty_form_once_more_is_there_already(floor, tmp_path, capsys):
    """As after a call whose disk closed at the end: there is nothing to clean up first."""
    form = tmp_path / "form.toml"
    assert main([*SIGN[:4], "--form", str(form)]) == 0
    empty = form.read_bytes()
    assert main([*SIGN[:4], "--form", str(form)]) == 0
    assert form.read_bytes() == empty
    begun = empty.replace(b"done = false", b"done = true", 1)
    form.write_bytes(begun)
    assert main([*SIGN[:4], "--form", str(form)]) == 2
    assert form.read_bytes() == begun
    form.unlink()
    (tmp_path / "kept.toml").write_bytes(empty)
    form.symlink_to(tmp_path / "kept.toml")
    assert main([*SIGN[:4], "--form", str(form)]) == 2
    assert "[file-exists]" in capsys.readouterr().err


def test_the_form_lands_in_the_folder_of_c(floor, tmp_path):
    assert main(["-C", str(tmp_path), *SIGN, "--form", "form.toml"]) == 0
    assert (tmp_path / "form.toml").exists()


def test_json_of_a_proof(floor, tmp_path, capsys):
    words = [*SIGN, "--accept", "--answers", answers(tmp_path / "a", FULL), "--yes", "--json"]
    assert main(words) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["schema"] == "proveout/prove/1"
    assert (said["job"], said["operation"], said["revision"], said["machine"]) == (
        "4471",
        "op10",
        "r1",
        "MILL2",
    )
    assert (said["result"], said["standing"], said["lacks"]) == ("accepted", "proven", [])
    assert said["record"]["event"] == "proof"
    assert said["record"]["record"].endswith("-ss.toml")


def test_a_section_proof_from_a_script_takes_the_tools_as_given(floor, tmp_path):
    words = [*SIGN, "--tools", "5,4", "--accept", "--answers", answers(tmp_path / "a", SHORT), "--yes"]
    assert main(words) == 0
    assert proof(floor).tools == ("4", "5")


def test_a_rejection(floor, capsys):
    words = [*SIGN, "--reject", "--cause", "program", "--note", "T4 packs chips", "--yes"]
    assert main(words) == 0
    assert (proof(floor).result, proof(floor).cause, proof(floor).reason) == (
        "rejected",
        "program",
        "T4 packs chips",
    )
    assert "REJECTED" in capsys.readouterr().out


def test_neither_accepted_nor_rejected_is_kept_as_unfinished(floor, tmp_path, capsys):
    assert main([*SIGN, "--answers", answers(tmp_path / "a", ("P0", "P1")), "--yes"]) == 0
    out = capsys.readouterr().out
    assert "kept as unfinished" in out
    assert "P2 (tools) is neither done nor excused" in out
    rest = answers(tmp_path / "b", FULL[2:])
    assert main([*SIGN, "--accept", "--answers", rest, "--yes"]) == 1
    assert main([*SIGN, "--accept", "--answers", rest, "--continue", "--yes"]) == 0
    assert [step.step for step in proof(floor).steps] == list(FULL)


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["--accept", "--yes"], 1, "steps-missing"),
        (["--accept"], 2, "not-a-terminal"),
        (["--yes"], 2, "no-answers"),
        (["--accept", "--reject", "--yes"], 2, "wrong-call"),
        (["--reject", "--yes"], 2, "no-cause"),
        (["--reject", "--cause", "chips", "--yes"], 2, "unknown-cause"),
        (["--accept", "--answers", "nowhere.toml", "--yes"], 2, "missing-file"),
        (["--accept", "--ran", "nowhere.nc", "--yes"], 2, "missing-file"),
        (["--accept", "--at", "yesterday", "--yes"], 2, "bad-time"),
        (["--accept", "--at", "2030-01-01T00:00Z", "--yes"], 2, "future-time"),
        (["--accept", "--tools", "9", "--yes"], 2, "unknown-tool"),
        (["--again", "--accept", "--yes"], 1, "nothing-to-renew"),
    ],
)
def test_calls_that_record_nothing(floor, words, status, name, capsys):
    assert main([*SIGN, *words]) == status
    assert name in capsys.readouterr().err
    assert floor.records("proof") == []


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["prove", "4472", "--machine", "MILL2", "--by", "ss", "--yes"], 2, "unknown-job"),
        (["prove", "4471@r9", "--machine", "MILL2", "--by", "ss", "--yes"], 2, "unknown-revision"),
        (["prove", "4471", "--machine", "MILL9", "--by", "ss", "--yes"], 2, "unknown-machine"),
        (["prove", "4471", "--by", "ss", "--yes"], 2, "which-machine"),
        (["prove", "4471", "--machine", "MILL2", "--by", "zz", "--yes"], 2, "unknown-person"),
        (["prove", "4471", "--machine", "MILL2", "--by", "np", "--yes"], 1, "wrong-role"),
        (["prove", "4471", "--machine", "MILL2", "--yes"], 2, "who"),
        (["prove", "44 71@", "--machine", "MILL2", "--by", "ss", "--yes"], 2, "bad-name"),
        (["hold", "--by", "dg", "-m", "x"], 2, "wrong-call"),
        (["hold", "4471", "--machine", "MILL2", "--by", "dg", "-m", "x"], 2, "wrong-call"),
        (["hold", "4471", "--because", "crash", "--by", "dg", "-m", "x"], 2, "wrong-call"),
        (["hold", "4471", "--by", "dg"], 2, "no-reason"),
        (["lift", "4471", "--by", "dg", "-m", "x"], 1, "nothing-to-lift"),
        (["lift", "4471", "--check", "x", "--by", "dg"], 2, "wrong-call"),
        (["review", "4471", "--by", "dg", "-m", "x"], 1, "nothing-to-review"),
        (["countersign", "4471", "--machine", "MILL2", "--by", "dg", "-m", "x"], 2, "not-a-terminal"),
        (
            ["measured", "4471", "--machine", "MILL2", "--by", "ss", "--report", "1", "--accept"],
            1,
            "nothing-waiting",
        ),
        (["strike", "r0009", "--by", "ss", "-m", "x"], 2, "unknown-record"),
        (["ran", "4471", "--machine", "MILL2", "--by", "ss", "--date", "x"], 2, "bad-date"),
        (["ran", "4471", "--machine", "MILL2", "--by", "ss", "--quantity", "many"], 2, "wrong-call"),
    ],
)
def test_every_wrong_call_has_its_name_and_status(floor, words, status, name, capsys):
    before = floor.repo.head()
    assert main(words) == status
    shown = capsys.readouterr()
    assert f"[{name}]" in shown.err
    assert shown.out == ""
    assert "Traceback" not in shown.err
    assert main([*words, "--json"]) == status
    assert json.loads(capsys.readouterr().out)["error"]["name"] == name
    assert floor.repo.head() == before


def test_an_edited_file_off_the_control(floor, tmp_path, capsys):
    home = tmp_path / "O1001.NC"
    home.write_bytes(TEXT.replace("F15.", "F12.5").replace("\n", "\r\n").encode())
    words = [*SIGN, "--ran", str(home), "--accept", "--answers", answers(tmp_path / "a", FULL)]
    assert main(words) == 2
    shown = capsys.readouterr().err
    assert "F12.5" in shown
    assert "not-a-terminal" in shown
    assert len(floor.records("revision")) == 1
    assert main([*words, "--yes"]) == 0
    out = capsys.readouterr().out
    assert "Checked in first: 4471/op10 r2." in out
    assert "second person owed" in out
    assert proof(floor).revision.startswith("r0002-")
    owed = ["countersign", "4471/op10@r2", "--machine", "MILL2", "--by", "dg", "-m", "watched", "--yes"]
    assert main(owed) == 0
    assert "PROVEN" in capsys.readouterr().out


def test_from_waiting_to_measured(floor, tmp_path, capsys):
    words = [
        *SIGN,
        "--accept",
        "--first-piece",
        "waiting",
        "--answers",
        answers(tmp_path / "a", FULL),
        "--yes",
    ]
    assert main(words) == 0
    assert "UNPROVEN" in capsys.readouterr().out
    assert main(["measured", "4471", "--machine", "MILL2", "--report", "2231", "--accept", "--by", "kp"]) == 0
    assert "PROVEN" in capsys.readouterr().out


def test_review_hold_lift_ran_strike(floor, tmp_path, capsys):
    assert main([*SIGN, "--accept", "--answers", answers(tmp_path / "a", FULL), "--yes"]) == 0
    floor.edit("F15.", "F12.5")
    assert main(["review", "4471@r2", "--by", "dg", "-m", "slower, T4 only", "--yes"]) == 0
    assert "CARRIED" in capsys.readouterr().out
    assert main(["hold", "4471/op10", "--by", "kp", "-m", "gauge"]) == 0
    assert "HELD" in capsys.readouterr().out
    assert main(["lift", "4471/op10", "--by", "dg", "-m", "measured again", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["schema"], said["event"]) == ("proveout/lift/1", "lift")
    assert said["standings"][0]["standing"] == "carried"
    assert main(["ran", "4471", "--machine", "MILL2", "--by", "np", "--lot", "L7", "--serials", "A1,A2"]) == 0
    assert "lot L7" in capsys.readouterr().out
    record = floor.repo.ledger().records[-1].name
    assert main(["strike", record, "--by", "np", "-m", "wrong lot"]) == 0
    assert "struck by np" in capsys.readouterr().out
    assert main(["hold", "--machine", "MILL2", "--because", "crash", "--by", "ss"]) == 0
    assert main(["lift", "--machine", "MILL2", "--check", "run-out 0.004", "--by", "dg"]) == 0
    assert "asks a first piece" in capsys.readouterr().out


# -- at a terminal ------------------------------------------------------------------------------------------------------


def steps_typed(keys):
    for key in [f"P{n}" for n in range(14) if n != 11]:
        if key not in keys:
            yield from ("n", "")
        elif key in FIGURES:
            yield from ("y", str(FIGURES[key]))
        else:
            yield "y"


def test_the_checklist_at_a_terminal(floor, typed, capsys):
    number = floor.records("revision")[0].operation_fingerprint[:8]
    typed("MILL2", *steps_typed(FULL), "x", "a", "report 2231", "wrong", number.lower())
    assert main(["prove", "4471/op10", "--by", "ss"]) == 0
    assert proof(floor).result == "accepted"
    assert [step.step for step in proof(floor).steps] == list(FULL)
    assert proof(floor).first_piece.report == "report 2231"
    err = capsys.readouterr().err
    assert "Not proved on MILL2." in err
    assert f"id {number.upper()}" in err
    assert "that is not the id of this text" in err


def test_a_wrong_id_signs_nothing(floor, typed, capsys):
    typed(*steps_typed(FULL), "a", "", "12345678", "O1001", "")
    assert main(SIGN) in (1, 130)
    assert floor.records("proof") == []
    typed(*steps_typed(FULL), "a", "", "12345678", "O1001", "x")
    assert main(SIGN) == 1
    assert "not-signed" in capsys.readouterr().err


def test_stopping_in_the_middle_keeps_what_was_answered(floor, typed, capsys):
    typed("y", "y", "20", "s")
    assert main(SIGN) == 0
    assert (proof(floor).result, [step.step for step in proof(floor).steps]) == ("unfinished", ["P0", "P1"])
    number = floor.records("revision")[0].operation_fingerprint[:8]
    rest = list(steps_typed(FULL))[3:]
    typed("y", *rest, "a", "", number)
    assert main(SIGN) == 0
    assert "Begun by ss" in capsys.readouterr().err
    assert (proof(floor).result, [step.step for step in proof(floor).steps]) == ("accepted", list(FULL))


def test_what_is_not_enough_is_said_and_kept(floor, typed, capsys):
    typed(*steps_typed(FULL[:-1]), "a", "")
    assert main(SIGN) == 0
    assert proof(floor).result == "unfinished"
    assert "P10 (proof piece) is neither done" in capsys.readouterr().err


def test_stopping_before_the_first_answer_records_nothing(floor, typed, capsys):
    typed("s")
    assert main(SIGN) == 1
    assert "nothing was answered: nothing was recorded" in capsys.readouterr().err
    assert floor.records("proof") == []


@pytest.mark.parametrize("last", [["n"], [""], []])
def test_saying_no_at_the_end_keeps_every_answer(floor, typed, capsys, last):
    typed(*steps_typed(FULL), "r", "tool", *last)
    assert main(SIGN) == 0
    kept = proof(floor)
    assert (kept.result, kept.cause) == ("unfinished", None)
    assert [step.step for step in kept.steps if step.done] == list(FULL)
    shown = capsys.readouterr()
    assert "kept as unfinished by ss" in shown.out
    command = "proveout prove 4471/op10@r1 --machine MILL2 --continue"
    assert f"To go on with it: {command}" in " ".join(shown.out.split())
    number = floor.records("revision")[0].operation_fingerprint[:8]
    typed("n", "", "n", "", "n", "", "a", "", number)  # the three steps that were not done
    assert main([*command.split()[1:], "--by", "ss"]) == 0
    assert (proof(floor).result, [step.step for step in proof(floor).steps]) == ("accepted", list(FULL))


def test_going_away_instead_of_signing_keeps_every_answer(floor, typed, capsys):
    typed(*steps_typed(FULL), "a", "report 2231")
    assert main(SIGN) == 0
    assert (proof(floor).result, len(proof(floor).steps)) == ("unfinished", len(FULL))
    assert "To go on with it:" in capsys.readouterr().out


def test_section_and_short_proofs_are_taken_up_by_their_own_call(floor, typed, capsys):
    typed("", "y", "s")
    assert main([*SIGN, "--tools", "4"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "proveout prove 4471/op10@r1 --machine MILL2 --tools 4 --continue" in said


def test_a_misspelt_cause_is_asked_again(floor, typed):
    typed(*steps_typed(FULL), "r", "chips", "tool", "y")
    assert main(SIGN) == 0
    assert (proof(floor).result, proof(floor).cause) == ("rejected", "tool")


def test_what_cannot_be_meant_is_said_before_anything_is_asked(floor, typed, capsys):
    typed(*steps_typed(FULL), "a", "")
    assert main([*SIGN, "--at", "2030-01-01T00:00Z"]) == 2
    shown = capsys.readouterr().err
    assert "future-time" in shown
    assert "P0" not in shown


def test_a_rejection_at_a_terminal(floor, typed):
    typed("y", "y", "0", "many", "20", *["n", ""] * 11, "r", "tool", "y")
    assert main(SIGN) == 0
    assert (proof(floor).result, proof(floor).cause) == ("rejected", "tool")
    assert proof(floor).steps[1].value == 20


def test_later_tools_are_asked_about(floor, typed, capsys):
    number = floor.records("revision")[0].operation_fingerprint[:8]
    typed("5", *steps_typed(SHORT), "a", "", number)
    assert main([*SIGN, "--tools", "4"]) == 0
    assert proof(floor).tools == ("4", "5")
    assert "Later tools: T5" in capsys.readouterr().err


def test_nobody_is_asked_whether_he_read_what_he_wrote_himself(floor, typed, capsys):
    floor.edit("F15.", "F12.5")
    typed("y")
    assert main(["review", "4471", "--by", "np", "-m", "x"]) == 1
    err = capsys.readouterr().err
    assert "wrong-role" in err
    assert "F12.5" not in err
    assert "carry over?" not in err


def test_review_shows_the_differences_before_it_asks(floor, typed, capsys):
    floor.edit("F15.", "F12.5")
    typed("n")
    assert main(["review", "4471", "--by", "dg", "-m", "x"]) == 1
    assert "F12.5" in capsys.readouterr().err
    typed("y")
    assert main(["review", "4471", "--by", "dg", "-m", "x"]) == 0
    assert len(floor.records("review")) == 1


@pytest.mark.parametrize(
    "verb", ["prove", "measured", "ran", "review", "countersign", "hold", "lift", "strike"]
)
def test_help_is_plain(verb, capsys):
    assert main([verb, "--help"]) == 0
    out = capsys.readouterr().out
    assert out.isascii() or "│" in out
    assert "--by" in out
