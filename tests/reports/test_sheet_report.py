"""The setup sheet as text, as JSON and as a page: what must stand there, and that nothing from outside is obeyed."""

import io
import json
import re
from html.parser import HTMLParser

import pytest
from rich.console import Console

from tests.fakes.floor import FULL, JOB, JOB_PATH, PROGRAM, SHOP, TEXT, Floor, done
from tracker.reports.cautions import MOTION, PRINTED, RESTART
from tracker.reports.sheet import as_json, print_text
from tracker.reports.sheet_html import MARK, page
from tracker.reports.sheet_words import facts, since_words
from tracker.services.naming import parse_named
from tracker.services.prove import Answers, begin, finish
from tracker.services.prove_words import proving_words
from tracker.services.sheet import sheet

NASTY = '<script>alert(1)</script> & "A\'B" \x1b[2J'
SHEET = """\
[job]
number = "4471"
part = "PLATE <1> & 2"
name = "Pivot plate"
drawing = "4471"
drawing_revision = "C"
material = "6061-T6"
[[operations]]
id = "op10"
program = "op10/O1001.nc"
machines = ["MILL2"]
units = "inch"
fixture = "6 in vise; jaw tops 0.85 below the finished top"
clearance_z = 0.5
stock = { top = 0.05, supported = false }
max_rpm = 5000
continuous = true
[[operations.offsets]]
code = "G54"
origin = "X Y lower left corner; Z finished top"
[[operations.tools]]
number = 3
description = "1/2 END MILL <4FL>"
diameter = 3.5
stick_out = 0.4
insert = "XNEX"
nose_radius = 0.8
through_coolant = true
[[operations.tools]]
number = 4
h = 14
stick_out = 2.5
[[operations.tools]]
number = 9
"""
WIDE = SHOP.replace(
    "pockets = 20\n", 'pockets = 20\nlarge_tool_over = 3.15\nmax_rpm = 8000\nchanger = "umbrella"\n'
)


class Reader(HTMLParser):
    """What a browser would take from a page: tags, attributes and text."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.attributes, self.text = [], set(), []
        self.open = []
        self.feed(html)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.text.append(data)

    @property
    def words(self):
        return " ".join(" ".join(self.text).split())


@pytest.fixture
def floor():
    return Floor(shop=WIDE, job=SHEET)


def asked(floor, name="4471/op10"):
    return sheet(floor.desk(), parse_named(name), "MILL2")


def shown(report):
    out = io.StringIO()
    print_text(report, Console(file=out, width=80, markup=False))
    return out.getvalue()


def flat(text):
    return " ".join(text.split())


def prove(floor, limit=None):
    steps = Answers(result="accepted", steps=done(*FULL), first_piece="report 2231", limit=limit)
    finish(floor.desk(), begin(floor.desk(), parse_named("4471"), machine="MILL2", by="ss"), steps)


def test_the_screen(floor):
    report = asked(floor)
    text = shown(report)
    lines = text.splitlines()
    assert lines[0] == f"Setup sheet 4471/op10 r1 on MILL2   id {report.display_id}"
    assert all(len(line) <= 80 for line in lines)
    assert flat("UNPROVEN: never proved on MILL2 NOT FOR PRODUCTION: for the prove-out only.") in flat(text)
    for said in (
        "part PLATE <1> & 2, Pivot plate",
        "drawing 4471 rev C",
        "machine MILL2: mill, inch, umbrella changer, 20 pockets",
        "stock 0.05 inch above the finished top; NOT SUPPORTED",
        "clearance Z0.5 inch, lowest Z for rapids across",
        "top speed 5000 rpm; machine 8000",
        "run continuous: M99 ends the main program",
        "revision r1 by np, 2 Feb 2026: first issue",
        "G54 X Y lower left corner; Z finished top",
        "T3 3 - 3.5 0.4 -0.5 -0.15 1/2 END MILL <4FL>",
        "STICK-OUT SHORTER THAN THE CUT IS DEEP; LARGE: neighbours empty; coolant through the tool; insert XNEX",
        "nose radius 0.8; restart: line 4 (N20)",
        "T4 14 - - 2.5 -1.16 1.29",
        "THE PROGRAM USES H4",
        "T5 5 - - - -0.81 -",
        "NOT ON THE SHEET; left not computed: no stick-out on the sheet; restart: line 15 (N130)",
        "T9 9 - - - - -",
        "not in the program",
        "Changed since the last proof here Never proved in full on MILL2.",
        "[ ] P10 proof piece: Second piece, or the same again",
        "[ ] T3 [ ] T4 [ ] T5",
        "________ rapid in percent",
        proving_words("MILL2", "r1", "unproven"),
        MOTION,
        RESTART,
        PRINTED,
        "printed 2 Feb 2026 11:10 +00:00 (the clock was set by hand)",
    ):
        assert flat(said) in flat(text), said


def test_what_is_not_stated_says_so():
    values = dict(
        facts(
            asked(
                Floor(job='[job]\nnumber = "4471"\n[[operations]]\nid = "op10"\nprogram = "op10/O1001.nc"\n')
            )
        )
    )
    assert values == {
        "part": "not stated",
        "drawing": "not stated rev not stated",
        "material": "not stated",
        "machine": "MILL2: mill, inch, 20 pockets",
        "fixture": "not stated",
        "stock": "not stated",
        "clearance": "not stated",
        "top speed": "not stated for this setup",
    }


def test_no_start_line_no_caution_for_it():
    text = shown(asked(Floor(text="O1001\nG20 G90\nG0 X1.\nM30\n")))
    assert RESTART[:25] not in text
    assert "proving" not in text


def test_of_a_proven_revision(floor):
    prove(floor, limit="lot 7 only")
    report = asked(floor)
    text = flat(shown(report))
    assert "PROVEN by ss 2 Feb 2026 on MILL2" in text
    assert "NOT FOR PRODUCTION: no release that counts holds this revision." in text
    assert "Nothing: this is r1, proved 2 Feb 2026 on MILL2 by ss." in text
    assert "note: Limited to: lot 7 only" in text
    assert "Start list: repeat run of a proven revision" in text
    assert "Raise, single block" not in text
    assert "P10" not in text


def test_kinds_in_words(floor):
    prove(floor)
    floor.edit("Z-1.16", "Z-1.2")
    floor.edit("number = 4\nh = 14\n", "number = 4\n", path=JOB_PATH)
    text = flat(shown(asked(floor)))
    assert "From r1, proved 2 Feb 2026 on MILL2 by ss: motion, sheet-tool; T4, T5. T4 H: was 14, is 4" in text
    assert "motion: Where the tool goes changed: axis, arc and cycle words." in text
    assert "sheet-tool: A tool's figures on the setup sheet changed." in text


def test_text_that_differs_in_numbering_alone(floor):
    prove(floor)
    floor.edit("N180 M30", "N200 M30")
    assert since_words(asked(floor)) == ["From r1, proved 2 Feb 2026 on MILL2 by ss: numbering."]


def test_calls_outside_and_what_is_not_followed():
    shop = SHOP.replace("pockets = 20\n", "pockets = 20\nresident = [9001]\n")
    floor = Floor(shop=shop, text=TEXT.replace("N180 M30", "N175 M98 P9001\nN180 M30"))
    text = flat(shown(asked(floor)))
    assert "note: Outside this record: O1001.nc line 20: " in text.replace("jobs/4471/op10/", "")
    assert "note: Not followed: " in text
    assert "at least -1.16" in text
    assert "at most " in text


def test_many_things_not_followed_are_cut_short():
    rows = "".join(f"G150 P{at}\n" for at in range(9))
    text = flat(shown(asked(Floor(text=TEXT.replace("N180 M30", f"{rows}N180 M30")))))
    assert text.count("Not followed: ") == 6
    assert "... and 3 more not followed: proveout summary 4471/op10" in text


def test_json(floor):
    data = as_json(asked(floor))
    assert json.loads(json.dumps(data)) == data
    assert (data["id"], data["machine"], data["standing"]) == (asked(floor).display_id, "MILL2", "unproven")
    assert [one["step"] for one in data["steps"]] == [f"P{number}" for number in range(16)]
    (first, *_) = data["tools"]
    assert (first["tool"], first["h"], first["d"], first["stick_out"]) == (3, 3, None, 0.4)
    assert first["left"] == {"value": -0.15, "bound": None, "why": None}
    assert data["since"] is None


# The page


def test_the_page_needs_nothing_but_itself(floor):
    html = page(asked(floor), "a4")
    reader = Reader(html)
    assert html.split("\n")[1] == MARK
    assert not {"script", "link", "img", "iframe", "object"} & set(reader.tags)
    assert reader.attributes == {"lang", "charset", "class"}
    assert not re.search(r"url\(|@import|https?:", html)
    assert "size: A4 portrait" in html
    assert "size: letter portrait" in page(asked(floor), "letter")


def test_the_page_says_what_the_screen_says(floor):
    report = asked(floor)
    words = Reader(page(report, "a4")).words
    for what, value in facts(report):
        assert what in words
        assert value in words
    for said in (
        "UNPROVEN on MILL2. NOT FOR PRODUCTION: for the prove-out only.",
        "1/2 END MILL <4FL>",
        "PLATE <1> & 2",
    ):
        assert said in words
    for step in report.steps.steps:
        assert f"{step.key} {step.title}" in words
        assert step.what in words
    for caution in (proving_words("MILL2", "r1", "unproven"), MOTION, RESTART, PRINTED):
        assert caution in words


@pytest.mark.parametrize("place", ["sheet", "program"])
def test_nothing_from_outside_is_taken_for_the_page_s_own(place):
    if place == "sheet":
        quoted = json.dumps(NASTY)
        job = JOB.replace("number = 3\n", f"number = 3\ndescription = {quoted}\n")
        job = job.replace('id = "op10"\n', f'id = "op10"\nfixture = {quoted}\n')
        job = job.replace('drawing = "4471"\n', f"drawing = {quoted}\nname = {quoted}\nmaterial = {quoted}\n")
        floor = Floor(job=job)
    else:
        floor = Floor(text=TEXT.replace("N20 T3 M6", f"N20 T3 M6 ({NASTY.replace('(1)', '')})"))
    html = page(asked(floor), "a4")
    reader = Reader(html)
    assert "script" not in reader.tags
    assert reader.attributes == {"lang", "charset", "class"}
    assert "<script>" in reader.words
    assert "\x1b" not in html


def test_state_is_never_said_by_colour_alone(floor):
    unproven = page(asked(floor), "a4")
    assert 'class="standing stop"' in unproven
    floor.repo.write(PROGRAM, TEXT)
    prove(floor)
    words = Reader(page(asked(floor), "a4")).words
    assert "PROVEN on MILL2. NOT FOR PRODUCTION: no release" in words
