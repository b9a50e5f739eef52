"""What a job is of, in words."""

from tracker.records.job import Job


def title_of(job: Job | None) -> str:
    """``Pivot plate, 4471-PLATE, drawing 4471 rev C``; nothing where nothing is stated."""
    if job is None:
        return ""
    drawing = f"drawing {job.drawing} rev {job.drawing_revision or '-'}" if job.drawing else ""
    return ", ".join(one for one in (job.name, job.part, drawing) if one)
