"""``report``: one page that needs nothing but itself; its figures are those of ``summary``, its text is nobody's markup."""

import json
import re
from html.parser import HTMLParser

import pytest

from tests.fakes.shop_folder import JOB, JOB_PATH, MAIN, PROGRAM, SHOP, ShopFolder
from tracker.reports.report_drawing import CAUTION

NASTY = '<script>alert("x")</script>'
VOID = {"meta", "br", "path", "circle"}


class Reader(HTMLParser):
    """Whether every element ends where it should, which ids and scripts there are, and the text."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.scripts = 0
        self.links: list[str] = []
        self.data: list[str] = []
        self.outside: list[str] = []

    def handle_starttag(self, tag, attrs):
        named = dict(attrs)
        self.ids += [named["id"]] if "id" in named else []
        self.links += [named["href"]] if tag == "a" else []
        self.outside += [named[key] for key in ("src", "data", "action") if key in named]
        assert not [key for key in named if key.startswith("on")], (
            "the page's rules forbid handlers in the markup"
        )
        self.scripts += tag == "script"
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        if not self.open or self.open[-1] not in ("script", "style"):
            self.data.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.data).split())


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    assert reader.open == []
    assert len(set(reader.ids)) == len(reader.ids)
    assert {link.removeprefix("#") for link in reader.links} <= set(reader.ids)
    assert reader.outside == []
    return reader


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    """r1 proved and released; r2 with another feed and a deeper hole."""
    return ShopFolder(tmp_path / "a shop", capsys, monkeypatch).brought_by(_made)


def _made(found: ShopFolder) -> None:
    found.at("2026-02-02T09:00:00Z")
    found.begin(SHOP)
    found.prove()
    found.run("release", "4471", "--by", "dg", "--yes")
    found.at("2026-02-03T09:00:00Z")
    found.put(PROGRAM, MAIN.replace("F15.", "F25.").replace("Z-1.16", "Z-1.2"))
    found.run("checkin", "4471", "-m", f"deeper {NASTY}", "--by", "np")


def page(shop: ShopFolder, *words: str) -> str:
    shop.run("report", *words, "-o", "r.html")
    return (shop.folder / "r.html").read_text(encoding="utf-8")


def drawn(html: str) -> list[dict]:
    return [json.loads(one) for one in re.findall(r'<script type="application/json">(.*?)</script>', html)]


def test_everything_is_on_one_page(shop):
    html = page(shop, "4471")
    reader = read(html)
    for words in (
        "Report: 4471",
        "4471/op10 r2",
        "Differences: r2 against r1, the one released last",
        CAUTION,
        "Standing may have changed since; ask before loading.",
        "What the machine does otherwise",
        "git show STATE:FILE | sha256sum",
        "feed moves reach",
    ):
        assert words in reader.text
    assert "default-src 'none'" in html
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", html)


def test_text_of_the_shop_is_never_markup(shop):
    html = page(shop, "4471")
    assert NASTY not in html
    assert NASTY in read(html).text
    assert read(html).scripts == 2  # the figures and the script that draws them


def test_the_figures_reach_as_far_as_the_summary_says(shop):
    """Not a digit is lost by thinning."""
    (data,) = drawn(page(shop, "4471"))
    for side, revision in zip(data["sides"], ("r1", "r2"), strict=True):
        feeds = [strand[3] for strand in side["strands"] if not strand[1]]
        points = [tuple(flat[at : at + 3]) for flat in feeds for at in range(0, len(flat), 3)]
        summary = shop.json("summary", f"4471/op10@{revision}", "--machine", "MILL2")
        for axis, key in enumerate("xyz"):
            spans = [tool[key] for tool in summary["tools"] if tool[key]]
            assert min(point[axis] for point in points) == min(low for low, _ in spans)
            assert max(point[axis] for point in points) == max(high for _, high in spans)


def test_a_change_is_marked_on_the_path_and_can_be_picked(shop):
    html = page(shop, "4471")
    picks = set(re.findall(r'data-place="(\d+)"', html))
    (data,) = drawn(html)
    marks = {str(strand[2]) for side in data["sides"] for strand in side["strands"] if strand[2] is not None}
    marks |= {str(hole[1]) for side in data["sides"] for hole in side["holes"] if hole[1] is not None}
    assert picks
    assert picks == marks - {"0"}


def test_what_changed_beyond_the_listed_places_is_marked_too(shop):
    """No stretch that changed is drawn as if it had not."""
    rows = [f"X{at / 100:.2f} Y{7 + at % 2}.\n" for at in range(1, 501)]
    head, tail = MAIN.split("N80 G0 Z1. M9\n")
    middle = "N75 G1 X0. Y8. F10.\n"
    shop.put(PROGRAM, f"{head}{middle}{''.join(rows)}N80 G0 Z1. M9\n{tail}")
    shop.run("checkin", "4471", "-m", "rows", "--by", "np")
    moved = "".join(row.replace("Y7.", "Y7.5").replace("Y8.", "Y8.5") for row in rows)
    shop.put(PROGRAM, f"{head}{middle}{moved}N80 G0 Z1. M9\n{tail}")
    shop.run("checkin", "4471", "-m", "half an inch over", "--by", "np")
    html = page(shop, "4471", "--from", "r3", "--to", "r4")
    assert "And 200 more places." in read(html).text
    picks = set(re.findall(r'data-place="(\d+)"', html))
    assert len(picks) == 300
    (data,) = drawn(html)
    for side in data["sides"]:
        among = [strand for strand in side["strands"] if min(strand[3][1::3]) >= 7 and not strand[1]]
        assert {strand[2] for strand in among} == {0, *(int(pick) for pick in picks)}
        assert sum(len(strand[3]) // 3 - 1 for strand in among) == 500


def test_a_revision_alone_is_neither_before_nor_after(shop):
    shop.put("jobs/4480/job.toml", JOB.replace("4471", "4480").replace("O1001", "O4480"))
    shop.put("jobs/4480/op10/O4480.nc", MAIN.replace("O1001", "O4480"))
    shop.run("checkin", "4480", "-m", "first", "--by", "np")
    text = read(page(shop, "4480")).text
    assert "r1: top, X Y" in text
    assert "After" not in text
    assert "Thick is" not in text


def test_a_withdrawn_release_is_called_so(shop):
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "too deep", "--yes")
    assert "r2 against r1, the one released last, which is withdrawn" in read(page(shop, "4471")).text


def test_the_evidence_is_what_git_and_sha256_say(shop):
    import hashlib
    import subprocess

    for one in shop.json("report", "4471")["operations"][0]["evidence"]:
        data = subprocess.run(
            ["git", "show", f"{one['state']}:{one['file']}"], cwd=shop.folder, capture_output=True, check=True
        ).stdout
        assert hashlib.sha256(data).hexdigest() == one["sha256"]


def test_two_revisions_a_person_names(shop):
    shop.put(PROGRAM, MAIN.replace("F15.", "F30."))
    shop.run("checkin", "4471", "-m", "faster", "--by", "np")
    said = shop.json("report", "4471", "--from", "r1", "--to", "r2")["operations"][0]
    assert (said["revision"], said["against"]) == ("r2", {"revision": "r1", "why": "as asked for"})
    assert said["compared"]["kinds"] == ["feed", "motion"]


def test_a_proof_that_waits_for_somebody_is_none_to_be_held_against(shop):
    shop.put("jobs/4480/job.toml", JOB.replace("4471", "4480").replace("O1001", "O4480"))
    for at, (feed, piece) in enumerate((("F15.", "report 1"), ("F30.", "waiting"), ("F31.", None)), start=1):
        text = MAIN.replace("O1001", "O4480").replace("F15.", feed)
        shop.at(f"2026-03-0{at}T09:00:00Z")
        shop.put("jobs/4480/op10/O4480.nc", text)
        shop.run("checkin", "4480", "-m", "faster", "--by", "np")
        proof = ("prove", f"4480@r{at}", "--machine", "MILL2", "--by", "ss", "--accept", "--yes")
        if piece is not None:
            shop.run(*proof, "--first-piece", piece, "--answers", shop.answers())
    said = shop.json("report", "4480")["operations"][0]["against"]
    assert said == {"revision": "r1", "why": "the last other one proved in full, on MILL2"}


def test_a_first_revision_has_nothing_to_be_held_against(shop):
    html = page(shop, "4471@r1", "--from", "r2")
    assert "r1 against r2" in read(html).text
    shop.put("jobs/4480/job.toml", JOB.replace("4471", "4480").replace("O1001", "O4480"))
    shop.put("jobs/4480/op10/O4480.nc", MAIN.replace("O1001", "O4480"))
    shop.run("checkin", "4480", "-m", "first", "--by", "np")
    assert "There is no older revision to hold it against." in read(page(shop, "4480")).text


def test_the_whole_shop(shop):
    html = page(shop, "--shop")
    reader = read(html)
    assert "Report of the shop" in reader.text
    assert "unproven" in reader.text
    assert reader.scripts == 0
    said = shop.json("report", "--shop")
    assert [row["standing"] for row in said["operations"]] == ["unproven"]
    assert said["due"][0]["of"] == "4471/op10"


def test_a_text_that_cannot_be_drawn_is_said(shop):
    shop.put(
        PROGRAM,
        "0 BEGIN PGM 400 MM\n1 TOOL CALL 5 Z S2000\n2 L X+10 Y+10 R0 FMAX M3\n3 CYCL DEF 1.0 PECKING ~\n4 END PGM 400 MM\n",
    )
    shop.run("checkin", "4471", "-m", "other control", "--by", "np")
    text = read(page(shop, "4471")).text
    assert "After, r3: not drawn, the text is not in word-address form." in text


def test_names_with_blanks_and_umlauts(shop):
    shop.put(JOB_PATH, JOB.replace("op10/O1001.nc", "op10/Größe 1 & 2.nc"))
    shop.put("jobs/4471/op10/Größe 1 & 2.nc", MAIN)
    (shop.folder / PROGRAM).unlink()
    shop.run("checkin", "4471", "-m", "renamed", "--by", "np")
    assert "Größe 1 & 2.nc" in read(page(shop, "4471")).text


def test_a_newer_report_goes_over_an_older_one_and_over_nothing_else(shop):
    page(shop, "4471")
    page(shop, "4471")
    shop.put("r.html", "<p>a letter to a customer</p>")
    assert shop.json("report", "4471", "-o", "r.html", status=2)["error"]["name"] == "file-exists"
    assert (shop.folder / "r.html").read_text() == "<p>a letter to a customer</p>"
    shop.run("report", "4471", "-o", "r.html", "--force")
    shop.run("report", "4471")
    assert (shop.folder / "report-4471.html").exists()


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        ([], 2, "wrong-call"),
        (["4471", "--shop"], 2, "wrong-call"),
        (["--shop", "--from", "r1"], 2, "wrong-call"),
        (["4471@r1", "--to", "r2"], 2, "wrong-call"),
        (["4471", "--from", "r2"], 2, "wrong-call"),
        (["4471", "--from", "r9"], 2, "unknown-revision"),
        (["4471", "--from", "first"], 2, "bad-name"),
        (["4499"], 2, "unknown-job"),
        (["4471", "-o", "nowhere/r.html"], 2, "no-such-folder"),
        (["4471", "-o", "jobs"], 2, "is-a-folder"),
        (["4471", "-o", "-"], 2, "wrong-call"),
    ],
)
def test_wrong_calls(shop, words, status, name):
    error = shop.json("report", *words, status=status)["error"]
    assert (error["name"], bool(error["fix"])) == (name, True)


def test_a_long_program_stays_small(shop):
    """2 MB of surfacing: the page stays below 5 MB, and reaches as far as before."""
    lines = ["%", "O1001", "G20 G90 G17", "T4 M6", "G0 G54 X0. Y0. S2000 M3", "G43 H4 Z1.", "G1 Z0. F20."]
    for row in range(300):
        lines += [f"X{at / 20:.4f} Y{row / 50:.4f} Z{-((at * row) % 97) / 100:.4f}" for at in range(290)]
    lines += ["G0 Z1.", "M30", "%"]
    text = "\n".join(lines) + "\n"
    assert len(text) > 2_000_000
    shop.put(PROGRAM, text)
    shop.run("checkin", "4471", "-m", "surface", "--by", "np")
    html = page(shop, "4471")
    assert len(html.encode()) < 5_000_000
    feeds = [strand[3] for strand in drawn(html)[0]["sides"][-1]["strands"] if not strand[1]]
    zs = [flat[at] for flat in feeds for at in range(2, len(flat), 3)]
    assert (min(zs), max(zs)) == (-0.96, 1.0)
