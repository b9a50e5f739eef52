"""Pages of ``explain`` for taking in what a shop has already. Data only."""

from tracker.reports.page import Page

TAKING_IN: tuple[Page, ...] = (
    Page(
        "job-exists",
        "error",
        "The job has a job.toml already. new drafts what is not there; it writes over nothing.",
        "Name an operation to add one, like proveout new 4471/op20 FILE, or edit the job.toml.",
    ),
    Page(
        "operation-exists",
        "error",
        "The job has an operation of this id. Ids are never used again, not even for another text.",
        "Choose another id, like op20.",
    ),
    Page(
        "several-mains",
        "error",
        "Several programs were named for one operation, and none of them calls the others: each is a main program.",
        "Name one of them, or the job alone: then each gets an operation of its own.",
    ),
    Page(
        "job-form",
        "error",
        "Operations are added at the end of a job.toml, and there that would change what it said before.",
        "Write its operations as [[operations]] tables, the last thing in the file; then add one.",
    ),
    Page(
        "bad-csv",
        "error",
        (
            "The file is no table with one line of headings at the top. Commas, semicolons and tabs between the cells are "
            "understood, and the letters of any spreadsheet."
        ),
        "Save it from the spreadsheet as CSV (UTF-8 if it asks), with one line of headings.",
    ),
    Page(
        "csv-heading",
        "error",
        (
            "A heading of the list is missing, or might mean two keys, or two headings mean one. A heading that might mean "
            "two things is never guessed: a diameter taken for an offset number would be a wrong sheet."
        ),
        'Say what it means: --column "Length=stick_out", or --column "Length=-" to leave it out.',
    ),
    Page(
        "csv-value",
        "error",
        "A cell of the list cannot be what its heading says, or a tool stands in it twice.",
        "Put the cell right in the list, save it, run it again.",
    ),
    Page(
        "plan-wrong",
        "error",
        (
            "Something in the plan of taking in old programs cannot be done; every such row is named with its line. A plan is "
            "taken in whole or not at all, so nothing was written."
        ),
        "Put the rows right, or write no into their column take; look through the folder again if files changed since.",
    ),
    Page(
        "program-moved",
        "error",
        "The operation's main program has another name or place by now than the revision had that is to come back.",
        "Write the old path into job.toml first, or take the text out with show -o FILE and check it in under the new name.",
    ),
    Page(
        "no-code-on-line",
        "error",
        "The line named holds a comment, a blank or nothing: no block stands there whose origin could be told.",
        "Name a line that holds code, like O1001.nc:12.",
    ),
    Page(
        "not-recorded",
        "error",
        "The file belongs to no operation that was checked in, so nobody recorded where its blocks come from.",
        "Check in the operation it belongs to; proveout new drafts one.",
    ),
    Page(
        "unknown-kind",
        "error",
        "There is no kind of change of that name.",
        "proveout explain lists the kinds: feed, speed, motion, tool and more.",
    ),
    Page(
        "no-evidence",
        "error",
        "A proof kept on paper rests on the paper, so it must be said where that is. A comment in a program is none.",
        'Say it with --evidence, like "setup card 12, signed KP 3 Nov 2025, cabinet 2".',
    ),
    Page(
        "no-prior",
        "error",
        "The shop does not take proofs kept on paper in, or not any more: prior_until in [policy] of shop.toml says how long.",
        "Prove it and sign that; or somebody of quality sets the date, in a change of shop.toml of its own.",
    ),
    Page(
        "prior-against-stop",
        "error",
        "The text is held, rejected or withdrawn there. What was proved on paper before the record answers nothing said since.",
        "Prove it in full, or lift what stops it with the check that was made.",
    ),
    Page(
        "prior-too-late",
        "error",
        "A real proof is recorded there already; one kept on paper would say less.",
        "Nothing needs to be done.",
    ),
)
