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
said.textContent = JSON.stringify({ drawn: drawn, turned: turn !== after,
  picked: document.querySelectorAll('.picked').length,
  pressed: document.querySelector('button[data-place]').getAttribute('aria-pressed') });
document.body.appendChild(said);
</script></body>"""

WAY = MAIN.replace("N80 G0 Z1. M9", "N75 G1 Z-0.1 F10.\nN76 X3. Y2.\nN80 G0 Z1. M9")


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
