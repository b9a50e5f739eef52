"""Following the calls of an operation from its main program through every program called.

Rules of findings (severity ``refuse``):

``call-missing``   a number nobody answers to, neither in the repository nor resident in the machine's control
``call-twice``     two programs answer on one level
``call-resident``  one in the repository and one resident in a control: nobody can say which one would run
``call-bound``     more programs than any honest operation calls: the search stopped
"""

from collections.abc import Iterable

from tracker.frozen import dataclass, field
from tracker.nc.call import Call
from tracker.records.events import Finding, Outside
from tracker.records.shop import Shop
from tracker.services.call_lookup import Found, Lookup
from tracker.services.paths import name_of

MOST_PROGRAMS = 500
"""A bound no honest operation reaches; beyond it the search stops with a finding."""


_MAYBE_LOCAL = frozenset({"M96"})
"""A program called at an interrupt on some controls, a line to go to on others."""
_AT_INTERRUPT = "a line of this program, or a program called at an interrupt that is not here"
_IN_DOUBT = "a comment on most controls, on some the call of a program that is not here"


@dataclass(slots=True)
class Walk:
    """What following the calls found: paths in the order met, and what is to be said about the calls."""

    lookup: Lookup
    resident: dict[str, frozenset[int]]
    paths: list[str] = field(default_factory=list)
    data: dict[str, bytes] = field(default_factory=dict)
    outside: dict[tuple[str, str], Outside] = field(default_factory=dict)
    findings: dict[tuple[str, str, int], Finding] = field(default_factory=dict)
    notes: dict[str, None] = field(default_factory=dict)

    def run(self, main: str) -> None:
        """Follow every call from the program ``main``."""
        waiting = [main]
        while waiting:
            path = waiting.pop(0)
            if path in self.data:
                continue
            if len(self.paths) >= MOST_PROGRAMS:
                self._bound(path)
                return
            data = self.lookup.index.tree.read(path)
            if data is None:  # gone since the files were listed
                continue
            self.paths.append(path)
            self.data[path] = data
            for call in self.lookup.index.facts(data).calls:
                waiting += self._follow(path, call)

    def _follow(self, path: str, call: Call) -> Iterable[str]:
        """The programs one call may run."""
        if call.variable or not call.readings:
            self._say_outside(path, call, call.text, "called by a variable, an expression or a name")
            return ()
        found = {number: self.lookup.find(number) for number, _ in call.readings}
        reached: list[str] = []
        for number, who in found.items():
            if who is not None:
                self._judge(path, call, number, who)
                reached += who.paths
        for number, who in found.items():
            if who is None and self._machines_with(number):
                self._resident_call(path, call, number, also_kept=bool(reached))
        known = bool(reached) or any(self._machines_with(number) for number in found)
        if not known and (call.word in _MAYBE_LOCAL or call.doubtful):
            why = _IN_DOUBT if call.doubtful else _AT_INTERRUPT
            self._say_outside(path, call, call.text, why)
        elif not known:
            self._missing(path, call, next(iter(found)), "in the repository or resident in a control")
        if len(call.readings) > 1 and known:
            self._note_readings(path, call, found)
        return reached

    def _machines_with(self, number: int) -> list[str]:
        return [machine for machine, programs in self.resident.items() if number in programs]

    def _judge(self, path: str, call: Call, number: int, who: Found) -> None:
        if len(who.paths) > 1:
            self._find(
                "call-twice",
                path,
                call,
                number,
                f"{_o(number)} is called, and {len(who.paths)} programs in {who.where} answer to it: "
                + ", ".join(who.paths),
                "keep one of them, or give the other its own number",
            )
        machines = self._machines_with(number)
        if machines:
            self._find(
                "call-resident",
                path,
                call,
                number,
                f"{_o(number)} is called; it is in the repository ({who.paths[0]}) and resident in {', '.join(machines)}",
                "take it out of the repository, or out of `resident` in shop.toml",
            )

    def _resident_call(self, path: str, call: Call, number: int, *, also_kept: bool) -> None:
        machines = self._machines_with(number)
        self._say_outside(path, call, str(number), f"{_o(number)} is resident in {', '.join(machines)}")
        without = [machine for machine in self.resident if machine not in machines]
        if without and not also_kept:
            self._missing(path, call, number, f"for {', '.join(without)}")

    def _say_outside(self, path: str, call: Call, once_for: str, why: str) -> None:
        """Note a call the record does not cover, once a file and ``once_for``."""
        said = Outside(file=path, line=call.line, text=call.text, why=why)
        self.outside.setdefault((path, once_for), said)

    def _missing(self, path: str, call: Call, number: int, where: str) -> None:
        several = " or ".join(_o(n) for n, _ in call.readings)
        self._find(
            "call-missing",
            path,
            call,
            number,
            f"{several} is called and is not there {where}",
            "lay the program in the operation's folder, under the job or in common/, or list it as `resident`",
        )

    def _note_readings(self, path: str, call: Call, found: dict[int, Found | None]) -> None:
        ways = " or ".join(
            f"{_o(number)} {'once' if repeats == 1 else f'{repeats} times'}"
            for number, repeats in call.readings
        )
        present = [_o(n) for n, who in found.items() if who or self._machines_with(n)]
        self.notes.setdefault(
            f"{name_of(path)}: {call.text} may mean {ways}; {' and '.join(present)} belongs to the operation"
        )

    def _find(self, rule: str, path: str, call: Call, number: int, message: str, remedy: str) -> None:
        finding = Finding(
            rule=rule, severity="refuse", message=message, file=path, line=call.line, remedy=remedy
        )
        self.findings.setdefault((rule, path, number), finding)

    def _bound(self, path: str) -> None:
        self.findings.setdefault(
            ("call-bound", path, 0),
            Finding(
                rule="call-bound",
                severity="refuse",
                message=f"more than {MOST_PROGRAMS} programs are called; the search stopped",
                file=path,
                remedy="split the operation",
            ),
        )


def residents(shop: Shop, machines: Iterable[str]) -> dict[str, frozenset[int]]:
    """The programs living in the control of each machine; a machine the shop does not list has none."""
    known = ((name, shop.machine(name)) for name in machines)
    return {name: frozenset(m.resident if m else ()) for name, m in known}


def _o(number: int) -> str:
    return f"O{number:04}"
