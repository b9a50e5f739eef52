"""Setup sheets printed by a real browser, read back page by page with poppler. Every start costs seconds: few prints."""

import re
import subprocess
from pathlib import Path

import pytest

from tests.fakes.floor import Floor
from tracker.cli.entry import main
from tracker.reports.cautions import MOTION, PRINTED, RESTART
from tracker.reports.sheet_html import page
from tracker.reports.summary import figure
from tracker.services.naming import parse_named
from tracker.services.prove_words import proving_words
from tracker.services.sheet import SheetReport, sheet
from tracker.wiring import open_desk

SIZES = {"a4": (595, 842), "letter": (612, 792)}
DEMO = (
    ("4471/op10", "MILL2"),
    ("4471/op10-m3", "MILL3"),
    ("4471/op20", "MILL2"),
    ("4488", "LATHE1"),
    ("4502", "MILL3"),
)


@pytest.fixture
def printed(outside_program, tmp_path):
    """Prints an HTML file; gives the text of every page, and the size of every page in points."""
    browser, to_text, info = (outside_program(name) for name in ("chromium", "pdftotext", "pdfinfo"))

    def pages(html: Path) -> tuple[list[str], list[tuple[float, float]]]:
        pdf = html.with_suffix(".pdf")
        home = f"--user-data-dir={tmp_path / 'browser'}"
        print_to = f"--print-to-pdf={pdf}"
        words = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-pdf-header-footer",
            home,
            print_to,
            html.as_uri(),
        ]
        subprocess.run([browser, *words], check=True, capture_output=True, timeout=120)
        text = subprocess.run([to_text, "-layout", str(pdf), "-"], check=True, capture_output=True).stdout
        said = subprocess.run([info, "-l", "-1", str(pdf)], check=True, capture_output=True, text=True).stdout
        sizes = re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+)", said)
        boxes = subprocess.run([to_text, "-bbox", str(pdf), "-"], check=True, capture_output=True).stdout
        nothing_runs_together(boxes.decode())
        return text.decode().split("\f")[:-1], [(float(wide), float(high)) for wide, high in sizes]

    return pages


def nothing_runs_together(boxes: str) -> None:
    """No word reaches over the edge of its page, and no two words of a page lie on each other."""
    for one in boxes.split("<page ")[1:]:
        wide, high = (float(part) for part in re.findall(r'(?:width|height)="([\d.]+)"', one)[:2])
        found = [
            (*map(float, edges), text)
            for *edges, text in re.findall(
                r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', one
            )
        ]
        assert len(found) > 20
        over = [
            word
            for word in found
            if word[0] < 15 or word[1] < 10 or word[2] > wide - 15 or word[3] > high - 5
        ]
        assert over == []
        found.sort(key=lambda word: (word[1], word[0]))
        on_each_other = [
            (a[4], b[4])
            for at, a in enumerate(found)
            for b in found[at + 1 : at + 40]
            if min(a[2], b[2]) - max(a[0], b[0]) > 1 and min(a[3], b[3]) - max(a[1], b[1]) > 4
        ]
        assert on_each_other == []


def words(text: str) -> str:
    return " ".join(text.split())


def one_after_the_other(htmls: list[str]) -> str:
    """Several sheets as one document, each from a new page on: one start of the browser prints them all."""
    bodies = [html.split("<body>")[1].split("</body>")[0] for html in htmls]
    head, _ = htmls[0].split("<body>")
    apart = head.replace("</style>", ".page + .page { break-before: page; }</style>")
    return f"{apart}<body>{''.join(bodies)}</body></html>"


def of_each(pages: list[str], reports: list[SheetReport]) -> list[list[str]]:
    """The pages of every sheet, told by the id at their head."""
    return [[one for one in pages if f"id {report.display_id}" in words(one)[:80]] for report in reports]


def says_everything(report: SheetReport, pages: list[str]) -> None:
    """Everything somebody sets up by is on the paper, every tool on one line with its numbers."""
    text = words(" ".join(pages))
    lines = [words(line) for one in pages for line in one.splitlines()]
    assert report.standing.state.upper() in text
    for tool in report.tools:
        numbers = (tool.offset,) if report.machine.type == "lathe" else (tool.h, tool.d)
        shown = [tool.name, *("-" if one is None else str(one) for one in numbers)]
        row = next(line for line in lines if line.startswith(f"{' '.join(shown)} "))
        assert figure(tool.stick_out, report.operation.units) in row.split()
    for file in report.files:
        assert file.fingerprint[:8].upper() in text
    for step in report.steps.steps:
        assert re.search(rf"\b{step.key}\b", text)
        assert step.title in text
    cautions = [
        MOTION,
        RESTART,
        *(
            [proving_words(report.machine.id, report.label, report.standing.state)]
            if report.steps.kind == "prove-out"
            else []
        ),
    ]
    for caution in cautions:
        assert squeezed(caution) in squeezed(text)
    for one in pages:
        head = words(one)[:100]
        assert f"{report.name} {report.label}" in head
        assert report.machine.id in head
        assert squeezed(PRINTED) in squeezed(one)


def squeezed(text: str) -> str:
    """Without blanks: a sentence may be folded anywhere, and side by side with nothing."""
    return "".join(text.split())


@pytest.mark.parametrize("paper", SIZES)
def test_every_operation_of_the_sample_shop(threepenny, monkeypatch, tmp_path, printed, paper):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    desk = open_desk(str(threepenny))
    reports = [sheet(desk, parse_named(name), machine) for name, machine in DEMO]
    html = tmp_path / "all.html"
    html.write_text(one_after_the_other([page(one, paper) for one in reports]), encoding="utf-8")
    pages, sizes = printed(html)
    assert {(round(wide), round(high)) for wide, high in sizes} == {SIZES[paper]}
    found = of_each(pages, reports)
    assert sum(len(one) for one in found) == len(pages)
    for report, own in zip(reports, found, strict=True):
        assert 1 <= len(own) <= 2
        says_everything(report, own)


def test_the_file_as_the_verb_writes_it(threepenny, monkeypatch, tmp_path, printed):
    monkeypatch.setenv("PROVEOUT_NOW", "2026-03-20T13:00:00Z")
    monkeypatch.chdir(threepenny)
    html = tmp_path / "sheet ä.html"
    assert main(["sheet", "4502", "--machine", "MILL3", "--html", str(html), "--paper", "letter"]) == 0
    pages, sizes = printed(html)
    assert [(round(wide), round(high)) for wide, high in sizes] == [SIZES["letter"]] * 2
    assert [re.findall(r"page \d of \d", one) for one in pages] == [["page 1 of 2"], ["page 2 of 2"]]
    says_everything(sheet(open_desk("."), parse_named("4502"), "MILL3"), pages)
    assert "printed 20 Mar 2026 13:00 +00:00" in words(pages[1])


def test_a_long_job(printed, tmp_path):
    report = sheet(long_job().desk(), parse_named("4471"), "MILL2")
    assert len(report.tools) == 24
    html = tmp_path / "long.html"
    html.write_text(page(report, "a4"), encoding="utf-8")
    pages, _ = printed(html)
    assert len(pages) <= 3
    says_everything(report, pages)
    with_tools = [one for one in pages if re.search(r"^\s*T\d+ +\d+ ", one, re.MULTILINE)]
    assert len(with_tools) == 2
    assert all(re.search(r"in +T +H +D +tool \(inch\) +dia", one) for one in with_tools)


def long_job() -> Floor:
    """24 tools with numbers of one to four digits, each with a description; a large one here and there."""
    numbers = (*range(1, 13), *range(101, 109), *range(1021, 1025))
    tools = "".join(
        f'[[operations.tools]]\nnumber = {n}\ndescription = "TOOL {n} 4FL LONG REACH"\ndiameter = 0.375\n'
        f"h = {n + 200}\nd = {n + 400}\nstick_out = {n % 100 + 10}.3125\nlarge = {'true' if n % 8 == 0 else 'false'}\n"
        for n in numbers
    )
    head = '[job]\nnumber = "4471"\n[[operations]]\nid = "op10"\nprogram = "op10/O1001.nc"\nmachines = ["MILL2"]\nunits = "inch"\n'
    cuts = "".join(
        f"T{n} M6\nG0 G54 X0. Y0. S3000 M3\nG43 H{n + 200} Z1.\nG1 Z-{n % 7}.5625 F20.\nG41 D{n + 400} X2.\nG0 G40 Z1.\n"
        for n in numbers
    )
    return Floor(job=head + tools, text=f"%\nO1001\nG20 G17 G90\n{cuts}M30\n%\n")
