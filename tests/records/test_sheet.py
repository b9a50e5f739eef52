import json
import tomllib
from dataclasses import replace
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.sample import JOB
from tracker.records.job import Job, Offset, Operation, Stock, Tool, Waiver, filled_in
from tracker.records.reading import job_from
from tracker.records.sheet import sheet_bytes, sheet_fingerprint, sheet_kinds, shortest_decimal

TOOL = Tool(number=3, description="END MILL", diameter=0.5, stick_out=1.25)
OP = Operation(
    id="op10",
    program="op10/O1001.nc",
    units="inch",
    fixture="vise",
    clearance_z=0.5,
    stock=Stock(top=0.05),
    offsets=(Offset(code="G54", origin="corner"),),
    tools=(TOOL, Tool(number=5, stick_out=1.75)),
)
JOB_A = Job(number="4471", drawing="4471", drawing_revision="C", operations=(OP,))


def job_of(text):
    job, problems = job_from(tomllib.loads(text), "jobs/4471")
    assert not problems
    return job


def test_the_bytes_are_one_line_of_json_behind_a_heading():
    job = Job(
        number="1", operations=(Operation(id="op10", program="p", tools=(Tool(number=7, diameter=2.0),)),)
    )
    assert sheet_bytes(job, job.operations[0]) == (
        b"proveout sheet 1\n"
        b'{"continuous":false,"job":"1","offsets":[],'
        b'"tools":[{"d":7,"diameter":2,"h":7,"large":false,"number":7,"offset":7,"through_coolant":false}]}'
    )
    assert (
        sheet_fingerprint(job, job.operations[0]) == sha256(sheet_bytes(job, job.operations[0])).hexdigest()
    )


def test_the_json_is_json():
    head, _, body = sheet_bytes(JOB_A, OP).partition(b"\n")
    assert head == b"proveout sheet 1"
    assert json.loads(body)["stock"] == {"top": 0.05}


def test_layout_order_waivers_machines_and_names_are_outside():
    job = job_of(JOB)
    same = JOB.replace('name = "Pivot plate"', 'name = "Plate"').replace(
        "material =", "# a remark\nmaterial  = "
    )
    same = same.replace('machines = ["MILL2"]', 'machines = ["MILL2", "MILL3"]', 1)
    same = same.replace("[[operations.waivers]]", "[[operations.waivers]]\n ").replace(
        'by = "np"', 'by = "dg"'
    )
    same = same.replace("stick_out = 1.25", "stick_out = 1.250").replace(
        "clearance_z = 0.5", "clearance_z = 5e-1"
    )
    same = same.replace("max_rpm = 2500", "max_rpm = 2500.0").replace('code = "G54"', 'code = " g54"')
    assert sheet_bytes(job_of(same), job_of(same).operation("op10")) == sheet_bytes(
        job, job.operation("op10")
    )
    turned = replace(job.operations[0], tools=job.operations[0].tools[::-1])
    assert sheet_bytes(job, turned) == sheet_bytes(job, job.operations[0])


def test_defaults_stated_or_left_out_are_one():
    plain = job_of(JOB.replace("h = 3\nd = 3\noffset = 3\n", "").replace("continuous = false\n", ""))
    assert sheet_bytes(plain, plain.operations[0]) == sheet_bytes(job_of(JOB), job_of(JOB).operations[0])


CHANGES = [
    ("drawing_revision", JOB_A, replace(JOB_A, drawing_revision="D"), OP, ("drawing",), ()),
    ("drawing", JOB_A, replace(JOB_A, drawing="4472"), OP, ("drawing",), ()),
    ("job", JOB_A, replace(JOB_A, number="4472"), OP, ("other",), None),
    ("units", JOB_A, JOB_A, replace(OP, units="mm"), ("sheet-offset",), None),
    ("fixture", JOB_A, JOB_A, replace(OP, fixture="chuck"), ("sheet-offset",), None),
    ("clearance", JOB_A, JOB_A, replace(OP, clearance_z=1.0), ("sheet-offset",), None),
    ("stock", JOB_A, JOB_A, replace(OP, stock=None), ("sheet-offset",), None),
    ("max_rpm", JOB_A, JOB_A, replace(OP, max_rpm=100.0), ("sheet-offset",), None),
    ("continuous", JOB_A, JOB_A, replace(OP, continuous=True), ("sheet-offset",), None),
    (
        "origin",
        JOB_A,
        JOB_A,
        replace(OP, offsets=(Offset(code="G54", origin="centre"),)),
        ("sheet-offset",),
        None,
    ),
    (
        "code",
        JOB_A,
        JOB_A,
        replace(OP, offsets=(Offset(code="G55", origin="corner"),)),
        ("sheet-offset",),
        None,
    ),
    *[
        (key, JOB_A, JOB_A, replace(OP, tools=(replace(TOOL, **{key: value}), OP.tools[1])), (kind,), (3,))
        for key, value, kind in [
            ("description", "other", "sheet-text"),
            ("insert", "R0.4", "sheet-text"),
            ("diameter", 0.4, "sheet-tool"),
            ("stick_out", 1.3, "sheet-tool"),
            ("h", 13, "sheet-tool"),
            ("d", 13, "sheet-tool"),
            ("offset", 13, "sheet-tool"),
            ("nose_radius", 0.4, "sheet-tool"),
            ("large", True, "sheet-tool"),
            ("through_coolant", True, "sheet-tool"),
        ]
    ],
    ("one tool less", JOB_A, JOB_A, replace(OP, tools=(TOOL,)), ("sheet-tool",), (5,)),
    (
        "another number",
        JOB_A,
        JOB_A,
        replace(OP, tools=(TOOL, Tool(number=6, stick_out=1.75))),
        ("sheet-tool",),
        (5, 6),
    ),
]


@pytest.mark.parametrize(
    ("what", "old", "new", "op", "kinds", "tools"), CHANGES, ids=[row[0] for row in CHANGES]
)
def test_each_value_has_its_kind_and_its_tools(what, old, new, op, kinds, tools):
    assert sheet_kinds(old, OP, new, op) == (kinds, tools)
    assert sheet_fingerprint(old, OP) != sheet_fingerprint(new, op)


def test_what_is_outside_the_sheet_gives_no_kind():
    other = replace(
        OP,
        id="op11",
        program="x",
        machines=("MILL3",),
        waivers=(Waiver(rule="r", reason="x", by="np", tool=3),),
    )
    assert sheet_kinds(JOB_A, OP, replace(JOB_A, name="n", part="p", material="m"), other) == ((), ())
    assert sheet_kinds(JOB_A, OP, JOB_A, replace(OP, tools=(replace(TOOL, h=3, d=3), OP.tools[1]))) == (
        (),
        (),
    )


def test_an_alternative_takes_over_what_it_does_not_state_and_keeps_a_stated_zero():
    other = Operation(
        id="op10-m3",
        program="p",
        alternative_to="OP10",
        clearance_z=0.0,
        stock=Stock(supported=False),
        continuous=False,
    )
    job = replace(JOB_A, operations=(OP, other))
    filled = job.operation("op10-m3")
    assert filled.tools == OP.tools
    assert filled.clearance_z == 0.0
    assert filled.stock == Stock(top=0.05, supported=False)
    assert filled_in(job, filled) == filled
    assert sheet_bytes(job, other) == sheet_bytes(job, filled)
    assert job.operation("nothing") is None


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.5, "0.5"),
        (1.0, "1"),
        (-0.0, "0"),
        (1e-7, "0.0000001"),
        (1e16, "10000000000000000"),
        (100.0, "100"),
        (0.1, "0.1"),
    ],
)
def test_shortest_decimals(number, text):
    assert shortest_decimal(number) == text


@given(st.floats(-1e12, 1e12, allow_nan=False))
def test_a_shortest_decimal_reads_back_as_the_number(number):
    text = shortest_decimal(number)
    assert float(text) == number
    assert "e" not in text.lower()


SOME = st.builds(
    Tool,
    number=st.integers(1, 3),
    description=st.none() | st.sampled_from(["a", "b"]),
    diameter=st.none() | st.sampled_from([0.5, 1.0]),
    h=st.none() | st.integers(1, 3),
    large=st.booleans(),
)
SHEETS = st.builds(
    Operation,
    id=st.just("op10"),
    program=st.just("p"),
    units=st.none() | st.sampled_from(["inch", "mm"]),
    continuous=st.none() | st.booleans(),
    stock=st.none() | st.builds(Stock, top=st.none() | st.just(0.1)),
    tools=st.lists(SOME, max_size=3, unique_by=lambda tool: tool.number).map(tuple),
    offsets=st.lists(
        st.sampled_from(["G54", "G55"]).map(lambda code: Offset(code=code)), max_size=2, unique=True
    ).map(tuple),
)


@given(SHEETS, SHEETS)
def test_a_kind_is_named_exactly_when_the_fingerprint_differs(old, new):
    kinds, _ = sheet_kinds(JOB_A, old, JOB_A, new)
    same = sheet_fingerprint(JOB_A, old) == sheet_fingerprint(JOB_A, new)
    assert same == (kinds == ())
