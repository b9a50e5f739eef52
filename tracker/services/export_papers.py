"""What lies beside the programs on a stick: the read-me, setup sheets.

Papers are for people at the machine. They are ours as programs are: by the SHA-256 in an export record. One that is
not ours, or was changed, is left as it is and said, since nobody should lose a program for a sheet of paper's sake.
"""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from tracker.records.events import OnStick
from tracker.services.export_report import ExportReport
from tracker.services.known import KnownTexts
from tracker.services.placing import Placing
from tracker.services.ports_stick import READ_ME_NAME, Seen, ToWrite
from tracker.services.stick_view import Contents, written

SHEET_ENDING = ".HTM"
SHEET_OPENING = "SHEET "
ENDINGS = (READ_ME_NAME[-4:], SHEET_ENDING)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper: its file name, its bytes, and which revision it speaks for (a sheet; None: of the whole export)."""

    name: str
    data: bytes
    job: str | None = None
    operation: str | None = None
    revision: str | None = None


MakePapers = Callable[[ExportReport], Iterable[Paper]]
"""What makes the papers of an export, from what it has to say."""


def no_papers(_: ExportReport) -> Iterable[Paper]:
    """None at all."""
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedPaper:
    """A paper with its place; ``to_write`` None where something that is not ours lies there."""

    path: str
    on_stick: OnStick
    to_write: ToWrite | None


def place_papers(
    contents: Contents, known: KnownTexts, placing: Placing, papers: Iterable[Paper]
) -> list[PlacedPaper]:
    """Where each paper goes; raises CouldNot (``medium-gone``) when the stick went."""
    programs = {contents.shaper.folded(placed.path) for placed in placing.placed}
    return [_placed(contents, known, placing.folder, programs, paper) for paper in papers]


def _placed(
    contents: Contents, known: KnownTexts, folder: str, programs: set[str], paper: Paper
) -> PlacedPaper:
    wanted = f"{folder}/{paper.name}"
    there = contents.at(wanted)
    path = there.path if there is not None else wanted
    sha256 = hashlib.sha256(paper.data).hexdigest()
    replaces = contents.digest_if_readable(path) if there is not None and there.kind == "file" else None
    free = there is None or (replaces is not None and replaces in known.papers)
    return PlacedPaper(
        path=path,
        on_stick=OnStick(
            path=written(path),
            sha256=sha256,
            job=paper.job,
            operation=paper.operation,
            revision=paper.revision,
        ),
        to_write=ToWrite(path=path, data=paper.data, sha256=sha256, replaces=replaces)
        if free and contents.shaper.folded(path) not in programs
        else None,
    )


def named_as_paper(path: str) -> bool:
    """Whether a file has the name exports give their papers, whoever wrote it."""
    name = path.rpartition("/")[2].upper()
    return name == READ_ME_NAME or (name.startswith(SHEET_OPENING) and name.endswith(SHEET_ENDING))


def is_paper(contents: Contents, known: KnownTexts, seen: Seen) -> bool:
    """Whether a file is a paper of ours; only names a paper may have are read for it."""
    if seen.kind != "file" or not seen.name.upper().endswith(ENDINGS):
        return False
    return contents.digest_if_readable(seen.path) in known.papers
