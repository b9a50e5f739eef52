"""Pages of ``explain`` for standings, verdicts on files that came home, and the shop's words."""

from tracker.reports.page import Page

STANDINGS: tuple[Page, ...] = (
    Page(
        "proven",
        "standing",
        "A named person proved exactly this text on this machine, or on one of its group, and the first piece was "
        "accepted. It says what was done and by whom, not that the program is without danger.",
    ),
    Page(
        "carried",
        "standing",
        "An earlier revision was proved in full on this machine, and every step from there to here is covered: by "
        "differences the shop lets pass by themselves, by a desk review of exactly that difference, or by a proof of "
        "the changed tools. The revision itself was not run in full; treat the changed tools as a first run.",
        "Prove it in full when it is next on the machine: proveout prove JOB/OP --machine M.",
    ),
    Page(
        "unproven",
        "standing",
        "Nobody has proved this text on this machine, or the proof does not count yet: a first piece still to be "
        "measured, a second person owed, a difference no rule lets pass.",
        "Take it to the machine with proveout export --for-proving, prove it, and record it with proveout prove.",
    ),
    Page(
        "lapsed",
        "standing",
        "It was proved, but nothing was run or proved there for longer than the shop allows (lapse_months).",
        "If text, sheet and machine are unchanged: proveout prove JOB/OP --again --machine M. Otherwise prove it.",
    ),
    Page(
        "rejected",
        "standing",
        "It was tried on this machine and turned down; with the cause 'program' this counts on every machine.",
        "Check a mended text in. A rejection of the same code ends only with a later accepted full proof there.",
    ),
    Page(
        "held",
        "standing",
        "Somebody stopped its use, or the machine's. A hold lasts until quality lifts it.",
        "Clear the reason that is shown, then quality records proveout lift with the same words.",
    ),
    Page(
        "withdrawn",
        "standing",
        "A release with this text was recalled. Bring every stick home that carries it.",
        "Check a mended text in, prove and release it; or quality ends the recall with proveout lift JOB@N.",
    ),
)

VERDICTS: tuple[Page, ...] = (
    Page("as-exported", "verdict", "Byte for byte what was written to the stick."),
    Page(
        "same-code",
        "verdict",
        "Renumbered, respaced or its comments changed; the code is that of a known revision. It is to be decided about where it "
        "lies in the place of an export and no record has its bytes, since an export does not write over it; and where its id "
        "line is of another text, since that is what is read back at the machine.",
        "proveout collect DIR --checkin JOB/OP keeps its comments; or take it off, and export again.",
    ),
    Page(
        "changed-code",
        "verdict",
        "The code differs from what was written to the stick: somebody edited it at the control.",
        "Ask who, why, and whether it was cut; take it in with proveout collect DIR --checkin JOB/OP.",
    ),
    Page("stale", "verdict", "An older revision.", "Ask which parts it cut since; take it off the stick."),
    Page(
        "withdrawn-file",
        "verdict",
        "A text whose release was recalled (verdict 'withdrawn').",
        "Take it off the stick and the control.",
    ),
    Page(
        "for-proving",
        "verdict",
        "A text that went out UNPROVEN, for its prove-out only, or that is the newest and not released.",
        "Prove it, or take it off. When an export takes it off by itself: proveout explain stick.",
    ),
    Page("other-machine", "verdict", "A text released for another machine than this folder's."),
    Page(
        "unknown",
        "verdict",
        "Nothing in the record has this code or this name.",
        "Find out where it comes from; check it in or take it away. Offsets and variables of a control are kept as evidence of "
        "the machine, never as a program.",
    ),
    Page(
        "incomplete",
        "verdict",
        "Not whole. The end of the program is missing: the transfer was cut off; or a program of the same file is not in it. Or "
        "its end is there and more than a tenth of its code is not: lost on the way, or cut down at the control.",
        "Read it out of the control again. Where its end is there, and that is all the control holds: proveout collect DIR "
        "--checkin JOB/OP --whole.",
    ),
    Page("missing", "verdict", "The stick's list names it, and it is not there."),
    Page(
        "forged-manifest",
        "verdict",
        "The stick's list says something the record does not know.",
        "Trust the content, not the list; find out who wrote it.",
    ),
)

WORDS: tuple[Page, ...] = (
    Page(
        "revision",
        "word",
        "r1, r2, ...: one checked-in content of an operation: its programs and its setup sheet.",
    ),
    Page(
        "fingerprint",
        "word",
        "SHA-256 of the code alone. Numbering, comments and the way of writing do not change it; anything a control could act on does.",
    ),
    Page(
        "proof",
        "word",
        "A named person ran a revision on a machine and accepted or rejected it, with the steps as answered and the first piece.",
    ),
    Page(
        "release",
        "word",
        "A tag of the repository on a state in which every operation of a job stands. Only released revisions are exported.",
    ),
    Page(
        "stick",
        "word",
        "The folder programs travel on, with a list of what proveout wrote there. A plain export takes nothing off but what "
        "had a day of its own. A text in FOR-PROVING leaves with the next plain export, or mirror, after its week, or once it "
        "or a later one is released, once it is held or withdrawn, or its operation is not for the machine any more; not "
        "before, or an export in the midst of a prove-out would take the text away. One in DEVIATION leaves when its hours "
        "are over, or once it is held, withdrawn or rejected. All else of ours that is not to be there leaves with --mirror (proveout explain mirror). "
        "A file is replaced only where an export record has its SHA-256 or its bytes are those of a revision of that program, and "
        "taken off only where an export record has its SHA-256. Whatever an export writes is read back, and held against the "
        "SHA-256 of what was shaped, before it gets its name.",
        "proveout export --machine M --to DIR --dry-run says what would leave.",
    ),
    Page("countersign", "word", "A second person stands behind a proof whose prover also wrote the text."),
    Page("strike", "word", "One line through a record: it stays legible and no longer counts."),
)
