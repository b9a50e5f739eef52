"""``adopt --history`` on real git: old commits that changed code are revisions of before the record, and stand on nothing."""

import hashlib
import os
import subprocess
import tomllib

import pytest

from tests.fakes.shop_folder import SHOP, ShopFolder
from tracker.services import adopt_apply
from tracker.store.clone import Clone

OLD, YOUNG = ("Old Hand", "old@shop.example"), ("Jürgen Jung", "young@elsewhere.example")
SUB = "%\nO1002\nG1 X{x} F9.\nM99\n%\n"


def plate(feed: str, words: str = "") -> str:
    return (
        f"%\nO1001 (PLATE)\nN10 G20 G17 G40 G80 G90\n{words}N20 T1 M6\nN30 G54 G0 X0. Y0. S3000 M3\n"
        f"N40 G43 H1 Z1. M8\nN50 G1 Z-.1 F{feed}\nN60 X2.\nN70 G0 Z1. M9\nN80 M98 P1002\nN90 M30\n%\n"
    )


class OldShop(ShopFolder):
    """A folder under git, worked in for years without this tool."""

    def old(self, message: str, who: tuple[str, str], date: str, *words: str) -> str:
        """A commit of before; gives back its id."""
        names = {
            f"GIT_{role}_{key}": text
            for role in ("AUTHOR", "COMMITTER")
            for key, text in zip(("NAME", "EMAIL", "DATE"), (*who, date), strict=True)
        }
        self.git("add", "-A")
        subprocess.run(
            ["git", *(words or ("commit", "-q", "--allow-empty-message", "-m", message))],
            cwd=self.folder,
            env={**os.environ, **names},
            check=True,
        )
        return self.git("rev-parse", "HEAD")

    def revisions(self, job: str = "plate") -> dict[str, dict[str, object]]:
        events = self.json("history", job)["events"]
        return {event["revision"]: event for event in events if event["event"] == "revision"}


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> OldShop:
    found = OldShop(tmp_path / "an old shop", capsys, monkeypatch)
    found.folder.mkdir()
    found.git("init", "-q", "-b", "main")
    found.at("2026-02-02T09:00:00Z")
    return found


@pytest.fixture
def years(shop) -> dict[str, str]:
    """Name -> commit: a start, a change, words only, a move, two lines of work, and their merge."""
    done = {}
    shop.put("old/plate/O1001.NC", plate("5."))
    shop.put("old/plate/O1002.NC", SUB.format(x="1."))
    shop.put("old/notes.txt", "none\n")
    done["start"] = shop.old("start", OLD, "2015-03-01T08:00:00+0100")
    shop.put("old/plate/O1001.NC", plate("6."))
    done["feed"] = shop.old("feed up", OLD, "2016-03-01T08:00:00Z")
    shop.put("old/plate/O1001.NC", plate("6.", "(WORDS)\n"))
    done["words"] = shop.old("words only", OLD, "2016-04-01T08:00:00Z")
    (shop.folder / "office").mkdir()
    shop.git("mv", "old/plate", "office/plate")
    done["moved"] = shop.old("moved", YOUNG, "2017-01-01T08:00:00Z")
    shop.git("checkout", "-q", "-b", "side")
    shop.put("office/plate/O1002.NC", SUB.format(x="1.5"))
    done["sub"] = shop.old("sub is longer", YOUNG, "2018-01-01T08:00:00Z")
    shop.git("checkout", "-q", "main")
    shop.put("office/plate/O1001.NC", plate("7."))
    done["seven"] = shop.old("feed 7", OLD, "2018-02-01T08:00:00Z")
    merge = ("merge", "-q", "--no-edit", "-m", "both", "side")
    done["both"] = shop.old("both", OLD, "2018-03-01T08:00:00Z", *merge)
    return done


def begin(shop: OldShop) -> None:
    shop.put("shop.toml", SHOP)
    shop.run("init", ".", "--name", "Test shop")
    shop.run("adopt", "office", "--plan", "plan.csv")


def taken_in(shop: OldShop, *words: str) -> str:
    begin(shop)
    return shop.run("adopt", "--apply", "plan.csv", "-m", "taken over", "--by", "np", *words)


def test_each_old_commit_that_changed_code_is_a_revision_in_the_name_it_claims(shop, years):
    tip = years["both"]
    said = taken_in(shop, "--history")
    assert "5 revisions of 1 operation taken over" in said
    assert "Old Hand (4), Jürgen Jung (1)" in said
    found = shop.revisions()
    assert {name: one.get("before", {}).get("commit") for name, one in found.items()} == {
        "r1": years["start"],
        "r2": years["feed"],
        "r3": years["seven"],
        "r4": years["sub"],
        "r5": years["both"],
        "r6": None,
    }
    assert [found[f"r{n}"]["at"] for n in (1, 2, 4)] == [
        "2015-03-01T07:00:00Z",
        "2016-03-01T08:00:00Z",
        "2018-01-01T08:00:00Z",
    ]
    assert [found[f"r{n}"]["before"]["author"] for n in (2, 4)] == ["Old Hand", "Jürgen Jung"]
    assert {one["by"] for one in found.values()} == {"np"}
    assert found["r2"]["reason"] == "feed up"
    assert found["r2"]["kinds"] == ["feed"]
    assert "motion" in found["r4"]["kinds"]
    # the old commits are what they were, and below what came
    assert shop.git("merge-base", tip, "HEAD") == tip
    assert shop.git("status", "--porcelain") == "?? plan.csv"
    assert shop.json("audit")["problems"] == []


def test_a_revision_of_before_gives_the_bytes_of_its_commit(shop, years):
    taken_in(shop, "--history")
    for number, commit, folder in ((1, "start", "old"), (3, "seven", "office"), (4, "sub", "office")):
        (shop.folder / "out").mkdir(exist_ok=True)
        shop.run("show", f"plate@r{number}", "-o", "out", "--yes")
        for name in ("O1001.NC", "O1002.NC"):
            there = subprocess.run(
                ["git", "show", f"{years[commit]}:{folder}/plate/{name}"],
                cwd=shop.folder,
                capture_output=True,
                check=True,
            ).stdout
            assert (shop.folder / "out" / name).read_bytes() == there


def test_a_block_is_followed_into_the_texts_of_before_the_record(shop, years):
    taken_in(shop, "--history")
    path = shop.json("show", "plate@r6")["files"][0]["path"]
    lines = (shop.folder / path).read_text().splitlines()
    feed = next(at for at, line in enumerate(lines, 1) if "F7." in line)
    (found,) = shop.json("history", f"{path}:{feed}")["origins"]
    assert (found["revision"], found["through"]) == ("r3", ["r5", "r6"])
    assert found["before"].startswith("before the record, as claimed by Old Hand (commit ")
    assert (found["reason"], found["proofs"]) == ("feed 7", [])
    (first,) = shop.json("history", f"{path}:{len(lines) - 1}")["origins"]
    assert (first["revision"], first["through"][-1]) == ("r1", "r6")
    said = " ".join(shop.run("history", f"{path}:{feed}").split())
    assert "came in with r3" in said
    assert "before the record, as claimed by Old Hand" in said


def test_both_lines_of_a_merge_are_where_it_came_from(shop, years):
    taken_in(shop, "--history")
    shown = shop.json("show", "plate@r5")
    assert [origin["revision"][:5] for origin in shown["origins"]] == ["r0003", "r0004"]
    assert shown["before"]["commit"] == years["both"]


def test_every_view_says_that_it_is_of_before_the_record(shop, years):
    taken_in(shop, "--history")
    words = "before the record, as claimed by Old Hand"
    assert words in " ".join(shop.run("history", "plate").split())
    assert words in " ".join(shop.run("show", "plate@r2").split())
    listed = shop.json("audit", "--list", "before-the-record")
    assert len(listed["rows"]) == 5
    assert {row["taken_over_by"] for row in listed["rows"]} == {"np"}
    assert shop.json("audit", "--list", "late-entries")["rows"] == []
    shop.run("report", "plate", "--from", "r2", "-o", "plate.html")
    page = (shop.folder / "plate.html").read_text(encoding="utf-8")
    assert words in " ".join(page.split())


def test_what_the_newest_is_and_what_stands_does_not_hang_on_it(shop, years):
    taken_in(shop, "--history")
    assert shop.json("show", "plate")["revision"] == "r6"
    assert shop.json("show", "plate@r5")["newest"] is False
    assert [row["revision"] for row in shop.rows()] == ["r6"]
    same = shop.json("compare", "plate@r5", "plate@r6")
    assert (same["changes"], same["kinds"]) == ([], [])
    assert "not known from before the record" in " ".join(same["notes"])
    shop.put("office/plate/O1001.NC", plate("8."))
    shop.run("checkin", "plate", "-m", "feed 8", "--by", "np")
    assert [origin["revision"][:5] for origin in shop.json("show", "plate")["origins"]] == ["r0006"]


@pytest.mark.parametrize(
    "words",
    [
        ("prove", "plate@r2", "--machine", "MILL2", "--by", "ss", "--accept", "--yes"),
        ("countersign", "plate@r2", "--machine", "MILL2", "--by", "dg", "-m", "why", "--yes"),
        ("review", "plate@r2", "--by", "dg", "-m", "why", "--yes"),
        ("hold", "plate@r2", "--by", "ss", "-m", "why"),
        ("ran", "plate@r2", "--machine", "MILL2", "--by", "ss"),
    ],
)
def test_nothing_can_be_put_down_about_it(shop, years, words):
    taken_in(shop, "--history")
    before = shop.commits()
    got, _, err = shop.call(*words)
    assert got == 1
    assert "[before-record]" in err
    assert "checkin plate/op10 --from r2" in err
    assert shop.commits() == before


def test_its_text_is_checked_in_again_where_the_program_lies_now(shop, years):
    taken_in(shop, "--history")
    shop.run("checkin", "plate", "--from", "r1", "-m", "back to the old feed", "--by", "np")
    shown = shop.json("show", "plate")
    assert (shown["revision"], shown["files"][0]["path"]) == ("r7", "office/plate/O1001.NC")
    assert (shop.folder / "office/plate/O1001.NC").read_text() == plate("5.")
    assert "before" not in shown


def test_running_it_again_adds_nothing(shop, years):
    taken_in(shop, "--history")
    head = shop.git("rev-parse", "HEAD")
    again = shop.json("adopt", "--history", "--by", "np")
    assert [one["already"] for one in again["operations"]] == [5]
    assert (again["commit"], shop.git("rev-parse", "HEAD")) == (None, head)
    shop.run("adopt", "--apply", "plan.csv", "--history", "-m", "again", "--by", "np")
    assert shop.git("rev-parse", "HEAD") == head


def test_afterwards_for_what_was_taken_in_from_today(shop, years):
    taken_in(shop)
    dry = shop.json("adopt", "--history", "--by", "np", "--dry-run")
    assert (dry["commit"], len(dry["operations"][0]["new"]), shop.commits()) == (None, 5, 7 + 2)
    shop.run("adopt", "--history", "--by", "np", "-m", "for the customer")
    found = shop.revisions()
    assert [found[f"r{n}"].get("before", {}).get("commit") for n in range(1, 7)] == [
        None,
        *(years[name] for name in ("start", "feed", "seven", "sub", "both")),
    ]
    assert shop.json("show", "plate")["revision"] == "r1"
    assert shop.json("audit")["problems"] == []
    # what comes after the first check-in is never before the record
    shop.put("office/plate/O1001.NC", plate("9."))
    shop.old("past the tool", OLD, "2026-02-02T09:30:00Z")
    assert shop.json("adopt", "--history", "--by", "np")["commit"] is None


def test_a_program_that_was_copied_when_it_was_taken_in_has_the_history_of_what_it_was_copied_from(
    shop, years
):
    begin(shop)
    plan = (shop.folder / "plan.csv").read_text(encoding="utf-8-sig")
    plan = plan.replace("office/plate/O1001.NC,", "office/plate/O1001.NC,jobs/plate/op10", 1)
    shop.put("plan.csv", plan)
    shop.run("adopt", "--apply", "plan.csv", "-m", "taken over", "--by", "np")
    assert shop.json("show", "plate")["files"][0]["path"] == "jobs/plate/op10/O1001.NC"
    shop.run("adopt", "--history", "--by", "np")
    commits = [one.get("before", {}).get("commit") for one in shop.revisions().values()]
    assert years["start"] in commits
    assert years["seven"] in commits


def test_a_kill_leaves_all_of_it_or_nothing(shop, years, monkeypatch):
    begin(shop)

    def killed(*_, **__):
        raise KeyboardInterrupt

    apply = ("adopt", "--apply", "plan.csv", "--history", "-m", "taken over", "--by", "np")
    with monkeypatch.context() as now:
        now.setattr(Clone, "commit", killed)
        assert shop.call(*apply)[0] == 130
    assert shop.git("rev-parse", "HEAD~1") == years["both"]
    with monkeypatch.context() as now:
        now.setattr(adopt_apply, "check_in", killed)
        assert shop.call(*apply)[0] == 130
    assert sorted(shop.revisions()) == ["r1", "r2", "r3", "r4", "r5"]
    shop.run(*apply)
    assert sorted(shop.revisions()) == ["r1", "r2", "r3", "r4", "r5", "r6"]
    assert shop.json("audit")["problems"] == []


def test_odd_commits_are_taken_as_they_are(shop):
    shop.put("office/plate/O1001.NC", plate("5."))
    shop.put("office/plate/O1002.NC", SUB.format(x="1."))
    shop.old("start", OLD, "2015-03-01T08:00:00Z", "commit", "-q", "--author", "A <>", "-m", "start")
    shop.put("office/plate/O1001.NC", b"")
    shop.old("lost", OLD, "2016-03-01T08:00:00Z")
    (shop.folder / "office/plate/O1001.NC").unlink()
    shop.old("gone", OLD, "2016-03-02T08:00:00Z")
    shop.put("office/plate/O1001.NC", plate("6."))
    shop.old("", ("Jürgen \x1b[31mRed", "r@x"), "2099-03-01T08:00:00Z")
    said = taken_in(shop, "--history")
    assert "1 commit with a date that cannot be" in said
    assert "\x1b" not in said
    found = shop.revisions()
    assert sorted(found) == ["r1", "r2", "r3"]
    assert found["r2"]["at"] == "2026-02-02T09:00:00Z"
    assert found["r2"]["reason"] is None
    assert found["r2"]["before"]["author"] == "Jürgen ?[31mRed"
    assert found["r1"]["before"]["author"] == "A"
    assert found["r2"]["kinds"] == ["feed"]


def test_the_record_is_plain_and_says_where_the_text_lies(shop, years):
    taken_in(shop, "--history")
    (path,) = (shop.folder / "jobs/plate/records/op10").glob("r0004-*.toml")
    record = tomllib.loads(path.read_text(encoding="utf-8"))
    assert record["before"] == {
        "commit": years["sub"],
        "author": "Jürgen Jung",
        "email": "young@elsewhere.example",
    }
    assert (record["by"], record["event"], record["entered"]) == ("np", "revision", "2026-02-02T09:00:00Z")
    for file in record["files"]:
        data = subprocess.run(
            ["git", "show", f"{record['before']['commit']}:{file['path']}"],
            cwd=shop.folder,
            capture_output=True,
            check=True,
        ).stdout
        assert hashlib.sha256(data).hexdigest() == file["raw_sha256"]


def test_who_may_not_check_in_takes_no_history_over(shop, years):
    taken_in(shop)
    got, _, err = shop.call("adopt", "--history", "--by", "dg")
    assert got == 1
    assert "[wrong-role]" in err


@pytest.mark.parametrize(
    "words",
    [
        ("adopt", "office", "--history"),
        ("adopt", "office", "--dry-run"),
        ("adopt", "--apply", "plan.csv", "--history", "--dry-run", "-m", "x"),
        ("adopt", "--history", "--plan", "x.csv"),
        ("adopt", "--dry-run"),
    ],
)
def test_wrong_calls(shop, years, words):
    begin(shop)
    got, _, err = shop.call(*words)
    assert got == 2
    assert "[wrong-call]" in err


def test_without_older_code_there_is_nothing_to_do(shop):
    shop.put("office/plate/O1001.NC", plate("5."))
    shop.put("office/plate/O1002.NC", SUB.format(x="1."))
    assert "no older code" in taken_in(shop, "--history")
    assert sorted(shop.revisions()) == ["r1"]
