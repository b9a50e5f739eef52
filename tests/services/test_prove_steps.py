import math
import tomllib

import pytest

from tests.fakes.floor import FULL, SHORT, done
from tracker.errors import BadCall
from tracker.records.events import Step
from tracker.services.prove_form import form_text, steps_from
from tracker.services.prove_steps import (
    REQUIRED_FULL,
    REQUIRED_SHORT,
    STEPS,
    in_order,
    lacking,
    merged,
    required_steps,
)
from tracker.services.prove_words import proving_words
from tracker.store.answers_file import load_answers


def test_the_steps_and_the_required_ones():
    assert [rule.key for rule in STEPS] == [f"P{n}" for n in range(14)]
    assert required_steps(short=False) == REQUIRED_FULL == FULL
    assert required_steps(short=True) == REQUIRED_SHORT == SHORT


def test_everything_done_lacks_nothing():
    assert lacking(done(*FULL), short=False, limit=None) == ()
    assert lacking(done(*SHORT), short=True, limit=None) == ()


@pytest.mark.parametrize("key", FULL)
def test_every_required_step_is_asked_for(key):
    steps = [step for step in done(*FULL) if step.step != key]
    (line,) = lacking(steps, short=False, limit=None)
    assert line.startswith(f"{key} (")
    assert "neither done nor excused" in line
    excused = [*steps, Step(step=key, done=False, reason="no graphics on this control")]
    assert lacking(excused, short=False, limit="first 5 pieces") == ()


@pytest.mark.parametrize("key", ["P1", "P3", "P5", "P6", "P10"])
def test_a_section_proof_asks_for_less(key):
    steps = [step for step in done(*FULL) if step.step != key]
    assert lacking(steps, short=True, limit=None) == ()


def test_an_empty_reason_excuses_nothing():
    steps = done(*FULL, but=[Step(step="P6", done=False, reason="")])
    assert len(lacking(steps, short=False, limit=None)) == 1


@pytest.mark.parametrize("key", ["P1", "P7", "P8", "P9", "P10"])
@pytest.mark.parametrize("value", [None, 0.0, -1.0])
def test_a_step_that_was_done_needs_its_figure(key, value):
    steps = done(*FULL, but=[Step(step=key, done=True, value=value)])
    (line,) = lacking(steps, short=False, limit=None)
    assert line.startswith(f"{key} (")
    assert "figure" in line


def test_a_step_without_a_figure_needs_none():
    assert lacking(done(*FULL, "P12"), short=False, limit=None) == ()


@pytest.mark.parametrize("value", [50.0, 99.9, 120.0])
def test_another_override_needs_a_limit(value):
    steps = done(*FULL, but=[Step(step="P9", done=True, value=value)])
    (line,) = lacking(steps, short=False, limit=None)
    assert "P9" in line
    assert "--limit" in line
    assert lacking(steps, short=False, limit="70 percent feed on T4") == ()


def test_a_first_piece_that_was_excused_needs_a_limit():
    steps = done(*FULL, but=[Step(step="P9", done=False, reason="one blank only")])
    (line,) = lacking(steps, short=False, limit=None)
    assert "without a complete piece" in line


def test_a_prove_out_taken_up_again_keeps_what_was_answered():
    before = (Step(step="P0", done=True), Step(step="P1", done=True, value=10.0))
    now = (Step(step="P1", done=False), Step(step="P2", done=False, reason="later"))
    assert merged(before, now) == (*before, Step(step="P2", done=False, reason="later"))
    assert merged(before, [Step(step="P1", done=True, value=5.0)])[1].value == 5.0


def test_steps_are_kept_in_their_order_and_unanswered_ones_left_out():
    steps = [Step(step="P10", done=True), Step(step="P2", done=True), Step(step="P3", done=False)]
    assert [step.step for step in in_order(steps)] == ["P2", "P10"]


def form(short=False):
    return form_text(
        heading="4471/op10 r5 on MILL2",
        display_id="7F3A09C2",
        standing="now: UNPROVEN: never proved on MILL2",
        caution=proving_words("MILL2", "r5", "unproven"),
        units="inch",
        short=short,
    )


def test_the_form_comes_out_empty():
    tables = tomllib.loads(form())
    assert list(tables) == [f"P{n}" for n in range(14)]
    for key, table in tables.items():
        assert table["done"] is False
        assert table["reason"] == ""
        assert table.get("value", 0) == 0
        assert ("value" in table) == (key in ("P1", "P7", "P8", "P9", "P10"))
    assert "7F3A09C2" in form()
    assert "4471/op10 r5 on MILL2" in form()
    assert proving_words("MILL2", "r5", "unproven") in " ".join(
        line.removeprefix("# ") for line in form().splitlines()
    )
    assert "100" not in [str(table.get("value")) for table in tables.values()]
    assert form().isascii()
    assert steps_from(tables) == ((), ())


def test_the_form_says_what_is_not_required():
    full, short = form(), form(short=True)
    assert "graphics:" in full
    assert "graphics (not required):" in short
    assert max(len(line) for line in full.splitlines()) <= 100


def test_a_filled_in_form_reads_back():
    text = (
        form()
        .replace("[P9]\ndone = false", "[P9]\ndone = true")
        .replace("value = 0    # override", "value = 100    # o")
    )
    text = text.replace('[P6]\ndone = false\nreason = ""', '[P6]\ndone = false\nreason = " no graphics "')
    steps, problems = steps_from(tomllib.loads(text))
    assert problems == ()
    assert steps == (
        Step(step="P6", done=False, reason="no graphics"),
        Step(step="P9", done=True, value=100.0),
    )


WRONG = [
    ("[P14]\ndone = true", "'P14' is no step", "did you mean"),
    ("P9 = true", "P9 must be a table", "[P9]"),
    ("done = true", "'done' is no step", ""),
    ("[P9]\ndon = true", "unknown key 'don'", "did you mean done?"),
    ('[P9]\ndone = "yes"', "must be true or false", "done = true"),
    ("[P9]\nreason = 3", "must be text", "reason"),
    ('[P9]\nvalue = "100"', "must be a number", "value = 100"),
    ("[P9]\nvalue = true", "must be a number", ""),
    ("[P9]\nvalue = -1", "must be a number that is not below 0", ""),
    ("[P9]\nvalue = nan", "must be a number", ""),
    ("[P9]\nvalue = inf", "must be a number", ""),
]


@pytest.mark.parametrize(("text", "words", "fix"), WRONG)
def test_a_form_filled_in_wrong_names_its_line(text, words, fix):
    with pytest.raises(BadCall) as caught:
        load_answers(("# a remark\n" + text).encode(), "form.toml")
    assert caught.value.name == "wrong-form"
    assert words in caught.value.what
    assert fix in caught.value.fix
    line = 2 if text.startswith(("P9", "done")) or "P14" in text else 3
    assert caught.value.where == f"form.toml:{line}"


def test_a_form_that_is_no_toml():
    with pytest.raises(BadCall) as caught:
        load_answers(b"[P9\n", "form.toml")
    assert (caught.value.name, caught.value.where) == ("broken-toml", "form.toml:1")


def test_all_mistakes_of_a_form_at_once():
    with pytest.raises(BadCall) as caught:
        load_answers(b"[P9]\nvalue = -1\n[P99]\n[P1]\ndone = 1\n", "form.toml")
    assert len(caught.value.reasons) == 3


def test_no_figure_is_ever_not_a_number():
    steps, problems = steps_from({"P9": {"done": True, "value": 100}})
    assert problems == ()
    assert math.isclose(steps[0].value, 100)
