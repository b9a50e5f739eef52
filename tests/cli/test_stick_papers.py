"""The papers beside the programs: read-me and setup sheets, made, renewed, taken off, never over somebody's own."""

import hashlib
import re

import pytest

from tests.fakes.stick_shop import StickShop, released_shop
from tests.services.test_export_other_language import TEXT, shop_with
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.reports.cautions import MOTION, PRINTED
from tracker.services.ports_stick import NOT_IN_TEXT
from tracker.services.prove_words import proving_words


@pytest.fixture
def shop(monkeypatch) -> StickShop:
    made = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    return made


@pytest.fixture
def stick(tmp_path):
    folder = tmp_path / "BLUE-1"
    folder.mkdir()
    return folder


@pytest.fixture
def export(stick, capsys):
    def run(*more: str, status: int = 0, machine: str = "MILL2") -> str:
        got = main(["export", "--machine", machine, "--to", str(stick), "--by", "ss", *more])
        out, err = capsys.readouterr()
        assert got == status, out + err
        return out + err

    return run


def read_me(stick, folder: str = "MILL2") -> str:
    data = (stick / folder / "READ-ME.TXT").read_bytes()
    text = data.decode("ascii")
    assert text.endswith("\r\n")
    lines = text.split("\r\n")
    assert all(len(line) <= 78 and line.isprintable() for line in lines)
    return "\n".join(lines)


def flat(text: str) -> str:
    return " ".join(text.split())


def last_export(shop):
    return [one.record for one in shop.repo.ledger().records if one.record.EVENT == "export"][-1]


def test_the_read_me_says_what_may_run_what_was_left_out_and_that_it_grows_old(shop, stick, export):
    shop.hold("4471/op20", reason="Ma\u00df zu gro\u00df \u2013 gauge")
    export()
    said = read_me(stick)
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert said.startswith("WHAT MAY RUN ON MILL2\n")
    assert "Written 6 Feb 2026 08:02 +00:00 by ss (Sol Shim) to BLUE-1, owner kp." in said
    assert f"4471/op10 r1, release 1, id {mark}\n  PROVEN by ss " in said
    assert "  files: O1001.NC, O1002.NC\n" in said
    assert "UNPROVEN" not in said
    assert "LEFT OUT, and why\n  - 4471/op20 r1: held by dg 6 Feb 2026: Mass zu gross ? gauge" in said
    assert PRINTED in said
    assert MOTION in flat(said)
    record = last_export(shop)
    assert [(one.path, one.sha256) for one in record.papers] == [
        ("MILL2/READ-ME.TXT", hashlib.sha256((stick / "MILL2/READ-ME.TXT").read_bytes()).hexdigest())
    ]
    assert record.owner == "kp"


def test_the_next_export_renews_it_and_collect_takes_it_for_ours(shop, stick, export, capsys):
    export()
    first = read_me(stick)
    shop.day(7)
    export()
    assert read_me(stick) != first
    assert main(["collect", str(stick), "--by", "ss"]) == 0
    out, _ = capsys.readouterr()
    assert "READ-ME" not in out


def test_a_read_me_that_is_not_ours_or_was_changed_stays_and_is_said(shop, stick, export):
    (stick / "MILL2").mkdir()
    (stick / "MILL2" / "Read-me.txt").write_bytes(b"mine")
    said = export(status=1)
    assert "DECIDE: MILL2/Read-me.txt is not ours, or was changed, and was not replaced" in said
    assert (stick / "MILL2" / "Read-me.txt").read_bytes() == b"mine"
    assert (stick / "MILL2" / "O1001.NC").exists()
    assert last_export(shop).papers == ()


def test_a_folder_in_its_place_stays_too(shop, stick, export):
    (stick / "MILL2" / "READ-ME.TXT").mkdir(parents=True)
    assert "was not replaced" in export(status=1)


def test_for_a_prove_out_it_says_so_and_leaves_with_the_text(shop, stick, export):
    shop.add_job(
        "4488", "O1088.nc", shop.repo.tree().read("jobs/4471/op20/O1003.nc").replace(b"1003", b"1088")
    )
    shop.check_in("4488")
    export("--for-proving", "4488", "--with-sheets")
    said = read_me(stick, "MILL2/FOR-PROVING")
    assert said.startswith("UNPROVEN - FOR A PROVE-OUT ON MILL2 ONLY - NOT FOR PRODUCTION\n")
    assert "  files: O1088.NC (UNPROVEN)\n" in said
    assert "To be asked again by 13 Feb 2026 at the latest." in said
    assert proving_words("MILL2", "r1", "unproven") in flat(said)
    assert (stick / "MILL2/FOR-PROVING/SHEET 4488 OP10.HTM").exists()
    shop.day(14)
    gone = export()
    assert "was out for its prove-out for a week" in flat(gone)
    assert list((stick / "MILL2/FOR-PROVING").iterdir()) == []
    assert "TAKEN OFF THIS STICK" in read_me(stick)


def test_on_a_deviation_it_says_the_hour_too(shop, stick, export):
    shop.add_job(
        "4488", "O1088.nc", shop.repo.tree().read("jobs/4471/op20/O1003.nc").replace(b"1003", b"1088")
    )
    shop.check_in("4488")
    why = ("-m", "the lot is due today and the spindle is down", "--hours", "8")
    screen = export("--deviation", "4488", *why)
    said = read_me(stick, "MILL2/DEVIATION")
    (hour,) = re.findall(r"To be asked again by (6 Feb 2026 16:\d\d \+00:00) at the latest\.", said)
    assert f"asks to be looked at again by {hour}." in flat(screen)


def test_what_a_text_in_another_language_cannot_say_of_itself_stands_beside_it(
    stick, export, monkeypatch, capsys
):
    shop = shop_with(TEXT.replace(b"\r\n", b"\n"), released=False)
    monkeypatch.setattr(Frame, "desk", lambda self: shop.desk())
    silent = f"P12.H: UNPROVEN - FOR PROVE-OUT ONLY: {NOT_IN_TEXT}"
    screen = export("--for-proving", "4480")
    assert f"MILL2/FOR-PROVING/{silent}" in flat(screen)
    said = read_me(stick, "MILL2/FOR-PROVING")
    assert "  files: P12.H (UNPROVEN)\n  ! P12.H: UNPROVEN - FOR PROVE-OUT ONLY: its text" in said
    assert silent in flat(said.replace("\n    ", " "))
    assert "! P12.H: line ends are LF, where CR LF is written for MILL2: left as they are" in flat(said)
    assert (stick / "MILL2/FOR-PROVING/P12.H").read_bytes() == TEXT.replace(b"\r\n", b"\n")
    assert main(["collect", str(stick), "--by", "ss", "--dry-run"]) == 1
    assert "UNPROVEN, for its prove-out only (its text cannot say so)" in flat(capsys.readouterr().out)


def test_with_sheets_each_operation_has_its_own_and_it_leaves_when_it_may_not_run(shop, stick, export):
    said = export("--with-sheets")
    sheet = stick / "MILL2" / "SHEET 4471 OP20.HTM"
    mark = shop.revision("4471/op20").record.operation_fingerprint[:8].upper()
    assert mark in sheet.read_text(encoding="utf-8")
    assert "MILL2/SHEET 4471 OP20.HTM: lies beside them" in said
    papers = {one.path: (one.job, one.operation, one.revision) for one in last_export(shop).papers}
    assert papers["MILL2/SHEET 4471 OP20.HTM"] == ("4471", "op20", shop.revision("4471/op20").name)
    export()  # without sheets: what lies there still speaks for what may run
    assert sheet.exists()
    shop.hold("4471/op20")
    said = export("--mirror")
    assert not sheet.exists()
    assert "which may not run here today" in flat(said)
    assert (stick / "MILL2" / "SHEET 4471 OP10.HTM").exists()


def test_a_changed_sheet_is_kept(shop, stick, export):
    export("--with-sheets")
    sheet = stick / "MILL2" / "SHEET 4471 OP20.HTM"
    sheet.write_bytes(b"scribbled on")
    said = export("--with-sheets", status=1)
    assert sheet.read_bytes() == b"scribbled on"
    assert "SHEET 4471 OP20.HTM is not ours, or was changed" in flat(said)


def test_a_plan_writes_no_paper_and_calls_files_by_what_becomes_of_them(shop, stick, export):
    said = export("--dry-run", "--with-sheets")
    assert list(stick.iterdir()) == []
    assert "MILL2/SHEET 4471 OP10.HTM: would lie beside them" in said
    assert "Plan for MILL2, BLUE-1: 3 programs may run (3 new). Nothing to decide." in flat(said)
    export()
    (stick / "MILL2" / "O1003.NC").unlink()
    said = export("--dry-run")
    assert "MILL2/O1001.NC  same  4471/op10" in said
    assert "MILL2/O1003.NC  new   4471/op20" in said
    assert "3 programs may run (1 new, 2 same)" in said
