import hashlib
from dataclasses import replace

import pytest

from tracker.nc import scan
from tracker.records.shop import Machine
from tracker.services.ports_stick import FOR_PROVING, MANIFEST_NAME, RELEASED, Outgoing
from tracker.stick.layout import StickShaper

MILL = Machine(id="MILL2", type="mill", units="inch", file_name="O{number:04}.NC")
BY_NAME = replace(MILL, file_name="{name}")
DATA = b"%\nO1001 (PLATE)\nG0 X1.\nM30\n%\n"


def outgoing(name: str = "O1001.nc", number: int | None = 1001, data: bytes = DATA, **other) -> Outgoing:
    known = scan.identity(data)
    values = {
        "source": f"jobs/4471/op10/{name}",
        "name": name,
        "number": number,
        "raw_sha256": known.raw_sha256,
        "fetch": lambda: data,
        "dialect": known.dialect,
        "strict": False,
        "fingerprint": known.fingerprint,
        "job": "4471",
        "operation": "op10",
        "revision": "r0005-7f3a09c2",
        "release": 2,
        "mark": "0a1b2c3d",
    }
    return Outgoing(**{**values, **other})


def lay_out(machine: Machine, *programs: Outgoing, purpose=RELEASED):
    return StickShaper().shape(machine, programs, purpose)


def test_a_program_gets_its_name_its_stamp_and_its_hash():
    (file,) = lay_out(MILL, outgoing()).files
    assert file.name == "O1001.NC"
    assert b"\r\n(ID 0A1B2C3D 4471 OP10 R5 REL 2 MILL2)\r\n" in file.data
    assert file.sha256 == hashlib.sha256(file.data).hexdigest()
    assert file.program == outgoing()


@pytest.mark.parametrize(
    ("other", "purpose", "line"),
    [
        ({"shared": True}, RELEASED, b"(ID 0A1B2C3D 4471 SUB REL 2 MILL2)"),
        ({"common": True}, RELEASED, b"(ID 0A1B2C3D COMMON MILL2)"),
        (
            {"release": None},
            FOR_PROVING,
            b"(UNPROVEN - FOR PROVE-OUT ONLY)\r\n(ID 0A1B2C3D 4471 OP10 R5 MILL2)",
        ),
    ],
)
def test_the_stamp_is_that_of_what_the_program_is(other, purpose, line):
    (file,) = lay_out(MILL, outgoing(**other), purpose=purpose).files
    assert b"\r\n" + line + b"\r\n" in file.data


def test_two_programs_with_one_name_are_refused_with_both_named():
    other = outgoing(source="jobs/5000/op20/O1001.nc", job="5000", operation="op20")
    layout = lay_out(MILL, outgoing(), other)
    assert layout.files == ()
    assert layout.problems == (
        "jobs/4471/op10/O1001.nc (4471/op10) and jobs/5000/op20/O1001.nc (5000/op20) would both be O1001.NC on MILL2",
    )


def test_names_that_differ_by_case_alone_are_refused():
    layout = lay_out(BY_NAME, outgoing("Plate.nc"), outgoing("PLATE.NC"))
    assert len(layout.problems) == 1
    assert "would both be PLATE.NC" in layout.problems[0]


@pytest.mark.parametrize(
    ("name", "machine", "why"),
    [
        ("CON.nc", BY_NAME, "device"),
        ("a:b.nc", BY_NAME, "Windows reserves"),
        ("x+y.nc", replace(BY_NAME, names_8_3=True), "X_Y~1.NC"),
        ("long name one.nc", replace(BY_NAME, names_8_3=True), "LONGNA~1.NC"),
        ("gr\u00f6\u00dfe.nc", replace(BY_NAME, characters="ascii"), "letters the machine does not have"),
        (MANIFEST_NAME.lower(), BY_NAME, "list this tool writes"),
        ("Read-Me.txt", BY_NAME, "read-me this tool writes"),
        ("po12ab34.tmp", BY_NAME, "temporary files"),
        ("O1.nc", replace(MILL, file_name="{nonsense}"), "file_name"),
    ],
)
def test_names_that_do_not_stand_are_refused(name, machine, why):
    layout = lay_out(machine, outgoing(name))
    assert layout.files == ()
    assert why in layout.problems[0]
    assert layout.problems[0].startswith(f"jobs/4471/op10/{name}: ")


def test_two_long_names_a_short_name_control_cannot_tell_apart_are_both_refused():
    machine = replace(BY_NAME, names_8_3=True)
    layout = lay_out(machine, outgoing("bracket left.nc"), outgoing("bracket right.nc"))
    assert [problem.split(": ")[0] for problem in layout.problems] == [
        "jobs/4471/op10/bracket left.nc",
        "jobs/4471/op10/bracket right.nc",
    ]


def test_a_short_name_is_written_in_capitals_for_a_control_with_short_names():
    (file,) = lay_out(replace(BY_NAME, names_8_3=True), outgoing("o1001.nc")).files
    assert file.name == "O1001.NC"


def test_a_program_without_a_number_on_a_machine_that_goes_by_numbers():
    layout = lay_out(MILL, outgoing("part.nc", None))
    assert "the program has none" in layout.problems[0]


def test_all_problems_are_told_at_once():
    layout = lay_out(
        replace(BY_NAME, max_line=14),
        outgoing("CON.nc"),
        outgoing("a:b.nc"),
        outgoing("c.nc", fingerprint="0" * 64),
        outgoing("d.nc", data=b"%\nO1\nG1 X1.23456 Y1.23456\nM30\n%\n"),
        outgoing("e.nc"),
    )
    assert len(layout.problems) == 4
    assert layout.files == ()


def test_leftovers_are_told_from_programs():
    shaper = StickShaper()
    assert shaper.leftover("PO12AB34.TMP")
    assert shaper.leftover("po12ab34.tmp")
    assert not shaper.leftover("PO12AB34.NC")
    assert not shaper.leftover("O1001.TMP")
