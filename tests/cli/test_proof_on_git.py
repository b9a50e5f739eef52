"""The verbs of proof on real git, as typed: what a check-in leaves, a prove-out signs and quality stops."""

import subprocess
import tomllib

import pytest

from tests.fakes.floor import FIGURES, FULL, JOB, JOB_PATH, PROGRAM, SHOP, SHORT, TEXT
from tracker.cli.entry import main


class Shop:
    """A shop on disk; every call an hour after the last."""

    def __init__(self, folder, monkeypatch):
        self.folder = folder
        self.monkeypatch = monkeypatch
        self.hour = 0

    def run(self, *words):
        self.hour += 1
        day, hour = divmod(self.hour, 24)
        self.monkeypatch.setenv("PROVEOUT_NOW", f"2026-02-{2 + day:02}T{hour:02}:10:00Z")
        return main(["-C", str(self.folder), *words])

    def git(self, *words):
        done = subprocess.run(["git", *words], cwd=self.folder, capture_output=True, check=True)
        return done.stdout.decode()

    def save(self, path, text):
        place = self.folder / path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(text.encode())

    def records(self, event):
        found = sorted(self.folder.glob(f"**/records/**/*-{event}-*.toml"))
        return [tomllib.loads(path.read_text(encoding="utf-8")) for path in found]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    made = Shop(tmp_path / "Werkstatt Süd", monkeypatch)
    made.run("init", "--name", "Bench")
    made.save("shop.toml", SHOP)
    made.git("add", "shop.toml")
    made.git("commit", "-q", "-m", "people and machines")
    made.save(JOB_PATH, JOB)
    made.save(PROGRAM, TEXT)
    assert made.run("checkin", "4471/op10", "-m", "first issue", "--by", "np") == 0
    return made


def answers(tmp_path, keys):
    path = tmp_path / "answers.toml"
    path.write_text(
        "".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in keys), encoding="utf-8"
    )
    return str(path)


def test_a_prove_out_from_form_to_standing(shop, tmp_path, capsys):
    form = str(tmp_path / "form.toml")
    sign = ["prove", "4471/op10", "--machine", "MILL2", "--by", "ss"]
    assert shop.run(*sign, "--form", form) == 0
    assert shop.run(*sign, "--accept", "--answers", form, "--yes") == 1
    assert "steps-missing" in capsys.readouterr().err
    shop.save("notes.txt", "mine")
    shop.git("add", "notes.txt")
    words = [*sign, "--accept", "--first-piece", "report 2231", "--answers", answers(tmp_path, FULL), "--yes"]
    assert shop.run(*words) == 0
    assert "PROVEN" in capsys.readouterr().out
    assert shop.git("log", "-1", "--format=%an <%ae>%n%B").strip() == (
        "Sol Shim <ss@bench.example>\n4471/op10 r1: proved on MILL2, accepted"
    )
    (added,) = shop.git("diff-tree", "--no-commit-id", "--name-status", "-r", "HEAD").splitlines()
    assert added.startswith("A\tjobs/4471/records/op10/r0001-")
    assert shop.git("status", "--porcelain").splitlines() == ["A  notes.txt"]
    (proof,) = shop.records("proof")
    assert list(proof)[:10] == [
        "format", "event", "job", "operation", "revision", "at", "entered", "by", "clock", "machine",
    ]  # fmt: skip
    assert proof["machine_profile"]["pockets"] == 20
    assert [step["step"] for step in proof["steps"]] == list(FULL)


def test_edits_that_are_not_checked_in_are_not_proved(shop, tmp_path, capsys):
    shop.save(PROGRAM, TEXT.replace("Z-0.81", "Z-0.85"))
    words = ["prove", "4471", "--machine", "MILL2", "--by", "ss", "--accept", "--yes"]
    assert shop.run(*words, "--answers", answers(tmp_path, FULL)) == 1
    assert "uncommitted-edits" in capsys.readouterr().err
    shop.git("add", "-A")
    assert shop.run(*words, "--answers", answers(tmp_path, FULL)) == 1
    assert "uncommitted-edits" in capsys.readouterr().err
    shop.git("commit", "-q", "-m", "past the tool")
    assert shop.run(*words, "--answers", answers(tmp_path, FULL)) == 1
    assert "not-the-revision" in capsys.readouterr().err
    assert shop.records("proof") == []


def test_an_edit_at_the_control_is_checked_in_proved_and_countersigned(shop, tmp_path, capsys):
    home = tmp_path / "O1001.NC"
    home.write_bytes(TEXT.replace("F15.", "F12.5").replace("\n", "\r\n").encode())
    words = ["prove", "4471", "--machine", "MILL2", "--by", "ss", "--ran", str(home), "--accept", "--yes"]
    assert shop.run(*words, "--answers", answers(tmp_path, FULL)) == 0
    assert (shop.folder / PROGRAM).read_bytes() == home.read_bytes()
    assert shop.git("status", "--porcelain") == ""
    assert "second person owed" in capsys.readouterr().out
    signed = ["countersign", "4471", "--machine", "MILL2", "--by", "dg", "-m", "watched", "--yes"]
    assert shop.run(*signed) == 0
    assert "PROVEN" in capsys.readouterr().out


def test_carry_review_hold_and_lift(shop, tmp_path, capsys):
    sign = ["prove", "4471", "--machine", "MILL2", "--by", "ss", "--accept", "--yes"]
    assert shop.run(*sign, "--answers", answers(tmp_path, FULL)) == 0
    shop.save(PROGRAM, TEXT.replace("F15.", "F12.5"))
    assert shop.run("checkin", "4471", "-m", "slower", "--by", "np") == 0
    assert shop.run("review", "4471@r2", "--by", "dg", "-m", "slower, T4 only", "--yes") == 0
    assert "CARRIED" in capsys.readouterr().out
    shop.save(PROGRAM, TEXT.replace("F15.", "F12.5").replace("Z-0.81", "Z-0.85"))
    assert shop.run("checkin", "4471", "-m", "deeper", "--by", "np") == 0
    section = ["prove", "4471", "--machine", "MILL2", "--by", "kp", "--tools", "5", "--accept", "--yes"]
    assert shop.run(*section, "--answers", answers(tmp_path, SHORT)) == 0
    assert "CARRIED" in capsys.readouterr().out
    assert shop.run("hold", "4471/op10", "--by", "kp", "-m", "gauge") == 0
    assert shop.run("lift", "4471/op10", "--by", "kp", "-m", "x") == 1
    assert shop.run("lift", "4471/op10", "--by", "dg", "-m", "measured again") == 0
    assert "CARRIED" in capsys.readouterr().out
    assert shop.run("ran", "4471", "--machine", "MILL2", "--by", "np", "--lot", "L7") == 0
    assert shop.run("hold", "--machine", "MILL2", "--because", "crash", "--by", "ss") == 0
    assert shop.run("lift", "--machine", "MILL2", "--check", "run-out 0.004", "--by", "dg") == 0
    assert len(list((shop.folder / "records").glob("*.toml"))) == 2
    assert shop.git("status", "--porcelain") == ""


def test_from_a_stick_only_who_and_what_is_asked(shop, tmp_path, capsys):
    card = tmp_path / "BLUE-1" / "MILL2"
    card.mkdir(parents=True)
    (card / "O1001.NC").write_bytes(TEXT.replace("\n", "\r\n").encode())
    words = ["prove", str(card), "--by", "ss", "--accept", "--answers", answers(tmp_path, FULL), "--yes"]
    assert shop.run(*words) == 0
    assert "4471/op10 r1" in capsys.readouterr().out
    assert shop.run("ran", str(card.parent), "--by", "np", "--lot", "L7") == 0
    assert "ran on MILL2" in capsys.readouterr().out
    (card / "O1001.NC").write_bytes(b"O5\nG0 X1.\nM30\n")
    assert shop.run("ran", str(card), "--by", "np") == 2
    assert "nothing-of-ours" in capsys.readouterr().err


def test_the_machine_names_a_job_gets_wrong_are_told_at_the_call(shop, capsys):
    assert shop.run("prove", "4471", "--machine", "MILL4", "--by", "ss", "--yes") == 2
    assert "did you mean MILL" in capsys.readouterr().err
    shop.save("shop.toml", SHOP.replace("pockets = 20", "pocket = 20"))
    shop.git("commit", "-q", "-a", "-m", "a slip")
    assert shop.run("hold", "4471", "--by", "dg", "-m", "x") == 2
    err = capsys.readouterr().err
    line = SHOP.replace("pockets", "pocket").split("\n").index("pocket = 20") + 1
    assert f"shop.toml:{line}" in err
    assert "did you mean pockets?" in err


def test_a_detached_head_records_nothing(shop, capsys):
    shop.git("checkout", "-q", "--detach")
    assert shop.run("hold", "4471", "--by", "dg", "-m", "x") == 1
    assert "detached-head" in capsys.readouterr().err


def test_no_repository(tmp_path, capsys):
    assert main(["-C", str(tmp_path), "hold", "4471", "--by", "dg", "-m", "x"]) == 4
    assert "no-repository" in capsys.readouterr().err
