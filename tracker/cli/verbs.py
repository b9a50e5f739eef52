"""Everything the program can do: verb, the module that holds it, who uses it, one line of help.

A new verb is one row here, one module in this room with a function ``command``, and its use case in services.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Verb:
    """One row of the list."""

    name: str
    who: str
    help: str
    module: str = ""

    def __post_init__(self) -> None:
        """The module is named after the verb unless said otherwise (``show`` -> ``verb_show``)."""
        if not self.module:
            object.__setattr__(self, "module", f"verb_{self.name}")


PROGRAMMER = "For the programmer"
SETUP = "For the setup person"
QUALITY = "For quality"
SHOP = "For the shop"
PLUMBING = "Plumbing"

VERBS: tuple[Verb, ...] = (
    Verb(
        "new", PROGRAMMER, "Draft a job's setup sheet from the programs themselves; nothing is written over."
    ),
    Verb(
        "adopt", PROGRAMMER, "Take in the programs a shop has already: first a plan, then all in one commit."
    ),
    Verb("checkin", PROGRAMMER, "Record what an operation's programs and setup sheet say now."),
    Verb("compare", PROGRAMMER, "How two programs or revisions differ, tool by tool."),
    Verb("summary", PROGRAMMER, "What a program does: tools, extents, deepest cuts, lengths, minutes."),
    Verb(
        "verify",
        PROGRAMMER,
        "Check a job's programs against setup sheet and machine; --list shows all rules.",
    ),
    Verb("show", PROGRAMMER, "One revision: programs, where it came from, proofs; or its bytes."),
    Verb("status", SETUP, "How every operation stands on every machine today, and what may run."),
    Verb(
        "sheet", SETUP, "The setup sheet for a machine, with id, standing and prove-out steps; to be printed."
    ),
    Verb("export", SETUP, "Write what may run on a machine today to a stick, or one text to be proved."),
    Verb("prove", SETUP, "Sign a prove-out: accepted, rejected, or kept as unfinished."),
    Verb("measured", SETUP, "What measuring the first piece said."),
    Verb("ran", SETUP, "Put down a run: lot, quantity, serials."),
    Verb("collect", SETUP, "What came home on a stick, file by file; take an edit in."),
    Verb("identify", SETUP, "What a file is, and whether it may run here."),
    Verb("review", QUALITY, "Read how a revision differs, so that a proof may carry over."),
    Verb("countersign", QUALITY, "Stand behind a proof as its second person."),
    Verb("hold", QUALITY, "Stop the use of a revision, an operation or a machine."),
    Verb("lift", QUALITY, "End a hold, or the withdrawal of a release."),
    Verb("release", QUALITY, "Tag a state in which all of a job stands, or say why it does not."),
    Verb("withdraw", QUALITY, "Recall a release: its texts may run nowhere any more."),
    Verb("strike", QUALITY, "One line through a record of your own."),
    Verb("where", QUALITY, "Which machines and sticks a revision reached, and its runs."),
    Verb("history", QUALITY, "What happened to a job, an operation or on a machine, in order."),
    Verb(
        "report",
        QUALITY,
        "One page of a job or the shop: standing, timeline, differences, tool path, evidence.",
    ),
    Verb(
        "audit", QUALITY, "Whether the record is whole: records, releases and texts through all of history."
    ),
    Verb("init", SHOP, "Start a shop's record in a folder of programs; nothing there is changed."),
    Verb("install", SHOP, "Put git's hook and diff driver in place on this PC, or on the server; --undo."),
    Verb("doctor", SHOP, "Whether this PC and this clone are set up, point by point, with the fix."),
    Verb("demo", SHOP, "Make an invented shop in a new folder and show it around."),
    Verb("share", SHOP, "Fetch what others recorded, bring both together, send what is new; tags included."),
    Verb("backup", SHOP, "The whole record as one file on another disk, read back; --drill restores one."),
    Verb("witness", SHOP, "A second copy that follows no rewrite, derives every release, keeps a journal."),
    Verb("explain", SHOP, "What a name on the screen means and how to put it right."),
    Verb("normalize", PLUMBING, "The canonical text of a program, as it is compared."),
    Verb("fingerprint", PLUMBING, "The fingerprint of programs: SHA-256 of their code alone."),
    Verb("gate", PLUMBING, "Whether a release tag may be made, moved or deleted: what git's hooks ask."),
)
