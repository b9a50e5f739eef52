"""What the checks find in an edit off a control: against the setup sheet, and in depth and rapids.

Both are common practice, no source.
"""

import pytest

from tests.fakes.floor import Floor
from tests.fakes.stick_shop import JOB, StickShop, edited, program, sub_program
from tracker.errors import Refused
from tracker.services.comparing import PlainFile
from tracker.services.edit_findings import MOST_NAMED, SHEET, new_findings, words_of
from tracker.services.naming import parse_named
from tracker.services.prove import begin, with_ran

MAIN = "MILL2/O1001.NC"
OFFICE = "jobs/4471/op10/O1001.nc"
SUB = "jobs/4471/sub/O1002.nc"
TOOLS = """\
[[operations.offsets]]
code = "G54"
[[operations.tools]]
number = 3
h = 3
d = 3
[[operations.tools]]
number = 4
h = %s
"""


def sheet(h: str = "4", offset: str = "G54") -> str:
    head, _, rest = JOB.partition('units = "inch"\n')
    return head + 'units = "inch"\n' + (TOOLS % h).replace("G54", offset) + rest


@pytest.fixture
def shop() -> StickShop:
    shop = StickShop()
    shop.save("jobs/4471/job.toml", sheet())
    shop.check_in("4471/op10", "4471/op20")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    return shop


EDITS = {
    "H": ((b"G43 H4", b"G43 H5"), "O1001.nc:18: T4: H5, needed H4"),
    "T": ((b"T4 M6", b"T7 M6"), "T7"),
    "H0": ((b"G43 H4", b"G43 H0"), "T4: Z moves with H0, which is no length offset"),
    "no H": ((b"G43 H4 Z1.", b"Z1."), "T4: Z moves with no G43 and H since its tool change"),
    "G49": ((b"N140 G83", b"G49\nN140 G83"), "T4: Z moves after G49 took the length offset off"),
    "H by variable": ((b"G43 H4", b"G43 H#101"), "h-not-tool cannot be told: an H by variable"),
    "T by variable": ((b"T4 M6", b"T#100 M6"), "h-not-tool cannot be told: "),
    "G54 taken out": ((b"G54 ", b""), "T3: a move in the work with no work offset stated"),
    "offset": ((b"G0 G54 X0.5", b"G0 G55 X0.5"), "G55"),
}


@pytest.mark.parametrize("name", EDITS)
def test_it_is_not_taken_in_until_the_sheet_follows(shop, name):
    swap, words = EDITS[name]
    shop.files[MAIN] = edited(shop.files[MAIN], swap)
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert found.verdict == "changed-code"
    assert "The setup sheet does not follow: " in found.message
    assert words in found.message
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="edited")
    assert (caught.value.name, caught.value.where) == ("sheet-behind", "jobs/4471/job.toml")
    assert any(words in one for one in caught.value.reasons)
    assert shop.revision("4471/op10").name.startswith("r0001-")


def test_when_the_sheet_follows_it_is(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"G43 H4", b"G43 H5"))
    shop.save("jobs/4471/job.toml", sheet(h="5"))
    shop.check_in("4471/op10")
    report = shop.collect(checkin="4471/op10", reason="H5 on this machine")
    assert report.taken_in is not None
    assert shop.revision("4471/op10").name.startswith("r0003-")
    assert shop.repo.tree().read(OFFICE) == shop.files[MAIN]


def test_a_d_of_a_called_program_counts(shop):
    shop.files["MILL2/O1002.NC"] = edited(shop.files["MILL2/O1002.NC"], (b"D3", b"D13"))
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="another D")
    assert any("D13" in one for one in caught.value.reasons)


def test_what_the_office_has_so_already_is_no_matter_of_an_edit():
    shop = StickShop()
    shop.save("jobs/4471/job.toml", sheet(h="9"))
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"S1800 M3", b"S1800 M3 T3"), (b"F15.", b"F12."))
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.revision("4471/op10").name.startswith("r0002-")


def test_an_edit_that_has_nothing_to_do_with_the_sheet_asks_nothing(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert "setup sheet" not in found.message


def test_where_a_tool_was_let_go_deeper_its_stick_out_is_looked_at_again():
    """Stick-out against depth: common practice, no source."""
    shop = StickShop()
    stands = (
        ("h = 4", "h = 4\nstick_out = 1.0"),
        ("[[operations.offsets]]", "stock = { top = 0.05 }\n[[operations.offsets]]"),
    )
    text = sheet()
    for old, new in stands:
        text = text.replace(old, new)
    shop.save("jobs/4471/job.toml", text)
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"Z-0.5", b"Z-1.25"))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == path]
    assert "O1001.nc:20: T4: to Z-1.25 with 1 out of its holder, needed 1.3787" in found.message
    shop.collect(checkin="4471/op10", reason="deeper")
    assert shop.revision("4471/op10").name.startswith("r0002-")


def test_where_the_sheet_cannot_be_read_that_is_said(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"G43 H4", b"G43 H5"))
    shop.repo.save({"jobs/4471/job.toml": "format = 1\n[job]\nnumber = 4471\n"}, at=shop.now)
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert "The setup sheet cannot be looked at: " in found.message


def test_of_many_the_first_are_named_and_the_rest_counted(shop):
    lines = b"".join(b"T%d M6\nG43 H%d Z1.\n" % (tool, tool) for tool in range(20, 40))
    data = edited(program(1001, sub=1002), (b"N200", lines + b"N200"))
    found = words_of(new_findings(shop.repo.tree(), "4471", "op10", {OFFICE: data}, SHEET))
    assert len(found) == MOST_NAMED + 1
    assert found[-1].startswith("and ")


def test_called_programs_are_read_where_the_edit_puts_them(shop):
    assert new_findings(shop.repo.tree(), "4471", "op10", {SUB: sub_program(1002)}, SHEET) == []
    deeper = edited(sub_program(1002), (b"D3", b"D4"))
    (found,) = new_findings(shop.repo.tree(), "4471", "op10", {SUB: deeper}, SHEET)
    assert (found.rule, found.file) == ("d-not-tool", SUB)


def both_call(d10: str, d20: str) -> str:
    """The two operations on MILL2 with a sheet each, of which T3's D is given."""
    tables = ['units = "inch"\n' + (TOOLS % "4").replace("d = 3", f"d = {d}") for d in (d10, d20)]
    first, second, rest = JOB.split('units = "inch"\n', 2)
    return first + tables[0] + second + tables[1] + rest


@pytest.fixture
def calling() -> StickShop:
    """op20 calls the contour of op10 too."""
    shop = StickShop()
    shop.save("jobs/4471/job.toml", both_call("3", "3"))
    shop.save("jobs/4471/op20/O1003.nc", program(1003, sub=1002))
    shop.check_in("4471/op10", "4471/op20")
    shop.prove("4471/op10")
    shop.prove("4471/op20")
    shop.release("4471")
    shop.export()
    shop.files["MILL2/O1002.NC"] = edited(shop.files["MILL2/O1002.NC"], (b"D3", b"D13"))
    return shop


def test_of_a_program_two_operations_call_the_sheet_of_each_has_to_follow(calling):
    shop = calling
    (found,) = [one for one in shop.collect(dry_run=True).files if one.verdict == "changed-code"]
    assert "The setup sheet of 4471/op10 does not follow: O1002.nc:4: T3: D13, needed D3." in found.message
    with pytest.raises(Refused, match="sheets of 4471/op10, 4471/op20 do not follow") as caught:
        shop.collect(checkin="4471/op10", reason="another D")
    assert caught.value.reasons == (
        "4471/op10: O1002.nc:4: T3: D13, needed D3",
        "4471/op20: O1002.nc:4: T3: D13, needed D3",
    )
    shop.save("jobs/4471/job.toml", both_call("13", "3"))
    shop.check_in("4471/op10")
    (found,) = [one for one in shop.collect(dry_run=True).files if one.verdict == "changed-code"]
    assert found.operation == "op20"
    assert "The setup sheet does not follow: O1002.nc:4: T3: D13, needed D3." in found.message
    with pytest.raises(Refused, match="sheet of 4471/op20 does not follow"):
        shop.collect(checkin="4471/op10", reason="another D")
    assert shop.revision("4471/op20").name.startswith("r0001-")
    shop.save("jobs/4471/job.toml", both_call("13", "13"))
    shop.check_in("4471/op20")
    shop.collect(checkin="4471/op10", reason="another D")
    assert shop.revision("4471/op20").name.startswith("r0003-")


def test_an_operation_that_is_no_longer_on_the_job_asks_nothing(calling):
    text = both_call("13", "3")
    head, _, rest = text.partition('[[operations]]\nid = "op20"')
    calling.save("jobs/4471/job.toml", head + "[[operations]]" + rest.split("[[operations]]", 1)[1])
    calling.check_in("4471/op10")
    calling.collect(checkin="4471/op10", reason="another D")
    assert calling.revision("4471/op10").name.startswith("r0003-")


@pytest.mark.parametrize("depth", ["-0.5", "-0.55"])
def test_of_a_program_the_office_renamed_it_is_said_too(shop, depth):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"G43 H4", b"G43 H5"))
    shop.repo.remove(OFFICE)
    shop.save("jobs/4471/job.toml", sheet().replace('"op10/O1001.nc"', '"op10/PLATE.nc"'))
    shop.save("jobs/4471/op10/PLATE.nc", program(1001, sub=1002, depth=depth))
    shop.check_in("4471/op10")
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == MAIN]
    assert "The setup sheet does not follow: PLATE.nc:18: T4: H5, needed H4" in found.message
    assert ("Its code was changed too in r2." in found.message) == (depth == "-0.55")
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="H5")
    assert caught.value.name == ("both-changed" if depth == "-0.55" else "sheet-behind")


WAIVER = """\
[[operations.waivers]]
rule = "h-not-tool"
line = "G43 H14 Z1."
reason = "the long holder has a second length"
by = "dg"
"""


def test_what_a_waiver_lets_stand_in_the_office_is_no_news_in_another_line():
    shop = StickShop()
    shop.save(
        "jobs/4471/job.toml", sheet().replace("[[operations.tools]]", WAIVER + "[[operations.tools]]", 1)
    )
    text = edited(program(1001, sub=1002), (b"N180 G80", b"N180 G80\nN181 G43 H14 Z1."))
    shop.save(OFFICE, text)
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"G43 H14 Z1.", b"G43 H14 Z1.1"))
    shop.collect(checkin="4471/op10", reason="over the clamp")
    assert shop.revision("4471/op10").name.startswith("r0002-")


def test_a_proof_of_such_an_edit_waits_for_the_sheet_too():
    floor = Floor()
    (before,) = floor.records("revision")
    data = floor.repo.tree().read("jobs/4471/op10/O1001.nc")
    home = PlainFile(name="O1001.NC", data=edited(data, (b"H4", b"H5")))
    begun = begin(floor.desk(), parse_named("4471/op10"), machine="MILL2", by="ss")
    with pytest.raises(Refused) as caught:
        with_ran(floor.desk(), begun, [home], take_in=True)
    assert caught.value.name == "sheet-behind"
    assert floor.records("revision") == [before]


def test_a_tool_called_for_that_is_not_the_next_one_is_not_taken_in():
    """A pre-call on a side-mount changer: common practice, no source."""
    shop = StickShop(mill2='changer = "side-mount"\npockets = 24')
    shop.save("jobs/4471/job.toml", sheet())
    text = shop.repo.tree().read(OFFICE)
    called_for = edited(text, (b"N40 G0", b"T4\nN40 G0"), (b"N120 G0", b"T3\nN120 G0"))
    shop.save(OFFICE, called_for)
    shop.check_in("4471/op10")
    shop.for_proving("4471/op10")
    path = "MILL2/FOR-PROVING/O1001.NC"
    shop.files[path] = edited(shop.files[path], (b"T4\r\nN40", b"T15\r\nN40"))
    (found,) = [one for one in shop.collect(dry_run=True).files if one.file == path]
    assert (
        "does not follow: O1001.nc:18: T4: changes to T4, and T15 was called for before it" in found.message
    )
    with pytest.raises(Refused) as caught:
        shop.collect(checkin="4471/op10", reason="T15 next")
    assert caught.value.name == "sheet-behind"


def test_an_edit_that_cannot_be_followed_and_names_no_tool_is_taken_in(shop):
    """What the checks cannot tell of the sheet then hangs on no T, H, D or offset that was edited."""
    shop.files[MAIN] = edited(shop.files[MAIN], (b"N180 G80", b"G65 P9100 A1.\r\nN180 G80"))
    shop.collect(checkin="4471/op10", reason="probes the hole")
    assert shop.revision("4471/op10").name.startswith("r0002-")
