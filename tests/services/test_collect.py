"""Collect: one verdict for every file, by content first, name second."""

import hashlib
import json

import pytest

from tests.fakes.disk import MemoryDisk
from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, renumbered, sub_program
from tracker.errors import BadCall, CouldNot, Refused
from tracker.records.events import CollectRecord, RevisionRecord
from tracker.reports.collect_words import decisions, summary
from tracker.services.collect import Brought, collect
from tracker.services.collect_known import KnownCode
from tracker.services.collect_report import VERDICTS
from tracker.services.identify import NamedFile, identify
from tracker.services.known import KnownTexts
from tracker.services.released import Releases

MAIN, SUB, SECOND, MANIFEST = "MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC", "MILL2/PROVEOUT.JSON"


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def verdict(shop: StickShop, path: str):
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == path]
    assert found.verdict in VERDICTS
    assert found.message
    return found


def collects(shop: StickShop) -> list[CollectRecord]:
    return [one.record for one in shop.repo.ledger().records if isinstance(one.record, CollectRecord)]


def newer_release(shop: StickShop, depth: str = "-0.55") -> None:
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth=depth))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")


# -- what was exported ---------------------------------------------------------------------------------------------


def test_what_comes_home_as_it_went_is_as_exported_and_the_list_is_not_counted(shop):
    report = shop.collect()
    assert {one.file: one.verdict for one in report.files} == dict.fromkeys(
        (MAIN, SUB, SECOND), "as-exported"
    )
    main = verdict(shop, MAIN)
    assert (main.job, main.operation, main.revision, main.kinds) == ("4471", "op10", "r1", ())
    assert main.message == "r1, written 6 Feb 2026 by ss, release 1"
    assert not report.undecided


def test_a_collect_is_recorded_with_every_file(shop):
    report = shop.collect(reason="end of the lot", cut=False)
    (record,) = collects(shop)
    assert report.record == "records/20260216T080100Z-collect-MILL2-ss.toml"
    assert (record.machine, record.stick, record.by) == ("MILL2", "BLUE-1", "ss")
    assert record.reason == "end of the lot; no part was cut with it"
    assert {one.path: (one.verdict, one.sha256) for one in record.files} == {
        path: ("as-exported", hashlib.sha256(shop.files[path]).hexdigest()) for path in (MAIN, SUB, SECOND)
    }
    assert {one.path: one.program for one in record.files}[SUB] == "jobs/4471/sub/O1002.nc"


def test_a_control_that_only_writes_it_another_way_is_same_code_with_its_kinds(shop):
    shop.files[MAIN] = renumbered(shop.files[MAIN])
    main = verdict(shop, MAIN)
    assert (main.verdict, main.revision, main.kinds) == (
        "same-code",
        "r1",
        ("format", "numbering", "wording"),
    )
    shop.files[SUB] = shop.files[SUB].replace(b"CONTOUR", b"OUTSIDE")
    assert verdict(shop, SUB).kinds == ("wording",)


def test_the_office_text_copied_by_hand_is_same_code(shop):
    shop.files[MAIN] = program(1001, sub=1002)
    main = verdict(shop, MAIN)
    assert main.verdict == "same-code"
    assert main.message.startswith("same code as r1, release 1; differs in format, wording only")


def test_a_renamed_file_is_known_by_its_content_and_not_missing(shop):
    shop.files["MILL2/COPY OF O1001.BAK"] = shop.files.pop(MAIN)
    assert shop.verdicts() == {
        "MILL2/COPY OF O1001.BAK": "as-exported",
        SUB: "as-exported",
        SECOND: "as-exported",
    }


def test_a_file_in_the_root_of_the_stick_is_judged_too(shop):
    shop.files["O1001.NC"] = shop.files[MAIN]
    assert verdict(shop, "O1001.NC").verdict == "as-exported"


# -- changed -------------------------------------------------------------------------------------------------------


def test_an_edit_is_changed_code_with_its_kinds_and_what_it_was(shop):
    shop.files[MAIN] = edited(renumbered(shop.files[MAIN]), (b"F15.", b"F12.5"))
    main = verdict(shop, MAIN)
    assert (main.verdict, main.job, main.operation, main.revision) == ("changed-code", "4471", "op10", "r1")
    assert main.kinds == ("format", "numbering", "slower", "wording")
    (change,) = [one for one in main.changes if one.kind == "slower"]
    assert (change.tool, change.old.text[-4:], change.new.text[-5:]) == ("4", "F15.", "F12.5")
    assert "Who edited it, why, and was it cut?" in main.message


@pytest.mark.parametrize(
    ("old", "new", "kinds"),
    [
        (b"F15.", b"F16.", ("feed",)),
        (b"Z-0.5 ", b"Z-0.7 ", ("motion",)),
        (b"S1800", b"S2400", ("speed",)),
        (b"H4 ", b"H14 ", ("tool",)),
        (b"G54 X0.5", b"G55 X0.5", ("offset",)),
        (b"O1001", b"O1011", ("program-number",)),
    ],
)
def test_kinds_are_those_of_the_edit_alone_not_of_the_stamp(shop, old, new, kinds):
    shop.files[MAIN] = edited(shop.files[MAIN], (old, new))
    main = verdict(shop, MAIN)
    assert (main.verdict, main.kinds) == ("changed-code", kinds)


def test_an_edit_is_found_under_another_name_by_its_number(shop):
    shop.files["MILL2/BACKUP.TXT"] = edited(shop.files.pop(MAIN), (b"F15.", b"F12.5"))
    found = verdict(shop, "MILL2/BACKUP.TXT")
    assert (found.verdict, found.operation) == ("changed-code", "op10")
    assert "Under another name: it was O1001.NC." in found.message
    assert MAIN not in shop.verdicts()


def test_an_edit_without_number_and_name_is_found_by_its_stamp(shop):
    text = edited(shop.files.pop(MAIN), (b"F15.", b"F12.5"), (b"O1001 (PART)\r\n", b""))
    shop.files["MILL2/X.NC"] = text
    assert verdict(shop, "MILL2/X.NC").operation == "op10"


def test_of_code_released_again_both_releases_are_named(shop):
    """The stick carries what release 1 sent; the same code is in release 2 under another wording."""
    text = shop.repo.tree().read("jobs/4471/op20/O1003.nc")
    shop.save("jobs/4471/op20/O1003.nc", edited(text, (b"(OFFICE TEXT)", b"(OTHER WORDS)")))
    shop.check_in("4471/op20")
    shop.release("4471")
    found = verdict(shop, SECOND)
    assert (found.verdict, found.revision) == ("as-exported", "r2")
    assert "r1, written " in found.message
    assert found.message.endswith(", release 1; release 2 holds the same code as r2 too")


def test_content_goes_before_name(shop):
    swapped = {MAIN: shop.files[SECOND], SECOND: edited(shop.files[MAIN], (b"F15.", b"F12.5"))}
    shop.files.update(swapped)
    assert (verdict(shop, MAIN).verdict, verdict(shop, MAIN).operation) == ("as-exported", "op20")
    assert (verdict(shop, SECOND).verdict, verdict(shop, SECOND).operation) == ("changed-code", "op10")


def test_never_a_false_same_every_changed_character_of_code_is_seen(shop):
    whole = shop.files[SUB]
    for at in range(whole.index(b"N10"), whole.index(b"M99")):
        if not whole[at : at + 1].isdigit() or whole[at - 1 : at].isspace() or b"N" in whole[at - 3 : at]:
            continue
        digit = b"1" if whole[at : at + 1] != b"1" else b"2"
        shop.files[SUB] = whole[:at] + digit + whole[at + 1 :]
        assert verdict(shop, SUB).verdict not in ("as-exported", "same-code"), shop.files[SUB]


# -- old, withdrawn, for proving, elsewhere ------------------------------------------------------------------------


def test_an_older_revision_is_stale_and_says_what_is_released(shop):
    newer_release(shop)
    main = verdict(shop, MAIN)
    assert (main.verdict, main.revision) == ("stale", "r1")
    assert "released is r2 (release 2)" in main.message
    assert "Were parts made with it since?" in main.message
    assert verdict(shop, SUB).verdict == "as-exported"


def test_an_older_revision_is_stale_even_renumbered(shop):
    newer_release(shop)
    shop.files[MAIN] = renumbered(shop.files[MAIN])
    assert verdict(shop, MAIN).verdict == "stale"


def test_a_withdrawn_text_must_come_off(shop):
    shop.withdraw("4471", 1)
    main = verdict(shop, MAIN)
    assert main.verdict == "withdrawn"
    assert main.message.endswith("Take it off the stick and the control.")


def test_a_held_text_is_what_it_is_and_may_not_run(shop):
    shop.hold("4471/op20")
    second = verdict(shop, SECOND)
    assert second.verdict == "as-exported"
    assert "may not run today: held by dg" in second.message


def shared_sub() -> StickShop:
    """op10 and op20 call one program; op20 is held after both went out."""
    shop = StickShop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op10", "4471/op20")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    shop.hold("4471/op20")
    return shop


def test_a_shared_program_may_run_for_the_operation_that_may():
    shop = shared_sub()
    sub = verdict(shop, SUB)
    assert (sub.verdict, sub.operation) == ("as-exported", "op10")
    assert "may not run" not in sub.message
    one = told_of(shop, sub_program(1002))
    assert (one.operation, one.may_run, one.also) == ("op10", True, ("4471/op20",))


def told_of(shop: StickShop, data: bytes):
    return identify(shop.desk(), shop.shaper, [NamedFile(name="X.NC", data=data)], "MILL2").files[0]


def test_a_text_out_for_its_prove_out(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3")
    path = "MILL3/FOR-PROVING/O1001.NC"
    found = verdict(shop, path)
    assert (found.verdict, found.operation, found.revision) == ("for-proving", "op10-m3", "r1")
    shop.files["MILL3/O1001.NC"] = shop.files[path]
    assert verdict(shop, "MILL3/O1001.NC").verdict == "for-proving"


def test_a_newer_text_nobody_released_is_for_proving(shop):
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.files[MAIN] = program(1001, sub=1002, depth="-0.55")
    found = verdict(shop, MAIN)
    assert (found.verdict, found.revision) == ("for-proving", "r2")
    assert "not released" in found.message


def test_a_text_for_another_machine(shop):
    shop.files["MILL3/O1001.NC"] = shop.files[MAIN]
    shop.disk._folders_of("MILL3/x")
    found = verdict(shop, "MILL3/O1001.NC")
    assert (found.verdict, found.operation) == ("other-machine", "op10")
    assert "for MILL2, not for MILL3" in found.message


def test_a_shared_program_written_for_another_machine_is_told_by_its_bytes(shop):
    shop.for_proving("4471/op10-m3", machine="MILL3")
    shop.files[SUB] = shop.files["MILL3/FOR-PROVING/O1002.NC"]
    assert verdict(shop, SUB).verdict == "other-machine"


# -- nothing of ours, or not whole ---------------------------------------------------------------------------------


def test_what_nobody_knows_is_unknown(shop):
    shop.files.update({"README.TXT": b"the blue stick\r\n", "MILL2/O9999.NC": b"%\nO9999\nG0 X77.\nM30\n%\n"})
    assert verdict(shop, "README.TXT").verdict == "unknown"
    assert verdict(shop, "MILL2/O9999.NC").verdict == "unknown"


def test_another_program_under_a_known_number(shop):
    other = b"%\nO1001\n" + b"".join(b"G1 Y%d.7 Z-%d.\n" % (n, n) for n in range(40)) + b"M30\n%\n"
    shop.files[MAIN] = other
    found = verdict(shop, MAIN)
    assert found.verdict == "unknown"
    assert found.message.startswith("another program under O1001: it shares ")


def test_another_program_under_a_known_name(shop):
    shop.files[MAIN] = b"".join(b"G1 Y%d.7 Z-%d.\n" % (n, n) for n in range(40)) + b"M30\n"
    found = verdict(shop, MAIN)
    assert found.verdict == "unknown"
    assert found.message.startswith(f"another program under the name {MAIN}: it shares ")


@pytest.mark.parametrize(
    "cut",
    [
        lambda data: b"",
        lambda data: data[: len(data) // 2],
        lambda data: data[: data.index(b"M30")],
        lambda data: data.removesuffix(b"%\r\n"),
        lambda data: data[: data.index(b"N150") + 9],
    ],
)
def test_what_was_cut_off_is_incomplete(shop, cut):
    shop.files[MAIN] = cut(shop.files[MAIN])
    found = verdict(shop, MAIN)
    assert (found.verdict, found.operation) == ("incomplete", "op10")


def test_a_stranger_that_opens_with_per_cent_and_never_closes_is_incomplete(shop):
    shop.files["MILL2/NEW.NC"] = b"%\nO7777\nG0 X77.\nG1 Y12."
    assert verdict(shop, "MILL2/NEW.NC").verdict == "incomplete"


@pytest.mark.parametrize(
    "rot",
    [
        lambda data: b"\xe5" * len(data),
        lambda data: data[:200] + bytes(400) + data[600:],
        lambda data: b"\x00\xff" * 300,
    ],
)
def test_what_is_no_text_any_more_is_damaged(shop, rot):
    shop.files[MAIN] = rot(shop.files[MAIN])
    found = verdict(shop, MAIN)
    assert (found.verdict, found.operation) == ("damaged", "op10")


def test_what_cannot_be_read_is_damaged_and_the_rest_goes_on(shop):
    shop.disk.fails[f"read {MAIN}"] = OSError(5, "input/output error")
    assert shop.verdicts() == {MAIN: "damaged", SUB: "as-exported", SECOND: "as-exported"}
    report = shop.collect()
    assert report.record is not None
    assert [one.path for one in collects(shop)[0].files] == [SUB, SECOND]


def test_a_stick_that_is_gone_ends_it_and_records_nothing(shop):
    shop.disk.fails["look"] = OSError(5, "input/output error")
    with pytest.raises(CouldNot) as fault:
        shop.collect()
    assert fault.value.name == "medium-gone"
    assert collects(shop) == []


def test_a_link_is_named_and_not_opened(shop):
    shop.disk.links.add("MILL2/LINK.NC")
    found = verdict(shop, "MILL2/LINK.NC")
    assert (found.verdict, found.message) == ("unknown", "a link: not opened")


def test_a_long_file_is_read_in_pieces_and_compared_only_up_to_a_length(shop, monkeypatch):
    monkeypatch.setattr("tracker.services.collect_look.WHOLE", 100)
    monkeypatch.setattr("tracker.services.collect_look.COMPARED", 450)
    shop.files["FILM.MP4"] = b"x" * 451
    assert verdict(shop, MAIN).message == "r1, written 6 Feb 2026 by ss, release 1"
    film = verdict(shop, "FILM.MP4")
    assert (film.verdict, film.sha256) == ("unknown", hashlib.sha256(b"x" * 451).hexdigest())
    assert film.message == "nothing in the record has this code; too long to be compared"
    long, short = shop.files[MAIN], shop.files[SUB]
    shop.files[MAIN], shop.files[SUB] = renumbered(long) + b"\n" * 200, edited(short, (b"X3.75", b"X3.8"))
    assert verdict(shop, MAIN).message.endswith("too long to be compared further")
    assert (verdict(shop, SUB).verdict, verdict(shop, SUB).kinds) == ("changed-code", ("motion",))


def test_a_long_file_that_is_another_one_when_it_is_read_again_is_damaged(shop, monkeypatch):
    monkeypatch.setattr("tracker.services.collect_look.WHOLE", 100)
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    pieces, reads = type(shop.disk).pieces, []

    def changing(self, path):
        reads.append(path)
        yield from pieces(self, path)
        if path == MAIN and reads.count(MAIN) > 1:
            yield b"M0\n"

    monkeypatch.setattr(type(shop.disk), "pieces", changing)
    found = verdict(shop, MAIN)
    assert (found.verdict, found.message) == ("damaged", "it changed while it was read")


def test_a_long_file_whose_hash_and_code_come_from_two_texts_is_damaged(shop, monkeypatch):
    monkeypatch.setattr("tracker.services.collect_look.WHOLE", 100)
    monkeypatch.setattr("tracker.nc.scan._plain", True)  # reads for the hash, then for the code
    pieces, reads = type(shop.disk).pieces, []

    def changing(self, path):
        reads.append(path)
        yield from (b"%\nO1\nM30\n%\n",) if path == MAIN and reads.count(MAIN) == 1 else pieces(self, path)

    monkeypatch.setattr(type(shop.disk), "pieces", changing)
    found = verdict(shop, MAIN)
    assert (found.verdict, found.message) == ("damaged", "it changed while it was read")


def test_names_that_are_no_text_are_shown_and_recorded_escaped(shop):
    shop.files["MILL2/O\udcff1\n.NC"] = b"%\nO9999\nM30\n%\n"
    shop.collect()
    assert "MILL2/O\\xff1\\n.NC" in [one.path for one in collects(shop)[0].files]


# -- the list ------------------------------------------------------------------------------------------------------


def test_a_file_that_is_gone_is_missing(shop):
    del shop.files[SECOND]
    found = verdict(shop, SECOND)
    assert (found.verdict, found.operation, found.revision) == ("missing", "op20", "r1")


def test_a_machines_own_folder_can_be_collected_by_itself(shop):
    shop.files[MAIN] = edited(
        shop.files[MAIN], (b"F15.", b"F12.5"), (b"O1001 (PART)\r\n", b""), (b"(ID ", b"(X ")
    )
    shop.disk = MemoryDisk(
        {path.removeprefix("MILL2/"): data for path, data in shop.files.items() if path != SECOND}
    )
    shop.label = "mill2"
    assert shop.verdicts() == {"O1001.NC": "changed-code", "O1002.NC": "as-exported", "O1003.NC": "missing"}


def test_without_the_list_the_records_say_what_is_missing(shop):
    del shop.files[SECOND], shop.files[MANIFEST]
    assert shop.verdicts() == {
        MAIN: "as-exported",
        SUB: "as-exported",
        SECOND: "missing",
        MANIFEST: "missing",
    }


def test_a_whole_folder_that_is_gone(shop):
    shop.disk = MemoryDisk()
    assert shop.verdicts() == dict.fromkeys((MAIN, SUB, SECOND, MANIFEST), "missing")
    shop.label = "ANOTHER"
    assert shop.verdicts() == {}


def lie(shop: StickShop, **entry) -> bytes:
    listed = json.loads(shop.files[MANIFEST])
    listed["files"][0].update(entry)
    return json.dumps(listed).encode()


def test_a_list_that_lies_is_forged_and_the_content_is_believed(shop):
    newer_release(shop)
    old = shop.files[MAIN]
    shop.export()
    shop.files[MANIFEST] = lie(shop, sha256=hashlib.sha256(old).hexdigest())
    shop.files[MAIN] = old
    verdicts = shop.verdicts()
    assert verdicts[MANIFEST] == "forged-manifest"
    assert verdicts[MAIN] == "stale"


@pytest.mark.parametrize(
    "data", [b"", b"{}", b"\x00\xff", b"[" * 50_000, b'{"schema": "proveout/manifest/1"}']
)
def test_what_is_no_list_at_all_is_forged_too(shop, data):
    shop.files[MANIFEST] = data
    assert shop.verdicts() == {
        MAIN: "as-exported",
        SUB: "as-exported",
        SECOND: "as-exported",
        MANIFEST: "forged-manifest",
    }


def test_a_list_that_names_files_elsewhere_reaches_nothing(shop):
    shop.files[MANIFEST] = lie(shop, file="../../etc/passwd")
    assert shop.verdicts()[MANIFEST] == "forged-manifest"


def test_a_list_that_is_another_one_when_it_is_read_is_no_list(shop, monkeypatch):
    medium = shop.medium
    real = medium.read
    monkeypatch.setattr(medium, "read", lambda path: real(path) + b"X" if path == MANIFEST else real(path))
    del shop.files[SUB]
    said = collect(shop.desk(), medium, shop.shaper, Brought(dry_run=True))
    assert {one.file: one.verdict for one in said.files}[SUB] == "missing"


def test_an_older_list_copied_back_is_stale(shop):
    older = shop.files[MANIFEST]
    newer_release(shop)
    shop.export()
    shop.files[MANIFEST] = older
    assert shop.verdicts() == {
        MAIN: "as-exported",
        SUB: "as-exported",
        SECOND: "as-exported",
        MANIFEST: "stale",
    }


def test_one_older_file_among_newer_ones_is_named(shop):
    old = shop.files[MAIN]
    newer_release(shop)
    shop.export()
    shop.files[MAIN] = old
    assert shop.verdicts() == {MAIN: "stale", SUB: "as-exported", SECOND: "as-exported"}


def test_the_list_of_another_machine(shop):
    shop.files["MILL3/PROVEOUT.JSON"] = shop.files[MANIFEST]
    shop.disk._folders_of("MILL3/x")
    assert verdict(shop, "MILL3/PROVEOUT.JSON").verdict == "other-machine"


def test_an_old_list_is_to_be_looked_at_again(shop):
    assert shop.collect(dry_run=True).asks == ()
    report = shop.day(1, 4).collect(dry_run=True)
    assert summary(report).endswith(" 1 thing to do.")
    assert decisions(report) == (f"{report.asks[0]}.",)
    assert report.asks == (
        "MILL2/PROVEOUT.JSON was to be looked at again by 8 Mar 2026: export again before using it",
    )


def test_the_list_says_which_stick_it_is(shop):
    shop.label = "E"
    assert shop.collect(dry_run=True).stick == "BLUE-1"
    assert shop.collect(dry_run=True, stick="RED-2").stick == "RED-2"


# -- who, and what is written --------------------------------------------------------------------------------------


def test_nobody_named_is_said_and_not_recorded(shop):
    report = shop.collect(by=None)
    assert report.record is None
    assert "nobody was named" in (report.not_recorded or "")
    assert len(report.files) == 3
    assert shop.collect(by=None, email="kp@threepenny.example").record is not None


def test_an_unknown_person_is_a_wrong_call(shop):
    with pytest.raises(BadCall) as fault:
        shop.collect(by="zz")
    assert fault.value.name == "unknown-person"


def test_a_detached_head_refuses_it(shop):
    shop.repo.detach()
    with pytest.raises(Refused) as fault:
        shop.collect()
    assert fault.value.name == "detached-head"
    assert len(shop.collect(dry_run=True).files) == 3


def test_the_stick_is_never_written(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    before = dict(shop.files)
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.files == before


# -- taking an edit in ---------------------------------------------------------------------------------------------


def revisions(shop: StickShop, operation: str = "op10") -> list[RevisionRecord]:
    return [
        one.record
        for one in shop.repo.ledger().records
        if isinstance(one.record, RevisionRecord) and one.record.operation == operation
    ]


def refused(shop: StickShop, checkin: str = "4471/op10", **other) -> Refused:
    before, work = len(shop.repo.commits), dict(shop.repo.work)
    with pytest.raises(Refused) as fault:
        shop.collect(checkin=checkin, **{"reason": "less burr", **other})
    assert len(shop.repo.commits) == before
    assert shop.repo.work == work
    return fault.value


def test_an_edit_becomes_the_next_revision_of_the_person_who_made_it(shop):
    edit = edited(renumbered(shop.files[MAIN]), (b"F15.", b"F12.5"))
    shop.files[MAIN] = edit
    report = shop.collect(checkin="4471/op10", by="ss", entered_by="np", reason="less burr", cut=True)
    newest = revisions(shop)[-1]
    assert (newest.revision, newest.by, newest.entered_by, newest.reason) == (
        "r0002",
        "ss",
        "np",
        "less burr",
    )
    assert newest.origins[0].kinds == ("feed", "format", "numbering", "wording")
    assert newest.origins[0].slower == pytest.approx(0.8333)
    assert shop.repo.tree().read("jobs/4471/op10/O1001.nc") == edit
    assert shop.repo.work["jobs/4471/op10/O1001.nc"] == edit
    (record,) = collects(shop)
    assert (record.by, record.reason) == ("np", "less burr; parts were cut with it")
    assert {one.path: one.verdict for one in record.files}[MAIN] == "changed-code"
    assert report.taken_in is not None
    assert [one.number for one in report.taken_in.checked_in] == [2]


def test_the_bytes_are_kept_as_they_came_our_stamp_with_them(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op10", reason="less burr")
    kept = shop.repo.tree().read("jobs/4471/op10/O1001.nc")
    assert kept == shop.files[MAIN]
    assert b"4471 OP10 R1 REL 1 MILL2)" in kept


def test_a_stamp_that_came_along_is_replaced_in_the_next_export(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op10", reason="less burr")
    shop.prove("4471/op10", by="kp")
    shop.release("4471")
    shop.export()
    assert shop.files[MAIN].count(b"(ID ") == 1
    assert b"4471 OP10 R2 REL 2 MILL2)" in shop.files[MAIN]


def test_what_the_control_wrote_another_way_goes_along_with_the_edit(shop):
    shop.files[MAIN] = edited(renumbered(shop.files[MAIN]), (b"F15.", b"F12.5"))
    shop.files[SUB] = renumbered(shop.files[SUB])
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.repo.tree().read("jobs/4471/sub/O1002.nc") == shop.files[SUB]


def test_a_text_that_is_only_written_another_way_can_be_taken_in(shop):
    shop.files[MAIN] = renumbered(shop.files[MAIN])
    shop.collect(checkin="4471/op10", reason="as the control has it")
    assert revisions(shop)[-1].origins[0].kinds == ("format", "numbering", "wording")


def test_nothing_to_take_in_is_refused(shop):
    fault = refused(shop)
    assert fault.name == "nothing-to-take-in"
    assert fault.reasons[0] == f"{MAIN}: as-exported, r1, written 6 Feb 2026 by ss, release 1"


def test_an_edit_that_was_taken_in_already_is_nothing_to_take_in(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.collect(checkin="4471/op10", reason="less burr")
    assert verdict(shop, MAIN).verdict == "for-proving"
    assert refused(shop).name == "nothing-to-take-in"


def test_an_edit_of_another_operation_is_left_alone(shop):
    shop.files[SECOND] = edited(shop.files[SECOND], (b"F15.", b"F12.5"))
    assert refused(shop).name == "nothing-to-take-in"
    shop.collect(checkin="4471/op20", reason="less burr")
    assert [one.revision for one in revisions(shop, "op20")] == ["r0001", "r0002"]


def test_a_text_that_is_not_whole_is_not_taken_in(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.files[SUB] = shop.files[SUB][:60]
    fault = refused(shop)
    assert (fault.name, fault.where) == ("not-whole", SUB)


def test_work_of_the_office_in_the_same_file_is_not_lost(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.51"))
    fault = refused(shop)
    assert fault.name == "uncommitted-edits"
    shop.repo.stage("jobs/4471/op10/O1001.nc")
    assert refused(shop).name == "uncommitted-edits"


def test_a_text_git_has_and_no_revision_is_not_written_over(shop):
    """Committed with git alone, as an editor does it: the record knows nothing of it."""
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    path = "jobs/4471/op10/O1001.nc"
    office = program(1001, sub=1002, depth="-0.51")
    shop.repo.save({path: office}, at=shop.now)
    fault = refused(shop)
    assert (fault.name, fault.where) == ("uncommitted-edits", path)
    assert "never checked in" in fault.what
    assert shop.repo.tree().read(path) == office
    shop.check_in("4471/op10")
    assert refused(shop).name == "both-changed"


def test_a_clean_file_of_the_newest_revision_is_replaced_by_the_commit_that_records_what_came_home(shop):
    edit = shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    commits = len(shop.repo.commits)
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.repo.work_tree().read("jobs/4471/op10/O1001.nc") == edit
    assert shop.repo.tree().read("jobs/4471/op10/O1001.nc") == edit
    assert len(shop.repo.commits) == commits + 2  # the revision, and the record of the collect


def test_work_in_other_files_is_left_alone(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.save("jobs/4471/op20/O1003.nc", b"half done")
    shop.save("notes.txt", b"mine")
    shop.repo.stage("notes.txt")
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.repo.work["jobs/4471/op20/O1003.nc"] == b"half done"
    assert "notes.txt" not in shop.repo.tree().files
    assert shop.repo.index["notes.txt"] == b"mine"


def test_where_the_office_changed_it_too_both_lists_are_shown_and_nothing_is_merged(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    report = shop.collect(dry_run=True)
    (found,) = report.undecided
    assert "slower. Its code was changed too in r2. Who edited it, why, and was it cut?" in found.message
    (line,) = decisions(report)
    assert line.startswith(
        f"{MAIN}: changed at the control, and changed too since it went out: who edited it, why"
    )
    fault = refused(shop)
    assert fault.name == "both-changed"
    after = "N140 G83 Z-0.5 R0.1 Q0.15 F12.5 (F -16.7 %)"
    assert fault.reasons == (
        "O1001.nc, office since r1 (r2): T4 motion: N140 G83 Z-0.5 R0.1 Q0.15 F15. -> N140 G83 Z-0.55 R0.1 Q0.15 F15. (Z -0.05)",
        f"O1001.nc, control since r1 ({MAIN}): T4 slower: N140 G83 Z-0.5 R0.1 Q0.15 F15. -> {after}",
    )


def test_where_the_office_only_renumbered_it_the_edit_is_taken_in(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.save("jobs/4471/op10/O1001.nc", renumbered(program(1001, sub=1002)))
    shop.check_in("4471/op10")
    (found,) = shop.collect(dry_run=True).undecided
    assert found.aside == ""
    shop.collect(checkin="4471/op10", reason="less burr")
    assert [one.revision for one in revisions(shop)] == ["r0001", "r0002", "r0003"]


def test_two_copies_that_differ_are_not_chosen_between(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    shop.files["MILL2/O1001.BAK"] = edited(shop.files[MAIN], (b"F12.5", b"F11."))
    fault = refused(shop)
    assert fault.name == "two-copies"
    shop.files["MILL2/O1001.BAK"] = shop.files[MAIN]
    shop.collect(checkin="4471/op10", reason="less burr")


@pytest.mark.parametrize(
    ("call", "name"),
    [
        ({"reason": None}, "no-reason"),
        ({"by": None}, "who"),
        ({"checkin": "4471"}, "which-operation"),
        ({"checkin": "9999/op10"}, "unknown-job"),
    ],
)
def test_calls_that_are_wrong(shop, call, name):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    with pytest.raises(BadCall) as fault:
        shop.collect(**{"checkin": "4471/op10", "reason": "less burr", **call})
    assert fault.value.name == name
    assert collects(shop) == []


def test_quality_is_no_author_of_a_text(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    assert refused(shop, by="dg").name == "wrong-role"


def test_a_file_that_changes_while_it_is_read_is_not_taken_in(shop, monkeypatch):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    reads = []
    read = type(shop.disk).read

    def changing(self, path):
        if path == MAIN:
            reads.append(path)
            if len(reads) > 1:
                return read(self, path) + b"M0\r\n"
        return read(self, path)

    monkeypatch.setattr(type(shop.disk), "read", changing)
    assert refused(shop).name == "changed-meanwhile"


def test_all_twelve_verdicts_have_a_test_here():
    text = __import__("pathlib").Path(__file__).read_text(encoding="utf-8")
    assert [one for one in VERDICTS if f'"{one}"' not in text] == []


def test_a_shared_edit_reaches_every_operation_that_calls_it(shop):
    shop.files[SUB] = edited(shop.files[SUB], (b"X3.75", b"X3.8"))
    shop.collect(checkin="4471/op10", reason="wall too thin")
    assert [one.revision for one in revisions(shop, "op10-m3")] == ["r0001", "r0002"]
    assert sub_program(1002) != shop.repo.tree().read("jobs/4471/sub/O1002.nc")


def test_what_is_as_exported_is_told_without_the_release_being_derived_again(shop, monkeypatch):
    del shop.files[SUB]  # several operations share it: which one it is, the long way tells
    asked = []
    real = Releases.of
    monkeypatch.setattr(Releases, "of", lambda self, job: asked.append(job) or real(self, job))
    said = [(one.file, one.verdict, one.message) for one in shop.collect(dry_run=True).files]
    assert asked == []
    # the same in the long way
    monkeypatch.setattr(KnownCode, "_unchanged", lambda *words: None)
    monkeypatch.setattr(KnownTexts, "as_written", lambda *words: None)
    assert [(one.file, one.verdict, one.message) for one in shop.collect(dry_run=True).files] == said
    assert asked != []


@pytest.mark.parametrize("act", ["withdraw", "hold", "newer", "tag", "edit", "nothing"])
def test_the_short_way_and_the_long_one_agree(shop, monkeypatch, act):
    if act == "withdraw":
        shop.withdraw("4471", 1)
    elif act == "hold":
        shop.hold("4471/op20")
    elif act == "newer":
        newer_release(shop)
    elif act == "tag":
        shop.repo.tags["refs/tags/release/4471/2"] = next(iter(shop.repo.tags.values()))
    elif act == "edit":
        shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))

    def seen():
        return [
            (one.file, one.verdict, one.job, one.operation, one.revision, one.message, one.stopped)
            for one in shop.collect(dry_run=True).files
        ]

    short = seen()
    monkeypatch.setattr(KnownCode, "_unchanged", lambda *words: None)
    monkeypatch.setattr(KnownTexts, "as_written", lambda *words: None)
    assert seen() == short


def test_identify_reads_the_code_whatever_an_export_says(shop, monkeypatch):
    monkeypatch.setattr(KnownTexts, "as_written", lambda *words: pytest.fail("believed a record"))
    report = identify(shop.desk(), shop.shaper, [NamedFile(name="X", data=shop.files[MAIN])], "MILL2")
    assert report.all_may_run
