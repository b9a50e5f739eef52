import errno
import hashlib

import pytest

from tests.fakes.disk import MemoryDisk, PowerCut
from tracker.errors import CouldNot, Refused
from tracker.services.ports_stick import ToWrite
from tracker.stick.copying import LEFTOVER, stage

OLD = {
    "MILL2/O1001.NC": b"OLD 1001\r\n" * 9,
    "MILL2/PROVEOUT.JSON": b"{old}",
    "MILL2/O9999.NC": b"somebody's own",
}
NEW = {
    "MILL2/O1001.NC": b"NEW 1001\r\n" * 10,
    "MILL2/O1002.NC": b"NEW 1002\r\n" * 11,
    "MILL2/PROVEOUT.JSON": b"{new}",
}


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def to_write() -> list[ToWrite]:
    return [
        ToWrite(path=path, data=data, sha256=sha(data), replaces=sha(OLD[path]) if path in OLD else None)
        for path, data in NEW.items()
    ]


def copied(disk: MemoryDisk) -> None:
    stage(disk, to_write()).finish()


def leftovers(disk: MemoryDisk) -> list[str]:
    return [path for path in disk.files if LEFTOVER.fullmatch(path.rsplit("/", 1)[-1])]


def test_everything_gets_there_and_nothing_else_is_touched():
    disk = MemoryDisk(OLD)
    copied(disk)
    assert disk.files == {**OLD, **NEW}


def test_nothing_shows_before_finish_and_drop_leaves_no_trace():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    assert {path: data for path, data in disk.files.items() if path not in leftovers(disk)} == OLD
    assert len(leftovers(disk)) == 3
    staged.drop()
    assert disk.files == OLD


def test_the_manifest_gets_its_name_after_all_programs_are_on_the_medium():
    disk = MemoryDisk(OLD)
    copied(disk)
    steps = [step for step in disk.log if not step.startswith(("write", "sync PO", "sync MILL2/PO"))]
    assert steps == [
        "folder MILL2",
        "rename MILL2/O1001.NC",
        "rename MILL2/O1002.NC",
        "sync folder MILL2",
        "rename MILL2/PROVEOUT.JSON",
        "sync folder MILL2",
    ]


def steps_of_a_copy() -> int:
    disk = MemoryDisk(OLD)
    copied(disk)
    return disk.steps


@pytest.mark.parametrize("content", [True, False])
@pytest.mark.parametrize("names", ["done", "lost", "torn"])
@pytest.mark.parametrize("cut", range(1, steps_of_a_copy() + 1))
def test_a_power_cut_after_any_step_leaves_whole_old_or_whole_new_programs(cut, names, content):
    disk = MemoryDisk(OLD)
    disk.cut_after = cut
    with pytest.raises(PowerCut):
        copied(disk)
    later = disk.after_cut(names=names, content=content)
    for path, data in later.files.items():
        if path not in leftovers(later):
            assert data in (OLD.get(path), NEW.get(path)), path
    assert later.files["MILL2/O9999.NC"] == OLD["MILL2/O9999.NC"]
    if later.files.get("MILL2/PROVEOUT.JSON") == b"{new}":
        assert {path: later.files[path] for path in NEW} == NEW
    # and the next export finishes the job whatever was left
    again = [
        ToWrite(path=f.path, data=f.data, sha256=f.sha256, replaces=sha(there) if there is not None else None)
        for f in to_write()
        for there in [later.files.get(f.path)]
    ]
    stage(later, again).finish()
    assert {path: later.files[path] for path in NEW} == NEW


def test_too_little_room_is_found_before_anything_is_written():
    disk = MemoryDisk(OLD, room=100_000)
    with pytest.raises(CouldNot) as fault:
        copied(disk)
    assert fault.value.name == "no-room"
    assert disk.files == OLD
    assert disk.log == []


@pytest.mark.parametrize(
    ("number", "name"),
    [
        (errno.ENOSPC, "no-room"),
        (errno.EROFS, "read-only"),
        (errno.EACCES, "read-only"),
        (errno.EIO, "medium-gone"),
        (errno.ENOENT, "medium-gone"),
    ],
)
def test_a_medium_that_fails_while_files_are_written_is_left_as_it_was(number, name):
    disk = MemoryDisk(OLD)
    disk.fails["create"] = OSError(number, "does not want to")
    with pytest.raises(CouldNot) as fault:
        copied(disk)
    assert fault.value.name == name
    assert fault.value.fix
    assert disk.files == OLD


def test_a_medium_that_fails_while_names_are_given_keeps_whole_files():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    disk.fails["rename"] = OSError(errno.EIO, "gone")
    with pytest.raises(CouldNot) as fault:
        staged.finish()
    assert fault.value.name == "medium-gone"
    assert disk.files == OLD


def test_a_file_that_reads_back_wrong_never_stands_under_its_name():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    disk.lying = {"O1002.NC"}
    with pytest.raises(CouldNot) as fault:
        staged.finish()
    assert fault.value.name == "copy-failed"
    assert fault.value.where == "MILL2/O1002.NC"
    assert "MILL2/O1002.NC" not in disk.files
    assert disk.files["MILL2/PROVEOUT.JSON"] == b"{old}"
    assert leftovers(disk) == []


def test_a_temporary_file_that_reads_back_wrong_stops_everything():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    disk.lying = {path.rsplit("/", 1)[-1] for path in leftovers(disk)}
    staged.drop()
    with pytest.raises(CouldNot) as fault:
        copied(disk)
    assert fault.value.name == "copy-failed"
    assert disk.files == OLD


def test_a_file_changed_while_the_export_ran_is_not_replaced():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    disk.files["MILL2/O1001.NC"] = b"edited at the control"
    with pytest.raises(Refused) as fault:
        staged.finish()
    assert fault.value.name == "collect-first"
    assert disk.files["MILL2/O1001.NC"] == b"edited at the control"
    assert leftovers(disk) == []


def test_a_file_that_came_up_meanwhile_is_not_replaced():
    disk = MemoryDisk(OLD)
    staged = stage(disk, to_write())
    disk.files["MILL2/O1002.NC"] = b"from nowhere"
    with pytest.raises(Refused):
        staged.finish()
    assert disk.files["MILL2/O1002.NC"] == b"from nowhere"


def test_a_leftover_of_an_earlier_call_is_left_alone():
    first = MemoryDisk(OLD)
    stage(first, to_write())
    left = dict.fromkeys(leftovers(first), b"half")
    disk = MemoryDisk({**OLD, **left})
    copied(disk)
    assert {path: disk.files[path] for path in left} == left
    assert {path: disk.files[path] for path in NEW} == NEW


@pytest.mark.parametrize(("kind", "name"), [("links", "link-on-stick"), ("files", "not-a-folder")])
def test_nothing_is_written_through_a_link_or_a_file(kind, name):
    disk = MemoryDisk()
    if kind == "links":
        disk.links.add("MILL2")
    else:
        disk.files["MILL2"] = b"a file"
    with pytest.raises(Refused) as fault:
        copied(disk)
    assert fault.value.name == name
    assert disk.log == []
