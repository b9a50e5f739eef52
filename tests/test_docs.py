"""The documents say what the code does: every command shown is run and its answer held against what is shown, every verb and key is listed."""

import difflib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import manual
from tests.reference import with_reference
from tracker import __version__
from tracker.cli.app import named_verb
from tracker.cli.entry import main
from tracker.cli.verbs import VERBS
from tracker.reports.manual import PAGES


def words_of(command: str) -> list[str]:
    return [quoted or plain for quoted, plain in re.findall(r'"([^"]*)"|(\S+)', command)]


def test_the_reference_is_the_code_s(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    assert with_reference(text) == text, "run: python -m tests.reference"


def test_every_verb_stands_in_the_readme(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    assert [verb.name for verb in VERBS if f"`{verb.name}`" not in text] == []


def test_every_command_of_the_readme_exists(project: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    for verb in re.findall(r"`proveout ([a-z]+)\b(?! \d)", text):
        assert named_verb([verb]) == verb


def test_the_map_names_every_room(project: Path) -> None:
    text = (project / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [p.name for p in (project / "tracker").iterdir() if p.is_dir() and (p / "__init__.py").exists()]
    assert [room for room in rooms if f"`{room}/`" not in text] == []
    assert len(rooms) >= 9


def test_one_version_everywhere(project: Path) -> None:
    stated = tomllib.loads((project / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert stated == __version__


@pytest.fixture
def place(threepenny_once: Path, tmp_path: Path) -> Iterator[Path]:
    """A place to go through a document in."""
    with manual.world(tmp_path / "home"), manual.laid_out(threepenny_once) as place:
        yield place


def difference(shown: str, now: str) -> list[str]:
    """Lines that are shown (-) and lines that are answered (+), where they are not the same."""
    if shown == now:
        return []
    return [*difflib.unified_diff(shown.splitlines(), now.splitlines(), n=0, lineterm="")] or ["line ends"]


def test_every_answer_of_the_readme_is_what_the_command_says(project: Path, place: Path) -> None:
    text = (project / "README.md").read_text(encoding="utf-8")
    assert difference(text, manual.readme_now(text, place)) == [], "run: python -m tests.manual"


@pytest.mark.parametrize("name", PAGES)
def test_every_answer_of_the_manual_is_what_the_command_says(name: str, place: Path) -> None:
    assert difference(PAGES[name], manual.page_now(PAGES[name], place)) == [], "run: python -m tests.manual"


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_shown_as_it_stands(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", name]) == 0
    assert capsys.readouterr().out == PAGES[name]


def test_no_document_shows_a_call_that_is_wrong(project: Path) -> None:
    documents = [(project / "README.md").read_text(encoding="utf-8"), *PAGES.values()]
    shown = [line.strip() for text in documents for line in text.splitlines() if "$ proveout" in line]
    assert len(shown) > 70
    assert [line for line in shown if re.search(r"# exit (?!1$)", line)] == []


def test_each_user_s_page_names_the_verbs_of_that_user() -> None:
    for who, page in (("programmer", "programmer"), ("setup", "setup"), ("quality", "quality")):
        own = [verb.name for verb in VERBS if who in verb.who]
        assert sum(f"proveout {name} " in PAGES[page] for name in own) >= 5, page


def test_pages_fit_a_screen_of_80_columns_but_for_commands_and_where_they_are_copied() -> None:
    for name, text in PAGES.items():
        told = [line for line in text.splitlines() if not line.startswith("    ")]
        assert max(map(len, told)) <= 80, name
        assert text.isascii(), name


def test_the_pages_on_motion_carry_the_caution() -> None:
    one_line = " ".join(PAGES["setup"].split())
    assert "Text checked, machine not." in one_line[:200]
    assert "read distance-to-go at every approach" in one_line
    assert "Text checked, machine not." in PAGES["programmer"]


def test_an_answer_that_is_not_true_is_found(place: Path) -> None:
    page = "A page\n\n    $ proveout explain held\n    held (standing)\n      It flies.\n\nMore words\n"
    now = manual.page_now(page, place)
    assert now != page
    assert "It flies." not in now
    assert now.startswith(
        "A page\n\n    $ proveout explain held\n    held (standing)\n      Somebody stopped"
    )
    assert now.endswith("\n\nMore words\n")
    assert manual.page_now(now, place) == now
    block = "```console\n$ proveout explain nothing-like-it\n```\n"
    assert "$ proveout explain nothing-like-it  # exit 2\nthere is no page" in manual.readme_now(block, place)


def test_what_a_document_tells_to_change_is_changed(place: Path) -> None:
    program = place / "threepenny/jobs/4502/op10/O1201.nc"
    manual.edited("Change `S7000 M3` to `S6500 M3` in\n`jobs/4502/op10/O1201.nc`, then", place)
    assert b"S6500 M3" in program.read_bytes()
    with pytest.raises(AssertionError, match="stands there 0 times"):
        manual.edited("change `S7000 M3` to `S6500 M3` in `jobs/4502/op10/O1201.nc`", place)


def test_a_long_answer_says_how_many_lines_are_left_out() -> None:
    assert manual.shortened(["x"] * manual.MOST_LINES) == ["x"] * manual.MOST_LINES
    assert manual.shortened(["x"] * 40) == [*["x"] * manual.HEAD, f"... and {40 - manual.HEAD} more lines"]


def test_a_command_no_test_can_run_is_refused(place: Path) -> None:
    with pytest.raises(AssertionError, match="no command the tests can run"):
        manual.readme_now("```console\n$ rm -r jobs\n```\n", place)
