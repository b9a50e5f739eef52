from datetime import timedelta

import pytest

from tests.fakes.floor import FULL, SHOP, TEXT, Floor, done
from tests.fakes.medium import memory_medium
from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, sub_program
from tracker.errors import BadCall, CouldNot, Refused
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


def seen(floor, files, label="BLUE-1", choose=None, machine=None):
    return from_stick(floor.desk(), stick(files, label), StickShaper(), choose, machine=machine)


def test_a_folder_says_job_operation_revision_machine_and_files():
    floor = Floor()
    found = seen(floor, {"MILL2/O1001.NC": HOME, f"MILL2/{MANIFEST_NAME}": manifest(floor, listed(floor))})
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.machine == "MILL2"
    assert [(one.name, one.data) for one in found.files] == [("MILL2/O1001.NC", HOME.encode())]


def test_without_our_list_the_content_says_it():
    floor = Floor()
    found = seen(floor, {"MILL2/O1001.NC": HOME, "MILL2/NOTES.TXT": "hello"})
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.machine == "MILL2"


def test_in_the_folder_of_a_machine_it_is_not_for_a_person_says_the_machine():
    floor = Floor()
    with pytest.raises(BadCall) as caught:
        seen(floor, {"MILL3/O1001.NC": HOME})
    assert caught.value.name == "which-machine"
    assert seen(floor, {"MILL3/O1001.NC": HOME}, machine="MILL3").machine == "MILL3"


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
    assert caught.value.fix.endswith("or the operation: 4471/op10@r1 --machine MILL2")
    picked = seen(
        floor,
        {"MILL2/O1001.NC": HOME, "MILL2/O1003.NC": second},
        choose=lambda choices: next(one for one in choices if one.operation == "op20"),
    )
    assert (picked.named.operation, [one.name for one in picked.files]) == ("op20", ["MILL2/O1003.NC"])
    assert "4471/op10 r1 in MILL2 (UNPROVEN); 4471/op20 r1 in MILL2 (UNPROVEN)" in caught.value.what
    with pytest.raises(BadCall) as caught:
        seen(floor, {"MILL2/O1001.NC": HOME, "MILL3/O1001.NC": HOME})
    assert caught.value.name == "which-operation"


# -- on a stick that was exported ----------------------------------------------------------------------------------

MAIN, SUB, SECOND, LIST = "MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC", "MILL2/PROVEOUT.JSON"


def at(shop, choose=None, machine=None):
    return from_stick(shop.desk(), shop.medium, shop.shaper, choose, machine=machine)


def only(operation):
    return lambda choices: next(one for one in choices if one.operation == operation)


@pytest.fixture
def out():
    return exported_shop()


def test_an_operation_comes_with_all_its_programs(out):
    found = at(out, only("op10"))
    assert str(found.named).startswith("4471/op10@r1-")
    assert (found.machine, [one.name for one in found.files]) == ("MILL2", [MAIN, SUB])
    with pytest.raises(BadCall) as caught:
        at(out)
    assert caught.value.what == "this folder holds programs of 4471/op10 r1 in MILL2; 4471/op20 r1 in MILL2"


def test_what_is_held_says_so_before_anybody_chooses_and_what_may_run_says_nothing(out):
    out.hold("4471/op20")
    offered = []

    def choose(choices):
        offered.extend(choices)
        return choices[-1]

    found = at(out, choose)
    assert [one.spelled for one in offered] == ["4471/op10 r1 in MILL2", "4471/op20 r1 in MILL2 (HELD)"]
    assert [one.stopped for one in offered] == [None, found.stopped]
    assert found.stopped.words.startswith(
        "HELD on MILL2, may not run there: held by dg 16 Feb 2026: gauge out"
    )
    assert at(out, only("op10")).stopped is None
    with pytest.raises(BadCall) as caught:
        at(out)
    assert caught.value.what.endswith("4471/op20 r1 in MILL2 (HELD)")


def test_a_text_out_for_its_prove_out_is_not_said_to_be_unproven_and_a_held_one_is_said(out):
    for path in (MAIN, SUB, SECOND, LIST):
        del out.files[path]
    out.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    out.check_in("4471/op10")
    out.for_proving("4471/op10")
    assert at(out).stopped is None
    # the same text in the folder of what may run: it may not
    for path in list(out.files):
        out.files[path.replace("/FOR-PROVING", "")] = out.files.pop(path)
    assert at(out).stopped.state == "unproven"
    out.hold("4471/op10@r2")
    assert at(out).stopped.state == "held"


def test_on_another_machine_than_that_of_the_folder_it_is_judged_by_that_one(out):
    del out.files[SECOND]
    assert at(out).stopped is None
    assert at(out, machine="MILL3").stopped.machine == "MILL3"


def test_a_list_that_lies_changes_nothing_and_is_said(out):
    del out.files[SECOND]
    honest = at(out)
    out.files[LIST] = out.files[LIST].replace(b'"op10"', b'"op20"').replace(b"MILL2", b"MILL3")
    found = at(out)
    assert (found.named, found.machine, found.files) == (honest.named, honest.machine, honest.files)
    assert honest.notes == ()
    assert len(found.notes) == 1
    assert found.notes[0].startswith(f"{LIST}: no export recorded here wrote this list")


def test_an_edited_text_is_the_revision_that_went_out(out):
    del out.files[SECOND]
    out.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    out.check_in("4471/op10")
    out.files[MAIN] = edited(out.files[MAIN], (b"F15.", b"F12.5"))
    found = at(out)
    assert str(found.named).startswith("4471/op10@r1-")
    assert found.files[0].data == out.files[MAIN]


def test_a_copy_outside_every_machines_folder_is_of_the_machine_it_was_written_for(out):
    out.files["BACKUP/O1001.NC"] = out.files[MAIN]
    for path in (MAIN, SUB, SECOND, LIST):
        del out.files[path]
    found = at(out)
    assert (found.machine, [one.name for one in found.files]) == ("MILL2", ["BACKUP/O1001.NC"])


def test_a_text_out_for_its_prove_out_beside_the_released_one_is_a_choice_of_its_own(out):
    del out.files[SECOND]
    out.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    out.check_in("4471/op10")
    out.for_proving("4471/op10")
    with pytest.raises(BadCall) as caught:
        at(out)
    assert "4471/op10 r1 in MILL2; 4471/op10 r2 in MILL2/FOR-PROVING" in caught.value.what
    found = at(out, lambda choices: choices[-1])
    assert found.named.revision == 2
    assert all(one.name.startswith("MILL2/FOR-PROVING/") for one in found.files)


def test_what_did_not_come_home_whole_is_neither_proved_nor_run(out):
    del out.files[SECOND]
    out.files[MAIN] = out.files[MAIN][:300]
    with pytest.raises(Refused) as caught:
        at(out)
    assert caught.value.name == "not-whole"
    assert caught.value.where == MAIN


def test_what_may_be_cut_down_is_taken_in_first_or_read_out_again(out):
    """Named without its file it would be a proof, or a run, of a text that was not cut."""
    lines = out.files["MILL2/O1003.NC"].split(b"\n")
    out.files["MILL2/O1003.NC"] = b"\n".join(lines[:9] + lines[-6:])
    with pytest.raises(Refused) as caught:
        at(out, choose=only("op20"))
    assert caught.value.name == "not-whole"
    assert "not whole, or cut down at the control since r1: " in caught.value.what
    assert caught.value.fix.endswith("take it in first: proveout collect DIR --checkin 4471/op20 --whole")
    out.collect(checkin="4471/op20", reason="one tool", whole=True)
    assert at(out, choose=only("op20")).spelled == "4471/op20 r2 on MILL2"


def test_a_program_of_a_dump(out):
    texts = [out.files.pop(path).replace(b"%\r\n", b"") for path in (MAIN, SUB)]
    del out.files[SECOND]
    out.files["MILL2/ALL.TXT"] = b"%\r\n" + b"".join(texts) + b"%\r\n"
    found = at(out)
    assert str(found.named).startswith("4471/op10@r1-")
    assert [one.data for one in found.files] == texts
    ran(out.desk(), found.named, Run(), machine=found.machine, by="ss", files=found.files)


def test_a_shared_program_alone_is_of_every_operation_that_calls_it():
    shop = StickShop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op10", "4471/op20", "4471/op10-m3")
    shop.files["O1002.NC"] = sub_program(1002)
    with pytest.raises(BadCall) as caught:
        at(shop)
    assert caught.value.name == "which-operation"
    assert "4471/op10 r1" in caught.value.what
    assert "4471/op20 r1" in caught.value.what


def test_a_file_that_changes_after_it_was_judged_is_not_believed(out, monkeypatch):
    del out.files[SECOND]
    medium = out.medium
    real, seen_before = medium.read, set()

    def read(path):
        data = real(path)
        changed = path == MAIN and path in seen_before
        seen_before.add(path)
        return data + b"X" if changed else data

    monkeypatch.setattr(medium, "read", read)
    with pytest.raises(CouldNot) as caught:
        from_stick(out.desk(), medium, out.shaper)
    assert caught.value.name == "unreadable-file"


def test_what_cannot_be_read_does_not_hide_the_rest(out):
    del out.files[SECOND]
    out.disk.fails[f"read {SUB}"] = OSError(5, "input/output error")
    assert [one.name for one in at(out).files] == [MAIN]
