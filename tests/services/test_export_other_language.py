"""A program in another language on its way to a stick: to the byte, or not at all."""

import pytest

from tests.fakes.stick_shop import StickShop
from tracker.errors import Refused
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
