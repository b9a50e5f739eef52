"""``history``: filters, what stood on a day, and which revision brought a block in."""

import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, SHOP, ShopFolder


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    """r1 of 2 Feb, proved and released on 3 Feb; r2 of 4 Feb renumbered with a new feed; r3 of 5 Feb with comments."""
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(found: ShopFolder) -> None:
    found.at("2026-02-02T09:00:00Z")
    found.begin(SHOP)
    found.at("2026-02-03T09:00:00Z")
    found.prove()
    found.run("release", "4471", "--by", "dg", "--yes")
    found.at("2026-02-04T09:00:00Z")
    found.put(PROGRAM, renumbered(MAIN.replace("F15.", "F25.")))
    found.run("checkin", "4471", "-m", "faster", "--by", "np")
    found.at("2026-02-05T09:00:00Z")
    found.put(PROGRAM, "%\n(HEAD)\n(MORE)\n" + renumbered(MAIN.replace("F15.", "F25."))[2:])
    found.run("checkin", "4471", "-m", "wording", "--by", "np")
    found.prove(revision="r3")


def renumbered(text: str) -> str:
    lines = text.splitlines()
    return (
        "\n".join(
            f"N{at * 5}{line[line.index(' ') :]}" if line[:1] == "N" else line
            for at, line in enumerate(lines)
        )
        + "\n"
    )


def line_of(shop: ShopFolder, words: str) -> int:
    text = (shop.folder / PROGRAM).read_text().splitlines()
    return next(at for at, line in enumerate(text, 1) if words in line)


def origin(shop: ShopFolder, words: str) -> dict:
    (found,) = shop.json("history", f"{PROGRAM}:{line_of(shop, words)}")["origins"]
    return found


def test_a_block_that_was_there_from_the_start_is_followed_past_renumbering_and_comments(shop):
    found = origin(shop, "G54 G0 X1. Y1.")
    assert (found["revision"], found["by"], found["reason"]) == ("r1", "np", "first issue")
    assert found["through"] == ["r2", "r3"]
    assert [(proof["revision"], proof["machine"], proof["by"]) for proof in found["proofs"]] == [
        ("r1", "MILL2", "ss"),
        ("r3", "MILL2", "ss"),
    ]
    assert MAIN.splitlines()[found["line"] - 1].endswith("G54 G0 X1. Y1. S2000 M3")


def test_a_block_that_was_changed_came_in_with_the_change(shop):
    found = origin(shop, "F25.")
    assert (found["revision"], found["reason"], found["through"]) == ("r2", "faster", ["r3"])
    assert [proof["revision"] for proof in found["proofs"]] == ["r3"]


def test_a_proof_that_waits_for_its_first_piece_proved_no_block(shop):
    shop.at("2026-02-06T09:00:00Z")
    shop.put(PROGRAM, (shop.folder / PROGRAM).read_text().replace("F25.", "F30."))
    shop.run("checkin", "4471", "-m", "faster still", "--by", "np")
    proof = ("prove", "4471/op10@r4", "--machine", "MILL2", "--by", "ss", "--accept", "--yes")
    shop.run(*proof, "--first-piece", "waiting", "--answers", shop.answers())
    assert origin(shop, "F30.")["proofs"] == []
    shop.run("measured", "4471", "--machine", "MILL2", "--by", "ss", "--report", "9", "--accept")
    assert [one["revision"] for one in origin(shop, "F30.")["proofs"]] == ["r4"]


def test_what_is_not_checked_in_is_said(shop):
    shop.put(PROGRAM, (shop.folder / PROGRAM).read_text().replace("F25.", "F30."))
    assert origin(shop, "F30.")["revision"] is None
    assert origin(shop, "T4 M6")["revision"] == "r1"
    out = shop.run("history", f"{PROGRAM}:{line_of(shop, 'F30.')}")
    assert "not checked in yet" in out


def test_changed_and_changed_back_came_in_with_the_change_back(shop):
    shop.put(PROGRAM, MAIN)
    shop.run("checkin", "4471", "-m", "as it was", "--by", "np")
    assert origin(shop, "F15.")["revision"] == "r4"


def test_for_people(shop):
    out = " ".join(shop.run("history", f"{PROGRAM}:{line_of(shop, 'F25.')}").split())
    assert 'came in with r2, line 8, by np, 4 Feb 2026 09:00 +00:00: "faster"' in out
    assert "proved since: r3 on MILL2 by ss" in out


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        ([f"{PROGRAM}:1"], 2, "no-code-on-line"),
        ([f"{PROGRAM}:9999"], 2, "no-code-on-line"),
        (["jobs/4471/op10/none.nc:3"], 2, "missing-file"),
        (["../away.nc:3"], 2, "missing-file"),
        (["loose.nc:1"], 2, "not-recorded"),
        ([f"{PROGRAM}:4", "--person", "np"], 2, "wrong-call"),
        (["--on", "2026-02-04", "--since", "2026-02-01"], 2, "wrong-call"),
        (["4471", "--on", "soon"], 2, "bad-date"),
        (["4471", "--on", "2027-01-01"], 2, "bad-date"),
        (["4499", "--on", "2026-02-04"], 2, "unknown-job"),
        (["4471", "--since", "yesterday"], 2, "bad-date"),
        (["4471", "--kind", "feeds"], 2, "unknown-kind"),
    ],
)
def test_wrong_calls(shop, words, status, name):
    shop.put("loose.nc", "G1 X1.\n")
    error = shop.json("history", *words, status=status)["error"]
    assert (error["name"], bool(error["fix"])) == (name, True)


def on(shop: ShopFolder, day: str) -> list[tuple]:
    return [
        (row["revision"], row["machine"], row["standing"], row["released"])
        for row in shop.json("history", "4471", "--on", day)["operations"]
    ]


def test_what_stood_on_each_day(shop):
    """The released text machines ran is told beside a newer one: that one stood nowhere, and was all there was to read."""
    days = {day: on(shop, f"2026-02-0{day}") for day in range(1, 6)}
    assert days == {
        1: [],
        2: [("r1", "MILL2", "unproven", None)],
        3: [("r1", "MILL2", "proven", 1)],
        4: [("r2", "MILL2", "unproven", None), ("r1", "MILL2", "proven", 1)],
        5: [("r3", "MILL2", "proven", None), ("r1", "MILL2", "proven", 1)],
    }


def test_a_day_is_judged_by_what_was_known_then(shop):
    """What is recorded later does not change the answer for a day that has been."""
    before = {day: on(shop, f"2026-02-0{day}") for day in range(2, 6)}
    shop.at("2026-02-08T09:00:00Z")
    shop.run("hold", "4471/op10", "--by", "ss", "-m", "gauge out")
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    assert {day: on(shop, f"2026-02-0{day}") for day in range(2, 6)} == before
    assert on(shop, "2026-02-08") == [("r3", "MILL2", "held", None)]


def test_a_withdrawn_release_is_none_from_that_day_on(shop):
    shop.at("2026-02-06T09:00:00Z")
    shop.run("release", "4471", "--by", "dg", "--yes")
    shop.at("2026-02-07T09:00:00Z")
    shop.run("withdraw", "4471@2", "--by", "dg", "-m", "wrong grip", "--yes")
    assert [row[3] for row in (*on(shop, "2026-02-06"), *on(shop, "2026-02-07"))] == [2, None]
    shop.at("2026-02-08T09:00:00Z")
    shop.run("lift", "4471@2", "--by", "dg", "-m", "was right")
    assert [row[3] for row in on(shop, "2026-02-08")] == [2]


def test_a_recall_on_another_branch_counts(shop):
    shop.at("2026-02-06T09:00:00Z")
    shop.run("release", "4471", "--by", "dg", "--yes")
    shop.git("switch", "-q", "-c", "side")
    shop.at("2026-02-07T09:00:00Z")
    shop.run("withdraw", "4471@2", "--by", "dg", "-m", "wrong grip", "--yes")
    shop.git("switch", "-q", "main")
    assert [row[3] for row in on(shop, "2026-02-07")] == [None]


def test_on_for_people(shop):
    out = shop.run("history", "--on", "2026-02-03")
    assert "By what was recorded by the end of 3 Feb 2026:" in out
    assert "4471/op10" in out
    assert "Nothing was checked in yet." in shop.run("history", "--on", "2026-02-01")


def events(shop: ShopFolder, *words: str) -> list[str]:
    return [one["event"] for one in shop.json("history", "4471", *words)["events"]]


def test_filters_by_day_and_kind(shop):
    whole = events(shop)
    assert events(shop, "--since", "2026-02-04") == whole[3:]
    assert events(shop, "--until", "2026-02-03") == whole[:3] == ["revision", "proof", "release"]
    assert events(shop, "--since", "2026-02-03", "--until", "2026-02-03") == ["proof", "release"]
    assert [one["revision"] for one in shop.json("history", "4471", "--kind", "feed")["events"]] == ["r2"]
    assert [one["revision"] for one in shop.json("history", "4471", "--kind", "wording")["events"]] == ["r3"]


def test_a_sheet_that_changed_is_in_the_way_of_no_block(shop):
    shop.put(JOB_PATH, JOB.replace("2.5", "2.75"))
    shop.run("checkin", "4471", "-m", "longer", "--by", "np")
    assert origin(shop, "F25.")["through"] == ["r3", "r4"]
