"""What is drafted from a program: held against what a person reads in texts of many posts."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.services.post_texts import TEXTS
from tracker.nc.scan import identity
from tracker.records.reading import job_from
from tracker.records.shop import Machine
from tracker.records.template_draft import drafted_job, open_questions
from tracker.services.drafting import draw, job_of, with_list

LATHE = Machine(id="LATHE1", type="lathe", units="mm")


def read_back(drawn):
    text = drafted_job(job_of("4471", [drawn], [drawn.operation]))
    job, problems = job_from(tomllib.loads(text), "jobs/4471")
    assert problems == ()
    return text, job


def test_there_are_enough_of_them():
    assert len(TEXTS) >= 30
    assert len({one.name for one in TEXTS}) == len(TEXTS)


@pytest.mark.parametrize("one", TEXTS, ids=lambda one: one.name)
def test_a_text_is_read_as_a_person_reads_it(one):
    drawn = draw(one.name, one.text)
    if one.dialect == "?":
        assert (
            drawn.operation.program == one.name
        )  # read as far as it goes, or not at all: said, never refused
        read_back(drawn)
        return
    operation = drawn.operation
    assert identity(one.text).dialect == one.dialect
    assert drawn.code is one.code or one.dialect == "verbatim"
    assert drawn.numbers == one.numbers
    got = tuple(
        (tool.number, tool.offset if one.lathe else tool.h, tool.d, tool.description)
        for tool in operation.tools
    )
    assert got == one.tools
    assert (operation.units, operation.offsets, operation.lathe) == (one.units, one.offsets, one.lathe)
    if one.note is not None:
        assert one.note in operation.notes
    if one.head is not None:
        said = {key: getattr(drawn.head, key) for key in ("drawing", "drawing_revision", "material", "title")}
        assert {key: value for key, value in said.items() if value is not None} == one.head


@pytest.mark.parametrize("one", TEXTS, ids=lambda one: one.name)
def test_every_draft_is_a_job_that_says_no_more_than_the_program(one):
    drawn = draw(one.name, one.text)
    text, job = read_back(drawn)
    (operation,) = job.operations
    assert [tool.number for tool in operation.tools] == [tool.number for tool in drawn.operation.tools]
    assert [offset.code for offset in operation.offsets] == list(drawn.operation.offsets)
    assert operation.fixture is operation.clearance_z is operation.stock is None
    assert all(tool.stick_out is tool.diameter is None for tool in operation.tools)
    # machines, units, fixture, clearance, stock; two a tool; one an offset: what no program says is asked for
    assert open_questions(text) >= 4 + 2 * len(operation.tools) + len(operation.offsets)


def test_a_program_that_calls_two_lengths_is_asked_about():
    drawn = draw("x.nc", next(one.text for one in TEXTS if one.name == "two-lengths.nc"))
    text, job = read_back(drawn)
    assert "# h = ?" in text
    assert "the program calls H1 and H31 with it" in text
    assert job.operations[0].tools[0].h is None


def test_the_machine_says_what_a_word_means():
    text = b"O1\nG21\nT0101\nG0 X10. Z1.\nG1 Z-5. F.1\nM30\n"
    assert [(tool.number, tool.offset) for tool in draw("a.nc", text, machine=LATHE).operation.tools] == [
        (1, (1,))
    ]


def test_a_lathe_tool_called_with_two_offsets():
    text = b"O1\nG21\nT0101\nG0 X10. Z1.\nG1 Z-5. F.1\nT0111\nG0 X9. Z1.\nG1 Z-5.\nT0202\nG0 X8. Z1.\nG1 Z-5.\nM30\n"
    tools = draw("a.nc", text, machine=LATHE).operation.tools
    assert [(tool.number, tool.offset) for tool in tools] == [(1, (1, 11)), (2, (2,))]


def test_what_a_called_program_does_is_followed():
    main = b"O1\nG21 G90\nT1 M6\nG0 G54 X0. Y0. S900 M3\nG43 H1 Z5.\nM98 P2\nM30\n"
    sub = b"O2\nG41 D21 X5. F50.\nG1 Z-1.\nG40 X0.\nM99\n"
    alone, whole = draw("a.nc", main), draw("a.nc", main, called={2: sub}.get)
    assert alone.operation.tools[0].d == ()
    assert any("M98 P2" in note for note in alone.operation.notes)
    assert whole.operation.tools[0].d == (21,)
    assert (alone.calls, whole.operation.notes) == ((2,), ())


def test_a_tool_list_stands_before_the_program_and_brings_its_own():
    drawn = draw("a.nc", b"O1\nG21\nT3 M6 (OLD WORDS)\nG0 G54 X0. S900 M3\nG43 H3 Z5.\nG1 Z-1. F9.\nM30\n")
    operation = with_list(
        drawn.operation, {9: {"stick_out": 30}, 3: {"description": "NEW", "diameter": 12.5, "h": 33}}
    )
    text = drafted_job(job_of("4471", [drawn], [operation]))
    job, _ = job_from(tomllib.loads(text))
    one, other = job.operations[0].tools
    assert (one.number, one.description, one.diameter, one.h, one.stick_out) == (3, "NEW", 12.5, 33, None)
    assert (other.number, other.stick_out) == (9, 30)
    assert "# on the tool list; the program does not change to it\nnumber = 9" in text


def test_two_heads_that_differ_say_nothing():
    one, other = (draw("a.nc", b"O1 (DRAWING 4471 REV %s)\nG21\n" % revision) for revision in (b"B", b"C"))
    job = job_of("4471", [one, other], [one.operation])
    assert (job.drawing, job.drawing_revision) == ("4471", None)


@settings(max_examples=100, deadline=None)
@given(
    st.binary(max_size=300)
    | st.text(max_size=200).map(lambda text: ("O1 (" + text + ")\nT1 M6 (" + text).encode())
)
def test_any_bytes_give_a_draft_that_can_be_read(data):
    read_back(draw("any.nc", data))
