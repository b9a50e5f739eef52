"""The feed: stated before it is needed, above nothing, and no faster than the machine."""

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.trail import is_cut
from tracker.checks.watch import Stretch, Watch, fig
from tracker.machining.control import Control
from tracker.machining.watch import Block, Move

_MODES = frozenset(("G93", "G94", "G95", "G98", "G99"))
_REVOLUTION = "per-revolution"
_PROBING = ("G31", "G36", "G37", "G38")


class NoFeed(Watch):
    """A feed move with no F so far, or none since G93, G94 or G95 changed; told once each."""

    def begin(self, control: Control) -> None:
        """No F so far."""
        self._stated = False
        self._told = False
        self._way: str | None = _way(control)

    def acted(self, block: Block, control: Control) -> None:
        """Another way of reading F asks for a new one."""
        way = _way(control)
        if way != self._way and self._way is not None:
            self._stated = self._told = False
        self._way = way
        self._stated |= "F" in self.trail.words

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A feed move."""
        self._stated |= "F" in self.trail.words
        if is_cut(move) and not move.code.startswith(_PROBING):
            self._judge(block, control, stated=self._stated)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves: the first with no F stated so far, else the first with F0."""
        if stretch.unfed is not None and not self._stated:
            self._tell(stretch.unfed, stated=False)
        self._stated |= "F" in stretch.letters
        if stretch.halted is not None:
            self._tell(stretch.halted, stated=True)

    def _judge(self, block: Block, control: Control, *, stated: bool) -> None:
        if not stated or control.feed == 0:
            self._tell(block, stated=stated)

    def _tell(self, block: Block, *, stated: bool) -> None:
        if self._told:
            return
        self._told = True
        if stated:
            self.found(block, "a feed move with F0, needed: F above 0")
        else:
            self.absent(block, "a feed move with no F stated so far, needed: F")


def _way(control: Control) -> str | None:
    """How F is read; a mill that has not said so reads it per minute, of a lathe nobody knows."""
    return control.feed_mode or (None if control.lathe else "per-minute")


class FeedOverLimit(Watch):
    """F, per minute or per revolution times S, against the fastest axis of the machine; told once a tool.

    Per revolution it is looked at where it cuts: until then S may still change. Under G96 what turns hangs on the diameter.
    """

    def begin(self, control: Control) -> None:
        """The fastest rapid of the machine."""
        machine = self.subject.machine
        speeds = (
            []
            if machine is None or machine.rapid is None
            else [one for one in (machine.rapid.x, machine.rapid.y, machine.rapid.z) if one is not None]
        )
        self._limit = max(speeds) if speeds else None
        self._told = False
        if machine is None:
            self.unknown("no machine: its rapid is not known")
        elif not speeds:
            self.unknown(f"rapid of {machine.id} is not stated")

    def tool(self, block: Block, control: Control) -> None:
        """Each tool by itself."""
        self._told = False

    def acted(self, block: Block, control: Control) -> None:
        """A block that names F."""
        if "F" in self.trail.words:
            self._judge(block, control.feed, control)

    def move(self, block: Block, move: Move, control: Control) -> None:
        """A cutting move made with F per revolution."""
        if control.feed_mode == _REVOLUTION and is_cut(move):
            self._judge_turning(block, control.feed, control)

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves; the highest F they are made with."""
        if stretch.fastest is None:
            return
        feed, block = stretch.fastest
        if control.feed_mode == _REVOLUTION:
            self._judge_turning(block, feed, control)
        elif "F" in stretch.letters:
            self._judge(block, feed, control)

    def _judge(self, block: Block, feed: float | None, control: Control) -> None:
        if self._limit is None or self._told or control.feed_mode in ("inverse", _REVOLUTION):
            return
        if control.lathe and control.feed_mode is None:
            self.unknown("on a lathe, whether F is per minute is not stated", block)
            return
        limit = self.of_machine(self._limit, control)
        if feed is not None and feed > limit:
            self._told = True
            self.found(
                block, f"F{fig(feed)}, the fastest rapid is {fig(limit)}, {fig(feed - limit)} too fast"
            )

    def _judge_turning(self, block: Block, feed: float | None, control: Control) -> None:
        if self._limit is None or self._told or control.surface or feed is None or control.speed is None:
            return
        limit, rate = self.of_machine(self._limit, control), feed * control.speed
        if rate > limit:
            self._told = True
            self.found(
                block,
                f"F{fig(feed)} a revolution with S{fig(control.speed)} is {fig(rate)} a minute, the fastest rapid is "
                f"{fig(limit)}, {fig(rate - limit)} too fast",
            )


RULES = (
    Rule(
        name="no-feed",
        severity=REFUSE,
        what="An F stands before the first feed move, above 0, and again after G93, G94 or G95 changes.",
        reason="The tool cuts with the feed of the job before or of another way of reading F, or the control stops.",
        remedy="write F in the first block that cuts",
        machines=ANY,
        source="NISTIR 6556 section 3.5.19; Table 8",
        watch=NoFeed,
        example=Example(
            trips=edited(("G1 Z-0.1 F20.", "G1 Z-0.1")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="feed-over-limit",
        severity=REFUSE,
        what="F per minute, or per revolution times S, is not faster than the fastest rapid of the machine.",
        reason="A point was lost or a unit mistaken: the tool would be driven as fast as the machine goes.",
        remedy="put F right; the limit is the greatest figure of the machine's rapid",
        machines=ANY,
        watch=FeedOverLimit,
        example=Example(trips=edited(("X0. F40.", "X0. F4000.")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
)
