"""What an audit says, and the same as plain values to be kept for the next one."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from tracker.services.problem import REFUSE, Problem

_COUNTS = ("commits", "programs", "records", "releases")


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditReport:
    """What does not hold, and how much was looked at; ``integrity``: only whether the record is whole."""

    problems: tuple[Problem, ...]
    commits: int
    programs: int
    records: int
    releases: int
    timezone: str
    integrity: bool = False

    @property
    def broken(self) -> bool:
        """Whether the record itself is in doubt: a problem of severity refuse."""
        return any(problem.severity == REFUSE for problem in self.problems)


def values_of(report: AuditReport) -> dict[str, object]:
    """The report as values JSON can hold."""
    return asdict(report)


def report_of(values: Mapping[str, object] | None) -> AuditReport | None:
    """The report from such values; None for anything that is not exactly such a report."""
    problems = values.get("problems") if values is not None else None
    if values is None or not isinstance(problems, list):
        return None
    counts = {name: count for name in _COUNTS if isinstance(count := values.get(name), int)}
    timezone = values.get("timezone")
    found = tuple(one for said in problems if (one := _problem(said)) is not None)
    if len(counts) != len(_COUNTS) or not isinstance(timezone, str) or len(found) != len(problems):
        return None
    return AuditReport(
        problems=found,
        timezone=timezone,
        commits=counts["commits"],
        programs=counts["programs"],
        records=counts["records"],
        releases=counts["releases"],
    )


def commits_values(tips: Sequence[str], problems: Sequence[Problem]) -> dict[str, object]:
    """What was found of all commits these lead to, as values JSON can hold."""
    return {"tips": list(tips), "problems": [asdict(one) for one in problems]}


def commits_of(values: Mapping[str, object]) -> tuple[tuple[str, ...], tuple[Problem, ...]]:
    """Tips and problems from such values; nothing for anything that is not exactly that."""
    tips, problems = values.get("tips"), values.get("problems")
    if not isinstance(tips, list) or not isinstance(problems, list):
        return (), ()
    found = tuple(one for said in problems if (one := _problem(said)) is not None)
    if len(found) != len(problems) or not all(isinstance(tip, str) for tip in tips):
        return (), ()
    return tuple(tips), found


def _problem(said: object) -> Problem | None:
    names = ("problem", "severity", "where", "message")
    if not isinstance(said, dict) or not all(isinstance(said.get(name), str) for name in names):
        return None
    return Problem(**{name: str(said[name]) for name in names})
