"""What a control does to a text, and what is said of it when it comes home: a row a finding, through ``collect``.

What controls and transfers do to files, and the order in which it is told, is common practice, no source.
"""

import pytest

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, renumbered
from tracker.errors import Refused
from tracker.reports.collect_words import decisions

MAIN, SUB, SECOND = "MILL2/O1001.NC", "MILL2/O1002.NC", "MILL2/O1003.NC"
OFFICE = "jobs/4471/op10/O1001.nc"


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def swap(*swaps: tuple[bytes, bytes]):
    def change(shop: StickShop) -> str:
        shop.files[MAIN] = edited(shop.files[MAIN], *swaps)
        return MAIN

    return change


def remake(make):
    def change(shop: StickShop) -> str:
        shop.files[MAIN] = make(shop.files[MAIN])
        return MAIN

    return change


def without_per_cent(data: bytes) -> bytes:
    return b"".join(line for line in data.splitlines(keepends=True) if line.strip() != b"%")


def without_id(data: bytes) -> bytes:
    return b"".join(line for line in data.splitlines(keepends=True) if b"(ID" not in line)


def without_lines(data: bytes, *starts: bytes) -> bytes:
    """The text without the blocks that begin so; every one of them must be there."""
    lines = data.splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith(starts)]
    assert len(lines) - len(kept) == len(starts)
    return b"".join(kept)


LOST = (b"N60 ", b"N70 ", b"N80 ", b"N90 ", b"N95 ")
"""The cut of the first tool: a fifth of the program."""
HEAD_AND_END = (b"N30 ", b"N40 ", b"N50 ", *LOST, *(b"N%d " % n for n in range(100, 200, 10)))


def blanks_out(data: bytes) -> bytes:
    return b"".join(
        line if b"(" in line else line.replace(b" ", b"") for line in data.splitlines(keepends=True)
    )


def lower_case_office(shop: StickShop) -> str:
    """The office writes in lower case; the control puts everything in capitals."""
    shop.save(OFFICE, program(1001, sub=1002).lower())
    shop.check_in("4471/op10")
    shop.files[MAIN] = program(1001, sub=1002).upper()
    return MAIN


def older(shop: StickShop) -> str:
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.prove("4471/op10")
    shop.release("4471")
    return MAIN


def withdrawn(shop: StickShop) -> str:
    shop.withdraw("4471", 1)
    return MAIN


def trial(shop: StickShop) -> str:
    """A text that was rejected, out for its prove-out."""
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    shop.prove("4471/op10", result="rejected", cause="program")
    return "MILL2/FOR-PROVING/O1001.NC"


def several(shop: StickShop) -> str:
    texts = [without_per_cent(shop.files.pop(path)) for path in (MAIN, SUB, SECOND)]
    shop.files["MILL2/ALL-PROG.TXT"] = b"%\r\n" + b"".join(texts) + b"%\r\n"
    return "MILL2/ALL-PROG.TXT"


def renamed(shop: StickShop) -> str:
    shop.files["PROG0001.TXT"] = shop.files.pop(MAIN)
    return "PROG0001.TXT"


def another_number(shop: StickShop) -> str:
    """Under a name and number nobody knows, renumbered, comments and id line dropped."""
    shop.files["PROG0001.TXT"] = renumbered(edited(shop.files.pop(MAIN), (b"O1001", b"O5555")))
    return "PROG0001.TXT"


def another_program(shop: StickShop) -> str:
    shop.files[MAIN] = b"%\nO1001\nG21\nG0 X1. Y2.\nG1 Z-3. F80.\nX44.\nY55.\nX1.\nG0 Z9.\nM30\n%\n"
    return MAIN


def stray(name: str, data: bytes):
    def change(shop: StickShop) -> str:
        shop.files[name] = data
        return name

    return change


ROWS = [
    ("0 byte for byte", remake(bytes), "as-exported", (), "release 1"),
    ("1 renumbered", remake(renumbered), "same-code", ("format", "numbering", "wording"), "differs in"),
    ("1 blanks out", remake(blanks_out), "same-code", ("format",), "differs in format only"),
    ("1 both % lost", remake(without_per_cent), "same-code", ("format",), "differs in format only"),
    (
        "1 in capitals",
        lower_case_office,
        "same-code",
        ("format", "wording"),
        "differs in format, wording only",
    ),
    ("1 renamed", renamed, "as-exported", (), "Under another name: it was O1001.NC."),
    ("2 older revision", older, "stale", (), "Were parts made with it since?"),
    ("3 withdrawn", withdrawn, "withdrawn", (), "Take it off the stick and the control."),
    ("3 rejected trial", trial, "for-proving", (), "for its prove-out only"),
    (
        "4 cut in a block",
        remake(lambda data: data[:300]),
        "incomplete",
        (),
        "read it out of the control again",
    ),
    ("4 cut in a word", remake(lambda data: data[:200]), "incomplete", (), "in the middle of a block"),
    (
        "4 no end",
        remake(lambda data: without_per_cent(data).replace(b"M30", b"")),
        "incomplete",
        (),
        "it stops after 22 of 23",
    ),
    ("4 no closing %", remake(lambda data: data.rstrip(b"%\r\n") + b"\r\n"), "incomplete", (), "no % closes"),
    (
        "4 lost in its midst",
        remake(lambda data: without_lines(data, *LOST)),
        "incomplete",
        ("feed", "flow", "motion"),
        "cut down at the control since r1: 18 blocks of code where there were 23, though its end is there (feed,",
    ),
    (
        "4 head and end of it",
        remake(lambda data: without_lines(data, *HEAD_AND_END)),
        "incomplete",
        ("coolant", "feed", "flow", "motion", "offset", "speed", "tool"),
        "5 blocks of code where there were 23",
    ),
    (
        "10 a block less",
        remake(lambda data: without_lines(data, b"N160 ")),
        "changed-code",
        ("motion",),
        "motion",
    ),
    ("5 several", several, "same-code", (), "3 programs in one file: O1001 same-code, O1002 same-code"),
    ("6 another program", another_program, "unknown", (), "another program under O1001"),
    (
        "7 other number",
        another_number,
        "changed-code",
        ("format", "numbering", "program-number", "wording"),
        "A renamed copy: the O number is all that was changed, O1001 to O5555.",
    ),
    (
        "8 beside a slip of the finger",
        swap((b"F15.", b"F12.5"), (b"N180 G80", b"N180 G80 G")),
        "changed-code",
        ("flow", "motion", "numbering", "other", "slower"),
        "the code was changed since r1",
    ),
    ("8 feed up", swap((b"F15.", b"F18.")), "changed-code", ("feed",), "feed"),
    ("8 feed a little down", swap((b"F15.", b"F12.5")), "changed-code", ("slower",), "slower"),
    ("8 speed up", swap((b"S1800", b"S2400")), "changed-code", ("speed",), "speed"),
    ("9 stop", swap((b"N110 ", b"M1\r\nN110 ")), "changed-code", ("stop",), "stop"),
    ("9 block delete", swap((b"N150 ", b"/N150 ")), "changed-code", ("flow",), "flow"),
    ("9 coolant", swap((b" M8\r\nN140", b"\r\nN140")), "changed-code", ("coolant",), "coolant"),
    ("9 dwell", swap((b"N180 ", b"G4 P500\r\nN180 ")), "changed-code", ("dwell",), "dwell"),
    ("10 depth", swap((b"Z-0.5", b"Z-0.55")), "changed-code", ("motion",), "motion"),
    ("10 R plane", swap((b"R0.1", b"R0.2")), "changed-code", ("motion",), "motion"),
    ("11 H", swap((b"H4", b"H5")), "changed-code", ("tool",), "tool"),
    ("11 work offset", swap((b"G54", b"G55")), "changed-code", ("offset",), "offset"),
    ("12 point lost", swap((b"X3.5", b"X35")), "changed-code", ("motion",), "X3.5 to X35; how the machine"),
    ("12 point gone", swap((b"X-1. Y0.6", b"X-1 Y0.6")), "changed-code", ("motion",), "X-1. to X-1; how"),
    ("13 another sub", swap((b"P1002", b"P1005")), "changed-code", ("flow",), "flow"),
    ("13 G10", swap((b"N110 ", b"G10 L2 P1 Z0.\r\nN110 ")), "changed-code", ("offset",), "offset"),
    ("14 id line lost", remake(without_id), "same-code", ("wording",), "Its id line is lost."),
    (
        "15 offsets",
        stray("MILL2/OFFS.TXT", b"%\nG10 L2 P1 X0. Y0.\nG10 L10 P1 R1.5\n%\n"),
        "unknown",
        (),
        "evidence",
    ),
    ("15 variables", stray("MILL2/VARS.TXT", b"%\n#500=1.25\n#501=-3.\n%\n"), "unknown", (), "no program"),
    (
        "15 parameters",
        stray("MILL2/PARA.TXT", b"%\nN00001 P00000010\nN00002 P1\n%\n"),
        "unknown",
        (),
        "no program",
    ),
]


@pytest.mark.parametrize(
    ("change", "verdict", "kinds", "says"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS]
)
def test_what_a_control_did_to_it(shop, change, verdict, kinds, says):
    path = change(shop)
    report = shop.collect(dry_run=True)
    (found,) = [one for one in report.files if one.file == path]
    assert (found.verdict, found.kinds) == (verdict, kinds)
    assert says in found.message
    if verdict != "missing":
        assert "missing" not in {one.verdict for one in report.files}


def test_every_row_of_the_triage_has_a_case():
    assert {int(name.split()[0]) for name, *_ in ROWS} == set(range(16))


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (another_program, "nothing-to-take-in"),
        (remake(lambda data: data[:300]), "not-whole"),
        (remake(lambda data: without_lines(data, *LOST)), "not-whole"),
        (swap((b"G43 H4", b"G43 H5")), "sheet-behind"),
    ],
    ids=["6", "4 cut", "4 lost in its midst", "11"],
)
def test_what_the_triage_refuses_is_not_taken_in(shop, change, rule):
    change(shop)
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="edited")
    assert caught.value.name == rule
    assert shop.revision("4471/op10").name.startswith("r0001-")


def test_what_lost_much_of_its_code_is_taken_in_on_a_person_s_word_only(shop):
    """A gap of a transfer and a section deleted at the control look the same (common practice, no source)."""
    shop.files[MAIN] = without_lines(shop.files[MAIN], *LOST)
    with pytest.raises(Refused, match="did not come home whole") as caught:
        shop.collect(checkin="4471/op10", reason="no first tool")
    assert caught.value.fix == (
        "read it out of the control again; if that is all the control holds, say so: --whole; or take it off the stick"
    )
    assert shop.revision("4471/op10").name.startswith("r0001-")
    report = shop.collect(checkin="4471/op10", reason="no first tool", whole=True)
    made = shop.revision("4471/op10")
    assert made.name.startswith("r0002-")
    assert made.record.reason == (
        "no first tool; much shorter, and said to be all the control holds: MILL2/O1001.NC"
    )
    assert report.undecided == ()
    assert shop.repo.tree().read(OFFICE) == shop.files[MAIN]


@pytest.mark.parametrize("make", [renumbered, without_id, without_per_cent])
def test_what_an_export_would_refuse_to_write_over_is_to_be_decided(shop, make):
    """Bytes no record has may be all there is of a comment of the control's."""
    shop.files[MAIN] = make(shop.files[MAIN])
    (found,) = shop.collect().undecided
    assert (found.file, found.verdict, found.aside) == (MAIN, "same-code", "writing")
    with pytest.raises(Refused) as caught:
        shop.export()
    assert caught.value.name == "collect-first"
    report = shop.collect(checkin="4471/op10", reason="as the control wrote it")
    assert report.undecided == ()
    shop.release("4471")
    assert [one.action for one in shop.export().files] == ["replaced", "replaced", "replaced"]


def test_nor_is_it_taken_in_where_the_office_has_another_text_by_now(shop):
    shop.files[MAIN] = renumbered(shop.files[MAIN])
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    report = shop.collect()
    (found,) = report.undecided
    assert (found.verdict, found.aside) == ("same-code", "old-writing")
    (line,) = decisions(report)
    assert line.endswith("it is not taken in. Note its comments, and take it off.")
    for act in (lambda: shop.collect(checkin="4471/op10", reason="as written"), shop.export):
        with pytest.raises(Refused) as caught:
            act()
        assert caught.value.name in ("nothing-to-take-in", "collect-first")


def test_in_the_folder_for_a_prove_out_it_is_in_the_way_of_the_next_one(shop):
    shop.check_in("4471/op10-m3")
    apart = "MILL3/FOR-PROVING/O1001.NC"
    shop.for_proving("4471/op10-m3", "MILL3")
    shop.prove("4471/op10-m3", "MILL3")
    shop.release("4471")
    shop.files[apart] = renumbered(shop.files[apart])
    (found,) = [one for one in shop.collect(dry_run=True).undecided if one.file == apart]
    assert (found.verdict, found.aside) == ("same-code", "writing")


def test_tidied_it_is_what_is_recorded_and_nothing_is_taken_in(shop):
    shop.files[MAIN] = renumbered(shop.files[MAIN]).replace(b"M30", b"(BURR AT T3)\r\nM30")
    report = shop.collect(checkin="4471/op10", reason="as the control wrote it", tidy=True)
    assert report.taken_in is not None
    assert report.taken_in.checked_in == ()
    assert any("(BURR AT T3)" in one for one in report.notes)
    assert report.notes[-1].startswith(
        "nothing was taken in: written the office's way it is what is recorded."
    )
    assert [one.aside for one in report.undecided] == ["writing"]


def test_the_same_code_where_no_export_would_write_is_not(shop):
    shop.files["MILL2/BACKUP.NC"] = renumbered(shop.files[MAIN])
    shop.files["KEPT.NC"] = renumbered(shop.files[MAIN])
    shop.disk._folders_of("MILL2/OLD/x")
    shop.files["MILL2/OLD/O1001.NC"] = renumbered(shop.files[MAIN])
    assert shop.collect().undecided == ()
    assert {one.action for one in shop.export().files} == {"unchanged"}


def test_of_what_lost_much_of_its_code_the_stop_of_its_text_is_said(shop):
    shop.files[MAIN] = without_lines(shop.files[MAIN], *LOST)
    shop.hold("4471/op10")
    (found,) = [one for one in shop.collect(dry_run=True).files if one.aside == "shorter"]
    assert "r1 may not run: held" in found.message
    assert "gauge out of calibration" in found.message


def test_a_short_program_with_shorter_words_is_an_edit(shop):
    sub = "MILL2/O1002.NC"
    shop.files[sub] = edited(shop.files[sub], (b"G2 X0.25 Y3. I0.25 J0.", b"G1 Y3."))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == sub]
    assert found.verdict == "changed-code"
    shop.collect(checkin="4471/op10", reason="no radius")
    assert shop.revision("4471/op10").name.startswith("r0002-")


def test_that_it_is_whole_nobody_can_say_of_what_has_no_end(shop):
    shop.files[MAIN] = shop.files[MAIN][:300]
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="edited", whole=True)
    fix = "read it out of the control again; or take it off the stick"
    assert (caught.value.name, caught.value.fix) == ("not-whole", fix)


def test_an_edit_that_is_much_shorter_is_held_against_what_the_office_did(shop):
    shop.save(OFFICE, program(1001, sub=1002, depth="-0.55"))
    shop.check_in("4471/op10")
    shop.files[MAIN] = without_lines(shop.files[MAIN], *LOST)
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="no first tool", whole=True)
    assert caught.value.name == "both-changed"


@pytest.mark.parametrize(
    ("decimal", "says"),
    [
        ("calculator", "MILL2 reads a number without one as whole units"),
        ("increment", "MILL2 reads a number without one in its smallest step"),
    ],
)
def test_a_decimal_point_says_what_the_machine_makes_of_it(decimal, says):
    shop = StickShop(mill2=f'decimal = "{decimal}"')
    shop.check_in("4471/op10", "4471/op20", "4471/op10-m3")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    shop.files[MAIN] = edited(shop.files[MAIN], (b"X3.5", b"X35"))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert says in found.message


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r\r\n", b"\n\r\r", b"\n\r", b"\r"])
def test_a_dump_is_cut_between_lines_whatever_ends_them(shop, end):
    """Which ends controls write: common practice, no source."""
    path = several(shop)
    shop.files[path] = shop.files[path].replace(b"\r\n", end)
    programs = shop.collect(dry_run=True).programs
    assert [one.verdict for one in programs] == ["same-code"] * 3


@pytest.mark.parametrize("how", ["dump", "renamed"])
def test_a_program_two_operations_call_is_not_missing_where_it_came_home_otherwise(how):
    shop = StickShop()
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op10", "4471/op20", "4471/op10-m3")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    if how == "dump":
        several(shop)
    else:
        shop.files["MILL2/P2.NC"] = renumbered(shop.files.pop(SUB))
    assert [one.verdict for one in shop.collect(dry_run=True).programs if one.verdict == "missing"] == []
    if how == "renamed":
        del shop.files["MILL2/P2.NC"]
        assert shop.verdicts()[SUB] == "missing"


def test_a_program_of_a_dump_can_be_taken_in(shop):
    several(shop)
    dump = shop.files["MILL2/ALL-PROG.TXT"]
    shop.files["MILL2/ALL-PROG.TXT"] = edited(dump, (b"Z-0.5 R0.1", b"Z-0.52 R0.1"))
    before = {one.file: one.verdict for one in shop.collect(dry_run=True).programs}
    assert before["MILL2/ALL-PROG.TXT#O1001"] == "changed-code"
    # op20's own text of the same depth was edited by the same swap
    assert before["MILL2/ALL-PROG.TXT#O1003"] == "changed-code"
    report = shop.collect(checkin="4471/op10", reason="deeper")
    taken = shop.repo.tree().read(OFFICE)
    assert taken is not None
    assert taken.startswith(b"O1001")
    assert b"Z-0.52" in taken
    assert b"O1002" not in taken
    assert [one.file for one in report.undecided] == ["MILL2/ALL-PROG.TXT#O1003"]


@pytest.mark.parametrize(
    "written",
    [
        lambda data: data.replace(b"\r\n", b"\n\r\r"),
        lambda data: data.replace(b"\r\n", b"\r"),
        lambda data: b"\xef\xbb\xbf" + data,
        lambda data: bytes(60) + data + bytes(60),
        lambda data: b"\x11" + data + b"\x13",
    ],
    ids=["LF CR CR", "CR alone", "byte-order mark", "leader of a tape", "DC1 and DC3"],
)
def test_no_per_cent_is_said_to_be_lost_that_is_there(shop, written):
    shop.files[MAIN] = written(edited(shop.files[MAIN], (b"Z-0.5 R0.1", b"Z-0.52 R0.1")))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert (found.verdict, found.kinds) == ("changed-code", ("format", "motion"))
    assert "%" not in found.message


def test_one_lost_per_cent_is_said_beside_another_edit(shop):
    text = edited(shop.files[MAIN], (b"Z-0.5 R0.1", b"Z-0.52 R0.1"))
    shop.files[MAIN] = text.removeprefix(b"%\r\n").replace(b"\r\n", b"\r")
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert "other" in found.kinds
    assert "One of its two % lines is lost." in found.message


def test_a_dump_of_one_program_alone_is_that_program(shop):
    shop.files[MAIN] = without_per_cent(shop.files[MAIN])
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert found.parts == ()


def test_a_renamed_copy_beside_the_text_leaves_nothing_missing_and_a_stale_one_does(shop):
    older(shop)
    shop.export()
    shop.files["OLD.NC"] = program(1001, sub=1002)
    del shop.files[MAIN]
    said = {one.file: one.verdict for one in shop.collect(dry_run=True).files}
    assert (said["OLD.NC"], said[MAIN]) == ("stale", "missing")


# -- hints ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("comment", "says"),
    [
        (b"(PROOFED KP 3-11-26)", "a comment says it was proved by KP, 3-11-26"),
        (b"(PROVEN 11 MAR 26)", "a comment says it was proved, 11 MAR 26"),
        (b"(PROVED OUT BY SS)", "a comment says it was proved by SS"),
    ],
)
def test_a_proof_comment_is_a_hint_and_never_a_proof(shop, comment, says):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"(OFFICE TEXT)", b"(OFFICE TEXT)\r\n" + comment))
    (found,) = [one for one in shop.collect().files if one.file == MAIN]
    assert found.verdict == "same-code"
    assert found.hint is not None
    assert found.hint.startswith(says)
    assert "A comment is no proof" in found.hint
    assert not any(
        one.record.EVENT == "proof" and one.record.by == "kp" for one in shop.repo.ledger().records
    )


@pytest.mark.parametrize("comment", [b"(NOT PROVEN KP 3-11-26)", b"(PROOFED)", b"(KP 3-11-26)"])
def test_other_comments_are_no_hint(shop, comment):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"(OFFICE TEXT)", b"(OFFICE TEXT)\r\n" + comment))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert found.hint is None


def test_a_comment_the_office_wrote_is_no_hint():
    shop = StickShop()
    shop.save(OFFICE, program(1001, sub=1002, name="PROOFED KP 3-11-26"))
    shop.check_in("4471/op10")
    shop.files[MAIN] = program(1001, sub=1002, name="PROOFED KP 3-11-26")
    (found,) = shop.collect(dry_run=True).files
    assert found.hint is None


def test_of_an_edit_of_a_stopped_text_the_stop_is_said():
    shop = exported_shop()
    shop.files["MILL2/O1003.NC"] = edited(shop.files["MILL2/O1003.NC"], (b"F15.", b"F12.5"))

    def words():
        return next(one.message for one in shop.collect(dry_run=True).files if one.file == "MILL2/O1003.NC")

    assert "may not run" not in words()
    shop.withdraw("4471", 1)
    assert "slower. r1 may not run: withdrawn by dg 16 Feb 2026 (release 1): too low" in words()
    assert words().endswith("Who edited it, why, and was it cut?")


@pytest.mark.parametrize(
    "data",
    [
        b"%\nG10 L2 P1 X0. Y0.\nG10 L10 P1 R1.5\n%\n",
        b"%\n#500=1.25\n#501=-3.\n%\n",
        b"%\nN00001 P00000010\nN00002 P1\n%\n",
    ],
)
def test_offsets_and_variables_of_a_control_are_never_adopted(shop, data):
    """What a control punches out beside its programs (common practice, no source)."""
    shop.files["MILL2/OFFS.TXT"] = data
    (line,) = decisions(shop.collect(dry_run=True))
    assert line == (
        "MILL2/OFFS.TXT: offsets or variables of a control: keep it as evidence of the machine, "
        "never as a program, and take it off."
    )
