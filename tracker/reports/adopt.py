"""What was found in folders of old programs, and what was taken in; for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.policy.spelled import counted
from tracker.reports.adopt_history import history_json, print_history
from tracker.reports.table import print_table, say, visible, wrapped
from tracker.services.adopt_plan import CALLED, COLUMNS, NO, OPEN, YES

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.adopt import AdoptReport
    from tracker.services.adopt_apply import AppliedReport

_MOST = 12
_WORDS = (
    (YES, "main programs, each to be an operation"),
    (CALLED, "programs that others call"),
    (OPEN, "to be decided: they differ from another copy, or stand in its way"),
    (NO, "left as they are: same as another, or no program"),
)


def as_json(report: "AdoptReport") -> dict[str, object]:
    """Folders, counts, and every row of the plan."""
    return {
        "folders": list(report.folders),
        "counts": {take: report.counts.get(take, 0) for take, _ in _WORDS},
        "rows": [{key: getattr(row, key) for key in COLUMNS} for row in report.rows],
        "plan": report.plan,
    }


def print_text(report: "AdoptReport", console: "Console") -> None:
    """How many of what, what has to be decided, and what comes next."""
    files = "one file" if len(report.rows) == 1 else f"{len(report.rows)} files"
    say(
        console,
        f"{files} looked through in {visible(', '.join(report.folders))}; nothing was moved or changed.",
        "",
    )
    rows = [(take, str(report.counts.get(take, 0)), words) for take, words in _WORDS]
    print_table(console, ("take", "files", "what they are"), rows)
    asked = [row for row in report.rows if row.take == OPEN]
    for row in asked[:_MOST]:
        wrapped(console, f"? {row.file}: {row.remarks}")
    if len(asked) > _MOST:
        say(console, f"? and {len(asked) - _MOST} more; the plan has them all")
    hints = sum(1 for row in report.rows if row.proof_words)
    if hints:
        wrapped(
            console,
            f"{hints} carry a comment that says they are proved. That is a hint, and no proof: a comment is carried along "
            "by every edit.",
        )
    if not report.machines:
        wrapped(
            console, "shop.toml has no machine yet: no row can name one, and nothing can be proved without."
        )
    say(console, "Next:")
    if report.plan is None:
        wrapped(console, "1. Have the plan written: proveout adopt DIR --plan plan.csv", indent="  ")
        return
    wrapped(
        console,
        f"1. Open {report.plan} in a spreadsheet; decide each ? in the column take, save it as CSV.",
        indent="  ",
    )
    wrapped(console, f'2. Take it in: proveout adopt --apply {report.plan} -m "taken over"', indent="  ")
    if report.tracked:
        words = "with --history the old commits in git are taken over too, as texts of before the record."
        wrapped(console, words, indent="     ")


def applied_json(report: "AppliedReport") -> dict[str, object]:
    """Operations taken in and those that were there, rows still open, files written."""
    return {
        "taken": list(report.taken),
        "already": list(report.already),
        "on_paper": list(report.on_paper),
        "open": report.open,
        "written": list(report.written),
        "commit": report.checked_in.commit if report.checked_in else None,
        **({"history": history_json(report.history)} if report.history is not None else {}),
    }


def print_applied(report: "AppliedReport", console: "Console") -> None:
    """The same for people."""
    if report.history is not None:
        print_history(report.history, console)
    if report.taken:
        count = "one operation" if len(report.taken) == 1 else f"{len(report.taken)} operations"
        wrapped(
            console,
            f"{count} taken in, in one commit; {counted(len(report.written), 'file')} written, none over another.",
        )
        shown = ", ".join(report.taken[:_MOST]) + (", ..." if len(report.taken) > _MOST else "")
        wrapped(console, shown, indent="  ")
    if report.already:
        wrapped(console, f"Recorded before, nothing to do: {len(report.already)}.")
    if report.on_paper:
        wrapped(
            console,
            f"Proofs kept on paper put down for {len(report.on_paper)}: they count until the shop's prior_until, and are named apart.",
        )
    if not report.taken and not report.already:
        say(console, "The plan says yes to no program: nothing to do.")
    if report.open:
        wrapped(console, f"{report.open} rows still say ?: they wait for a decision, then run it again.")
    if report.taken:
        wrapped(
            console,
            "Taking in proves nothing: what is not on paper is unproven until somebody signs. The drafted job.toml hold lines with ? "
            "to be filled in.",
        )
