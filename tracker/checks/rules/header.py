"""What the head of the program says of drawing and material, against the job."""

import re
from collections.abc import Iterator

from tracker.checks.examples import MILL, SHEET, edited
from tracker.checks.finding import WARN
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import bare, lines_of
from tracker.checks.subject import ProgramIn
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.nc.head_words import DRAWING, MATERIAL, speaks

_COMMENT = re.compile(r"\(([^)]*)\)|;(.*)")
_GRADE = re.compile(r"[A-Z0-9][A-Z0-9.-]*", re.IGNORECASE)
_LINE_NUMBER = re.compile(r"[ \t]*N[ \t]*[0-9]+", re.IGNORECASE)
_O_WORD = re.compile(r"[O:][ \t]*[0-9]+", re.IGNORECASE)


def first_line(program: ProgramIn) -> tuple[int, str]:
    """Number and text of the first line that holds anything: where a finding about the whole program is shown."""
    lines = lines_of(program.data)
    at = next((place for place, line in enumerate(lines, 1) if bare(line) not in ("", "%")), 1)
    return at, lines[at - 1]


def head_comments(program: ProgramIn) -> Iterator[tuple[int, str, str]]:
    """Comments above the first block of code and on the O line: line number, line, what is in the brackets."""
    for at, line in enumerate(lines_of(program.data), 1):
        code = _LINE_NUMBER.sub("", bare(line)).strip(" \t%")
        if code and not _O_WORD.fullmatch(code):
            return
        for inside in _COMMENT.findall(line):
            yield at, line, "".join(inside).strip()


class HeaderDrawing(Watch):
    """``(DRAWING 4471 REV C)`` against drawing and drawing_revision."""

    def begin(self, control: Control) -> None:
        """Every comment of the head."""
        if not self.subject.main.readable:
            return
        for at, line, comment in head_comments(self.subject.main):
            stated = DRAWING.search(comment)
            if stated is None:
                continue
            job = self.subject.job
            for key, said, kept in (
                ("drawing", stated["number"], job.drawing),
                ("drawing_revision", stated["revision"], job.drawing_revision),
            ):
                self._judge((at, line), key, said, kept)

    def _judge(self, where: tuple[int, str], key: str, said: str | None, kept: str | None) -> None:
        at, line = where
        path = self.subject.main.path
        if said is None or not speaks(said):
            return
        if kept is None:
            self.unknown_at(f"{key} is not stated in job.toml", path, at)
        elif _alike(said) != _alike(kept):
            self.found_at(path, at, line, f"{key.replace('_', ' ')} {said} in the head, {kept} in job.toml")


def _alike(text: str) -> str:
    return "".join(mark for mark in text.upper() if mark.isalnum()).lstrip("0")


class HeaderMaterial(Watch):
    """``(MATERIAL 6061-T6)`` against material: told where no grade of the one is in the other."""

    def begin(self, control: Control) -> None:
        """Every comment of the head."""
        if not self.subject.main.readable:
            return
        path = self.subject.main.path
        for at, line, comment in head_comments(self.subject.main):
            stated = MATERIAL.search(comment)
            grades = _grades(stated["rest"]) if stated else set()
            if not grades or stated is None:
                continue
            kept = self.subject.job.material
            if kept is None:
                self.unknown_at("material is not stated in job.toml", path, at)
            elif not _grades(kept):
                self.unknown_at("material in job.toml names no grade with a figure in it", path, at)
            elif not any(one in other or other in one for one in grades for other in _grades(kept)):
                said = stated["rest"].strip()
                self.found_at(path, at, line, f"material {said} in the head, {kept} in job.toml")


def _grades(text: str) -> set[str]:
    """Its words with a figure in them that are no bare measure: ``6061-T6``, ``C45``, ``316L``."""
    words = {word.strip(".-").upper() for word in _GRADE.findall(text)}
    return {
        word.replace("-", "").replace(".", "")
        for word in words
        if any(mark.isdigit() for mark in word) and not re.fullmatch(r"\d{1,3}|\d*\.\d{0,3}", word)
    }


RULES = (
    Rule(
        name="head-drawing",
        severity=WARN,
        what="The drawing and its revision in the head of the program are those of the job.",
        reason="The program was made for another drawing, or nobody looked at it when the drawing changed.",
        remedy="see which one is right, then put the comment or job.toml right",
        machines=ANY,
        follows=False,
        watch=HeaderDrawing,
        example=Example(
            trips=edited(("O1001 (TWO TOOLS)", "O1001 (DRAWING REV B)")),
            clean=edited(("O1001 (TWO TOOLS)", "O1001 (DRAWING REV C)")),
            sheet=SHEET,
            machine=MILL,
        ),
    ),
    Rule(
        name="head-material",
        severity=WARN,
        what="The material in the head of the program is that of the job, as far as grades are named.",
        reason="Feeds and speeds of one material break tools in another.",
        remedy="see which one is right, then put the comment or job.toml right",
        machines=ANY,
        follows=False,
        watch=HeaderMaterial,
        example=Example(
            trips=edited(("O1001 (TWO TOOLS)", "O1001 (MATERIAL: 1.4301)")),
            clean=edited(("O1001 (TWO TOOLS)", "O1001 (MATERIAL: 6061-T6)")),
            sheet=SHEET,
            machine=MILL,
        ),
    ),
)
