import pytest

from tests.fakes.comparing_texts import revision
from tracker.records.shop import Policy, Shop
from tracker.reports.compare import as_json
from tracker.services import comparing_files
from tracker.services.comparing import PlainFile, compare_files, compare_mixed, compare_revisions

MAIN = "%\nO1001 (PLATE)\nN10 G20\nN20 T4 M6\nN30 G0 X1. S2000 M3\nN40 G1 Z-0.5 F15.\nN50 M98 P1002\nN60 M30\n%\n"
SUB = "%\nO1002\nN10 G1 X2.\nN20 M99\n%\n"
ALONE = MAIN.replace("N50 M98 P1002\n", "")
SUB_WITH_FEEDS = "%\nO1002\nN10 G1 X2. F10.\nN20 X3. F20.\nN30 M99\n%\n"
SHOP = Shop(name="Test")


def files(old, new, names=("a.nc", "b.nc")):
    return compare_files(
        PlainFile(name=names[0], data=old.encode()), PlainFile(name=names[1], data=new.encode())
    )


def test_the_same_file():
    report = files(MAIN, MAIN)
    assert report.same_code
    assert report.same_bytes
    assert as_json(report) == {"same_code": True, "kinds": [], "changes": [], "effect": []}


def test_what_leaves_the_code_alone_is_said_once_a_file():
    report = files(MAIN, MAIN.replace("N40", "N45").replace("PLATE", "LID").replace("G20", "g20"))
    assert report.same_code
    assert not report.same_bytes
    assert report.kinds == ("format", "numbering", "wording")
    changes = as_json(report)["changes"]
    assert sorted(change["kind"] for change in changes) == ["format", "numbering", "wording"]
    assert all(change["old"] is None and change["new"] is None for change in changes)
    assert {change["file"] for change in changes} == {"b.nc"}
    assert any("programs are called" in note for note in report.notes)


def test_a_changed_block_has_both_sides():
    report = files(MAIN, MAIN.replace("Z-0.5", "Z-0.6"))
    assert not report.same_code
    assert as_json(report)["changes"] == [
        {
            "kind": "motion",
            "file": "b.nc",
            "tool": "4",
            "old": {"line": 6, "text": "N40 G1 Z-0.5 F15."},
            "new": {"line": 6, "text": "N40 G1 Z-0.6 F15."},
        }
    ]


def test_long_programs_are_not_summed_up_unasked(monkeypatch):
    old, new = (PlainFile(name=f"{x}.nc", data=b"G0 X0. Y0. Z0.\nG1 X%d. F10.\nM30\n" % x) for x in (1, 2))
    assert [one.file for one in compare_files(old, new).effect] == ["2.nc"]
    monkeypatch.setattr(comparing_files, "MOST_SUMMED_UP", len(old.data) * 2 - 1)
    report = compare_files(old, new)
    assert (report.effect, report.kinds) == ((), ("motion",))
    assert report.notes[-1] == comparing_files.TOO_LONG


@pytest.mark.parametrize(
    ("feed", "kinds"),
    [("12.", ("slower",)), ("12.5", ("slower",)), ("11.9", ("feed",)), ("15.1", ("feed",))],
)
def test_slower_by_at_most_20_per_cent_of_the_older_file(feed, kinds):
    report = files(ALONE, ALONE.replace("F15.", f"F{feed}"))
    assert report.kinds == kinds
    assert [change.kind for change in report.changes] == list(kinds)


def test_the_shops_percentage_counts_between_revisions():
    strict = Shop(name="Test", policy=Policy(slower_percent=10))
    old, new = revision({"O1001.nc": ALONE}), revision({"O1001.nc": ALONE.replace("F15.", "F12.5")})
    assert compare_revisions(SHOP, old, new, ("r1", "r2")).kinds == ("slower",)
    assert compare_revisions(strict, old, new, ("r1", "r2")).kinds == ("feed",)


def test_slower_only_if_every_program_is():
    main = MAIN.replace("N50", "N45 G1 Z-0.6 F16.\nN50")

    def both(main_feed, sub_feed):
        return revision(
            {
                "O1001.nc": main.replace("F15.", main_feed),
                "O1002.nc": SUB_WITH_FEEDS.replace("F10.", sub_feed),
            }
        )

    old = both("F15.", "F10.")
    assert compare_revisions(SHOP, old, both("F14.", "F11."), ("r1", "r2")).kinds == ("feed",)
    assert compare_revisions(SHOP, old, both("F14.", "F9."), ("r1", "r2")).kinds == ("slower",)
    assert compare_revisions(SHOP, old, both("F14.", "F7."), ("r1", "r2")).kinds == ("feed",)


def test_programs_added_and_removed():
    old = revision({"O1001.nc": MAIN, "O1002.nc": SUB})
    new = revision({"O1001.nc": MAIN, "O1003.nc": SUB.replace("1002", "1003")})
    report = compare_revisions(SHOP, old, new, ("r1", "r2"))
    assert report.kinds == ("program-added", "program-removed")
    assert not report.same_code
    assert {(c.kind, c.file) for c in report.changes} == {
        ("program-added", "O1003.nc"),
        ("program-removed", "O1002.nc"),
    }


def test_the_sheet_is_said_in_words():
    old = revision({"O1001.nc": MAIN}, sheet="stick_out = 2.5")
    new = revision({"O1001.nc": MAIN}, sheet="stick_out = 2.75")
    report = compare_revisions(SHOP, old, new, ("r1", "r2"))
    assert report.same_code
    assert not report.same_bytes
    assert report.kinds == ("sheet-tool",)
    (change,) = as_json(report)["changes"]
    assert (change["file"], change["tool"]) == ("job.toml", "4")
    assert change["words"] == "T4 stick out: was 2.5, is 2.75"


def test_a_lost_program_is_never_called_the_same():
    old = revision({"O1001.nc": MAIN, "O1002.nc": SUB})
    new = revision({"O1001.nc": MAIN, "O1002.nc": SUB}, lost=("O1002.nc",))
    report = compare_revisions(SHOP, old, new, ("r1", "r2"))
    assert not report.same_code
    assert not report.same_bytes
    assert any("O1002.nc" in note for note in report.notes)


@pytest.mark.parametrize("name", ["O1001.nc", "O1002.nc"])
def test_a_lost_program_was_neither_added_nor_taken_away_and_no_other_stands_in_for_it(name):
    whole = revision({"O1001.nc": MAIN, "O1002.nc": SUB})
    lost = revision({"O1001.nc": MAIN, "O1002.nc": SUB}, lost=(name,))
    for old, new in ((whole, lost), (lost, whole)):
        report = compare_revisions(SHOP, old, new, ("r1", "r2"))
        assert report.kinds == ("other",)
        (change,) = report.changes
        assert (change.file, change.words) == (name, "could not be read back, and is not compared")


@pytest.mark.parametrize(
    ("name", "text", "kinds"),
    [
        ("O1002.nc", SUB, ()),
        ("O1002.NC", SUB.replace("X2.", "X3."), ("motion",)),
        ("off the control.txt", SUB, ()),
        ("anything.nc", MAIN, ()),
        ("anything.nc", MAIN.replace("Z-0.5", "Z-0.4"), ("motion",)),
    ],
)
def test_a_file_stands_for_the_program_it_is_like(name, text, kinds):
    old = revision({"O1001.nc": MAIN, "O1002.nc": SUB})
    file = PlainFile(name=f"stick/{name}", data=text.encode())
    report = compare_mixed(SHOP, old, file, ("r1", file.name), file_is_new=True)
    assert report.kinds == kinds
    assert report.same_code == (not kinds)
    assert any("other program" in note for note in report.notes)


def test_the_file_may_be_the_older_side():
    new = revision({"O1001.nc": ALONE.replace("F15.", "F12.5")})
    file = PlainFile(name="a.nc", data=ALONE.encode())
    assert compare_mixed(SHOP, new, file, ("a.nc", "r2"), file_is_new=False).kinds == ("slower",)
