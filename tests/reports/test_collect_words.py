"""What is asked of a person about each thing on a stick: as the kind of thing it is."""

from tests.fakes.stick_shop import edited, exported_shop, program
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
