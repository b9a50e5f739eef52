"""What is asked of a person about each thing on a stick: as the kind of thing it is."""

from io import StringIO

from rich.console import Console

from tests.fakes.stick_shop import edited, exported_shop, program
from tracker.reports.collect import print_text
from tracker.reports.collect_words import decisions

MAIN, MANIFEST = "MILL2/O1001.NC", "MILL2/PROVEOUT.JSON"


def asked(shop) -> tuple[str, ...]:
    return decisions(shop.collect(dry_run=True))


def test_of_an_older_list_nobody_is_asked_about_parts():
    shop = exported_shop()
    older, program_then = shop.files[MANIFEST], shop.files[MAIN]
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.export()
    shop.files[MANIFEST] = older
    assert asked(shop) == (f"{MANIFEST}: an older list: export again before the stick is used.",)
    shop.files[MAIN] = program_then
    assert asked(shop) == (
        f"{MAIN}: out of date: take it off; were parts made with it since?",
        f"{MANIFEST}: an older list: export again before the stick is used.",
    )


def test_a_list_of_another_stick_is_said_to_be_copied():
    shop = exported_shop()
    shop.export(stick="RED-2")
    (found,) = [one for one in shop.collect(dry_run=True, stick="BLUE-1").files if one.file == MANIFEST]
    assert found.verdict == "stale"
    assert found.message == "the list of RED-2, copied over the one an export to BLUE-1 wrote. Export again."


def test_a_list_that_cannot_be_read_is_not_looked_for_in_the_control():
    shop = exported_shop()
    shop.disk.fails[f"read {MANIFEST}"] = OSError(5, "input/output error")
    assert asked(shop) == (f"{MANIFEST}: the list cannot be read: take it off and export again.",)


def test_what_a_cut_off_export_left_is_deleted_and_a_half_program_is_read_out_again():
    shop = exported_shop()
    shop.files["MILL2/PO00A1B2.TMP"] = b"%\nO1001"
    half = edited(shop.files[MAIN], (b"N210 M30\r\n%\r\n", b""))
    shop.files[MAIN] = half[: len(half) // 2]
    assert asked(shop) == (
        f"{MAIN}: not whole: read it out of the control again, or delete it.",
        "MILL2/PO00A1B2.TMP: left by an export that was cut off: delete it and export again.",
    )


def test_of_a_read_me_nobody_recorded_nothing_is_adopted():
    shop = exported_shop()
    shop.files["MILL2/READ-ME.TXT"] = b"WHAT MAY RUN\r\nanything\r\n"
    shop.files["MILL2/SHEET 4471 OP10.HTM"] = b"<html>anything"
    report = shop.collect(dry_run=True)
    assert decisions(report) == (
        (
            "MILL2/READ-ME.TXT, MILL2/SHEET 4471 OP10.HTM: no paper as an export recorded here wrote it: read nothing off it, "
            "take it off and export again."
        ),
    )
    paper = next(one for one in report.files if one.file == "MILL2/READ-ME.TXT")
    assert paper.message.startswith("named like a paper of an export, and none recorded here wrote it so")


def test_a_list_nobody_recorded_may_be_another_pcs():
    shop = exported_shop()
    shop.files[MANIFEST] += b" "
    assert asked(shop) == (
        (
            f"{MANIFEST}: a list no export recorded here wrote: proveout share, if another PC did; else find out who did, take "
            "it off, and export again."
        ),
    )


def test_of_an_edit_that_would_be_refused_nobody_is_told_to_take_it_in():
    shop = exported_shop()
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    assert "To take an edit in: proveout collect DIR --checkin 4471/op10" in printed(shop)
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    assert "To take an edit in" not in printed(shop)
    assert "merges nothing" in " ".join(asked(shop))


def printed(shop) -> str:
    out = StringIO()
    print_text(shop.collect(dry_run=True), Console(file=out, width=200))
    return out.getvalue()
