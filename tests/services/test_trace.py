"""Back from a lot, a serial number or a day to the text; and who uses a program or a tool."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from tests.fakes.stick_shop import StickShop, edited, exported_shop, sub_program
from tests.services.test_export import common_shop
from tests.services.test_where import ran
from tracker.errors import BadCall
from tracker.records.events import FirstPiece, RanRecord, StrikeRecord
from tracker.reports.where_from import print_trace, print_uses, trace_json, uses_json
from tracker.services.trace import Wanted, trace
from tracker.services.uses import program_uses, tool_uses
from tracker.services.where import LIMIT

SUB = "jobs/4471/sub/O1002.nc"
TOOLS = (
    '[[operations.tools]]\nnumber = 3\ndescription = "1/2 4FL END MILL"\n'
    '[[operations.tools]]\nnumber = 4\ndescription = "NO. 7 DRILL"\n'
)


@pytest.fixture
def shop() -> StickShop:
    """Released and exported on 6 Feb; 16 Feb now."""
    return exported_shop()


def asked(shop: StickShop, **wanted: str):
    return trace(shop.desk(), Wanted(**wanted))


def shown(report, show, width: int = 96) -> str:
    out = io.StringIO()
    show(report, Console(file=out, width=width, markup=False))
    assert all(len(line) <= width for line in out.getvalue().splitlines() if "proveout " not in line)
    return " ".join(out.getvalue().split())


def test_from_a_lot_to_revision_proof_difference_and_stick(shop):
    ran(shop, "4471/op10", lot="2207", quantity=12, serials=("101", "102"))
    report = asked(shop, lot="2207")
    (run,) = report.runs
    assert (run.revision, run.standing, run.released, run.day.isoformat()) == (
        "r1",
        "proven",
        1,
        "2026-02-16",
    )
    assert run.origins == ()
    assert [(one.words, one.by) for one in run.proofs] == [("r1 accepted on MILL2", "ss")]
    assert [one.words for one in run.sticks] == ["4471/op10 r1 exported to BLUE-1 for MILL2"]
    assert (report.gaps, report.nearest) == ((), ())
    text = shown(report, print_trace)
    assert "4471/op10 r1 on MILL2, 16 Feb 2026, by kp: lot 2207, 12 pieces, serials 101, 102" in text
    assert "in release 1 that day" in text
    assert "the first revision in the record" in text
    assert text.endswith(" ".join(LIMIT.split()))


@pytest.mark.parametrize(
    "wanted", [{"serial": "102"}, {"day": "2026-02-16", "machine": "MILL2"}, {"lot": "2207", "job": "4471"}]
)
def test_from_a_serial_number_or_a_day(shop, wanted):
    ran(shop, "4471/op10", lot="2207", serials=("101", "102"))
    assert [run.revision for run in asked(shop, **wanted).runs] == ["r1"]


@pytest.mark.parametrize(
    "wanted",
    [
        {"serial": "10"},
        {"lot": "220"},
        {"lot": "2207", "machine": "MILL3"},
        {"lot": "2207", "job": "4472"},
        {"day": "2026-02-15", "machine": "MILL2"},
    ],
)
def test_where_no_run_answers_the_gap_is_said(shop, wanted):
    ran(shop, "4471/op10", lot="2207", serials=("101",))
    report = asked(shop, **wanted)
    assert report.runs == ()
    assert report.gaps[0].startswith("no run is recorded for ")


def test_a_run_of_a_text_that_was_not_released_says_so_and_how_it_differs(shop):
    shop.save(
        "jobs/4471/op10/O1001.nc", edited(shop.repo.work["jobs/4471/op10/O1001.nc"], (b"F15.", b"F18."))
    )
    shop.check_in("4471/op10", reason="faster")
    ran(shop, "4471/op10", lot="9")
    (run,) = asked(shop, lot="9").runs
    assert (run.revision, run.standing, run.released) == ("r2", "unproven", None)
    assert [(shown, one.kinds, one.sections) for shown, one in run.origins] == [("r1", ("feed",), ("4",))]
    text = shown(asked(shop, lot="9"), print_trace)
    assert "NOT RELEASED that day" in text
    assert "differs from r1 in feed (T4)" in text
    assert "proveout compare 4471/op10@r1 4471/op10@r2" in text
    assert "no proof of it on MILL2 was recorded by then" in text
    # r1 went there, with the same called program: no export of r2, and not passed for one
    assert run.sticks == ()
    assert (
        "no export of it for MILL2 was recorded by then another text of the operation went there last: "
        in text
    )
    assert "4471/op10 r1 exported to BLUE-1 for MILL2, by " in text


def test_a_stick_another_operation_went_out_on_took_nothing_of_this_one():
    """5001 and 5002 call one common program: the export of 5002 is none of 5001."""
    shop = common_shop()
    shop.export("5002")
    stored = shop.revision("5001/op10@r1")
    at = shop.desk().clock.now()
    of = {"job": "5001", "operation": "op10", "revision": stored.name, "machine": "MILL2", "lot": "7"}
    code = stored.record.operation_fingerprint
    shop._put(RanRecord(operation_fingerprint=code, at=at, entered=at, by="kp", **of), machine="MILL2")
    (run,) = asked(shop, lot="7").runs
    assert (run.sticks, run.other) == ((), None)
    shop.export("5001", "5002")
    (run,) = asked(shop, lot="7").runs
    assert [one.words for one in run.sticks] == ["5001/op10 r1 exported to BLUE-1 for MILL2"]


def test_a_text_that_went_out_for_its_prove_out_only_says_so(shop):
    shop.save(SUB, sub_program(1002, depth="0.3"))
    shop.check_in("4471/op10", reason="a wider corner")
    shop.for_proving("4471/op10")
    ran(shop, "4471/op10", lot="9")
    said = "4471/op10 r2 exported to BLUE-1 for MILL2, for its prove-out only"
    assert [one.words for one in asked(shop, lot="9").runs[0].sticks] == [said]


def test_a_text_that_was_stopped_after_it_ran_says_so(shop):
    ran(shop, "4471/op10", lot="2207")
    assert asked(shop, lot="2207").runs[0].since is None
    shop.day(18)
    shop.withdraw("4471", 1)
    report = asked(shop, lot="2207")
    (run,) = report.runs
    assert (run.standing, run.since.state) == ("proven", "withdrawn")
    assert "TODAY WITHDRAWN by dg 18 Feb 2026 (release 1): too low" in shown(report, print_trace)
    assert trace_json(report)["runs"][0]["since"]["standing"] == "withdrawn"


def test_a_proof_is_taken_for_no_more_than_it_is(shop):
    shop.prove("4471/op10", prior={"evidence": "card 7"})
    piece = FirstPiece(report="", by="ss", result="waiting")
    shop.prove("4471/op10", first_piece=piece)
    ran(shop, "4471/op10", lot="2207")
    assert [one.words for one in asked(shop, lot="2207").runs[0].proofs] == [
        "r1 accepted on MILL2",
        "r1 accepted on MILL2, on paper, before the record",
        "r1 accepted on MILL2, first piece waiting",
    ]


def test_who_proved_a_text_that_was_carried_over_is_named(shop):
    """The prover of the text it came from, and of which tools it was proved again."""
    shop.save(
        "jobs/4471/op10/O1001.nc", edited(shop.repo.work["jobs/4471/op10/O1001.nc"], (b"F15.", b"F18."))
    )
    shop.check_in("4471/op10", reason="faster")
    shop.prove("4471/op10", by="kp", tools=("4",))
    ran(shop, "4471/op10", lot="9")
    report = asked(shop, lot="9")
    (run,) = report.runs
    assert run.standing == "carried"
    assert [(one.words, one.by) for one in run.proofs] == [("r2 accepted on MILL2, tools 4 only", "kp")]
    assert [(one.words, one.by) for one in run.rests_on] == [("r1 accepted on MILL2", "ss")]
    assert "r1 accepted on MILL2, by ss" in shown(report, print_trace)
    assert trace_json(report)["runs"][0]["rests_on"][0]["by"] == "ss"


def test_of_two_revisions_with_one_number_a_run_says_which(shop):
    ran(shop, "4471/op10", lot="2207")
    first = shop.revision("4471/op10@r1")
    shop.repo.record("jobs/4471/records/op10/r0001-dddddddd.toml", first.record)
    (run,) = asked(shop, lot="2207").runs
    assert run.revision == f"r1-{first.name.partition('-')[2]}"
    assert [one.words.split()[0] for one in run.proofs] == [run.revision]


def test_what_was_proved_or_exported_later_is_not_of_that_day(shop):
    ran(shop, "4471/op10", lot="9", date="2026-01-31")
    (run,) = asked(shop, lot="9").runs
    assert (run.standing, run.released, run.proofs, run.sticks) == ("unproven", None, (), ())


def test_a_struck_run_is_none(shop):
    ran(shop, "4471/op10", lot="9")
    stored = next(one for one in shop.repo.ledger().records if one.record.EVENT == "ran")
    at = shop.desk().clock.now()
    shop._put(StrikeRecord(job="4471", operation="op10", record=stored.path, at=at, entered=at, by="kp"))
    found = asked(shop, lot="9")
    assert found.runs == ()
    assert found.gaps == (
        f"put down, and struck since: 4471/op10 r1 on MILL2: {stored.path}",
        "no run that counts is recorded for lot 9",
    )
    assert asked(shop, lot="10").gaps == ("no run is recorded for lot 10",)


def test_without_a_run_that_day_what_went_to_the_machine_and_came_home_is_told(shop):
    shop.collect()
    report = asked(shop, day="2026-02-10", machine="MILL2")
    assert report.gaps == ("no run is recorded for MILL2 on 2026-02-10",)
    assert [one.words for one in report.nearest] == [
        "4471/op10 r1 exported to BLUE-1 for MILL2",
        "4471/op20 r1 exported to BLUE-1 for MILL2",
        "4471/op10 r1 as-exported on BLUE-1 for MILL2",
        "4471/op20 r1 as-exported on BLUE-1 for MILL2",
    ]
    assert asked(shop, day="2026-02-10", machine="MILL3").gaps[1:] == (
        "nothing was exported for MILL3 before, or collected from it",
    )
    assert list(trace_json(report)) == ["asked", "runs", "gaps", "nearest", "limit"]


@pytest.mark.parametrize(
    ("wanted", "name"),
    [
        ({}, "wrong-call"),
        ({"day": "2026-02-10"}, "wrong-call"),
        ({"day": "10 Feb", "machine": "MILL2"}, "bad-date"),
        ({"day": "2026-12-10", "machine": "MILL2"}, "bad-date"),
        ({"lot": "1", "machine": "MILL9"}, "unknown-machine"),
    ],
)
def test_what_cannot_be_asked(shop, wanted, name):
    with pytest.raises(BadCall) as caught:
        asked(shop, **wanted)
    assert caught.value.name == name


# -- who uses a program ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("said", ["O1002", "o1002", "1002", "O1002.nc", SUB])
def test_a_common_program_is_found_by_number_name_and_path(shop, said):
    report = program_uses(shop.desk(), said)
    assert [(one.operation, one.main) for one in report.programs] == [("op10", False), ("op10-m3", False)]


def test_with_which_text_of_it_an_operation_was_proven(shop):
    shop.save(SUB, sub_program(1002, depth="0.3"))
    shop.check_in("4471/op10", reason="a wider corner")
    of = {one.operation: one for one in program_uses(shop.desk(), "O1002").programs}
    (proven,) = of["op10"].proven
    assert (proven.machine, proven.revision, proven.by, proven.same) == ("MILL2", "r1", "ss", False)
    assert of["op10-m3"].proven == ()
    text = shown(program_uses(shop.desk(), "O1002"), print_uses)
    assert f"OTHER CODE {proven.fingerprint[:8]}" in text
    assert "never proved in full" in text
    shop.prove("4471/op10")
    (again,) = {one.operation: one for one in program_uses(shop.desk(), "O1002").programs}["op10"].proven
    assert (again.revision, again.same) == ("r2", True)


def test_a_proof_that_waits_for_its_first_piece_proves_no_program(shop):
    shop.save(SUB, sub_program(1002, depth="0.3"))
    shop.check_in("4471/op10", reason="a wider corner")
    shop.prove("4471/op10", first_piece=FirstPiece(report="", by="ss", result="waiting"))
    (proven,) = {one.operation: one for one in program_uses(shop.desk(), "O1002").programs}["op10"].proven
    assert (proven.revision, proven.same) == ("r1", False)


def test_a_proof_kept_on_paper_says_so_where_a_program_is_asked_for():
    shop = StickShop(policy="two_person = true\nprior_until = 2026-12-31")
    shop.check_in("4471/op20")
    shop.prove("4471/op20", prior={"evidence": "card 7, cabinet 2", "last_run": "2025-11-03"})
    report = program_uses(shop.desk(), "O1003")
    (proven,) = report.programs[0].proven
    assert proven.paper
    assert "on paper, before the record" in shown(report, print_uses)


def test_the_rows_of_programs_for_scripts(shop):
    body = uses_json(program_uses(shop.desk(), "O1003"))
    assert list(body) == ["asked", "uses", "gaps", "limit"]
    (row,) = body["uses"]
    assert (row["operation"], row["main"], row["machine"], row["proven"], row["same_code"]) == (
        "op20",
        True,
        "MILL2",
        "r1",
        True,
    )


def test_which_sheets_name_a_tool(shop):
    job = "jobs/4471/job.toml"
    shop.save(
        job,
        shop.repo.work[job].replace(
            b'[[operations]]\nid = "op20"', TOOLS.encode() + b'[[operations]]\nid = "op20"'
        ),
    )
    shop.check_in("4471/op10", reason="tools on the sheet")
    report = tool_uses(shop.desk(), "no.7 drill")
    assert ("op10", 4, ("MILL2",)) in [(one.operation, one.tool, one.machines) for one in report.tools]
    assert "NO. 7 DRILL" in shown(report, print_uses)


@pytest.mark.parametrize(
    ("look", "said", "name"),
    [(program_uses, "O7", "unknown-program"), (tool_uses, "reamer", "tool-not-on-sheets")],
)
def test_what_nobody_uses_is_told(shop, look, said, name):
    with pytest.raises(BadCall) as caught:
        look(shop.desk(), said)
    assert caught.value.name == name


def test_a_stick_another_pc_saw_the_text_on_before_it_knew_that_it_is_a_revision(shop):
    """It put it down as an edit of r1 and had not shared: by its bytes it is the r2 that ran."""
    shop.files["MILL2/O1001.NC"] = edited(shop.files["MILL2/O1001.NC"], (b"Z-0.5", b"Z-0.55"))
    shop.collect()
    seen = shop.repo.ledger().records[-1].record
    shop.collect(checkin="4471/op10", reason="less burr")
    shop.prove("4471/op10", by="kp")
    ran(shop, "4471/op10", lot="2207")
    shop.day(17)
    shop.repo.record(
        "records/20260217T090000Z-collect-MILL2-kp.toml",
        replace(seen, at=shop.now, entered=shop.now, stick="RED-2"),
    )
    (run,) = asked(shop, lot="2207").runs
    assert run.revision == "r2"
    assert "4471/op10 r2 taken-in on RED-2 for MILL2" in [one.words for one in run.sticks]
