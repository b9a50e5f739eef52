"""Programs written under temporary names while an export still finds out what goes: what it may and may not do."""

import errno
import threading

import pytest

from tests.fakes.stick_shop import StickShop, program, released_shop, sub_program
from tests.services.test_export import common_shop
from tracker.errors import BadCall, CouldNot, Refused
from tracker.services import export_ahead
from tracker.services.usable import Board
from tracker.stick.copying import LEFTOVER
from tracker.stick.medium import FolderMedium


@pytest.fixture
def shop() -> StickShop:
    return released_shop()


@pytest.fixture
def staged(monkeypatch) -> list:
    """What was handed over to be staged, export by export."""
    seen = []
    real = FolderMedium.stage

    def stage(self, files, begun=None):
        seen.append({file.path: file.data for file in files})
        return real(self, files, begun)

    monkeypatch.setattr(FolderMedium, "stage", stage)
    return seen


def written(shop: StickShop) -> list[str]:
    """Every step that put something on the stick."""
    return [step for step in shop.disk.log if step.startswith(("write", "folder"))]


def leftovers(shop: StickShop) -> list[str]:
    return [path for path in shop.files if LEFTOVER.fullmatch(path.rsplit("/", 1)[-1])]


def late(shop: StickShop) -> list[str]:
    """What lies there of an export that was refused once something was written."""
    assert written(shop)
    return [path for path in shop.files if path.startswith("MILL2/")]


def test_programs_lie_there_before_the_plan_is_whole_and_are_written_once(shop, staged, monkeypatch):
    seen = []
    real = Board.on_machine
    monkeypatch.setattr(
        Board, "on_machine", lambda *words: (real(*words), seen.append(threading.active_count()))[0]
    )
    shop.export()
    assert seen != [1]  # somebody was at work beside
    (files,) = staged
    assert {path for path, data in files.items() if data is None} == {
        "MILL2/O1001.NC",
        "MILL2/O1002.NC",
        "MILL2/O1003.NC",
    }
    names = [step.rsplit("/", 1)[-1] for step in written(shop) if step.startswith("write")]
    assert len(names) == 3 * (3 + 1)  # three programs and the list, each in three halves
    assert all(LEFTOVER.fullmatch(name) for name in names)


def test_a_program_several_jobs_share_is_written_once_it_is_known_for_whom(staged):
    shop = common_shop()
    shop.export()
    (files,) = staged
    assert files["MILL2/O8001.NC"] is None
    assert b" COMMON MILL2)" in shop.files["MILL2/O8001.NC"]
    assert len([step for step in written(shop) if step.startswith("write")]) == 3 * (3 + 1)


def test_one_job_takes_no_program_of_another_along(staged):
    shop = common_shop()
    shop.export("5001")
    (files,) = staged
    assert sorted(path for path, data in files.items() if data is None) == [
        "MILL2/O5001.NC",
        "MILL2/O8001.NC",
    ]
    assert b" COMMON MILL2)" in shop.files["MILL2/O8001.NC"]
    assert len([step for step in written(shop) if step.startswith("write")]) == 3 * (2 + 1)


def test_what_is_there_already_is_not_written_and_what_changed_is(shop, staged):
    shop.export()
    shop.disk.log.clear()
    assert {one.action for one in shop.export().files} == {"unchanged"}
    assert len([step for step in written(shop) if step.startswith("write")]) == 3  # the list alone
    shop.save("jobs/4471/op20/O1003.nc", program(1003, depth="-0.9"))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.disk.log.clear()
    assert {one.action for one in shop.export().files} == {"replaced"}  # the stamp says which release
    assert all(data is None for path, data in staged[-1].items() if path.endswith(".NC"))
    assert b"Z-0.9" in shop.files["MILL2/O1003.NC"]
    assert leftovers(shop) == []


def _foreign(shop):
    shop.files["MILL2/O1001.NC"] = b"%\nO1001 (SOMEBODY'S)\nM30\n%\n"
    shop.disk.folders.add("MILL2")


def _manifest(shop):
    shop.files["MILL2/PROVEOUT.JSON"] = b"{}"
    shop.disk.folders.add("MILL2")


def _link(shop):
    shop.disk.links.add("MILL2/O1002.NC")
    shop.disk.folders.add("MILL2")


def _folder(shop):
    shop.files["MILL2"] = b"no folder"


def _clash(shop):
    shop.add_job("5000", "O1001.nc", program(1001, depth="-0.7"))
    job = "jobs/5000/job.toml"
    waiver = 'rule = "o-number-twice"\nline = "O1001 (PART)"\nreason = "never on one stick"\nby = "np"\n'
    shop.save(job, shop.repo.work[job] + f"[[operations.waivers]]\n{waiver}".encode())
    shop.check_in("5000/op10")
    shop.prove("5000/op10")
    shop.release("5000")


def _full(shop):
    shop.disk.free = 100_000


@pytest.mark.parametrize(
    ("spoil", "name"),
    [
        (_foreign, "collect-first"),
        (_manifest, "collect-first"),
        (_link, "link-on-stick"),
        (_folder, "not-a-folder"),
        (_clash, "cannot-shape"),
        (_full, "no-room"),
    ],
)
def test_what_can_be_refused_before_anything_is_written_still_is(shop, spoil, name):
    spoil(shop)
    before = dict(shop.files)
    with pytest.raises((Refused, CouldNot)) as fault:
        shop.export()
    assert fault.value.name == name
    assert written(shop) == []
    assert shop.files == before


def test_two_texts_of_one_program_are_refused_before_anything_is_written():
    shop = common_shop()
    shop.save("common/O8001.nc", sub_program(8001, depth="0.3"))
    shop.check_in("5001/op10")
    shop.prove("5001/op10")
    shop.release("5001")
    for jobs in ((), ("5002",)):
        with pytest.raises(Refused) as fault:
            shop.export(*jobs)
        assert fault.value.name == "two-texts"
    assert written(shop) == []


def test_nothing_is_written_for_a_look_or_for_a_job_nobody_has(shop):
    shop.export(dry_run=True)
    with pytest.raises(BadCall):
        shop.export("4471", "9999")
    assert written(shop) == []


def test_a_text_that_cannot_be_shaped_takes_all_that_was_written_away_again():
    shop = StickShop(mill2='characters = "ascii"')
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.save("jobs/4471/op20/O1003.nc", program(1003).replace(b"M30", "G\u00d61 M30".encode()))
    shop.check_in("4471/op20")
    shop.prove("4471/op20")
    shop.release("4471")
    with pytest.raises(Refused) as fault:
        shop.export()
    assert fault.value.name == "cannot-shape"
    assert len(fault.value.reasons) == 1
    assert late(shop) == []
    assert shop.disk.folders == set()


@pytest.mark.parametrize(
    ("number", "name"),
    [(errno.ENOSPC, "no-room"), (errno.EROFS, "read-only"), (errno.EIO, "medium-gone")],
)
@pytest.mark.parametrize("step", ["create", "make_folder"])
def test_a_medium_that_fails_meanwhile_is_told_and_left_as_it_was(shop, step, number, name):
    shop.disk.fails[step] = OSError(number, "does not want to")
    commits = len(shop.repo.commits)
    with pytest.raises(CouldNot) as fault:
        shop.export()
    assert fault.value.name == name
    assert (shop.files, shop.disk.folders) == ({}, set())
    assert len(shop.repo.commits) == commits


def test_bytes_that_wait_are_held_back_and_one_text_always_passes():
    room = export_ahead._Room(10)
    alone = threading.Thread(target=room.take, args=(25,), daemon=True)  # larger than all there is
    alone.start()
    alone.join(5)
    assert not alone.is_alive()
    passed = threading.Event()

    def more() -> None:
        room.take(4)
        passed.set()

    waiting = threading.Thread(target=more, daemon=True)
    waiting.start()
    assert not passed.wait(0.05)
    room.give(25)
    assert passed.wait(5)
    waiting.join()
    room.take(6)


def test_an_export_whose_texts_wait_for_each_other_is_the_same(shop, monkeypatch):
    shop.copy().export()
    plain = shop.copy()
    plain.export()
    monkeypatch.setattr(export_ahead, "WAITING_BYTES", 1)
    shop.export()
    assert shop.files == plain.files
