"""Pages of ``explain`` for what may go on a stick in an emergency, and for what an export does to a stick."""

from tracker.reports.page import Page

STICK: tuple[Page, ...] = (
    Page(
        "mirror",
        "word",
        "After export --mirror the machine's folder holds the released set and nothing else of ours but what still has its day. "
        "Each file is a row: "
        "new, updated, same; leaves; stays, which is UNPROVEN or a DEVIATION whose day is not over; kept, changed or kept, "
        "unknown, which no export wrote. Outside the machines' folders nothing is removed: a copy of ours there is named, to "
        "be taken off by hand, and so are the first of the files nobody knows; the rest is counted.",
        "proveout export --machine M --to DIR --mirror --dry-run is the plan.",
    ),
    Page(
        "another-language",
        "word",
        "A program that is not in words and addresses, or a binary. All of it may be code, so an export changes no byte of it "
        "and puts no stamp in. Characters the machine does not read, a line that is too long and a file that is too large are "
        "refused, with the line. Line ends other than the machine's are named and left: with others it would be another text, "
        "to be proved anew. For a prove-out its text cannot carry the word UNPROVEN: the list, READ-ME.TXT, the screen and "
        "JSON say so at that file.",
        "Write UNPROVEN on its setup sheet and hand it over in person.",
    ),
    Page(
        "taken-in",
        "word",
        "What collect --checkin made a revision of. Edits in the working folder that were not checked in are never written "
        "over: it is refused. A clean file of the newest revision is replaced by what came home, in the commit that records "
        "it. Where the office changed the code since the export, both lists are shown and nothing is taken in; a comment the "
        "office changed since is named and refuses nothing. It counts as decided in that collect. As long as it lies in the "
        "machine's folder as it came and is not released, the next collect names it again; once it is released, its id line, "
        "which is that of the text it was made of, until an export writes over it.",
        "--tidy keeps the office's comments around the code that came home; the file on the stick is then taken off by hand.",
    ),
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
