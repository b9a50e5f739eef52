"""Pages of ``explain`` for errors and findings: every name the program can end with has one."""

from tracker.reports.page import Page

ERRORS: tuple[Page, ...] = (
    Page(
        "who",
        "error",
        "The record needs a name, and this PC does not stand for one person of shop.toml.",
        "Say --by INITIALS, or set git's user.email to the address in shop.toml.",
    ),
    Page(
        "unknown-person",
        "error",
        "Nobody in shop.toml has these initials.",
        "Use initials that stand in shop.toml, or add the person there.",
    ),
    Page(
        "bad-name",
        "error",
        "The words do not name a job, an operation or a revision.",
        "Write 4471, 4471/op10 or 4471/op10@r4.",
    ),
    Page(
        "not-a-terminal",
        "error",
        "A question had to be asked and there is nobody to ask.",
        "Give the option that is named, or --yes.",
    ),
    Page(
        "unknown-page", "error", "There is no page with this name.", "proveout explain alone lists them all."
    ),
    Page(
        "not-empty",
        "error",
        "The demo makes a shop in a new folder, and this one holds something.",
        "Name another folder.",
    ),
    Page(
        "demo",
        "error",
        "The sample's history did not run through.",
        "Remove the folder and try again; if it happens again it is a defect.",
    ),
    Page(
        "not-readable",
        "error",
        "The system would not let a file be read or written.",
        "Look at permissions, free space, and whether the medium is still there.",
    ),
    Page(
        "wrong-call",
        "error",
        "The command line has an option or a value this command does not know.",
        "proveout COMMAND --help shows what it takes.",
    ),
    Page(
        "defect",
        "error",
        "proveout failed in a way it should not. Nothing was concluded from the call.",
        "Send in the report file that is named, with what you did.",
    ),
)
