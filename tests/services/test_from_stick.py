from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, SHOP, TEXT, Floor, done
from tests.fakes.medium import memory_medium
from tracker.errors import BadCall, Refused
from tracker.services.from_stick import from_stick
from tracker.services.ports_stick import MANIFEST_NAME, Listed, Manifest
from tracker.services.prove import Answers, begin, finish, with_ran
from tracker.services.ran import Run, ran
from tracker.stick.layout import StickShaper

HOME = TEXT.replace("O1001 (PLATE)", "O1001 (PLATE)\n(ID 12345678 4471 OP10 R1 REL 1 MILL2)").replace(
    "\n", "\r\n"
)


def manifest(floor, *listed, machine="MILL2"):
    return StickShaper().write_manifest(
        Manifest(
            stick="BLUE-1",
            machine=machine,
            purpose="released",
            at=floor.now,
            by="ss",
            until=floor.now + timedelta(days=1),
            files=listed,
        )
    )


def listed(floor, name="O1001.NC", operation="op10", job="4471"):
    revision = floor.repo.ledger().records[0]
    return Listed(
        file=name,
        sha256="0" * 64,
        job=job,
        operation=operation,
        revision=revision.name,
        fingerprint=revision.record.files[0].fingerprint,
        program=revision.record.files[0].path,
    )


def stick(files, label="BLUE-1"):
    return memory_medium(
        {path: data.encode() if isinstance(data, str) else data for path, data in files.items()}, label=label
    )[0]


def seen(floor, files, label="BLUE-1"):
    return from_stick(floor.desk(), stick(files, label), StickShaper())


def test_a_folder_says_job_operation_revision_machine_and_files():
    floor = Floor()
    found = seen(floor, {"MILL2/O1001.NC": HOME, f"MILL2/{MANIFEST_NAME}": manifest(floor, listed(floor))})
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.machine == "MILL2"
    assert [(one.name, one.data) for one in found.files] == [("MILL2/O1001.NC", HOME.encode())]


def test_without_our_list_the_content_says_it():
    floor = Floor()
    found = seen(floor, {"MILL3/O1001.NC": HOME, "MILL3/NOTES.TXT": "hello"})
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.machine == "MILL3"


def test_the_folder_of_a_control_itself():
    floor = Floor()
    assert seen(floor, {"O1001.NC": HOME}, label="MILL2").machine == "MILL2"


def test_a_broken_list_is_no_list():
    floor = Floor()
    found = seen(floor, {"MILL2/O1001.NC": HOME, f"MILL2/{MANIFEST_NAME}": "{broken"})
    assert str(found.named).startswith("4471/op10@r1-")


def test_an_edited_file_is_known_by_our_list_and_proved_as_the_next_revision():
    floor = Floor()
    edited = HOME.replace("F15.", "F12.5")
    files = {"MILL2/O1001.NC": edited, f"MILL2/{MANIFEST_NAME}": manifest(floor, listed(floor))}
    found = seen(floor, files)
    desk = floor.desk()
    begun = begin(desk, found.named, machine=found.machine, by="ss")
    begun = with_ran(desk, begun, found.files, take_in=True)
    report = finish(desk, begun, Answers(result="accepted", steps=done(*FULL)))
    assert report.record.revision.startswith("r0002-")
    other = Floor()
    again = seen(other, files)
    with pytest.raises(Refused) as caught:
        ran(other.desk(), again.named, Run(), machine=again.machine, by="np", files=again.files)
    assert caught.value.name == "edited-at-control"
    assert other.records("ran") == []


def test_a_run_of_what_is_on_the_stick():
    floor = Floor()
    found = seen(floor, {"MILL2/O1001.NC": HOME})
    ran(floor.desk(), found.named, Run(lot="L7"), machine=found.machine, by="np", files=found.files)
    assert floor.records("ran")[0].machine == "MILL2"


def test_nothing_of_ours():
    floor = Floor()
    with pytest.raises(BadCall) as caught:
        seen(floor, {"MILL2/O7.NC": "O7\nG0 X1.\nM30\n"})
    assert caught.value.name == "nothing-of-ours"


def test_two_operations_or_two_machines():
    floor = Floor(shop=SHOP)
    text = floor.repo.work["jobs/4471/job.toml"].decode()
    other = text + '[[operations]]\nid = "op20"\nprogram = "op20/O1003.nc"\n'
    second = "O1003\nG0 X1.\nG1 Y2. F3.\nM30\n"
    floor.check_in(
        by="np", named="4471/op20", files={"jobs/4471/job.toml": other, "jobs/4471/op20/O1003.nc": second}
    )
    with pytest.raises(BadCall) as caught:
        seen(floor, {"MILL2/O1001.NC": HOME, "MILL2/O1003.NC": second})
    assert caught.value.name == "which-operation"
    assert "4471/op10, 4471/op20" in caught.value.what
    with pytest.raises(BadCall) as caught:
        seen(floor, {"MILL2/O1001.NC": HOME, "MILL3/O1001.NC": HOME})
    assert caught.value.name == "which-operation"
