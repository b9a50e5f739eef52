"""Pages of ``explain`` for the rules of the checks, made from the rules themselves."""

from tracker.checks.finding import INFO, REFUSE, WARN
from tracker.checks.registry import FAMILIES
from tracker.checks.rule import Rule
from tracker.reports.page import Page

_SEVERITY = {
    REFUSE: "No release while it stands unwaived",
    WARN: "It needs a look; it does not stop a release",
    INFO: "It is told so that somebody knows; nothing is stopped",
}
_MOST_LINES = 3


def rule_pages() -> tuple[Page, ...]:
    """A page for every rule."""
    return tuple(_page(rule, family) for family, rules in FAMILIES.items() for rule in rules)


def _page(rule: Rule, family: str) -> Page:
    kind = "" if rule.machines == "any" else f", for a {rule.machines}"
    means = f"{rule.what} {rule.reason} ({family}{kind}; {_SEVERITY[rule.severity].lower()}. Source: {rule.source}.)"
    shown = _shown(rule)
    return Page(rule.name, "finding", f"{means} {shown}".strip(), f"{_sentence(rule.remedy)}{_waiver(rule)}")


def _shown(rule: Rule) -> str:
    """What the program that trips has, and what the clean one has in its place."""
    trips, clean = rule.example.trips.splitlines(), rule.example.clean.splitlines()
    front = 0
    while front < min(len(trips), len(clean)) and trips[front] == clean[front]:
        front += 1
    back = 0
    while back < min(len(trips), len(clean)) - front and trips[-1 - back] == clean[-1 - back]:
        back += 1
    bad = trips[front : len(trips) - back][:_MOST_LINES]
    good = clean[front : len(clean) - back][:_MOST_LINES]
    if not bad and not good:
        return ""
    found = f"Found at: {' | '.join(bad)}." if bad else f"Found where this is missing: {' | '.join(good)}."
    return found + (f" Not found at: {' | '.join(good)}." if bad and good else "")


def _sentence(remedy: str) -> str:
    return remedy[:1].upper() + remedy[1:] + "."


def _waiver(rule: Rule) -> str:
    if rule.severity == INFO:
        return ""
    return f' To let it stand: [[operations.waivers]] in job.toml with rule = "{rule.name}", tool or line, reason, by.'
