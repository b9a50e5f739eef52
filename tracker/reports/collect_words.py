"""What came home on a stick in a sentence or two, to be read aloud, and what a person has to decide."""

from collections.abc import Sequence

from tracker.policy.spelled import counted
from tracker.services import collect_report as verdicts
from tracker.services.collect_report import CollectReport, FileVerdict
from tracker.services.export_papers import named_as_paper
from tracker.services.ports_stick import MANIFEST_NAME

MOST_NAMED = 3
_SAID = {
    verdicts.WITHDRAWN: "withdrawn",
    verdicts.FORGED_MANIFEST: "a list nobody here wrote",
    verdicts.CHANGED_CODE: "changed at the control",
    verdicts.DAMAGED: "damaged",
    verdicts.INCOMPLETE: "not whole",
    verdicts.OTHER_MACHINE: "of another machine",
    verdicts.STALE: "out of date",
    verdicts.FOR_PROVING: "for a prove-out only",
    verdicts.MISSING: "missing",
    verdicts.UNKNOWN: "not known",
    verdicts.SAME_CODE: "same code, written another way",
    verdicts.AS_EXPORTED: "as exported",
}
_DECIDE = {
    verdicts.WITHDRAWN: "withdrawn: take it off the stick and the control; were parts made with it?",
    verdicts.FORGED_MANIFEST: "a list no export recorded here wrote: proveout share, if another PC did; else find out who did, "
    "take it off, and export again",
    verdicts.CHANGED_CODE: "changed at the control: who edited it, why, was it cut? Take it in, or take it off and export again",
    verdicts.DAMAGED: "cannot be read as a program: read it out of the control again, or delete it",
    verdicts.INCOMPLETE: "not whole: read it out of the control again, or delete it",
    verdicts.OTHER_MACHINE: "of another machine: take it off here",
    verdicts.STALE: "out of date: take it off; were parts made with it since?",
    verdicts.FOR_PROVING: "for a prove-out only: prove it, or take it off",
    verdicts.MISSING: "missing: who took it off? Export again if it is still to run",
    verdicts.UNKNOWN: "not known: whose is it? Adopt it, or take it off",
}
_LIST = {
    verdicts.STALE: "an older list: export again before the stick is used",
    verdicts.DAMAGED: "the list cannot be read: take it off and export again",
}
_PAPER = "no paper as an export recorded here wrote it: read nothing off it, take it off and export again"
_LOST = "what it was cannot be read back: run proveout audit, and keep this file until its record is put back"
_LEFTOVER = "left by an export that was cut off: delete it and export again"
_ASIDE = {
    verdicts.SHEET: "went out with a setup sheet that was changed since: export again, and read the new id back",
    verdicts.PLACE: "in the place of another program: who put it there? Take it off and export again",
    verdicts.EDITED: "an edit of a text for another machine: who edited it, and was it run here? Put it into the folder of "
    "its machine and collect again, or take it off",
    verdicts.SHARE: "its id is in no record here: proveout share, and collect again. Adopt it, or take it in, only if no other "
    "PC wrote it",
    verdicts.SETTINGS: "offsets or variables of a control: keep it as evidence of the machine, never as a program, and take it off",
    verdicts.BOTH: "changed at the control, and changed too since it went out: who edited it, why, was it cut? --checkin "
    "shows both lists and merges nothing: bring both together by hand in the office, then take it off",
    verdicts.SHORTER: "not whole, or cut down at the control: read it out of the control again; if that is all it holds, take it in "
    "with --checkin and --whole, and who edited it, and why",
    verdicts.WRITING: "the same code in a writing that is in no record, and the next export does not write over it: proveout share, "
    "if another PC exported it; else the control wrote it so: take it in with --checkin to keep its comments, or take it off",
    verdicts.OLD_WRITING: "the same code in a writing of the control's that is in no record, and its text was changed since: the next "
    "export does not write over it, and it is not taken in. Note its comments, and take it off",
    verdicts.UNSHARED: "taken in, and its id is in no record here: proveout share, before anybody proves it. Where another PC wrote "
    "what it was made of, what that one changed and what the control changed are to be brought together by hand",
    verdicts.TIDIED: "taken in, and written the office's way: its own bytes are in no record, and the next export does not write over "
    "it: take it off by hand",
    verdicts.ID: "its id line is of another text, and that is what is read back at the machine: take it off, and export again",
    verdicts.CALLED: "out of date for a job that calls it too: do not run that job from this stick. Release both jobs with "
    "the same text of it, and export again",
}
_ALWAYS = frozenset(
    {
        verdicts.SHARE,
        verdicts.SETTINGS,
        verdicts.EDITED,
        verdicts.BOTH,
        verdicts.SHORTER,
        verdicts.UNSHARED,
        verdicts.TIDIED,
    }
)
"""What counts whatever the verdict is."""
_STOPPED = "may not run any more: take it off the stick and the control"


def summary(report: CollectReport) -> str:
    """``BLUE-1: 3 files: 1 changed at the control, 2 as exported. 1 file to decide about.`` as sentences."""
    told = ", ".join(f"{count} {_SAID[verdict]}" for verdict, count in report.counts.items())
    parts = [f"{report.stick}: {counted(len(report.programs), 'file')}{f': {told}' if told else ''}."]
    if report.settled:
        parts.append(f"{counted(len(report.settled), 'file')} taken in.")
    asked, more = len(report.undecided), len(report.asks)
    if asked:
        parts.append(f"{counted(asked, 'file')} to decide about.")
    if more:
        parts.append(f"{counted(more, 'more thing' if asked else 'thing')} to do.")
    if not (asked or more):
        parts.append("Nothing to decide.")
    return " ".join(parts)


def decisions(report: CollectReport) -> tuple[str, ...]:
    """What a person has to decide, a line a kind, the gravest first."""
    grouped: dict[str, list[FileVerdict]] = {}
    for one in sorted(report.undecided, key=lambda one: verdicts.GRAVITY.index(one.verdict)):
        grouped.setdefault(_asked(one), []).append(one)
    lines = [f"{_named(files)}: {words}." for words, files in grouped.items()]
    lines += [f"{one}." for one in report.asks]
    return tuple(line.replace("?.", "?") for line in lines)


def _asked(one: FileVerdict) -> str:
    """What is to be done about a file, as that kind of file it is."""
    if one.verdict in _LIST and one.known is None and one.file.rpartition("/")[2].upper() == MANIFEST_NAME:
        return _LIST[one.verdict]
    if one.verdict == verdicts.INCOMPLETE and one.sha256 is None:  # never read: it is no program
        return _LEFTOVER
    if one.verdict == verdicts.UNKNOWN and named_as_paper(one.path or ""):
        return _PAPER
    if one.verdict == verdicts.UNKNOWN and one.job is not None:
        return _LOST
    if one.stopped:
        return _STOPPED
    if one.aside in _ALWAYS or (one.fine and one.aside):
        return _ASIDE[one.aside]
    return _DECIDE.get(one.verdict, _STOPPED)


def _named(files: Sequence[FileVerdict]) -> str:
    names = ", ".join(one.file for one in files[:MOST_NAMED])
    more = len(files) - MOST_NAMED
    return f"{names} and {more} more" if more > 0 else names
