"""What is said before a prove-out is true of the text: in the dialogue, the form, the sheet and beside the stick's programs.

And a length is asked for and shown in the units of the text; the record holds the bare figure, as it always did.
"""

import json
import tomllib

import pytest

from tests.fakes.floor import FIGURES, FULL, JOB, TEXT, Floor
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.policy.states import CARRIED, HELD, LAPSED, PRECEDENCE, PROVEN, REJECTED, UNPROVEN
from tracker.services.prove_words import proving_words

HOW = "Raise, single block, low rapid, hand on feed hold, read distance-to-go at every approach."
SAID = {
    UNPROVEN: "Not proved on MILL2.",
    CARRIED: "r2 itself was not proved in full on MILL2.",
    LAPSED: "The proof on MILL2 has lapsed.",
    REJECTED: "Rejected, and not proved on MILL2 since.",
    PROVEN: "Proved on MILL2 before.",
}
NOW = {
    UNPROVEN: "now: UNPROVEN: never proved on MILL2",
    CARRIED: "now: CARRIED over from r1, proved 2 Feb 2026 on MILL2; r2 itself was not run in full.",
    LAPSED: "now: LAPSED ",
    REJECTED: "now: REJECTED on MILL2 by ss 2 Feb 2026 (program)",
    PROVEN: "now: PROVEN by ss 2 Feb 2026 on MILL2",
}
SIGN = ["prove", "4471/op10", "--machine", "MILL2", "--by", "ss"]
KEYS = [f"P{n}" for n in range(14) if n != 11]
BARE = TEXT.replace("G20 ", "")


@pytest.fixture
def put(monkeypatch):
    """Puts a floor in the place of the repository."""

    def there(floor):
        monkeypatch.setattr(Frame, "desk", lambda self: floor.desk())
        monkeypatch.setattr(Frame, "view", lambda self, **_: floor.desk())
        return floor

    return there


@pytest.fixture
def signed(put, tmp_path, capsys):
    """A floor whose operation stands as wanted."""

    def made(state):
        floor = put(Floor())
        form = tmp_path / "answers.toml"
        form.write_text("".join(f"[{key}]\ndone = true\nvalue = {FIGURES.get(key, 0)}\n" for key in FULL))
        ways = {REJECTED: ["--reject", "--cause", "program"]}
        if state != UNPROVEN:
            assert main([*SIGN, *ways.get(state, ["--accept"]), "--answers", str(form), "--yes"]) == 0
        if state == CARRIED:
            floor.edit("F15.", "F12.5")
            assert main(["review", "4471@r2", "--by", "dg", "-m", "slower, T4 only", "--yes"]) == 0
        if state == LAPSED:
            floor.now = floor.now.replace(year=floor.now.year + 3)
        capsys.readouterr()
        return floor

    return made


def flat(text):
    return " ".join(text.replace("#", " ").split())


def others(state):
    return [words for one, words in SAID.items() if one != state]


def said_once(text, state):
    assert flat(text).count(f"{SAID[state]} {HOW}") == 1
    assert not [words for words in others(state) if words in flat(text)]


@pytest.mark.parametrize("state", SAID)
def test_the_dialogue(state, signed, typed, capsys):
    signed(state)
    typed("s", "k")
    main(SIGN)
    said = capsys.readouterr().err
    assert NOW[state] in flat(said)
    said_once(said, state)


@pytest.mark.parametrize("state", SAID)
def test_the_form(state, signed, tmp_path):
    signed(state)
    form = tmp_path / "form.toml"
    assert main([*SIGN[:4], "--form", str(form)]) == 0
    text = form.read_text("utf-8")
    assert NOW[state] in flat(text)
    said_once(text, state)
    if state == CARRIED:
        assert "Treat T4 as a first run." in flat(text)


@pytest.mark.parametrize("state", [UNPROVEN, LAPSED, REJECTED])
def test_the_sheet(state, signed, capsys):
    signed(state)
    assert main(["sheet", "4471/op10", "--machine", "MILL2"]) == 0
    said_once(capsys.readouterr().out, state)


@pytest.mark.parametrize("state", [UNPROVEN, CARRIED, LAPSED, REJECTED])
def test_a_stick_for_proving(state, signed, tmp_path, capsys):
    signed(state)
    stick = tmp_path / "BLUE-1"
    stick.mkdir()
    words = ["export", "--for-proving", "4471/op10", "--machine", "MILL2", "--to", str(stick), "--by", "ss"]
    assert main(words) == 0
    said_once(capsys.readouterr().out, state)
    read_me = (stick / "MILL2/FOR-PROVING/READ-ME.TXT").read_text("ascii")
    said_once(read_me, state)
    assert read_me.startswith("UNPROVEN - FOR A PROVE-OUT ON MILL2 ONLY - NOT FOR PRODUCTION\n")
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"][0] == f"{SAID[state]} {HOW}"


def test_a_deviation_of_a_carried_text(signed, tmp_path, capsys):
    signed(CARRIED)
    stick = tmp_path / "BLUE-1"
    stick.mkdir()
    words = ["export", "--deviation", "4471/op10", "--machine", "MILL2", "--to", str(stick), "--by", "ss"]
    assert main([*words, "-m", "the customer's line stands still", "--hours", "4"]) == 0
    said_once(capsys.readouterr().out, CARRIED)


def test_of_every_state_something_true_is_said():
    for state in PRECEDENCE:
        words = proving_words("MILL2", "r2", state)
        assert words == f"{SAID[state]} {HOW}" if state in SAID else words == HOW, state
    assert HELD not in SAID


# -- units of a length ------------------------------------------------------------------------------------------------

UNITS = [
    (JOB, TEXT, "inch"),
    (JOB.replace('"inch"', '"mm"'), TEXT.replace("G20", "G21"), "mm"),
    (JOB.replace('units = "inch"\n', ""), TEXT, "inch"),  # the sheet says none, the program does
    (JOB.replace('units = "inch"\n', ""), TEXT.replace("G20", "G21"), "mm"),
    (JOB.replace('units = "inch"\n', ""), BARE, None),
    (JOB.replace('units = "inch"\n', ""), TEXT.replace("N130", "N125 G21\nN130"), None),
]


def asked_as(units):
    return "Z shift used" if units is None else f"Z shift used, in {units}"


def typed_steps():
    for key in KEYS:
        yield "y"
        if key in FIGURES:
            yield str(FIGURES[key])


@pytest.mark.parametrize(("job", "text", "units"), UNITS)
def test_a_length_is_asked_for_and_shown_in_the_units_of_the_text(job, text, units, put, typed, capsys):
    floor = put(Floor(job=job, text=text))
    typed(*typed_steps(), "k")
    assert main(SIGN) == 0
    said = capsys.readouterr().err
    assert f"  {asked_as(units)}:" in said
    assert f"P7  dry run: done ({'1 ' + units if units else '1'})\n" in said
    assert "P8  first piece, single block: done (5 %)\n" in said
    assert "P1  machine: done (20 min)\n" in said
    (step,) = [one for one in floor.records("proof")[-1].steps if one.step == "P7"]
    assert (step.done, step.value, step.reason) == (True, 1.0, None)


@pytest.mark.parametrize(("job", "text", "units"), UNITS)
def test_from_paper_in_a_form_and_on_the_sheet_too(job, text, units, put, typed, capsys, tmp_path):
    put(Floor(job=job, text=text))
    form = tmp_path / "form.toml"
    assert main([*SIGN[:4], "--form", str(form)]) == 0
    written = form.read_text("utf-8")
    assert f"value = 0    # {asked_as(units)}\n" in written
    assert tomllib.loads(written)["P7"] == {"done": False, "reason": "", "value": 0}
    assert main(["sheet", "4471/op10", "--machine", "MILL2"]) == 0
    assert f"________ {asked_as(units)}\n" in capsys.readouterr().out
    typed("y", "20")
    main([*SIGN, "--paper"])
    assert f"P7 {asked_as(units)} (not done: Enter):" in capsys.readouterr().err
