"""Contour cycles of lathes: the profile P and Q name stands in the text, and opens as its cycle wants it."""

import re
from itertools import pairwise

from tracker.checks.examples import edited
from tracker.checks.examples_turning import LATHE as LATHE1
from tracker.checks.examples_turning import TURNING, TURNING_SHEET
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import LATHE, Example, Rule
from tracker.checks.spans import bare, labels_of, lines_of
from tracker.checks.watch import Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block
from tracker.nc.word import words

_CONTOUR = frozenset(("G70", "G71", "G72", "G73"))
_CALLS = {letter: re.compile(rf"{letter}[ \t]*0*([0-9]+)(?![0-9.])", re.IGNORECASE) for letter in "PQ"}
_COMMENT = re.compile(r"\([^)]*\)|;.*")
# the axis a pass of the cycle runs along, which the first block of its profile leaves alone, and the other one
_ALONG = {"G71": (("Z", "W"), "X"), "G72": (("X", "U"), "Z")}
_FIGURE = re.compile(r"[-+]?[0-9]*\.?[0-9]+\.?")


class _Profiles(Watch):
    """Blocks with P and Q of a contour cycle, and the lines that hold its profile."""

    def acted(self, block: Block, control: Control) -> None:
        """A block that names both."""
        if not self.trail.codes & _CONTOUR:
            return
        text = _COMMENT.sub("", block.text)
        first, last = (_CALLS[letter].search(text) for letter in "PQ")
        if first is None or last is None:
            return
        path = self.trail.path(block)
        program = next((one for one in self.subject.programs if one.path == path), self.subject.main)
        parts = self.subject.parts[program.path]
        part = next((one for one in parts if one.first <= block.line <= one.last), parts[0])
        lines = lines_of(program.data)
        self.judge(block, int(first[1]), int(last[1]), labels_of(lines, part), lines)

    def judge(self, block: Block, first: int, last: int, met: dict[int, list[int]], lines: list[str]) -> None:
        """Ask; ``met``: lines by the N they open with, ``lines``: the text."""


class ProfileMissing(_Profiles):
    """P and Q of a contour cycle against the N of its text."""

    def judge(self, block: Block, first: int, last: int, met: dict[int, list[int]], lines: list[str]) -> None:
        """Each once, and in this order."""
        for number in (first, last):
            times = len(met.get(number, ()))
            if times != 1:
                self.found(
                    block, f"N{number} stands {'nowhere' if not times else f'{times} times'}, needed once"
                )
                return
        if met[first][0] > met[last][0]:
            self.found(block, f"N{first} stands below N{last}: the profile ends before it begins")


class ProfileStart(_Profiles):
    """The first block of a profile, where it names the axis the passes run along."""

    def judge(self, block: Block, first: int, last: int, met: dict[int, list[int]], lines: list[str]) -> None:
        """Asked of profiles that never turn back: one with an undercut is for the cycle that wants both axes named."""
        code = next((one for one in _ALONG if one in self.trail.codes), None)
        begin, end = met.get(first, []), met.get(last, [])
        if code is None or len(begin) != 1 or len(end) != 1:
            return
        letters, across = _ALONG[code]
        held = [
            word
            for word in words(bare(lines[begin[0] - 1]))
            if word.letter in letters and not (word.letter in "UW" and not word.number.strip("+-0."))
        ]
        if held and not _turns_back(lines[begin[0] - 1 : end[0]], across):
            self.found(
                block,
                f"N{first}, the first block of the profile, names {held[0].text.strip()}; needed {across} alone",
            )


def _turns_back(lines: list[str], axis: str) -> bool:
    """Whether figures of an axis go one way and then the other; also where they cannot be read off the text."""
    held = [word for line in lines for word in words(bare(line)) if word.letter in (axis, "#")]
    if not all(_FIGURE.fullmatch(word.number) for word in held):
        return True
    steps = [later - earlier for earlier, later in pairwise(float(word.number) for word in held)]
    return any(step > 0 for step in steps) and any(step < 0 for step in steps)


RULES = (
    Rule(
        name="profile-missing",
        severity=REFUSE,
        what="P and Q of G70 to G73 name blocks that stand in the program once, P above Q.",
        reason="The control stops, or takes other blocks for the profile.",
        remedy="put P, Q or the N of the profile right",
        machines=LATHE,
        follows=False,
        watch=ProfileMissing,
        example=Example(
            trips=edited(("N9002 X42.", "N9003 X42."), text=TURNING),
            clean=TURNING,
            sheet=TURNING_SHEET,
            machine=LATHE1,
        ),
    ),
    Rule(
        name="profile-start",
        severity=WARN,
        what="The first block of a profile names X alone under G71, Z alone under G72, unless the profile has undercuts.",
        reason="Controls with the plain kind of cycle stop there with an alarm; others cut it another way (from memory).",
        remedy="approach along the other axis before the cycle, and name only one in the first block of the profile",
        machines=LATHE,
        follows=False,
        watch=ProfileStart,
        example=Example(
            trips=edited(("N9001 G0 X18.", "N9001 G0 X18. Z1."), text=TURNING),
            clean=TURNING,
            sheet=TURNING_SHEET,
            machine=LATHE1,
        ),
    ),
)
