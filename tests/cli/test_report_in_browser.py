"""Reports in a real browser: no error on its console, the drawings are drawn, a change can be picked, and the accessibility
checker axe-core (WCAG 2 A and AA, contrast among them) finds nothing, light and dark."""

import html as markup
import json
import os
import re
import subprocess
from pathlib import Path

import pytest

from tests.fakes.shop_folder import MAIN, PROGRAM, SHOP, ShopFolder

CHECK = """
<script>AXE</script><script>
document.querySelectorAll('details').forEach(function (one) { one.open = true; });
axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa'] }).then(function (found) {
  var said = document.createElement('pre'); said.id = 'found';
  said.textContent = JSON.stringify({ passes: found.passes.map(function (one) { return one.id; }),
    violations: found.violations.map(function (one) { return [one.id, one.nodes.map(function (node) { return node.html; })]; }) });
  document.body.appendChild(said); });
</script></body>"""
PICK = """
<script>
var said = document.createElement('pre'); said.id = 'found';
var drawn = document.querySelectorAll('svg[data-view] path').length;
var turn = document.querySelector('svg[data-view="turn"]').innerHTML;
document.querySelector('button[data-turn]').click();
var after = document.querySelector('svg[data-view="turn"]').innerHTML;
document.querySelector('button[data-place]').click();
function choose(what, value) {
  var select = document.querySelector('select[data-choice="' + what + '"]');
  select.value = value; select.dispatchEvent(new Event('change'));
}
function seen() { return Array.prototype.map.call(document.querySelectorAll('figure:not([hidden]) svg'), function (svg) {
  return svg.getAttribute('data-view') + svg.getAttribute('data-side'); }); }
function words() { return Array.prototype.map.call(document.querySelectorAll('svg[data-view="top"] text'), function (one) {
  return one.textContent; }); }
function span(part) { var boxes = Array.prototype.map.call(document.querySelectorAll('svg[data-view="top"][data-side="0"] ' + part),
  function (one) { return one.getBBox(); });
  return Math.max.apply(null, boxes.map(function (one) { return one.x + one.width; }))
    - Math.min.apply(null, boxes.map(function (one) { return one.x; })); }
var box = JSON.parse(document.querySelector('.paths script').textContent).box;
var every = seen(), scale = words(), path = span('path[data-mark]'), bar = span('path.axis:last-of-type');
choose('fit', 'change'); var close = words(), closer = span('path.axis:last-of-type'); choose('view', 'front'); var one = seen();
choose('tool', '4'); var dim = document.querySelectorAll('figure:not([hidden]) svg .dim').length;
said.textContent = JSON.stringify({ drawn: drawn, turned: turn !== after,
  picked: document.querySelectorAll('.picked').length, spoken: document.querySelector('.said').textContent,
  every: every, one: one, scale: scale, bar: bar, closer: closer, inches: bar / path * (box[3] - box[0]), close: close, dim: dim,
  pressed: document.querySelector('button[data-place]').getAttribute('aria-pressed') });
document.body.appendChild(said);
</script></body>"""

WAY = MAIN.replace(
    "N80 G0 Z1. M9",
    "N75 G1 Z-0.1 F10.\nN76 X3. Y2.\nN77 G0 Z1.\nN78 T5 M6\nG0 X1. Y1.\nN79 G43 H5 Z1.\nG1 Z-0.2\nX0.\nN80 G0 Z1. M9",
)


@pytest.fixture
def axe(project: Path) -> str:
    path = project / ".venv-axe" / "axe.min.js"
    if not path.exists():
        words = "axe-core is not here: tests/fetch_axe brings it"
        if os.environ.get("PROVEOUT_NO_SKIPS"):
            pytest.fail(words)
        pytest.skip(words)
    return path.read_text(encoding="utf-8")


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    found = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    found.folder.mkdir()
    found.at("2026-02-02T09:00:00Z")
    found.begin(SHOP)
    found.put(PROGRAM, WAY)
    found.run("checkin", "4471", "-m", "a slot", "--by", "np")
    found.prove(revision="r2")
    found.put(PROGRAM, WAY.replace("F15.", "F25.").replace("Z-1.16", "Z-1.2"))
    found.run("checkin", "4471", "-m", "deeper", "--by", "np")
    return found


@pytest.fixture
def browse(outside_program, tmp_path):
    """Opens a page; what the browser holds in the end, and what came on its console."""
    browser = outside_program("chromium")

    def open_page(html: str, *more: str) -> tuple[str, list[str]]:
        path = tmp_path / "page.html"
        path.write_text(html, encoding="utf-8")
        words = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            f"--user-data-dir={tmp_path / 'browser'}",
            "--enable-logging=stderr",
            "--virtual-time-budget=20000",
            "--dump-dom",
            *more,
            path.as_uri(),
        ]
        done = subprocess.run([browser, *words], capture_output=True, timeout=180, check=True)
        said = [line for line in done.stderr.decode(errors="replace").splitlines() if "CONSOLE" in line]
        return done.stdout.decode(), said

    return open_page


def found_in(page: str) -> dict:
    (text,) = re.findall(r'<pre id="found">(.*?)</pre>', page, re.DOTALL)
    return json.loads(markup.unescape(text))


def report(shop: ShopFolder, *words: str) -> str:
    shop.run("report", *words, "-o", "r.html")
    return (shop.folder / "r.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [("4471",), ("--shop",)])
def test_nothing_on_the_console(shop, browse, words):
    page, said = browse(report(shop, *words))
    assert said == []
    assert "<h1>Report" in page


def test_the_paths_are_drawn_turned_and_a_change_is_picked(shop, browse):
    page, said = browse(report(shop, "4471").replace("</body>", PICK))
    assert said == []
    found = found_in(page)
    assert found["drawn"] >= 8
    assert found["turned"] is True
    assert found["picked"] >= 4
    assert found["pressed"] == "true"
    assert found["spoken"].startswith("Picked, the thickest line: 1. T")
    assert found["every"] == [f"{view}{side}" for view in ("top", "front", "side", "turn") for side in (0, 1)]
    assert found["one"] == ["front0", "front1"]
    assert found["scale"][:2] == ["X", "Y"]
    far, near = (float(found[key][2].removesuffix(" inch")) for key in ("scale", "close"))
    assert found["inches"] == pytest.approx(far, rel=0.01)
    assert found["closer"] / near > 1.1 * found["bar"] / far
    assert found["dim"] > 0


def test_nothing_is_wider_than_a_narrow_screen(shop, browse):
    measure = """<script>
var said = document.createElement('pre'); said.id = 'found'; said.textContent = JSON.stringify({
  wide: document.documentElement.scrollWidth - document.documentElement.clientWidth, screen: window.innerWidth });
document.body.appendChild(said); </script></body>"""
    for words in (("4471",), ("--shop",)):
        page, _ = browse(report(shop, *words).replace("</body>", measure), "--window-size=500,900")
        found = found_in(page)
        assert found["screen"] <= 640  # where rows stand as lists
        assert found["wide"] <= 0


def test_on_paper_the_changed_lines_can_be_read(shop, outside_program, tmp_path):
    browser, reader = outside_program("chromium"), outside_program("pdftotext")
    page, paper = tmp_path / "p.html", tmp_path / "p.pdf"
    page.write_text(report(shop, "4471"), encoding="utf-8")
    words = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--no-pdf-header-footer",
    ]
    words += [f"--user-data-dir={tmp_path / 'browser'}", f"--print-to-pdf={paper}", page.as_uri()]
    subprocess.run([browser, *words], capture_output=True, timeout=180, check=True)
    read = subprocess.run(
        [reader, "-layout", paper, "-"], capture_output=True, timeout=60, check=True
    ).stdout.decode()
    assert "F15." in read
    assert "F25." in read
    assert "Turn left" not in read


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("words", [("4471",), ("--shop",)])
def test_axe_finds_nothing(shop, browse, axe, words, dark):
    html = report(shop, *words).replace(
        "</body>", CHECK.replace("AXE", axe.replace("</script", "<\\/script"))
    )
    page, _ = browse(html, *(("--blink-settings=preferredColorScheme=0",) if dark else ()))
    found = found_in(page)
    assert found["violations"] == []
    assert "color-contrast" in found["passes"]
