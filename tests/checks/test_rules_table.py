"""Every rule: trips on its smallest fault, is silent on the clean text and on the many spellings of it."""

import re

import pytest

from tests.checks.subjects import SAMPLES, clean_of, reasons, sample, subject, tripping_of
from tests.checks.variations import MEANING_THE_SAME
from tracker.checks.check import check
from tracker.checks.finding import SEVERITIES, Finding
from tracker.checks.registry import FAMILIES, RULES
from tracker.checks.rule import Rule

EVERY = pytest.mark.parametrize("rule", RULES, ids=[rule.name for rule in RULES])


def said(findings: tuple[Finding, ...]) -> list[tuple[str, int | None, str]]:
    return [(one.rule, one.line, one.message) for one in findings]


@EVERY
def test_a_rule_trips_on_its_example_and_nothing_else_does(rule: Rule):
    found = check(tripping_of(rule)).findings
    assert rule.name in {one.rule for one in found}
    assert {one.rule for one in found} <= {rule.name, *rule.example.also}, said(found)


@EVERY
def test_a_finding_is_complete(rule: Rule):
    for one in check(tripping_of(rule)).findings:
        assert one.severity in SEVERITIES
        assert one.message
        assert not one.message.endswith(".")
        assert one.remedy
        assert not one.remedy.endswith(".")
        assert one.operation == "op10"
        assert one.machine
        assert one.file
        assert one.line
        assert "safe" not in one.message


# what another rule cannot tell of a clean example
UNTOLD = {"tap-feed": {"no drilled hole is known where T2 taps"}}


@EVERY
def test_the_clean_example_is_clean(rule: Rule):
    result = check(clean_of(rule))
    assert said(result.findings) == []
    assert {one.why for one in result.not_computed} <= UNTOLD.get(rule.name, set())


@EVERY
def test_the_clean_example_is_clean_in_other_spellings(rule: Rule):
    one = rule.example
    for change in MEANING_THE_SAME:
        text = change(one.clean)
        before = change(one.before) if one.before is not None else None
        assert said(_found_clean(rule, text, before)) == [], f"{change.__name__}:\n{text}"


_CLEAN: dict[object, tuple[Finding, ...]] = {}


def _found_clean(rule: Rule, text: str, before: str | None) -> tuple[Finding, ...]:
    """What all rules find; examples of many rules are one text on one sheet and machine, which is checked once."""
    one = rule.example
    called = tuple(sorted((one.called or {}).items()))
    key = (text, before, called, repr(one.sheet), repr(one.machine))
    if key not in _CLEAN:
        again = subject(text, sheet=one.sheet, machine=one.machine, called=one.called, before=before)
        _CLEAN[key] = check(again).findings
    return _CLEAN[key]


@EVERY
def test_the_fault_is_found_in_other_spellings(rule: Rule):
    """A spelling may hide a fault only where it takes the fault away."""
    one = rule.example
    missed = []
    for change in MEANING_THE_SAME:
        text = change(one.trips)
        again = subject(
            text,
            sheet=one.trips_sheet or one.sheet,
            machine=one.trips_machine or one.machine,
            called=one.called if one.trips_called is None else one.trips_called,
            before=change(one.before) if one.before is not None else None,
            others=one.others,
        )
        if rule.name not in {found.rule for found in check(again).findings}:
            missed.append(change.__name__)
    assert set(missed) <= HIDES.get(rule.name, set())


# spellings that put right what the rule looks for, or make another rule's fault of it
HIDES = {
    "g91-left-on": {"home_in_machine_coordinates"},
    "precall-wrong": {"tool_call_split"},  # then two tools are called for before one change: two-precalls
    "home-by-work-point": {"home_in_machine_coordinates"},
    "no-precall": {"tool_call_split"},
    "cut-off": {"no_percent"},
}


@pytest.mark.parametrize("change", MEANING_THE_SAME, ids=[change.__name__ for change in MEANING_THE_SAME])
def test_every_spelling_changes_something(change, project):
    texts = [rule.example.clean for rule in RULES]
    texts += [sample(project, *one).main.data.decode("latin-1") for one in SAMPLES]
    assert any(change(text) != text for text in texts)


@pytest.mark.parametrize(("job", "operation"), SAMPLES)
def test_the_sample_shop_has_no_finding(project, job, operation):
    result = check(sample(project, job, operation))
    assert said(result.findings) == []
    assert reasons(result) <= {"decimal of the machine is not stated"}


@pytest.mark.parametrize("change", MEANING_THE_SAME, ids=[change.__name__ for change in MEANING_THE_SAME])
@pytest.mark.parametrize(("job", "operation"), SAMPLES[:4])
def test_the_sample_shop_has_no_finding_in_other_spellings(project, job, operation, change):
    plain = sample(project, job, operation)
    texts = {
        one.path.rpartition("/")[2]: change(one.data.decode("latin-1")).encode("latin-1")
        for one in plain.programs
    }
    result = check(sample(project, job, operation, texts))
    assert said(result.findings) == []


def test_names_are_plain_slugs_and_stand_once():
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name) for name in names)
    assert all(FAMILIES.values())


@EVERY
def test_a_rule_is_described(rule: Rule):
    for text in (rule.what, rule.reason):
        assert text[0].isupper() or text[0] == "G"
        assert text.endswith(".")
    assert not rule.remedy.endswith(".")
    assert rule.source
    assert rule.severity in SEVERITIES
    assert " safe" not in rule.what + rule.reason
