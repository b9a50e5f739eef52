"""Pages of ``explain`` for what may go on a stick in an emergency, and for what an export does to a stick."""

from tracker.reports.page import Page

STICK: tuple[Page, ...] = (
    Page(
        "deviation",
        "word",
        "A text that runs in an emergency without standing: for a reason in a sentence, on one machine, for some hours, "
        "with a second person owed. It is never a release. Every status opens with it until its hours are over and a "
        "second person stands behind it.",
        "proveout countersign JOB/OP@rN --machine M --by INITIALS -m TEXT.",
    ),
    Page(
        "no-deviations",
        "error",
        "The shop lets no text run without standing: deviation_hours in shop.toml is 0.",
        "Prove it on the machine: proveout export --for-proving.",
    ),
    Page(
        "deviation-hours",
        "error",
        "A deviation lasts at least one hour, and at most as long as deviation_hours in shop.toml says.",
        "Name fewer hours; a longer emergency is a new deviation with a reason of its own.",
    ),
    Page(
        "may-run",
        "error",
        "The revision is released and stands on that machine: it goes out plainly, and no deviation is needed.",
        "proveout export --machine M --to DIR JOB.",
    ),
)
