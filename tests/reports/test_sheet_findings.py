"""Findings and waivers on a setup sheet: order, reasons, whose machine, how many at most."""

from dataclasses import replace

import pytest

from tests.fakes.floor import Floor
from tracker.records.events import Finding
from tracker.reports import sheet_findings
from tracker.reports.sheet_html_parts import found as in_html
from tracker.services.naming import parse_named
from tracker.services.sheet import sheet

STANDS = Finding(
    rule="lowest-z", severity="warn", message="too <deep>", file="jobs/4471/op10/O1001.nc", line=7, tool="3"
)
GRAVE = replace(STANDS, rule="h-not-tool", severity="refuse", message="H4, needed H3", line=9)
WAIVED = replace(GRAVE, rule="stick-out-short", message="0.1 short", waived_by="np")
WAIVERS = (
    {"rule": "stick-out-short", "tool": 4, "reason": "not this one", "by": "np"},
    {"rule": "Stick-Out-Short", "tool": 3, "reason": "holder turned down", "by": "np"},
)


def with_findings(*findings: Finding, version: int | None = 4):
    report = sheet(Floor().desk(), parse_named("4471"), "MILL2")
    record = replace(report.record, findings=findings, waivers=WAIVERS, checks_version=version)
    return replace(report, record=record)


def test_what_stands_comes_first_and_a_waiver_has_its_reason_and_initials():
    said = sheet_findings.lines(with_findings(WAIVED, STANDS, GRAVE))
    assert said == [
        "checks: 1 refuse, 1 warn, 1 finding waived (rules of version 4)",
        "refuse: O1001.nc:9: H4, needed H3. [h-not-tool]",
        "warn: O1001.nc:7: too <deep>. [lowest-z]",
        "waived by np: holder turned down. O1001.nc:9: 0.1 short. [stick-out-short]",
    ]


def test_in_html_nothing_of_it_is_obeyed_and_what_stands_is_bold():
    html = in_html(with_findings(WAIVED, STANDS))
    assert "<b>WARN</b>: O1001.nc:7: too &lt;deep&gt;." in html
    assert "waived by np: holder turned down." in html
    assert "<ul>" not in in_html(with_findings())


def test_what_was_found_for_another_machine_is_not_on_it():
    said = sheet_findings.lines(
        with_findings(replace(GRAVE, machine="MILL3"), replace(STANDS, machine="mill2"))
    )
    assert [line.partition(":")[0] for line in said] == ["checks", "warn"]


@pytest.mark.parametrize(("many", "told"), [(6, 7), (7, 8), (50, 8)])
def test_the_first_six_are_told_and_the_rest_counted(many, told):
    said = sheet_findings.lines(with_findings(*(replace(STANDS, line=at + 1) for at in range(many))))
    assert len(said) == told
    assert (f"{many - 6} more that stand: proveout show 4471" in said[-1]) is (many > 6)


def test_no_checks_ran():
    assert "none ran" in sheet_findings.lines(with_findings(version=None))[0]


def test_as_json():
    said = sheet_findings.as_json(with_findings(WAIVED, STANDS))
    assert [(one["rule"], one["waived_by"], one["reason"]) for one in said] == [
        ("lowest-z", None, None),
        ("stick-out-short", "np", "holder turned down"),
    ]
