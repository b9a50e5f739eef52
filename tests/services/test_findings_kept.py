"""What the checks find is kept at check-in, shown at the prove-out, and refused by a release unless waived in the record."""

from collections.abc import Callable
from dataclasses import replace
from io import StringIO

import pytest
from rich.console import Console

from tests.fakes.floor import FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT, Floor, done
from tracker.checks.finding import Finding as Said
from tracker.checks.registry import CHECKS_VERSION
from tracker.errors import Refused
from tracker.policy.gate import Change
from tracker.policy.standing import Judge
from tracker.records.events import Finding, RevisionRecord
from tracker.reports import checkin as checkin_report
from tracker.reports import show as show_report
from tracker.reports.prove import print_heading
from tracker.services.checkin import check_in
from tracker.services.findings_kept import kept
from tracker.services.gate import gate
from tracker.services.judged_again import looked_into
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish
from tracker.services.release import release
from tracker.services.released import Releases
from tracker.services.show import show
from tracker.services.verifying import Verified

NAMED = parse_named("4471/op10")
WRONG_H = TEXT.replace("G43 H4", "G43 H3")
WAIVER = '[[operations.waivers]]\nrule = "h-not-tool"\ntool = 4\nreason = "the lengths are one gauge line"\nby = "np"\n'
TWO = JOB.replace('machines = ["MILL2"]', 'machines = ["MILL2", "MILL3"]')
SLOW_MILL3 = SHOP + "max_rpm = 2400\n"


def lines_of(printed: Callable[[Console], None]) -> list[str]:
    out = StringIO()
    printed(Console(file=out, width=200, markup=False))
    return out.getvalue().splitlines()


def newest_of(floor: Floor):
    return [one for one in floor.repo.ledger().records if one.record.EVENT == "revision"][-1]


def found(floor: Floor) -> list[tuple[str, str | None, str | None]]:
    kept_there = newest_of(floor).record.findings
    return [(one.rule, one.machine, one.waived_by) for one in kept_there if one.severity == "refuse"]


def forge(floor: Floor, change: Callable[[RevisionRecord], RevisionRecord]) -> None:
    """Write the newest revision's record anew, as if it had been checked in so."""
    old = newest_of(floor)
    data = floor.repo.encode(change(old.record))
    for files in [one.files for one in floor.repo.commits.values()] + [floor.repo.work, floor.repo.index]:
        if old.path in files:
            files[old.path] = data


def prove(floor: Floor, machine: str = "MILL2") -> None:
    desk = floor.desk()
    begun = begin(desk, NAMED, machine=machine, by="ss")
    finish(desk, begun, Answers(result="accepted", steps=done(*FULL), first_piece="report 1"))


def refused(floor: Floor) -> str:
    with pytest.raises(Refused) as caught:
        release(floor.desk(), parse_named("4471"), by="dg")
    assert caught.value.name == "not-released"
    return "\n".join(caught.value.reasons)


def test_a_good_program_keeps_the_version_of_the_rules_and_no_refusal():
    floor = Floor()
    assert newest_of(floor).record.checks_version == CHECKS_VERSION
    assert found(floor) == []
    prove(floor)
    assert release(floor.desk(), parse_named("4471"), by="dg").number == 1


def test_nothing_found_stands_in_the_way_of_a_check_in_but_of_a_release():
    floor = Floor(text=WRONG_H)
    assert found(floor) == [("h-not-tool", None, None)]
    (finding,) = [one for one in newest_of(floor).record.findings if one.rule == "h-not-tool"]
    assert (finding.file, finding.line, finding.tool) == (PROGRAM, 12, "4")
    assert finding.remedy
    prove(floor)
    reasons = refused(floor)
    assert f"4471: {PROGRAM}:12: T4:" in reasons
    assert f"[h-not-tool] (clear it: {finding.remedy})" in reasons


def test_a_waiver_that_was_checked_in_lets_it_stand():
    floor = Floor(text=WRONG_H, job=JOB + WAIVER)
    assert found(floor) == [("h-not-tool", None, "np")]
    prove(floor)
    assert release(floor.desk(), parse_named("4471"), by="dg").number == 1


def test_a_waiver_added_later_is_a_revision_with_the_standing_of_the_one_before():
    floor = Floor(text=WRONG_H)
    prove(floor)
    floor.check_in(by="np", files={JOB_PATH: JOB + WAIVER})
    assert newest_of(floor).record.origins[0].kinds == ()
    assert release(floor.desk(), parse_named("4471"), by="dg").number == 1


def test_a_waiver_that_went_round_check_in_does_not_count():
    floor = Floor(text=WRONG_H)
    prove(floor)
    floor.repo.save({JOB_PATH: JOB + WAIVER}, at=floor.now)
    assert "[h-not-tool]" in refused(floor)


@pytest.mark.parametrize(
    "change",
    [
        lambda record: replace(record, findings=()),
        lambda record: replace(record, findings=tuple(replace(f, waived_by="np") for f in record.findings)),
        lambda record: replace(record, checks_version=None, findings=()),
        lambda record: replace(record, checks_version=CHECKS_VERSION + 1, findings=()),
        lambda record: replace(
            record, waivers=({"rule": "h-not-tool", "tool": "4", "reason": "x", "by": "np"},)
        ),
        lambda record: replace(record, waivers=({"rule": "gone", "tool": 4, "reason": "x", "by": "np"},)),
    ],
)
def test_a_release_runs_the_checks_again_whatever_the_record_says(change):
    floor = Floor(text=WRONG_H)
    forge(floor, change)
    prove(floor)
    assert "[h-not-tool]" in refused(floor)


def made_before(change: Callable[[RevisionRecord], RevisionRecord]) -> Floor:
    """A faulty program in a release: it was let through by a program that did not run the checks."""
    floor = Floor(text=WRONG_H, job=JOB + WAIVER)
    prove(floor)
    release(floor.desk(), parse_named("4471"), by="dg")
    forge(floor, change)
    (tag,) = floor.repo.tags.values()
    record = next(one for one in floor.repo.ledger().records if one.record.EVENT == "release")
    held = record.record.operations[0]
    sha = {one.path: one.sha256 for one in floor.repo.ledger().records}
    relied = tuple(replace(one, sha256=sha[one.path]) for one in held.relied_on)
    new = replace(record.record, operations=(replace(held, relied_on=relied),))
    data = floor.repo.encode(new)
    for files in [one.files for one in floor.repo.commits.values()] + [floor.repo.work, floor.repo.index]:
        if record.path in files:
            files[record.path] = data
    again = next(one for one in floor.repo.ledger().records if one.record.EVENT == "release")
    floor.repo.tags[tag.ref] = replace(tag, message=tag.message.replace(record.sha256, again.sha256))
    return floor


def unwaived(record: RevisionRecord) -> RevisionRecord:
    return replace(record, findings=(), waivers=())


def of_another_version(record: RevisionRecord) -> RevisionRecord:
    return replace(record, findings=(), waivers=(), checks_version=CHECKS_VERSION - 1)


def of_no_version(record: RevisionRecord) -> RevisionRecord:
    return replace(record, findings=(), waivers=(), checks_version=None)


def asked(floor: Floor, *, push: bool, first: bool = False) -> str:
    ((ref, tag),) = floor.repo.tags.items()
    del floor.repo.tags[ref]
    answer = gate(
        floor.repo,
        [Change(ref=ref, old=None, new=tag.object_id)],
        lambda _ref, _new: tag,
        push=push,
        first=first,
    )
    floor.repo.tags[ref] = tag
    return "\n".join(line for line in answer.lines if "clock set by hand" not in line)


def test_the_receiving_side_runs_the_checks_again_and_the_local_gate_judges_by_the_record():
    floor = made_before(unwaived)
    assert asked(floor, push=False) == ""
    assert "[h-not-tool]" in asked(floor, push=True)


def test_a_whole_history_under_other_rules_is_judged_by_its_records():
    floor = made_before(of_another_version)
    assert asked(floor, push=False) == asked(floor, push=True, first=True) == ""


def test_a_release_that_comes_in_today_is_judged_by_the_rules_of_today():
    """Anyone can write an old version of the rules into a record."""
    said = asked(made_before(of_another_version), push=True)
    assert "[h-not-tool]" in said
    assert f"under version {CHECKS_VERSION - 1} of the checks" in said
    assert "update proveout on the PC" in said


def test_an_older_receiving_side_says_that_it_is_the_older_one():
    said = asked(
        made_before(lambda record: replace(of_another_version(record), checks_version=CHECKS_VERSION + 1)),
        push=True,
    )
    assert "update proveout on the server" in said


def test_other_rules_that_find_nothing_are_no_reason():
    assert asked(made_before(lambda record: replace(record, checks_version=1)), push=True) == ""


def test_a_first_push_asks_what_names_the_present_rules():
    assert "[h-not-tool]" in asked(made_before(unwaived), push=True, first=True)


def test_a_record_that_names_no_rules_is_asked_again_by_the_receiving_side():
    floor = made_before(of_no_version)
    assert asked(floor, push=False) == ""
    assert "[h-not-tool]" in asked(floor, push=True)


def test_the_local_gate_refuses_what_the_record_says_stands():
    floor = made_before(
        lambda record: replace(record, findings=tuple(replace(f, waived_by=None) for f in record.findings))
    )
    assert "[h-not-tool]" in asked(floor, push=False)


def test_an_audit_runs_the_checks_again():
    for change, words in (
        (unwaived, "[h-not-tool]"),
        (of_no_version, "[h-not-tool]"),
        (of_another_version, ""),
        (lambda record: record, ""),
    ):
        floor = made_before(change)
        ledger = floor.repo.ledger()
        releases = Releases(floor.repo, ledger, Judge(ledger, floor.now))
        (tag,) = floor.repo.release_tags()
        said = looked_into(releases.derive)(tag).words
        assert (words in said) if words else said == ""


def test_what_holds_for_one_machine_of_two_is_kept_for_that_one():
    floor = Floor(job=TWO, shop=SLOW_MILL3)
    assert found(floor) == [("speed-over-limit", "MILL3", None)] * 2
    prove(floor)
    assert "(MILL3)" in refused(floor)
    assert [
        one.rule
        for one in begin(floor.desk(), NAMED, machine="MILL2", by="ss").findings
        if one.severity == "refuse"
    ] == []
    there = begin(floor.desk(), NAMED, machine="MILL3", by="ss")
    assert {one.rule for one in there.findings if one.severity == "refuse"} == {"speed-over-limit"}


def test_findings_stand_before_the_checklist_and_on_show_and_check_in():
    floor = Floor(text=WRONG_H)
    begun = begin(floor.desk(), NAMED, machine="MILL2", by="ss")
    heading = lines_of(lambda console: print_heading(begun, console))
    assert any(f"refuse: {PROGRAM}:12: T4:" in line for line in heading)
    assert any("Remedy:" in line for line in heading)
    shown = lines_of(lambda console: show_report.print_text(show(floor.desk(), NAMED), console))
    assert any(line.startswith("  checks: 1 refuse") for line in shown)
    floor.repo.write(PROGRAM, WRONG_H.replace("H5", "H4"))
    report = check_in(floor.desk(), [NAMED], by="np", reason="why", dry_run=True)
    said = lines_of(lambda console: checkin_report.print_text(report, console))
    assert sum("[h-not-tool]" in line for line in said) == 2
    assert any("checks; " in line and "not computed" in line for line in said)
    (data,) = checkin_report.as_json(report)["revisions"]
    assert [one["tool"] for one in data["findings"] if one["rule"] == "h-not-tool"] == ["4", "5"]
    assert any(one["rule"] == "no-precall" for one in data["not_computed"])


def test_a_revision_of_an_older_version_says_that_no_checks_ran():
    floor = Floor()
    forge(floor, of_no_version)
    shown = lines_of(lambda console: show_report.print_text(show(floor.desk(), NAMED), console))
    assert "  checks: none ran when it was checked in; only its calls were looked up" in shown
    assert show_report.as_json(show(floor.desk(), NAMED))["checks_version"] is None


def test_a_rule_that_trips_on_every_line_is_kept_with_its_number():
    many = tuple(
        Said(
            rule="r",
            severity="refuse",
            message=f"m{n}",
            remedy="",
            operation="op10",
            machine="M1",
            file="f",
            line=n,
        )
        for n in range(1, 101)
    )
    said = Verified(
        job="1", operation="op10", machines=("M1",), findings=many, not_computed=(), checks=("r",)
    )
    rows = list(kept(said))
    assert len(rows) == 41
    assert rows[-1] == Finding(
        rule="r", severity="refuse", message="60 more findings of this rule", file="f", remedy=""
    )
