"""What a check says: a finding, or that it could not be computed. Values, never exceptions."""

from tracker.frozen import dataclass
from tracker.records.job import Waiver

REFUSE, WARN, INFO = "refuse", "warn", "info"
SEVERITIES = (REFUSE, WARN, INFO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a rule found.

    Attributes:
        rule, severity: of the rule.
        message: the number found, the number needed, by how much; without a full stop.
        remedy: how to put it right.
        operation: id of the operation.
        machine: id of the machine it was checked for, or None.
        file: path of the program from the repository's root, or None (about the sheet).
        line: physical line there, counted from 1.
        text: that line as written.
        tool: number of the tool at work, as text.
        waived: the waiver that lets it stand.
    """

    rule: str
    severity: str
    message: str
    remedy: str
    operation: str
    machine: str | None = None
    file: str | None = None
    line: int | None = None
    text: str = ""
    tool: str | None = None
    waived: Waiver | None = None

    @property
    def stops(self) -> bool:
        """Whether it stands in the way of a release."""
        return self.severity == REFUSE and self.waived is None


@dataclass(frozen=True, slots=True, kw_only=True)
class NotComputed:
    """A rule that could not tell, and why; ``line`` is the first place where that showed."""

    rule: str
    why: str
    operation: str
    machine: str | None = None
    file: str | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What the rules said about one operation on one machine; ``checks`` are the names of all that were tried."""

    findings: tuple[Finding, ...]
    not_computed: tuple[NotComputed, ...]
    checks: tuple[str, ...]

    @property
    def done(self) -> tuple[str, ...]:
        """The checks that were computed in full."""
        left = {one.rule for one in self.not_computed}
        return tuple(name for name in self.checks if name not in left)
