"""Waivers: findings a named person lets stand. One rule, with a tool or the text of a line; nothing wider."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from tracker.checks.finding import Finding
from tracker.nc.word import words
from tracker.records.job import Waiver


def with_waivers(findings: Iterable[Finding], waivers: Sequence[Waiver]) -> tuple[Finding, ...]:
    """The findings, each with the first waiver that lets it stand.

    A waiver speaks for a finding of its rule, of its tool where it names one, and on a line with its words where it
    names one: line number, comments, blanks and case do not count.
    """
    return tuple(
        replace(finding, waived=next((one for one in waivers if speaks_for(one, finding)), None))
        for finding in findings
    )


def speaks_for(waiver: Waiver, finding: Finding) -> bool:
    """Whether a waiver lets a finding stand."""
    if waiver.rule.lower() != finding.rule or (waiver.tool is None and waiver.line is None):
        return False
    if waiver.tool is not None and str(waiver.tool) != finding.tool:
        return False
    if waiver.line is None:
        return True
    wanted = line_words(waiver.line)
    return bool(wanted) and wanted == line_words(finding.text)


def line_words(line: str) -> tuple[str, ...]:
    """The words of a line as they are compared; of one that holds a comment only, the comment."""
    held = tuple(word.text for word in words(line) if word.letter != "N")
    return held or tuple(line.upper().split())


def unused(waivers: Sequence[Waiver], findings: Iterable[Finding]) -> tuple[Waiver, ...]:
    """The waivers that speak for none of these findings."""
    met = list(findings)
    return tuple(one for one in waivers if not any(speaks_for(one, finding) for finding in met))
