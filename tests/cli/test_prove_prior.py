"""``prove --prior``: proofs kept on paper, singly and by a column of the plan of taking in."""

import pytest

from tests.cli.test_adopt_verb import plan, saved
from tests.fakes.shop_folder import MAIN, SHOP, ShopFolder

POLICY = "[policy]\nprior_until = 2026-06-30\n"
WITH = SHOP.replace("[[people]]", POLICY + "[[people]]", 1)
PAPER = ("--prior", "--evidence", "setup card 12, cabinet 2", "--machine", "MILL2", "--by", "ss", "--yes")


def opened(tmp_path, capsys, monkeypatch, shop: str) -> ShopFolder:
    found = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    found.folder.mkdir()
    found.at("2026-02-02T09:00:00Z")
    found.begin(shop)
    return found


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    return opened(tmp_path, capsys, monkeypatch, WITH)


def standing(shop: ShopFolder) -> tuple[str, str]:
    (row,) = shop.rows()
    return row["standing"], row["reason"]


def test_a_proof_on_paper_counts_and_is_named_apart(shop):
    out = shop.run("prove", "4471", *PAPER, "--last-run", "2025-11-03")
    assert "on paper, before the record" in " ".join(out.split())
    state, reason = standing(shop)
    assert (state, "on paper, before the record" in reason) == ("proven", True)
    (row,) = shop.json("audit", "--list", "prior")["rows"]
    assert row["evidence"] == "evidence: setup card 12, cabinet 2, last_run: 2025-11-03"
    (event,) = shop.json("history", "4471", "--event", "proof")["events"]
    assert "on paper, before the record" in event["words"]
    assert shop.run("audit")


def test_it_is_gone_when_the_date_is_over(shop):
    shop.run("prove", "4471", *PAPER)
    shop.at("2026-06-30T12:00:00Z")
    assert standing(shop)[0] == "proven"
    shop.at("2026-07-01T12:00:00Z")
    state, reason = standing(shop)
    assert (state, "counted until 30 Jun 2026" in reason) == ("unproven", True)
    assert shop.json("prove", "4471", *PAPER, status=1)["error"]["name"] == "no-prior"


def test_the_first_real_proof_takes_its_place(shop):
    shop.run("prove", "4471", *PAPER)
    shop.at("2026-03-02T09:00:00Z")
    shop.prove()
    assert "on paper" not in standing(shop)[1]
    assert shop.json("prove", "4471", *PAPER, status=1)["error"]["name"] == "prior-too-late"
    shop.at("2026-07-02T09:00:00Z")
    assert standing(shop)[0] == "proven"


def test_it_lapses_by_the_last_run_the_paper_shows(shop):
    shop.run("prove", "4471", *PAPER, "--last-run", "2024-01-10")
    assert standing(shop)[0] == "lapsed"


def test_it_answers_no_rejection(shop):
    shop.run(
        *("prove", "4471", "--machine", "MILL2", "--by", "ss", "--reject", "--cause", "setup"),
        *("--answers", shop.answers(), "--yes"),
    )
    assert shop.json("prove", "4471", *PAPER, status=1)["error"]["name"] == "prior-against-stop"


def test_a_release_on_it_says_so(shop):
    shop.run("prove", "4471", *PAPER)
    shop.run("release", "4471", "--by", "dg", "--yes")
    (row,) = shop.rows()
    assert (row["released"], row["may_run"]) == (1, True)
    assert "on paper, before the record" in row["reason"]


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (["--prior"], 2, "no-evidence"),
        (["--prior", "--evidence", "x"], 2, "no-evidence"),
        (["--prior", "--evidence", "card 12", "--last-run", "soon"], 2, "bad-date"),
        (["--prior", "--evidence", "card 12", "--last-run", "2027-01-01"], 2, "bad-date"),
        (["--prior", "--evidence", "card 12", "--reject"], 2, "wrong-call"),
        (["--prior", "--evidence", "card 12", "--tools", "4"], 2, "wrong-call"),
        (["--evidence", "card 12"], 2, "wrong-call"),
        (["--last-run", "2025-01-01"], 2, "wrong-call"),
        (["--prior", "--evidence", "card 12", "--by", "np"], 1, "wrong-role"),
    ],
)
def test_wrong_calls(shop, words, status, name):
    commits = shop.commits()
    by = () if "--by" in words else ("--by", "ss")
    error = shop.json("prove", "4471", *words, "--machine", "MILL2", *by, "--yes", status=status)["error"]
    assert (error["name"], bool(error["fix"])) == (name, True)
    assert shop.commits() == commits


def test_a_shop_that_takes_none_in(tmp_path, capsys, monkeypatch):
    shop = opened(tmp_path, capsys, monkeypatch, SHOP)
    assert shop.json("prove", "4471", *PAPER, status=1)["error"]["name"] == "no-prior"


def test_nobody_to_ask(shop):
    words = [word for word in PAPER if word != "--yes"]
    assert shop.json("prove", "4471", *words, status=2)["error"]["name"] == "not-a-terminal"


def test_by_a_column_of_the_plan(shop):
    shop.put("old/cover/O2001.NC", MAIN.replace("O1001", "O2001").replace("N90 M98 P1002\n", ""))
    shop.put("old/plate/O2002.NC", MAIN.replace("O1001", "O2002").replace("N90 M98 P1002\n", ""))
    shop.run("adopt", "old", "--plan", "plan.csv")
    rows = plan(shop)
    rows[0].update(machine="MILL2", prior_by="ss", prior_evidence="card 77, cabinet 2", last_run="2025-12-01")
    saved(shop, rows)
    said = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert said["on_paper"] == ["cover/op10"]
    states = {row["job"]: row["standing"] for row in shop.rows() if row["machine"]}
    assert states["cover"] == "proven"
    again = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over")
    assert (again["on_paper"], again["taken"]) == ([], [])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"prior_by": "ss"}, "needs prior_by and prior_evidence"),
        (
            {"prior_by": "zz", "prior_evidence": "card 77", "machine": "MILL2"},
            "nobody in shop.toml has the initials 'zz'",
        ),
        ({"prior_by": "ss", "prior_evidence": "card 77", "machine": ""}, "needs the machine"),
        (
            {"prior_by": "ss", "prior_evidence": "card 77", "machine": "MILL2", "last_run": "x"},
            "'x' is no date",
        ),
        (
            {
                "prior_by": "ss",
                "prior_evidence": "card 77",
                "machine": "MILL2",
                "last_run": "2099-01-01",
            },
            "2099-01-01 has not come yet",
        ),
        ({"prior_by": "ss", "prior_evidence": "yes", "machine": "MILL2"}, "does not say where the paper"),
        ({"prior_by": "np", "prior_evidence": "card 77", "machine": "MILL2"}, "np has not the role setup"),
    ],
)
def test_what_is_wrong_in_the_plan(shop, change, words):
    shop.put("old/cover/O2001.NC", MAIN.replace("O1001", "O2001").replace("N90 M98 P1002\n", ""))
    shop.run("adopt", "old", "--plan", "plan.csv")
    rows = plan(shop)
    rows[0].update(change)
    saved(shop, rows)
    commits = shop.commits()
    error = shop.json("adopt", "--apply", "plan.csv", "--by", "np", "-m", "x", status=2)["error"]
    assert error["name"] == "plan-wrong"
    assert words in " ".join([error["message"], *error.get("reasons", [])])
    assert shop.commits() == commits
