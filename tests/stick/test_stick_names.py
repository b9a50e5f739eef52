"""Names on a stick.

Sources: Microsoft, FAT32 File System Specification 1.03 (short names, numeric tails); learn.microsoft.com, "Naming
Files, Paths, and Namespaces" (reserved characters and device names).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.stick.names import PatternError, alias, folded, is_short, machine_name, problem


@pytest.mark.parametrize(
    ("pattern", "number", "name", "made"),
    [
        ("O{number:04}.NC", 1, "part.nc", "O0001.NC"),
        ("O{number:04}.NC", 1001, "part.nc", "O1001.NC"),
        ("O{number:04}.NC", 51002, "part.nc", "O51002.NC"),
        ("O{number}", 7, "part.nc", "O7"),
        ("{name}", None, "Träger.nc", "Träger.nc"),
        ("{number:04d}", 7, "part.nc", "0007"),
        ("P{number:4}", 7, "part.nc", "P   7"),
        ("{name}.EIA", None, "plate", "plate.EIA"),
    ],
)
def test_a_machine_names_its_files_by_its_pattern(pattern, number, name, made):
    assert machine_name(pattern, number=number, name=name) == made


@pytest.mark.parametrize(
    "pattern", ["{number.__class__}.NC", "{other}", "O1000.NC", "{name!r}", "{name:9}", "{number:04", "{}"]
)
def test_a_pattern_of_anything_else_is_refused(pattern):
    with pytest.raises(PatternError, match="must hold"):
        machine_name(pattern, number=1, name="a.nc")


def test_a_program_without_a_number_has_no_name_where_files_go_by_number():
    with pytest.raises(PatternError, match="the program has none"):
        machine_name("O{number:04}.NC", number=None, name="a.nc")


@pytest.mark.parametrize(
    "letter", list('<>:"/\\|?*') + [chr(n) for n in range(32)] + ["\x7f", "\udcff", "\u0000"]
)
def test_reserved_characters_and_what_is_no_character(letter):
    assert problem(f"O10{letter}01.NC")


@pytest.mark.parametrize(
    "name",
    [
        "CON",
        "con.nc",
        "PRN.txt",
        "aux",
        "NUL.NC",
        "COM1.NC",
        "LPT9",
        "COM\u00b9.nc",
        "CONIN$",
        "CON .nc",
        "nul.a.b",
    ],
)
def test_device_names_with_and_without_extension(name):
    assert problem(name) == "belongs to a device under Windows"


@pytest.mark.parametrize("name", ["trail. ", "trail.", "trail ", " lead.nc", "", ".", ".."])
def test_blanks_and_points_at_the_ends(name):
    assert problem(name)


@pytest.mark.parametrize("name", ["O1001.NC", "COM10.NC", "CONTOUR.NC", "Träger 2.nc", "x+y=z.nc", "a" * 255])
def test_names_that_stand(name):
    assert problem(name) is None


def test_the_longest_name_is_255_characters_of_16_bits():
    assert problem("a" * 256)
    assert problem("\U0001d538" * 128) == "is longer than 255 characters"


def test_letters_a_machine_does_not_have():
    assert problem("Träger.nc", ascii_only=True) == "holds letters the machine does not have"


# the second column is what mkfs.vfat and mcopy made of the first, mtools 4.0.32
ALIASES = [
    ("O1001.NC", "O1001.NC"),
    ("o1001.nc", "O1001.NC"),
    ("long name prog.nc", "LONGNA~1.NC"),
    ("x+y=z.nc", "X_Y_Z~1.NC"),
    ("a b.nc", "AB~1.NC"),
    ("[ab].nc", "_AB_~1.NC"),
    (".hidden", "HIDDEN~1"),
    ("ab..nc", "AB~1.NC"),
    ("ABCDEFGH.NCX", "ABCDEFGH.NCX"),
    ("ABCDEFGHI.NC", "ABCDEF~1.NC"),
    ("a;b.nc", "A_B~1.NC"),
    ("ab.c.nc", "ABC~1.NC"),
]


@pytest.mark.parametrize(("name", "short"), ALIASES)
def test_the_alias_the_file_system_makes(name, short):
    assert alias(name) == short


def test_the_tail_counts_on_and_makes_room_for_itself():
    assert alias("long name prig.nc", taken=["LONGNA~1.NC"]) == "LONGNA~2.NC"
    taken = [f"LONGNA~{n}.NC" for n in range(1, 10)]
    assert is_short(alias("long name prig.nc", taken=taken))


@pytest.mark.parametrize("name", ["O1001.NC", "a", "A-B_1.N-C", "PRG~1.NC"])
def test_short_names(name):
    assert is_short(name)


@pytest.mark.parametrize(
    "name", ["O100100100.NC", "O1.NCPRG", "a b.nc", "x+y.nc", "a.b.c", "ä.nc", ".nc", "a.", ""]
)
def test_no_short_names(name):
    assert not is_short(name)


def test_a_short_name_control_shows_an_alias_nobody_knows():
    assert problem("long name prog.nc", short_only=True) == (
        "is no 8.3 name: the control would show it as LONGNA~1.NC"
    )


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("O1001.NC", "o1001.nc"),
        ("TRÄGER", "träger"),
        ("a\u0308.nc", "\u00e4.nc"),
        ("O1001", "O1001."),
        ("ß", "SS"),
    ],
)
def test_names_a_stick_cannot_tell_apart(one, other):
    assert folded(one) == folded(other)


def test_names_a_stick_can_tell_apart():
    assert folded("O1001.NC") != folded("O1001.N")


@given(st.text(max_size=300))
def test_every_name_gets_an_answer_and_a_good_one_has_a_short_alias(name):
    if problem(name) is None:
        assert is_short(alias(name))
