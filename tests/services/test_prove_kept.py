"""Answers of a prove-out whose record cannot be put down are kept, and the error says the call that goes on."""

import shlex
import tomllib

import pytest

from tests.fakes.floor import FULL, SHOP, SHORT, Floor, done
from tracker.errors import BadCall, CouldNot, Refused
from tracker.records.events import Step
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin
from tracker.services.prove_form import filled_form, steps_from
from tracker.services.prove_keep import finish_or_keep

ACCEPT = Answers(result="accepted", steps=done(*FULL), first_piece="report 2231", note='held "well" & true')
REJECT = Answers(result="rejected", cause="program", steps=done("P0", "P2"))


class Shelf:
    def __init__(self, place="kept.toml"):
        self.place = place
        self.held = {}

    def __call__(self, name, text):
        self.held[name] = text
        return self.place


def begun(floor, **more):
    desk = floor.desk()
    return desk, begin(desk, parse_named("4471/op10"), machine="MILL2", by="ss", **more)


def put(kind, desk, started, answers, shelf):
    with pytest.raises(kind) as caught:
        finish_or_keep(desk, started, answers, shelf)
    return caught.value


@pytest.mark.parametrize("answers", [ACCEPT, REJECT])
def test_locked_keeps_them_as_a_form_and_says_the_call(answers):
    floor, shelf = Floor(), Shelf("C:/My Shop/kept.toml")
    desk, started = begun(floor)
    floor.repo.locked = True
    error = put(CouldNot, desk, started, answers, shelf)
    ((name, text),) = shelf.held.items()
    assert name == "answers-4471-op10-MILL2-ss.toml"
    assert steps_from(tomllib.loads(text)) == (answers.steps, ())
    assert error.name == "locked"
    assert error.reasons == ("the answers are kept in C:/My Shop/kept.toml",)
    words = shlex.split(error.fix.partition("go on with: ")[2])
    assert words[:7] == ["proveout", "prove", "4471/op10@r1", "--machine", "MILL2", "--by", "ss"]
    assert words[-2:] == ["--answers", "C:/My Shop/kept.toml"]
    if answers is ACCEPT:
        assert words[7:-2] == ["--accept", "--first-piece", "report 2231", "--note", "held 'well' & true"]
    else:
        assert words[7:-2] == ["--reject", "--cause", "program"]
    assert floor.records("proof") == []


def test_overtaken_keeps_them_as_an_unfinished_prove_out():
    floor, shelf = Floor(), Shelf()
    desk, started = begun(floor)
    floor.repo.save({"shop.toml": SHOP + "# a word\n"}, at=floor.now)
    error = put(Refused, desk, started, ACCEPT, shelf)
    assert error.name == "moved"
    assert shelf.held == {}
    (kept,) = floor.records("proof")
    assert (kept.result, kept.revision[:5], kept.steps) == ("unfinished", "r0001", ACCEPT.steps)
    assert error.reasons == ("the answers are kept as an unfinished prove-out; nothing is signed",)
    call = shlex.split(error.fix.partition("go on with: ")[2])
    assert call[:3] == ["proveout", "prove", "4471/op10@r1"]
    assert call[-1] == "--continue"
    again = begin(floor.desk(), parse_named(call[2]), machine="MILL2", by="ss")
    report = finish_or_keep(
        floor.desk(), again, Answers(result="accepted", first_piece="report 2231", take_up=True), shelf
    )
    assert (report.record.result, report.record.steps) == ("accepted", ACCEPT.steps)


def test_overtaken_and_not_to_be_recorded_either_goes_to_the_file():
    floor, shelf = Floor(), Shelf()
    desk, started = begun(floor)
    floor.repo.save({"shop.toml": SHOP + "# a word\n"}, at=floor.now)

    real = floor.repo.commit

    def commit(*words, **more):
        try:
            return real(*words, **more)
        finally:
            floor.repo.locked = True

    floor.repo.commit = commit
    error = put(Refused, desk, started, ACCEPT, shelf)
    assert error.name == "moved"
    assert list(shelf.held)
    assert "--answers kept.toml" in error.fix


def test_no_place_takes_them():
    floor = Floor()
    desk, started = begun(floor)
    floor.repo.locked = True
    error = put(CouldNot, desk, started, ACCEPT, Shelf(None))
    assert error.reasons[0] == "the answers could not be kept either; they were:"
    assert steps_from(tomllib.loads("\n".join(error.reasons[1:]))) == (ACCEPT.steps, ())


def test_what_was_begun_before_is_kept_too():
    floor, shelf = Floor(), Shelf()
    desk, started = begun(floor)
    finish_or_keep(desk, started, Answers(steps=done("P0", "P1")), shelf)
    desk, started = begun(floor)
    floor.repo.locked = True
    put(CouldNot, desk, started, Answers(steps=done("P2"), take_up=True), shelf)
    (text,) = shelf.held.values()
    assert [step.step for step in steps_from(tomllib.loads(text))[0]] == ["P0", "P1", "P2"]


@pytest.mark.parametrize(
    ("answers", "kind"),
    [
        (Answers(result="accepted", steps=done(*SHORT)), Refused),
        (Answers(result="rejected", steps=done("P0")), BadCall),
    ],
)
def test_what_the_person_can_put_right_himself_keeps_nothing(answers, kind):
    shelf = Shelf()
    desk, started = begun(Floor())
    error = put(kind, desk, started, answers, shelf)
    assert error.name in ("steps-missing", "no-cause")
    assert shelf.held == {}


def test_a_form_holds_whatever_was_said():
    steps = done(
        "P0", "P9", but=[Step(step="P1", done=False, reason='no "room"\\ \u00fcber\n#1', value=None)]
    )
    text = filled_form("4471/op10", steps)
    assert set(steps_from(tomllib.loads(text))[0]) == set(steps)
