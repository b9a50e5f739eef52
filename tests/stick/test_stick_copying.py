import errno
import hashlib
from dataclasses import replace

import pytest

from tests.fakes.disk import MemoryDisk, PowerCut
from tracker.errors import CouldNot, Refused
from tracker.services.ports_stick import ToWrite
from tracker.stick import read_behind
from tracker.stick.copying import LEFTOVER, StagedFiles, begin, stage

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


def copied_ahead(disk: MemoryDisk) -> None:
    """The programs written before the list is known, and one more that does not go after all."""
    *programs, manifest = to_write()
    begun = begin(disk, 3, 1000)
    for file in programs:
        begun.write(replace(file, replaces=None))
    begun.write(ToWrite(path="MILL2/O1003.NC", data=b"not wanted", sha256=sha(b"not wanted")))
    rest = [replace(file, data=None, written=len(file.data)) for file in programs]
    stage(disk, [*rest, manifest], begun=begun).finish()


def copied_in_lots(disk: MemoryDisk) -> None:
    """The same, every file read back before the next is written."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read_behind, "LOT_BYTES", 1)
        patch.setattr(read_behind, "Thread", _AtOnce)
        copied_ahead(disk)


class _AtOnce:
    """A thread that has done its work when it is begun."""

    def __init__(self, target, args, daemon):
        self.start = lambda: target(*args)

    def is_alive(self):
        return False

    def join(self):
        pass


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


def steps_of(copy) -> list:
    disk = MemoryDisk(OLD)
    copy(disk)
    return [(copy, cut) for cut in range(1, disk.steps + 1)]


@pytest.mark.parametrize("content", [True, False])
@pytest.mark.parametrize("names", ["done", "lost", "torn"])
@pytest.mark.parametrize(
    ("copy", "cut"), [*steps_of(copied), *steps_of(copied_ahead), *steps_of(copied_in_lots)]
)
def test_a_power_cut_after_any_step_leaves_whole_old_or_whole_new_programs(copy, cut, names, content):
    disk = MemoryDisk(OLD)
    disk.cut_after = cut
    with pytest.raises(PowerCut):
        copy(disk)
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


def test_what_was_written_before_all_was_known_is_synced_read_back_and_named_like_the_rest():
    disk = MemoryDisk(OLD)
    copied_ahead(disk)
    assert disk.files == {**OLD, **NEW}
    ends = [step for step in disk.log if step.startswith(("sync", "rename"))]
    assert ends == [
        *(step for step in ends if step.startswith("sync MILL2/PO")),
        "rename MILL2/O1001.NC",
        "rename MILL2/O1002.NC",
        "sync folder MILL2",
        "rename MILL2/PROVEOUT.JSON",
        "sync folder MILL2",
    ]
    assert len([step for step in ends if step.startswith("sync MILL2/PO")]) == 3


def test_what_was_written_before_and_does_not_read_back_is_never_named():
    disk = MemoryDisk(OLD)
    begun = begin(disk, 1, 100)
    file = to_write()[0]
    begun.write(file)
    disk.lying.update(path.rsplit("/", 1)[-1] for path in leftovers(disk))
    with pytest.raises(CouldNot) as fault:
        stage(disk, [replace(file, data=None, written=len(file.data))], begun=begun)
    assert fault.value.name == "copy-failed"
    assert disk.files == OLD


def test_bytes_nobody_wrote_cannot_be_named():
    disk = MemoryDisk(OLD)
    with pytest.raises(ValueError, match="never written"):
        stage(disk, [replace(to_write()[0], data=None)], begun=begin(disk, 1, 100))
    assert disk.files == OLD


def test_after_it_was_given_up_nothing_more_is_written():
    disk = MemoryDisk(OLD)
    begun = begin(disk, 1, 100)
    begun.write(to_write()[0])
    begun.write(to_write()[0])
    assert len(leftovers(disk)) == 1
    begun.drop()
    with pytest.raises(CouldNot) as fault:
        begun.write(to_write()[1])
    assert fault.value.name == "copy-failed"
    assert disk.files == OLD


# two files of two clusters each, as long as they may become, five for three names, three for folders
@pytest.mark.parametrize(("room", "goes"), [(None, True), (12 * 512 - 1, False), (12 * 512, True)])
def test_nothing_is_begun_where_it_may_not_find_room(room, goes):
    disk = MemoryDisk(OLD, room=room, cluster=512)
    assert (begin(disk, 2, 1000) is not None) == goes


def test_a_folder_made_for_nothing_goes_again_unless_something_lies_there():
    for others in ({}, {"MILL2/MINE.NC": b"mine"}):
        disk = MemoryDisk()
        begun = begin(disk, 1, 100)
        begun.write(replace(to_write()[0], path="MILL2/FOR-PROVING/O1001.NC"))
        disk.files.update(others)
        begun.drop()
        assert disk.files == others
        assert disk.folders == ({"MILL2"} if others else set())


def test_too_little_room_for_the_rest_takes_away_what_was_written():
    disk = MemoryDisk(OLD, room=1 << 30)
    begun = begin(disk, 1, 100)
    begun.write(to_write()[0])
    disk.free = 1000
    first, *rest = to_write()
    with pytest.raises(CouldNot) as fault:
        stage(disk, [replace(first, data=None, written=len(first.data)), *rest], begun=begun)
    assert fault.value.name == "no-room"
    assert disk.files == OLD


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


@pytest.fixture
def lots(monkeypatch):
    """Every file is a lot."""
    monkeypatch.setattr(read_behind, "LOT_BYTES", 1)


def ahead(disk: MemoryDisk, count: int) -> tuple[StagedFiles, list[ToWrite]]:
    """So many programs written before all is known, each with its bytes left out afterwards."""
    begun = begin(disk, count, 1000)
    texts = {f"MILL2/O{place:04}.NC": b"G0 X%d.\n" % place for place in range(count)}
    for path, data in texts.items():
        begun.write(ToWrite(path=path, data=data, sha256=sha(data)))
    rest = [
        ToWrite(path=path, sha256=sha(data), data=None, written=len(data)) for path, data in texts.items()
    ]
    return begun, rest


@pytest.mark.usefixtures("lots")
def test_lots_are_synced_and_read_back_before_anything_is_named():
    disk = MemoryDisk()
    begun, rest = ahead(disk, 9)
    stage(disk, rest, begun=begun).finish()
    named = disk.log.index("rename MILL2/O0000.NC")
    synced = [step for step in disk.log[:named] if step.startswith("sync MILL2/PO")]
    assert len(synced) == len(set(synced)) == 9  # each once, whether in a lot or at the end
    assert sorted(disk.files) == sorted(file.path for file in rest)


@pytest.mark.usefixtures("lots")
@pytest.mark.parametrize("bad", range(5))
def test_a_file_of_a_lot_that_does_not_read_back_stops_the_export(bad):
    disk = MemoryDisk()
    real = disk.create

    def create(path, data):
        real(path, data)
        if data == b"G0 X%d.\n" % bad:
            disk.lying.add(path.rsplit("/", 1)[-1])

    disk.create = create
    begun, rest = ahead(disk, 5)
    with pytest.raises(CouldNot) as caught:
        stage(disk, rest, begun=begun)
    assert (caught.value.name, caught.value.where) == ("copy-failed", f"MILL2/O{bad:04}.NC")
    assert disk.files == {}


@pytest.mark.usefixtures("lots")
@pytest.mark.parametrize(
    ("trouble", "name"), [("lies", "copy-failed"), ("sync", "medium-gone"), ("read", "medium-gone")]
)
def test_what_went_wrong_with_a_lot_is_told_even_if_it_would_be_right_the_next_time(
    trouble, name, monkeypatch
):
    monkeypatch.setattr(read_behind, "Thread", _AtOnce)
    disk = MemoryDisk()
    real = disk.create
    if trouble == "lies":
        disk.create = lambda path, data: (real(path, data), disk.lying.add(path.rsplit("/", 1)[-1]))[0]
    else:
        disk.fails[trouble] = OSError(errno.EIO, "input/output error")
    begun, rest = ahead(disk, 2)
    disk.lying.clear()
    disk.fails.clear()
    with pytest.raises(CouldNot) as caught:
        stage(disk, rest, begun=begun)
    assert caught.value.name == name
    assert disk.files == {}


@pytest.mark.usefixtures("lots")
def test_dropping_waits_for_a_lot_and_leaves_nothing():
    disk = MemoryDisk(OLD)
    begun, _ = ahead(disk, 20)
    begun.drop()
    assert disk.files == OLD
    with pytest.raises(CouldNot):
        begun.write(ToWrite(path="MILL2/O1.NC", data=b"M30", sha256=sha(b"M30")))
