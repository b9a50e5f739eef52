"""Pages of ``explain``: the lists of an audit, backups and the witness."""

from tracker.reports.page import Page

COPIES: tuple[Page, ...] = (
    Page(
        "unknown-list",
        "error",
        "Audit has no list of that name.",
        "Name one of those the message lists.",
    ),
    Page(
        "no-backup-folder",
        "error",
        "The folder a backup is to go to is not there: it was misspelt, or the disk is not plugged in.",
        "Plug the disk in, or make the folder, then run the backup again.",
    ),
    Page(
        "backup-inside",
        "error",
        "The backup was to go into the record's own folder, where it would be lost together with it.",
        "Name a folder on another disk, or on a share of another PC.",
    ),
    Page(
        "backup-exists",
        "error",
        "There is a backup of this very second already; one backup never replaces another.",
        "Run it again.",
    ),
    Page(
        "nothing-recorded",
        "error",
        "There is nothing to back up yet: no branch and no tag.",
        "Check something in first.",
    ),
    Page(
        "backup-not-whole",
        "error",
        "A backup was written and could not be read back whole, or one that was to be tried is not whole.",
        "Do not count on that file. Run proveout audit on the record, then make a backup on another disk.",
    ),
    Page(
        "lost-race",
        "error",
        "Somebody recorded something just while this was at work.",
        "Run it again.",
    ),
    Page(
        "not-a-witness",
        "error",
        "The folder named for the witness holds something else.",
        "Name a new folder, or the folder of a witness that was begun before.",
    ),
    Page(
        "no-source",
        "error",
        "A witness was begun without saying what it is to watch, or was asked to watch another source than before.",
        "Say --from REPO_OR_URL the first time; for another source begin another witness in another folder.",
    ),
    Page(
        "unreachable",
        "error",
        "The witness could not reach what it watches. The journal says so; nothing was concluded.",
        "Look at the network, the share and the right to read there, then run it again.",
    ),
    Page(
        "rewritten-history",
        "finding",
        "A branch at the source no longer holds what it held before: history was rewritten there.",
        "The witness keeps the old history and shows both. Ask who rewrote it; restore it from the witness. "
        "When the rewrite is right, begin a new witness and keep the old one.",
    ),
    Page(
        "deleted-branch",
        "finding",
        "A branch is gone from the source, and no other branch there holds what was on it.",
        "Ask who deleted it; the witness still has it.",
    ),
    Page(
        "deleted-tag",
        "finding",
        "A tag is gone from the source. Release tags are never deleted.",
        "Ask who deleted it; fetch it back from the witness.",
    ),
    Page(
        "tag-moved-at-source",
        "finding",
        "A tag at the source now names something else than before. Tags are never moved.",
        "Ask who moved it; the witness still has it where it was.",
    ),
    Page(
        "copy-lost",
        "finding",
        "The journal of the witness speaks of looks before, and the copy they filled is gone.",
        "Find out who can write there, and compare what was fetched anew with a backup.",
    ),
    Page(
        "journal-broken",
        "finding",
        "The journal of the witness is not what it wrote: a line was changed, taken out or cut short.",
        "Find out who can write there. The journal goes on behind the break, which stays visible.",
    ),
)
