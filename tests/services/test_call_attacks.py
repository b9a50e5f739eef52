"""Programs an operation runs that were once left out of it, so that a change in one of them did not show."""

import pytest

from tests.fakes.repository import FakeTree
from tracker.services.locate import locate
from tracker.services.naming import parse_named
from tracker.services.operation_text import operation_text

SHOP = b'format = 1\n[shop]\nname = "S"\n[[machines]]\nid = "M1"\ntype = "mill"\nunits = "mm"\n'
JOB = b"""format = 1
[job]
number = "77"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["M1"]
"""


def text_of(main, **others):
    files = {f"jobs/77/op10/{name}.nc": data for name, data in others.items()}
    tree = FakeTree({"shop.toml": SHOP, "jobs/77/job.toml": JOB, "jobs/77/op10/O1001.nc": main, **files})
    job_path, job, operation = locate(tree, parse_named("77/op10"))
    return operation_text(tree, job_path, job, operation, tree.shop())


@pytest.mark.parametrize(
    "call",
    [
        b"M98. P1002",
        b"M98 P1002.",
        b"M+98 P1002",
        b"G66.1 P1002",
        b"G0 X1.;M98 P1002",
        b"(CALL 1002)",
        b"M9 8 P1002",
    ],
)
def test_a_change_in_the_called_program_shows(call):
    main = b"O1001\n" + b"G1 X5. F100\n" * 20 + call + b"\nM30\n"
    before = text_of(main, O1002=b"O1002\nG1 X1.\nM99\n")
    after = text_of(main, O1002=b"O1002\nG1 X2.\nM99\n")
    assert len(before.programs) == 2
    assert not before.findings
    assert before.fingerprint != after.fingerprint


def test_a_short_main_program_with_a_slip_still_has_its_programs():
    main = b"O1001\nGO X0.\nM98 P1002\nM30\n"
    text = text_of(main, O1002=b"O1002\nGO X1.\nM99\n")
    assert [file.dialect for file in text.files] == ["verbatim", "verbatim"]
    assert not text.findings
    assert text.fingerprint != text_of(main, O1002=b"O1002\nGO X2.\nM99\n").fingerprint


def test_a_called_program_in_another_language_can_ask_for_the_strict_form():
    main = b"O1001\nN10 G1 X5. F100\nM98 P1002\nN20 G1 X6.\nM30\n"
    renumbered = main.replace(b"N10", b"N30")
    sub = b"O1002\nGO X1.\nM99 P10\n"
    assert text_of(main, O1002=sub).strict
    assert text_of(main, O1002=sub).fingerprint != text_of(renumbered, O1002=sub).fingerprint


@pytest.mark.parametrize("comment", [b";M98 P1003", b"(CALL 1003)"])
def test_a_call_in_a_comment_that_nobody_answers_is_outside_and_no_finding(comment):
    text = text_of(b"O1001\n" + comment + b"\nG1 X5. F100\nM30\n")
    assert not text.findings
    assert [(said.text, said.why) for said in text.outside] == [
        (comment.decode(), "a comment on most controls, on some the call of a program that is not here")
    ]
