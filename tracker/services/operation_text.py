"""The text of an operation: its main program, every program it calls, and its setup sheet.

Where a call's number is looked up (first level that has it): the main program's own folder; anywhere under the job
outside other operations' folders; ``common/``. Two programs with the number on one level, or one in the repository
and one resident in a control, is a finding of severity ``refuse``: nobody can say which one the control would run.
All candidates then belong to the operation, so that a change in any of them shows. Called in any other way than by a
number (a variable, a resident program) is *outside* what the record covers.

The search goes through called programs too, at most `MOST_PROGRAMS` of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.records.events import FileOf, Finding, Outside
from tracker.records.job import Job, Operation

MOST_PROGRAMS = 500
"""A bound no honest operation reaches: beyond it the search stops with a finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramText:
    """A program that belongs to an operation: path from the repository's root, file name, first O number, bytes."""

    path: str
    name: str
    number: int | None
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationText:
    """All of it.

    Attributes:
        job: the job, from job.toml.
        operation: the operation, sheet values taken over from its original filled in.
        job_path: path of job.toml.
        programs: the main program first, then by O number, then by file name.
        files: the same as they stand in records, in the same order.
        outside: calls the record does not cover.
        findings: what was found wrong with the calls.
        notes: what a person should know, in words.
        strict: whether every N counts as code (a program jumps to line numbers of another).
        sheet_fingerprint: of the setup sheet.
        fingerprint: of the operation; its first 8 digits are the id people read back.
        rule_version: of the rules the fingerprints were computed by.
        post: the post-processor's stamp in the programs' heads, or None.
    """

    job: Job
    operation: Operation
    job_path: str
    programs: tuple[ProgramText, ...]
    files: tuple[FileOf, ...]
    outside: tuple[Outside, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    strict: bool
    sheet_fingerprint: str
    fingerprint: str
    rule_version: int
    post: str | None = None

    @property
    def paths(self) -> Sequence[str]:
        """The operation's own files: its job.toml and every program."""
        return (self.job_path, *(program.path for program in self.programs))

    @property
    def display_id(self) -> str:
        """The 8 digits that are read back at the machine."""
        return self.fingerprint[:8].upper()
