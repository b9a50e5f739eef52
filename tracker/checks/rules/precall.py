"""T and M6: the right tool is staged where the changer wants it so, and is not where it must not be."""

from tracker.checks.examples import MILL, MILLING, SHEET, UMBRELLA, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.rule import Example, Rule
from tracker.checks.watch import Stretch, Watch
from tracker.machining.control import Control
from tracker.machining.watch import Block, Event, Move
from tracker.nc.codes import code_of
from tracker.nc.word import Word

SIDE_MOUNT, UMBRELLA_CHANGER, MANUAL = "side-mount", "umbrella", "manual"
NO_CHANGE = "no M6 in the program: T may change the tool by itself"


class _Changer(Watch):
    """What is common: the kind of changer, and the T words met."""

    wants = SIDE_MOUNT

    def begin(self, control: Control) -> None:
        """The changer is looked at when the first T is met."""
        machine = self.subject.machine
        self._changer = machine.changer if machine else None
        self._begun = False

    def applies(self, block: Block) -> bool:
        """Whether the rule is for this machine's changer."""
        if self._changer is None and not self._begun:
            machine = self.subject.machine
            self.unknown(
                f"changer of {machine.id} is not stated"
                if machine
                else "no machine: its changer is not known",
                block,
            )
        self._begun = True
        return self._changer == self.wants

    def called(self, block: Block) -> int | None:
        """The tool a block calls for; None also where it cannot be told, which is then said."""
        word = self.trail.words.get("T")
        if word is None:
            return None
        number = tool_number(word)
        if number is None:
            self.unknown("a T by variable", block)
        return number


class _Staging(_Changer):
    """T words between two changes: which tools were called for since the last M6."""

    def begin(self, control: Control) -> None:
        """No change so far."""
        super().begin(control)
        self.first: int | None = None
        self.changed = False
        self.staged: list[tuple[int, Block]] = []
        self.untold = False

    def block(self, block: Block, control: Control) -> None:
        """A T, an M6, or both."""
        trail = self.trail
        changes = "M6" in trail.codes
        if not ("T" in trail.words or changes) or not self.applies(block):
            return
        number = self.called(block)
        self.untold |= number is None and "T" in trail.words
        if changes:
            self.change(block, number)
        elif number is not None:
            self.staged.append((number, block))

    def change(self, block: Block, number: int | None) -> None:
        """An M6, with the T of its block or None; nothing is asked where a T cannot be told."""
        if not self.untold:
            self.judge(block, number)
            if not self.changed:
                self.first = number or (self.staged[-1][0] if self.staged else None)
        self.changed = True
        self.untold = False
        self.staged.clear()

    def judge(self, block: Block, number: int | None) -> None:
        """What is asked at a change."""

    def event(self, block: Block, event: Event, control: Control) -> None:
        """At the end of the main program the first tool is called for, so that the next piece starts with it."""
        ends = event.what == "end" and event.value in ("M2", "M30") and not block.depth
        if ends and self.changed and self.first and not self.untold and self._changer == self.wants:
            self.judge_end(block, self.first)

    def judge_end(self, block: Block, first: int) -> None:
        """What is asked at the end."""

    def end(self, control: Control) -> None:
        """In a text without any M6 a T may change the tool by itself."""
        if self.staged and not self.changed:
            self.unknown(NO_CHANGE, self.staged[0][1])


class NoPrecall(_Staging):
    """A side-mount changer whose next tool is not called for in time."""

    def judge(self, block: Block, number: int | None) -> None:
        """Nothing was staged since the last change, and this block names its tool only now."""
        if self.changed and number and not self.staged and number != self.trail.tool:
            self.absent(
                block,
                f"T{number} was not called for before its change; found no T since the last M6",
                tool=number,
            )

    def judge_end(self, block: Block, first: int) -> None:
        """Nothing was called for after the last change."""
        if first != self.trail.tool and not self.staged:
            self.absent(block, f"the last tool does not call for the first one, needed T{first}")


class PrecallWrong(_Staging):
    """What is staged is not what is changed to."""

    def judge(self, block: Block, number: int | None) -> None:
        """T of the M6 block against the last T before it."""
        if number is None or not self.staged:
            return
        last, _ = self.staged[-1]
        if last != number:
            self.found(block, f"changes to T{number}, and T{last} was called for before it", tool=number)

    def judge_end(self, block: Block, first: int) -> None:
        """The last T of the program is the first tool."""
        if self.staged and self.staged[-1][0] != first:
            last, where = self.staged[-1]
            self.found(where, f"the last T of the program is T{last}, needed T{first}, its first tool")


class TwoPrecalls(_Staging):
    """Several tools called for between two changes."""

    def judge(self, block: Block, number: int | None) -> None:
        """Two T words that differ."""
        numbers = list(dict.fromkeys(tool for tool, _ in self.staged))
        if len(numbers) > 1:
            listed = ", ".join(f"T{tool}" for tool in numbers)
            self.found(self.staged[-1][1], f"calls for {listed} before one change; needed one")


class ChangeWithoutTool(Watch):
    """M6 with no T since the change before."""

    def begin(self, control: Control) -> None:
        """No T so far."""
        self._called = False

    def block(self, block: Block, control: Control) -> None:
        """T and M6 in either order, in one block or in two."""
        trail = self.trail
        self._called |= "T" in trail.words
        if "M6" not in trail.codes:
            return
        machine = self.subject.machine
        by_hand = machine is not None and machine.changer == MANUAL
        if not self._called and not by_hand:
            self.absent(block, "M6 with no T since the last change; found none, needed one")
        self._called = False


class PrecallOnUmbrella(_Changer):
    """A T with no M6 on a changer that turns its magazine for it."""

    wants = UMBRELLA_CHANGER

    def begin(self, control: Control) -> None:
        """Nothing waits."""
        super().begin(control)
        self._waiting: tuple[int, Block] | None = None
        self._met: list[tuple[int, Block, int | None]] = []
        self._changed = False

    def block(self, block: Block, control: Control) -> None:
        """T and M6 on two lines are one call as long as nothing moves between."""
        trail = self.trail
        if "M6" in trail.codes:
            self._waiting = None
            self._changed = True
        elif "T" in trail.words and self.applies(block):
            number = self.called(block)
            self._waiting = None if number is None else (number, block)

    def move(self, block: Block, move: Move, control: Control) -> None:
        """Something moves while a tool waits."""
        self._note()

    def stretch(self, stretch: Stretch, control: Control) -> None:
        """Cutting moves."""
        self._note()

    def _note(self) -> None:
        if self._waiting is not None:
            self._met.append((*self._waiting, self.trail.tool))
            self._waiting = None

    def end(self, control: Control) -> None:
        """In a text without any M6 a T may change the tool by itself."""
        for number, block, tool in self._met:
            if self._changed:
                message = f"T{number} is called for and not changed to before the next move"
                self.found(block, message, tool=tool)
            else:
                self.unknown(NO_CHANGE, block)


def tool_number(word: Word) -> int | None:
    """The number of a T word; None by variable or expression."""
    code = code_of(word.number)
    return int(code) if code.isdigit() else None


_ONE_T = edited(("T2\nG0 G17", "G0 G17"), ("T1\nG0 G17", "G0 G17"))

RULES = (
    Rule(
        name="no-precall",
        severity=REFUSE,
        what="On a side-mount changer each tool is called for by a T of its own after the change before it, the first "
        "tool at the end of the program.",
        reason="The changer searches its magazine while the spindle waits; and what is staged by chance may come in.",
        remedy="write T with the next tool's number after each tool change, the first tool's in the last section",
        watch=NoPrecall,
        example=Example(trips=edited(("T1 M6\nT2\n", "T1 M6\n")), clean=MILLING, sheet=SHEET, machine=MILL),
    ),
    Rule(
        name="precall-wrong",
        severity=REFUSE,
        what="On a side-mount changer the tool called for is the one that is changed to next.",
        reason="The wrong tool stands ready: it comes in, or the change waits for another search.",
        remedy="write the number of the next tool; pre-calls are easiest written from the end of the program upwards",
        watch=PrecallWrong,
        example=Example(
            trips=edited(("T1 M6\nT2\n", "T1 M6\nT3\n")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="two-precalls",
        severity=WARN,
        what="On a side-mount changer one tool is called for between two changes.",
        reason="The second call undoes the first; one of them is a slip.",
        remedy="leave only the T of the next tool",
        watch=TwoPrecalls,
        example=Example(
            trips=edited(("T1 M6\nT2\n", "T1 M6\nT3\nT2\n")), clean=MILLING, sheet=SHEET, machine=MILL
        ),
    ),
    Rule(
        name="change-without-tool",
        severity=REFUSE,
        what="Every M6 has a T in its block or before it, since the last change.",
        reason="Whatever is staged comes into the spindle, or nothing does.",
        remedy="write T with the tool's number before M6",
        watch=ChangeWithoutTool,
        example=Example(
            trips=edited(("T1 M6\nT2\n", "T1 M6\n"), ("T2 M6\nT1\n", "M6\n")),
            clean=_ONE_T,
            sheet=SHEET,
            machine=UMBRELLA,
            also=("h-not-tool", "sheet-tool-unused"),
        ),
    ),
    Rule(
        name="precall-on-umbrella",
        severity=WARN,
        what="On an umbrella changer a T stands with its M6.",
        reason="The magazine turns at once, over the part, or the control stops with an alarm.",
        remedy="take the pre-call out for this machine",
        watch=PrecallOnUmbrella,
        example=Example(
            trips=edited(("T2 M6\nG0", "T2 M6\nT1\nG0"), text=_ONE_T),
            clean=_ONE_T,
            sheet=SHEET,
            machine=UMBRELLA,
        ),
    ),
)
