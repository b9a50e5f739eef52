"""A program in another language on its way to a stick: to the byte, or not at all."""

import pytest

from tests.fakes.stick_shop import StickShop, program
from tracker.errors import Refused
from tracker.services.export_deviation import Emergency, export_deviation
from tracker.services.naming import parse_named
from tracker.services.ports_stick import NOT_IN_TEXT
from tracker.stick.verbatim import AS_IT_IS

TEXT = b"BEGIN PGM 12 MM\r\nL X+1 R0 FMAX\r\n~\r\nTOOL CALL 3 Z S2000\r\nEND PGM 12 MM\r\n"
WITH_LETTER = TEXT.replace(b"S2000", b"S2000 ; gro\xdf")


def shop_with(text: bytes, mill2: str = "", *, released: bool = True) -> StickShop:
    """4480 holds a program of another control's language, by its name."""
    shop = StickShop(mill2=mill2)
    table = shop.repo.tree().read("shop.toml").replace(b'"O{number:04}.NC"', b'"{name}"', 1)
    shop.repo.save({"shop.toml": table}, at=shop.now)
    shop.add_job("4480", "P12.H", text)
    shop.check_in("4480/op10")
    if released:
        shop.prove("4480/op10")
        shop.release("4480")
    return shop


def refused(shop: StickShop, write) -> Refused:
    before, commits = dict(shop.files), len(shop.repo.commits)
    with pytest.raises(Refused) as fault:
        write()
    assert (shop.files, len(shop.repo.commits)) == (before, commits)
    return fault.value


def test_it_goes_out_to_the_byte_and_comes_home_as_exported():
    shop = shop_with(TEXT)
    (file,) = shop.export().files
    assert shop.files["MILL2/P12.H"] == TEXT
    assert file.notes == (AS_IT_IS,)
    assert shop.verdicts()["MILL2/P12.H"] == "as-exported"


def test_what_its_machine_does_not_take_is_refused_with_file_line_and_what_to_do():
    shop = shop_with(WITH_LETTER, 'characters = "ascii"')
    fault = refused(shop, shop.export)
    assert fault.name == "cannot-shape"
    assert fault.reasons == (
        "jobs/4480/op10/P12.H: line 4: byte DF in 'TOOL CALL 3 Z S2000 ; gro\xdf': MILL2 takes plain letters only",
        (
            "jobs/4480/op10/P12.H: all of it may be code, so nothing of it is changed here: change it in the office and check "
            "it in, to be proved anew; or, if MILL2 does read it, change characters in its table of shop.toml"
        ),
    )
    assert fault.fix == "change the name or the text in the office, or the machine's table in shop.toml"


def test_it_is_refused_for_its_prove_out_too():
    shop = shop_with(TEXT, "max_line = 15", released=False)
    fault = refused(shop, lambda: shop.for_proving("4480/op10"))
    assert fault.reasons[0] == "jobs/4480/op10/P12.H: line 4 is 19 characters long, MILL2 reads 15"


def test_other_line_ends_are_said_at_the_file_and_left():
    shop = shop_with(TEXT.replace(b"\r\n", b"\n"))
    (file,) = shop.export().files
    assert shop.files["MILL2/P12.H"] == TEXT.replace(b"\r\n", b"\n")
    assert file.notes[1].startswith("line ends are LF, where CR LF is written for MILL2: left as they are")


# -- for its prove-out, in an emergency ----------------------------------------------------------------------------

UNPROVEN = "UNPROVEN - FOR PROVE-OUT ONLY"


def listed(shop: StickShop, folder: str):
    (one,) = [
        one
        for one in shop.shaper.read_manifest(shop.files[f"MILL2/{folder}/PROVEOUT.JSON"]).files
        if one.file == "P12.H"
    ]
    return one


def test_for_its_prove_out_the_list_and_the_answer_say_what_its_text_cannot():
    shop = shop_with(TEXT, released=False)
    (file,) = shop.for_proving("4480/op10").files
    assert shop.files["MILL2/FOR-PROVING/P12.H"] == TEXT
    assert (file.unreleased, file.not_in_text) == (UNPROVEN, NOT_IN_TEXT)
    one = listed(shop, "FOR-PROVING")
    assert (one.unreleased, one.not_in_text) == (UNPROVEN, NOT_IN_TEXT)
    (home,) = [one for one in shop.collect(dry_run=True).files if one.file.endswith("P12.H")]
    assert (home.verdict, home.unreleased) == ("for-proving", UNPROVEN)
    assert home.message.endswith("by ss, UNPROVEN, for its prove-out only (its text cannot say so)")


def test_on_a_deviation_too():
    shop = shop_with(TEXT, released=False)
    why = Emergency(reason="the lot is due and the other machine is down", hours=8)
    (file,) = export_deviation(shop.desk(), shop.to(), parse_named("4480/op10"), why).files
    assert (file.unreleased, file.not_in_text) == ("DEVIATION - NOT RELEASED", NOT_IN_TEXT)
    one = listed(shop, "DEVIATION")
    assert (one.unreleased, one.not_in_text) == ("DEVIATION - NOT RELEASED", NOT_IN_TEXT)
    (home,) = [one for one in shop.collect(dry_run=True).files if one.file.endswith("P12.H")]
    assert home.unreleased == "DEVIATION - NOT RELEASED"
    assert ", NOT RELEASED, under a deviation" in home.message
    assert "(its text cannot say so)" in home.message


def test_what_an_earlier_export_left_there_is_said_by_the_next_one():
    shop = shop_with(TEXT, released=False)
    shop.for_proving("4480/op10")
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    report = shop.for_proving("5001/op10")
    assert report.notes[-1].startswith(f"{UNPROVEN}: not of this export, but there from an earlier one")
    assert report.notes[-1].endswith(f"P12.H (4480/op10 r1); {NOT_IN_TEXT}")
    assert [one.not_in_text for one in report.files] == [None]
    one = listed(shop, "FOR-PROVING")
    assert (one.unreleased, one.not_in_text) == (UNPROVEN, NOT_IN_TEXT)


def test_of_a_released_one_nothing_of_the_kind_is_said():
    shop = shop_with(TEXT)
    (file,) = shop.export().files
    assert (file.unreleased, file.not_in_text, file.silent) == (None, None, None)
    assert b"not_in_text" not in shop.files["MILL2/PROVEOUT.JSON"]
