from datetime import UTC, datetime

import pytest

from tests.fakes.repository import FakeRepository, desk_at
from tracker.checks.registry import CHECKS_VERSION
from tracker.errors import BadCall, Refused
from tracker.policy.find import newest
from tracker.services.changed import CHANGED, NEW, SIDE_BY_SIDE, list_changes
from tracker.services.checkin import check_in
from tracker.services.naming import parse_named

NOW = datetime(2026, 2, 2, 9, 10, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Test shop"
[policy]
post_stamp = ['POST (?P<name>[A-Z-]+) (?P<version>[0-9.]+)']
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@shop.example"
roles = ["programmer"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@shop.example"
roles = ["setup"]
[[people]]
initials = "dg"
name = "Dell Gauge"
email = "dg@shop.example"
roles = ["quality"]
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
[[machines]]
id = "MILL3"
type = "mill"
units = "inch"
"""
JOB = """format = 1
[job]
number = "4471"
drawing = "4471"
drawing_revision = "C"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
[[operations.tools]]
number = 4
stick_out = 2.5
[[operations]]
id = "op20"
program = "op20/O1003.nc"
machines = ["MILL2"]
"""
MAIN = """%
O1001 (PLATE)
(POST PLUMB-MILL 1.2)
N10 G20
N20 G0 G17 G40 G80 G90
N30 T4 M6
N40 G54 G0 X1. Y1. S2000 M3
N50 G43 H4 Z1. M8
N60 G1 Z-0.5 F15.
N70 M98 P1002
N80 G0 Z1. M9
N90 T5 M6
N100 G0 X2. Y2. S3000 M3
N110 G43 H5 Z1.
N120 G1 Z-0.2 F10.
N130 G0 Z1.
N140 M30
%
"""
SUB = "%\nO1002 (SUB)\nN10 G1 X2. F10.\nN20 M99\n%\n"
SECOND = "%\nO1003 (SECOND SIDE)\nN10 G0 X0. Y0.\nN20 G1 Z-1. F5.\nN30 M98 P1002\nN40 M30\n%\n"
OP10, OP20, CALLED = "jobs/4471/op10/O1001.nc", "jobs/4471/op20/O1003.nc", "common/O1002.nc"
JOB_PATH = "jobs/4471/job.toml"


@pytest.fixture
def repo():
    fake = FakeRepository()
    fake.save({"shop.toml": SHOP})
    for path, text in {JOB_PATH: JOB, OP10: MAIN, OP20: SECOND, CALLED: SUB}.items():
        fake.write(path, text)
    return fake


@pytest.fixture
def desk(repo):
    return desk_at(repo, NOW, "np@shop.example")


def checkin(desk, *names, by="np", reason="because", **more):
    return check_in(desk, [parse_named(name) for name in names], by=by, reason=reason, **more)


def record(repo, operation="op10"):
    (found,) = newest(repo.ledger(), "4471", operation)
    return found


def calls_found(stored):
    return [one.rule for one in stored.record.findings if one.rule.startswith("call-")]


def edit(repo, path, old, new):
    text = repo.work[path].decode()
    assert old in text
    repo.write(path, text.replace(old, new))


@pytest.fixture
def first(repo, desk):
    checkin(desk, "4471/op10", "4471/op20", reason="first issue")
    return repo


def test_a_first_check_in_is_one_commit_of_the_operations_own_files(repo, desk):
    repo.write("notes.txt", "not ours")
    report = checkin(desk, "4471/op10", reason="first issue,\n drawing C")
    (made,) = report.checked_in
    (one,) = repo.log()[1:]
    added = set(one.files) - {"shop.toml"}
    assert added == {JOB_PATH, OP10, CALLED, made.path}
    assert one.message.startswith("4471/op10 r1: first issue, drawing C")
    assert one.author == "np@shop.example"
    stored = record(repo)
    assert stored.path == made.path
    assert stored.name == made.name == f"r0001-{stored.sha256[:8]}"
    kept = stored.record
    assert kept.revision == "r0001"
    assert (kept.by, kept.entered_by, kept.reason) == ("np", None, "first issue, drawing C")
    assert (kept.at, kept.entered, kept.clock) == (NOW, NOW, "set")
    assert [file.path for file in kept.files] == [OP10, CALLED]
    assert kept.operation_fingerprint == made.text.fingerprint
    assert kept.post == "PLUMB-MILL 1.2"
    assert kept.origins == ()
    assert kept.checks_version == CHECKS_VERSION
    kept_lines = {one.rule: one.line for one in kept.findings}
    assert kept_lines["offset-not-restated"] == 13
    assert kept_lines.keys() >= {"tool-not-on-sheet", "safe-start", "end-not-home"}


def test_what_somebody_staged_stays_staged(repo, desk):
    repo.write("other.nc", "G1")
    repo.stage("other.nc")
    checkin(desk, "4471/op10")
    assert "other.nc" not in repo.log()[-1].files
    assert repo.index["other.nc"] == b"G1"


def test_equal_to_the_last_byte_is_nothing_to_do(first, desk):
    before = len(first.commits)
    report = checkin(desk, "4471/op10")
    assert report.checked_in == ()
    assert [text.operation.id for text in report.unchanged] == ["op10"]
    assert report.commit is None
    assert len(first.commits) == before


def test_a_program_edit_is_the_next_revision_with_its_origin(first, desk):
    before = record(first)
    edit(first, OP10, "Z-0.5 F15.", "Z-0.6 F15.")
    checkin(desk, "4471/op10")
    (origin,) = record(first).record.origins
    assert record(first).record.revision == "r0002"
    assert origin.revision == before.name
    assert origin.kinds == ("motion",)
    assert "4" in origin.sections
    assert origin.slower is None


def test_slower_is_kept_as_a_ratio_and_the_kinds_raw(first, desk):
    edit(first, OP10, "F15.", "F12.5")
    checkin(desk, "4471/op10")
    (origin,) = record(first).record.origins
    assert origin.kinds == ("feed",)
    assert origin.slower == pytest.approx(0.8333, abs=1e-4)


def test_text_only_changes_keep_the_fingerprint(first, desk):
    before = record(first)
    edit(first, OP10, "(PLATE)", "(PIVOT PLATE)")
    edit(first, OP10, "N10 G20", "N11 G20")
    checkin(desk, "4471/op10")
    after = record(first)
    assert after.record.origins[0].kinds == ("numbering", "wording")
    assert after.record.origins[0].sections == ()
    assert after.record.operation_fingerprint == before.record.operation_fingerprint


@pytest.mark.parametrize(
    ("old", "new", "kinds", "sections"),
    [
        ("stick_out = 2.5", "stick_out = 2.75", ("sheet-tool",), ("4",)),
        ('drawing_revision = "C"', 'drawing_revision = "D"', ("drawing",), ()),
        ('machines = ["MILL2"]\nunits', 'machines = ["MILL2", "MILL3"]\nunits', (), ()),
        ('number = "4471"', 'number = "4471"\nmaterial = "steel"', (), ()),
    ],
)
def test_the_sheet_makes_revisions_too(first, desk, old, new, kinds, sections):
    edit(first, JOB_PATH, old, new)
    checkin(desk, "4471/op10")
    (origin,) = record(first).record.origins
    assert record(first).record.revision == "r0002"
    assert (origin.kinds, origin.sections) == (kinds, sections)
    assert not first.uncommitted([JOB_PATH])


def test_remarks_in_job_toml_are_kept_without_a_revision(first, desk):
    first.write(JOB_PATH, JOB + "# a remark\n")
    report = checkin(desk, "4471/op10")
    assert report.checked_in == ()
    assert report.only_text == (JOB_PATH,)
    assert report.commit is not None
    assert not first.uncommitted([JOB_PATH])


def test_a_change_of_the_job_table_reaches_every_operation(first, desk):
    edit(first, JOB_PATH, 'drawing_revision = "C"', 'drawing_revision = "D"')
    report = checkin(desk, "4471/op10")
    assert [(one.text.operation.id, one.because) for one in report.checked_in] == [
        ("op10", None),
        ("op20", JOB_PATH),
    ]
    assert record(first, "op20").record.revision == "r0002"


def test_a_changed_common_program_makes_a_revision_of_every_caller_in_one_commit(first, desk):
    before = len(first.commits)
    edit(first, CALLED, "X2.", "X3.")
    report = checkin(desk, "4471/op20")
    assert [one.text.operation.id for one in report.checked_in] == ["op20", "op10"]
    assert len(first.commits) == before + 1
    (origin,) = record(first, "op10").record.origins
    assert origin.kinds == ("motion",)
    assert "4" in origin.sections


def test_an_operation_reached_by_a_common_program_keeps_its_own_unfinished_edits_out(first, desk):
    edit(first, CALLED, "X2.", "X3.")
    edit(first, OP10, "Z-0.5", "Z-0.9")
    checkin(desk, "4471/op20")
    assert b"Z-0.5" in first.log()[-1].files[OP10]
    assert b"Z-0.9" in first.work[OP10]
    assert first.uncommitted([OP10]) == [OP10]
    assert [c.operation.id for c in list_changes(desk).changes] == ["op10"]


def test_an_operation_that_was_never_checked_in_is_left_alone(repo, desk):
    checkin(desk, "4471/op10")
    edit(repo, JOB_PATH, 'drawing_revision = "C"', 'drawing_revision = "D"')
    report = checkin(desk, "4471/op10")
    assert [one.text.operation.id for one in report.checked_in] == ["op10"]
    assert newest(repo.ledger(), "4471", "op20") == ()


def test_an_operation_that_would_lose_its_program_is_said(first, desk):
    edit(first, JOB_PATH, "op20/O1003.nc", "op20/O1003A.nc")
    first.write("jobs/4471/op20/O1003A.nc", SECOND)
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10")
    assert error.value.name == "half-changed"
    assert "4471/op20" in error.value.fix
    report = checkin(desk, "4471/op10", "4471/op20")
    assert [one.text.operation.id for one in report.checked_in] == ["op20"]


def test_a_program_that_moved_goes_along(first, desk):
    first.write("jobs/4471/sub/O1002.nc", SUB)
    first.remove(CALLED)
    report = checkin(desk, "4471/op10")
    files = first.log()[-1].files
    assert CALLED not in files
    assert "jobs/4471/sub/O1002.nc" in files
    assert {one.text.operation.id for one in report.checked_in} == {"op10", "op20"}
    for operation in ("op10", "op20"):
        assert record(first, operation).record.files[1].path == "jobs/4471/sub/O1002.nc"
        assert record(first, operation).record.origins[0].kinds == ()


def test_another_file_name_is_another_program(first, desk):
    first.write("jobs/4471/op10/O1001A.nc", MAIN)
    first.remove(OP10)
    edit(first, JOB_PATH, "op10/O1001.nc", "op10/O1001A.nc")
    checkin(desk, "4471/op10")
    assert record(first).record.origins[0].kinds == ("program-number",)
    assert record(first).record.origins[0].sections is None


def test_a_new_common_program_on_a_nearer_level_reaches_its_callers(first, desk):
    first.write("jobs/4471/op10/O1002.nc", SUB.replace("X2.", "X9."))
    report = checkin(desk, "4471/op10")
    assert [one.text.operation.id for one in report.checked_in] == ["op10"]
    assert record(first).record.files[1].path == "jobs/4471/op10/O1002.nc"
    assert record(first).record.origins[0].kinds == ("motion",)


def test_a_program_that_takes_another_number_reaches_its_new_callers(first, desk):
    first.write("jobs/4480/job.toml", JOB.replace("4471", "4480").split('[[operations]]\nid = "op20"')[0])
    first.write("jobs/4480/op10/O1001.nc", MAIN.replace("M98 P1002", "M98 P1009"))
    checkin(desk, "4480")
    (before,) = newest(first.ledger(), "4480", "op10")
    assert calls_found(before) == ["call-missing"]
    edit(first, CALLED, "O1002", "O1009")
    report = checkin(desk, "4471/op10", "4471/op20")
    assert [f"{one.text.job.number}/{one.text.operation.id}" for one in report.checked_in] == [
        "4471/op10",
        "4471/op20",
        "4480/op10",
    ]
    assert calls_found(record(first)) == ["call-missing"]
    (after,) = newest(first.ledger(), "4480", "op10")
    assert calls_found(after) == []
    assert after.record.origins[0].kinds == ("program-added",)


def test_findings_of_calls_are_kept(repo, desk):
    repo.remove(CALLED)
    report = checkin(desk, "4471/op10")
    (finding,) = (one for one in record(repo).record.findings if one.rule == "call-missing")
    assert (finding.rule, finding.severity, finding.file, finding.line) == (
        "call-missing",
        "refuse",
        OP10,
        10,
    )
    assert report.checked_in[0].text.findings == (finding,)


def test_added_and_removed_programs(first, desk):
    edit(first, OP10, "N70 M98 P1002\n", "")
    checkin(desk, "4471/op10")
    (origin,) = record(first).record.origins
    assert origin.kinds == ("flow", "program-removed")
    assert origin.sections is None


@pytest.mark.parametrize(
    ("stamps", "kinds"),
    [
        (["(POST PLUMB-MILL 1.3)"], ["post", "wording"]),
        (["(POST LINE-MILL 1.2)"], ["post", "wording"]),
        (["(NO STAMP)"], ["wording"]),
        (["(NO STAMP)", "(POST PLUMB-MILL 1.2)"], ["wording"]),
        (["(NO STAMP)", "(POST PLUMB-MILL 1.3)"], ["post", "wording"]),
        (["(POST PLUMB-MILL 1.2 1 MAR)"], ["wording"]),
    ],
)
def test_another_post_ends_carrying_though_the_fingerprint_stays(first, desk, stamps, kinds):
    before = record(first)
    held = "(POST PLUMB-MILL 1.2)"
    for stamp in stamps:
        edit(first, OP10, held, stamp)
        checkin(desk, "4471/op10")
        held = stamp
    (origin,) = record(first).record.origins
    assert list(origin.kinds) == kinds
    assert record(first).record.operation_fingerprint == before.record.operation_fingerprint
    assert (origin.sections is None) == ("post" in kinds)


def test_two_clones_checked_in_at_once_both_are_origins(first, desk):
    first.branch("other")
    edit(first, OP10, "Z-0.5", "Z-0.6")
    checkin(desk, "4471/op10")
    first.switch("other")
    edit(first, OP10, "F15.", "F14.")
    checkin(desk, "4471/op10")
    first.switch("main")
    first.merge("other")
    both = {stored.name for stored in newest(first.ledger(), "4471", "op10")}
    assert len(both) == 2
    assert [c.state for c in list_changes(desk).changes] == [SIDE_BY_SIDE]
    checkin(desk, "4471/op10")
    after = record(first).record
    assert {origin.revision for origin in after.origins} == both
    assert {origin.kinds for origin in after.origins} == {(), ("feed", "motion")}


def test_a_number_another_branch_has_is_not_used_again(first, desk):
    first.branch("other")
    first.switch("other")
    edit(first, OP10, "F15.", "F14.")
    checkin(desk, "4471/op10")
    first.switch("main")
    edit(first, OP10, "Z-0.5", "Z-0.6")
    checkin(desk, "4471/op10")
    assert record(first).record.revision == "r0003"
    assert len(record(first).record.origins) == 1


def test_an_edit_committed_past_the_tool_gets_its_revision(first, desk):
    first.save({OP10: MAIN.replace("Z-0.5", "Z-0.7")})
    assert [c.operation.id for c in list_changes(desk).changes] == ["op10"]
    checkin(desk, "4471/op10")
    assert record(first).record.origins[0].kinds == ("motion",)


def test_an_origin_whose_bytes_are_lost_is_other(first, desk):
    before = record(first)
    first.commits[before.commit].files.pop(OP10)
    edit(first, OP10, "(PLATE)", "(PLATES)")
    checkin(desk, "4471/op10")
    (origin,) = record(first).record.origins
    assert (origin.kinds, origin.sections) == (("other",), None)


def test_a_text_off_a_control_is_taken_over_the_last_commit(first, desk):
    cut = MAIN.replace("F15.", "F12.5").encode()
    report = check_in(
        desk,
        [parse_named("4471/op10")],
        by="ss",
        entered_by="np",
        reason="T4 feed",
        texts={OP10: cut},
    )
    kept = record(first).record
    assert (kept.by, kept.entered_by) == ("ss", "np")
    assert report.checked_in[0].number == 2
    assert first.work[OP10] == cut
    assert first.log()[-1].files[OP10] == cut
    assert first.log()[-1].author == "ss@shop.example"


def test_a_text_off_a_control_never_goes_over_edits(first, desk):
    edit(first, OP10, "Z-0.5", "Z-0.8")
    kept = first.work[OP10]
    with pytest.raises(Refused) as error:
        check_in(desk, [parse_named("4471/op10")], by="ss", reason="x", texts={OP10: b"O1001\nM30\n"})
    assert error.value.name == "uncommitted-edits"
    assert first.work[OP10] == kept
    assert record(first).record.revision == "r0001"


def test_the_same_text_off_a_control_is_nothing_to_do(first, desk):
    report = check_in(desk, [parse_named("4471/op10")], by="ss", reason="x", texts={OP10: MAIN.encode()})
    assert report.checked_in == ()
    assert report.commit is None


@pytest.mark.parametrize(
    ("by", "more", "allowed"),
    [
        ("np", {}, True),
        ("ss", {}, False),
        ("ss", {"off_control": True}, True),
        ("dg", {}, False),
        ("dg", {"off_control": True}, False),
    ],
)
def test_who_may(repo, desk, by, more, allowed):
    if allowed:
        assert checkin(desk, "4471/op10", by=by, **more).commit
        return
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10", by=by, **more)
    assert error.value.name == "wrong-role"
    assert len(repo.commits) == 1


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"%\n(ONLY WORDS)\n%\n", "no code"),
        (b"\r\n\r\n", "no code"),
        (b"\x00\x00", "no code"),
    ],
)
def test_an_empty_program_is_refused(repo, desk, data, said):
    repo.write(OP10, data)
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10")
    assert error.value.name == "no-code"
    assert error.value.where == OP10
    assert said in error.value.what
    assert len(repo.commits) == 1


def test_an_empty_called_program_is_refused_too(repo, desk):
    repo.write("common/O1002.nc", b"")
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10")
    assert error.value.where == CALLED


def test_binary_is_taken_with_a_note(repo, desk):
    repo.write(OP10, bytes(range(256)) * 4)
    report = checkin(desk, "4471/op10")
    assert any("kept to the letter" in note for note in report.checked_in[0].text.notes)
    assert record(repo).record.files[0].dialect == "verbatim"


def test_a_dry_run_writes_nothing(first, desk):
    edit(first, OP10, "Z-0.5", "Z-0.6")
    before = len(first.commits), dict(first.index)
    report = checkin(desk, "4471/op10", dry_run=True)
    assert report.dry_run
    assert report.commit is None
    assert report.checked_in[0].traced[0].origin.kinds == ("motion",)
    assert (len(first.commits), dict(first.index)) == before


def test_everything_takes_what_changed(repo, desk):
    report = check_in(desk, (), by="np", reason="all", everything=True)
    assert {one.text.operation.id for one in report.checked_in} == {"op10", "op20"}
    assert check_in(desk, (), by="np", reason="all", everything=True).checked_in == ()


def test_without_names_what_changed_is_listed(first, desk):
    assert list_changes(desk).changes == ()
    edit(first, OP10, "Z-0.5", "Z-0.6")
    first.write(
        "jobs/4472/job.toml",
        'format = 1\n[job]\nnumber = "4472"\n[[operations]]\nid="op10"\nprogram="a.nc"\n',
    )
    first.write("jobs/4472/a.nc", "O1\nM30\n")
    first.write("jobs/4473/job.toml", "broken [")
    report = list_changes(desk)
    assert [(c.job.number, c.state) for c in report.changes] == [("4471", CHANGED), ("4472", NEW)]
    assert report.changes[0].files == (OP10,)
    assert [problem for problem in report.problems if "4473" in problem]


def test_a_detached_head_is_refused(first, desk):
    first.detach()
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10")
    assert error.value.name == "detached-head"


@pytest.mark.parametrize("reason", [None, "", "  \n"])
def test_a_reason_is_asked(repo, desk, reason):
    with pytest.raises(BadCall) as error:
        checkin(desk, "4471/op10", reason=reason)
    assert error.value.name == "no-reason"


def test_a_machine_the_shop_does_not_have_is_said_at_once(repo, desk):
    edit(repo, JOB_PATH, 'machines = ["MILL2"]\nunits', 'machines = ["MIL2"]\nunits')
    with pytest.raises(BadCall) as error:
        checkin(desk, "4471/op10")
    assert "MIL2" in error.value.what
    assert error.value.where == f"{JOB_PATH}:9"
    assert len(repo.commits) == 1


def test_when_somebody_was_faster_nothing_is_written(first, desk):
    edit(first, OP10, "Z-0.5", "Z-0.6")
    first.meanwhile = lambda: first.save({CALLED: "O1002\nM99\n"})
    first.meanwhile = lambda: first.save({"shop.toml": SHOP + "# moved\n"})
    with pytest.raises(Refused) as error:
        checkin(desk, "4471/op10")
    assert error.value.name == "moved"


def test_waivers_are_copied_into_the_record(repo, desk):
    edit(
        repo,
        JOB_PATH,
        "[[operations.tools]]",
        '[[operations.waivers]]\nrule = "h-not-tool"\ntool = 4\nreason = "known"\nby = "np"\n[[operations.tools]]',
    )
    checkin(desk, "4471/op10")
    assert [dict(w) for w in record(repo).record.waivers] == [
        {"rule": "h-not-tool", "tool": 4, "reason": "known", "by": "np"}
    ]
