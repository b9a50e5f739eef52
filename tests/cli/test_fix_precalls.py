import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, PROGRAM, SHOP, ShopFolder
from tracker.checks.examples import MILLING, edited
from tracker.checks.precalls_written import NOTICE

BARE = edited(("T2\nG0 G17", "G0 G17"), ("T1\nG0 G17", "G0 G17"))
FIXED = MILLING.replace("(TWO TOOLS)\n", f"(TWO TOOLS)\n{NOTICE}\n")
BESIDE = f"{PROGRAM}.precalls"


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(made: ShopFolder) -> None:
    made.at("2026-02-02T09:00:00Z")
    made.begin()
    made.put(
        "shop.toml",
        SHOP + 'changer = "side-mount"\n[[machines]]\nid = "MILL3"\ntype = "mill"\nunits = "inch"\n',
    )
    made.put(PROGRAM, BARE)


def on_disk(shop, path):
    return (shop.folder / path).read_bytes().decode()


def test_it_is_written_beside_the_original_and_taken_for_no_program(shop):
    said = shop.run("verify", "4471/op10", "--fix", "precalls")
    assert "after line 6: T2 added" in said
    assert "It is not proven." in said
    assert (on_disk(shop, PROGRAM), on_disk(shop, BESIDE)) == (BARE, FIXED)
    assert "stands there already" in shop.run("verify", "4471/op10", "--fix", "precalls")
    said = shop.run("checkin", "4471", "-m", "as it is", "--by", "np")
    assert ".precalls" not in said
    assert [one["path"] for one in shop.json("show", "4471")["files"]] == [PROGRAM]


def test_another_text_beside_is_not_written_over(shop):
    shop.put(BESIDE, "mine")
    assert "[file-exists]" in shop.run("verify", "4471", "--fix", "precalls", status=2)
    assert on_disk(shop, BESIDE) == "mine"


def test_in_place_only_over_what_is_committed(shop):
    assert "[uncommitted-edits]" in shop.run("verify", "4471", "--fix", "precalls", "--in-place", status=1)
    assert on_disk(shop, PROGRAM) == BARE
    shop.run("checkin", "4471", "-m", "as it is", "--by", "np")
    said = shop.json("verify", "4471", "--fix", "precalls", "--in-place")
    assert (said["written"], said["added"]) == (PROGRAM, [{"line": 6, "tool": 2}, {"line": 20, "tool": 1}])
    assert on_disk(shop, PROGRAM) == FIXED
    shop.run("checkin", "4471", "-m", "pre-calls", "--by", "np")
    (origin,) = shop.json("show", "4471")["origins"]
    assert origin["kinds"] == ["precall", "wording"]
    assert "nothing was written" in shop.run("verify", "4471", "--fix", "precalls")


@pytest.mark.parametrize(
    ("shop_toml", "words", "more", "status"),
    [
        (SHOP + 'changer = "umbrella"\n', "may turn its magazine", (), 1),
        (SHOP, "changer of MILL2 is not stated", (), 1),
        (None, "changer of MILL3 is not stated", ("--machine", "MILL3"), 1),
        (None, "[unknown-machine]", ("--machine", "MILL9"), 2),
    ],
)
def test_other_changers_are_refused_with_the_reason(shop, shop_toml, words, more, status):
    if shop_toml:
        shop.put("shop.toml", shop_toml)
    said = " ".join(shop.run("verify", "4471", "--fix", "precalls", *more, status=status).split())
    assert words in said
    assert not (shop.folder / BESIDE).exists()


def test_a_called_program_that_changes_tools_and_a_jump_are_refused(shop):
    shop.put("common/O1002.nc", "%\nO1002\nT5 M6\nM99\n%\n")
    shop.put(PROGRAM, BARE.replace("M5\n", "M98 P1002\n", 1))
    assert "common/O1002.nc:3" in shop.run("verify", "4471", "--fix", "precalls", status=1)
    shop.put(PROGRAM, BARE.replace("M5\n", "GOTO 5\n", 1))
    assert "[precalls-not-written]" in shop.run("verify", "4471", "--fix", "precalls", status=1)
    shop.put(JOB_PATH, JOB.replace('machines = ["MILL2"]\n', ""))
    assert "names no machine" in shop.run("verify", "4471", "--fix", "precalls", status=1)


def test_m6_without_a_t_of_its_own_is_told_what_to_write(shop):
    split = BARE.replace("T1 M6", "T1\nM6").replace("T2 M6", "T2\nM6")
    shop.put(PROGRAM, split)
    said = " ".join(shop.run("verify", "4471", "--fix", "precalls", status=1).split())
    line = split.splitlines().index("M6") + 1
    assert "M6 has no T in its own block" in said
    assert f"{PROGRAM}:{line}" in said
    assert (
        f"write T1 before the M6 on line {line}, take the T1 of line {line - 1} away, and so at 1 more"
        in said
    )
    assert not (shop.folder / BESIDE).exists()
    shop.put(PROGRAM, BARE)  # as it was told
    shop.run("verify", "4471", "--fix", "precalls")
    assert (shop.folder / BESIDE).exists()


def test_wrong_calls(shop):
    assert "[wrong-call]" in shop.run("verify", "4471", "--in-place", status=2)
    assert "[wrong-call]" in shop.run("verify", "4471", "--fix", "coolant", status=2)
