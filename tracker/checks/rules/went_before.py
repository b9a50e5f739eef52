"""What the text does beside what was released and proven of the operation before."""

from collections import Counter
from collections.abc import Iterator, Mapping

from tracker.checks.examples import MILL, MILLING, SHEET, edited
from tracker.checks.finding import REFUSE, WARN
from tracker.checks.lost import hides_nothing
from tracker.checks.rule import ANY, Example, Rule
from tracker.checks.spans import lines_of
from tracker.checks.subject import Earlier, Subject
from tracker.checks.watch import Watch, fig
from tracker.machining.control import Control
from tracker.machining.summary import Summary, ToolSummary


class _Beside(Watch):
    """Sums up both texts; figures behind what was not followed in either are not told."""

    def begin(self, control: Control) -> None:
        """Nothing to do where nothing went before."""
        earlier = self._earlier()
        if earlier is None:
            if self.subject.on_record.unread is not None:
                self.unknown(f"the record could not be read: {self.subject.on_record.unread}")
            return
        if not all(program.readable for program in earlier.programs):
            self.unknown(f"{earlier.label} is kept to the letter: what it did is not known")
            return
        now, then = (one.summary(lathe=control.lathe) for one in (self.subject, self.subject.then(earlier)))
        for summary, whose in ((now, "this text"), (then, earlier.label)):
            lost = next((why for why in summary.not_followed if not hides_nothing(why)), None)
            if lost is not None:
                self.unknown(f"{whose} could not be followed whole: {lost}")
                return
        self.compare(now, then, earlier)

    def _earlier(self) -> Earlier | None:
        raise NotImplementedError

    def compare(self, now: Summary, then: Summary, earlier: Earlier) -> None:
        """Say what differs."""
        raise NotImplementedError

    def at(self, line: int, message: str, tool: str | None) -> None:
        """A finding at a line of the main program."""
        main = self.subject.main
        lines = lines_of(main.data)
        line = min(max(line, 1), max(len(lines), 1))
        text = lines[line - 1] if lines else ""
        self.found_at(main.path, line, text, message, tool=int(tool) if tool and tool.isdigit() else None)


class StopsNotAsReleased(_Beside):
    """M0 and M1 of each tool."""

    def _earlier(self) -> Earlier | None:
        return self.subject.on_record.released

    def compare(self, now: Summary, then: Summary, earlier: Earlier) -> None:
        """By tool and word."""
        have, had = _stops(now), _stops(then)
        for tool, word in dict.fromkeys((*have, *had)):
            is_, was = have[tool, word], had[tool, word]
            if is_ != was:
                line = next(
                    (
                        at
                        for (at, met), of in zip(now.stops, now.stops_of, strict=True)
                        if (of, met) == (tool, word)
                    ),
                    next((one.line for one in now.tools if one.tool == tool), 1),
                )
                self.at(line, f"{is_} {word}, {earlier.label} has {was}", tool)


class FewerTools(_Beside):
    """Tools that are not changed to any more."""

    def _earlier(self) -> Earlier | None:
        return self.subject.on_record.proven

    def compare(self, now: Summary, then: Summary, earlier: Earlier) -> None:
        """By number: a section commented out to save time is found by the tool it was for."""
        gone = [tool for tool in dict.fromkeys(then.order) if tool not in now.order]
        if gone and len(set(now.order)) < len(set(then.order)):
            self.at(
                now.tools[0].line if now.tools else 1,
                f"{len(set(now.order))} tools, {earlier.label} as proven has {len(set(then.order))}: "
                f"{', '.join('T' + tool for tool in gone)} not used any more",
                None,
            )


class Leap(_Beside):
    """F and S of a tool, many times what they were: the slip of a point."""

    def _earlier(self) -> Earlier | None:
        return self.subject.on_record.proven

    def compare(self, now: Summary, then: Summary, earlier: Earlier) -> None:
        """Tools of one number and one description."""
        before = {one.tool: one for one in then.tools}
        for one in now.tools:
            was = before.get(one.tool)
            if was is None or one.tool is None:
                continue
            if self._sheet(one.tool, self.subject) != self._sheet(one.tool, self.subject.then(earlier)):
                self.unknown(f"T{one.tool} is described as another tool than in {earlier.label}")
            elif now.units != then.units:
                self.unknown(f"{earlier.label} is in other units")
            else:
                for message in self._leaps(one, was, earlier, lathe=now.lathe):
                    self.at(one.line, message, one.tool)

    def _sheet(self, tool: str, subject: Subject) -> str:
        held = subject.tool(int(tool)) if tool.isdigit() else None
        return " ".join(((held.description or "") if held else "").upper().split())

    def _leaps(self, now: ToolSummary, was: ToolSummary, earlier: Earlier, *, lathe: bool) -> Iterator[str]:
        """Of a lathe S hangs on the diameter (G96) and is not looked at."""
        factor = self.subject.checks.leap
        pairs = [("F", now.feed_max, was.feed_max), ("F", now.feed_min, was.feed_min)]
        if now.feed_mode != was.feed_mode:
            self.unknown(f"feeds of T{now.tool} are told in another mode than in {earlier.label}")
            pairs = []
        if not lathe:
            pairs += [("S", now.rpm_max, was.rpm_max), ("S", now.rpm_min, was.rpm_min)]
        said = set[str]()
        for word, new, old in pairs:
            if new is None or not old or word in said:
                continue
            if new >= old * factor or new <= old / factor:
                said.add(word)
                yield f"{word}{fig(new)}, {earlier.label} was proven with {word}{fig(old)}: {_times(new, old)}"


def _times(new: float, old: float) -> str:
    return (
        f"{fig(new / old)} times as much"
        if new > old
        else f"{fig(old / new)} times less"
        if new
        else "none at all"
    )


def _stops(summary: Summary) -> Mapping[tuple[str | None, str], int]:
    return Counter((tool, word) for (_, word), tool in zip(summary.stops, summary.stops_of, strict=True))


RULES = (
    Rule(
        name="stops-not-as-released",
        severity=WARN,
        what="Each tool has as many M0 and M1 as in the last release.",
        reason="A stop left from the prove-out costs time on every part; one that is gone was there for a look.",
        remedy="take the stop out, or put it back; where it is meant, waive it with the reason",
        machines=ANY,
        follows=False,
        watch=StopsNotAsReleased,
        example=Example(
            trips=edited(("Z0.15\n", "Z0.15\nM1\n")), clean=MILLING, sheet=SHEET, machine=MILL, before=MILLING
        ),
    ),
    Rule(
        name="fewer-tools",
        severity=WARN,
        what="No tool of the text proven last is left out.",
        reason="A section taken out to save time in the prove-out is missed on the first part nobody looks at.",
        remedy="put the section back; where it is meant, waive it with the reason",
        machines=ANY,
        follows=False,
        watch=FewerTools,
        example=Example(
            trips=edited((MILLING[MILLING.index("(NO. 7 DRILL)") : MILLING.index("G28 Y0.")], "G91\n")),
            clean=MILLING,
            sheet=SHEET,
            machine=MILL,
            before=MILLING,
            also=("sheet-tool-unused", "precall-wrong"),
        ),
    ),
    Rule(
        name="feed-or-speed-leap",
        severity=REFUSE,
        what="No F or S of a tool is five times (leap of [checks]) what it was in the text proven last, or a fifth.",
        reason="A point that slipped: F12. for F1.2 breaks the tool, or throws it.",
        remedy="put the point right; where it is meant, waive it with the reason",
        machines=ANY,
        follows=False,
        watch=Leap,
        example=Example(
            trips=edited(("F12.", "F120.")), clean=MILLING, sheet=SHEET, machine=MILL, before=MILLING
        ),
    ),
)
