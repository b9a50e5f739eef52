"""Revisions as read back, made by hand."""

from datetime import UTC, datetime

from tracker.records.events import RevisionRecord
from tracker.records.stored import Stored
from tracker.services.operation_text import ProgramText, fingerprint_of
from tracker.services.revision_text import RevisionText
from tracker.store.toml_files import load_job

AT = datetime(2026, 2, 2, tzinfo=UTC)


def revision(programs, *, sheet="", lost=(), strict=False, post=None):
    text = (
        'format = 1\n[job]\nnumber = "77"\n[[operations]]\nid = "op10"\nprogram = "O1001.nc"\n'
        f"[[operations.tools]]\nnumber = 4\n{sheet}\n"
    )
    job = load_job(text.encode(), "jobs/77/job.toml")
    operation = job.operation("op10")
    held = tuple(
        ProgramText(path=f"jobs/77/{name}", name=name, number=int(name[1:5]), data=data.encode())
        for name, data in programs.items()
    )
    prints = fingerprint_of(held, job, operation, strict=strict)
    record = RevisionRecord(
        job="77",
        operation="op10",
        revision="r0001",
        at=AT,
        entered=AT,
        by="np",
        operation_fingerprint=prints.operation,
        strict=strict,
        rule_version=1,
        sheet_fingerprint=prints.sheet,
        files=prints.files,
        post=post,
    )
    stored = Stored(
        record=record, path="jobs/77/records/op10/r0001-00000000.toml", sha256="0" * 64, commit="c", order=0
    )
    return RevisionText(
        stored=stored,
        record=record,
        job_path="jobs/77/job.toml",
        programs=tuple(p for p in held if p.name not in lost),
        job=job,
        operation=operation,
        lost=tuple(f"jobs/77/{name}" for name in lost),
    )
