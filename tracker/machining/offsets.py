"""Work offsets, G52, G92 and tool lengths: what they do to where the axes stand, as far as the figures are known.

The machine's coordinate of an axis is what is programmed plus the work offset, G52, G92 and, on Z, the tool length
(NISTIR 6556 sections 3.2.2, 3.5.11, 3.5.13, 3.5.18; G52 from memory). When one of them changes, the axes stand still
and what is programmed for the same place changes the other way.
"""

from collections.abc import Mapping

from tracker.machining.axes import LINEAR
from tracker.machining.control import Control
from tracker.machining.setting import Setting

Known = list[float | None]

FIRST = "G54"
"""In force where none was named yet (NISTIR 6556 section 3.6.1: what M2 and M30 go back to)."""


class Offsets:
    """Figures of offsets, in base units; None where one is not known.

    Attributes:
        work: work offsets by code, X Y Z.
        lengths: tool lengths by H.
        lost: axes whose G92 shift is not known.
        kept: shift put aside by G92.2.
    """

    def __init__(self, setting: Setting) -> None:
        self.work: dict[str, Known] = {code: list(figures) for code, figures in setting.offsets.items()}
        self.lengths: dict[int, float | None] = dict(setting.lengths)
        self.lost: set[int] = set()
        self.kept: list[float] = [0.0] * LINEAR

    def scale(self, factor: float) -> None:
        """Everything in other units."""
        self.work = {
            code: [None if one is None else one * factor for one in row] for code, row in self.work.items()
        }
        self.lengths = {h: None if one is None else one * factor for h, one in self.lengths.items()}
        self.kept = [one * factor for one in self.kept]

    def of_work(self, code: str | None) -> Known:
        """The figures of a work offset."""
        return self.work.get(code or FIRST, [None] * LINEAR)

    def of_length(self, control: Control) -> float | None:
        """The tool length in force: 0 without one, None where it is not known."""
        if control.length == "49" or control.h == 0:
            return 0.0
        if control.length in ("43", "44") and control.h is not None:
            figure = self.lengths.get(control.h)
            return None if figure is None else figure if control.length == "43" else -figure
        return None

    def shift(self, control: Control, place: int) -> float | None:
        """Machine coordinate less programmed coordinate of a linear axis; None where it is not known."""
        work = self.of_work(control.offset)[place]
        length = self.of_length(control) if place == LINEAR - 1 and not control.lathe else 0.0
        if work is None or length is None or place in self.lost:
            return None
        return work + length + control.local[place] + control.moved[place]

    def select(self, control: Control, code: str) -> None:
        """Another work offset comes into force."""
        if code == (control.offset or FIRST):
            control.offset = code
            return
        before, after = self.of_work(control.offset), self.of_work(code)
        control.offset = code
        for place in range(LINEAR):
            move(control, place, before[place], after[place])

    def set_length(self, control: Control, mode: str | None, h: int | None) -> None:
        """Another tool length comes into force."""
        same = (mode, h) == (control.length, control.h)
        before = self.of_length(control)
        control.length, control.h = mode, h
        if not same:
            move(control, LINEAR - 1, before, self.of_length(control))

    def local(self, control: Control, named: Mapping[int, float | None]) -> None:
        """G52: the zero of the work offset moves by these figures."""
        for place, figure in named.items():
            if place >= LINEAR:
                control.position[place] = None
                continue
            move(control, place, control.local[place], figure)
            control.local[place] = figure or 0.0
            if figure is None:
                self.lost.add(place)

    def stand_at(self, control: Control, named: Mapping[int, float | None]) -> None:
        """G92: the axes stand at these figures from here on."""
        for place, figure in named.items():
            here = control.position[place]
            control.position[place] = figure
            if place >= LINEAR:
                continue
            if here is None or figure is None:
                self.lost.add(place)
            else:
                control.moved[place] += here - figure

    def stand_back(self, control: Control, shift: list[float]) -> None:
        """G92.1, G92.2, G92.3: another shift in place of the one in force."""
        for place in range(LINEAR):
            before = None if place in self.lost else control.moved[place]
            move(control, place, before, shift[place])
            control.moved[place] = shift[place]
        self.lost.clear()


def move(control: Control, place: int, before: float | None, after: float | None) -> None:
    """An offset of an axis goes from one figure to another, the axis standing still."""
    here = control.position[place]
    if here is None or before is None or after is None:
        control.position[place] = None
    else:
        control.position[place] = here + before - after
