"""Pages of ``explain`` for what ``sheet`` refuses. Data only."""

from tracker.reports.page import Page

SHEET: tuple[Page, ...] = (
    Page(
        "not-its-machine",
        "error",
        "A setup sheet was asked for a machine that the operation's machines in job.toml, as checked in, do not name. "
        "Another machine may read the same words otherwise, and nobody meant this text for it.",
        "Print it for one of the machines named; or add the machine to machines in job.toml and check that in.",
    ),
    Page(
        "wrong-kind-of-machine",
        "error",
        "A setup sheet for a mill was asked for a lathe's operation, or the other way round. The same words mean other "
        "things there.",
        "Name a machine of the kind the operation is for.",
    ),
)
