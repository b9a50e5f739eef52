"""Pages of ``explain`` for what audit finds, and for the set-up of git on a PC and on a server. Data only."""

from tracker.reports.page import Page

SETUP: tuple[Page, ...] = (
    Page(
        "git-failed",
        "error",
        "git could not do what it was asked, for a reason this program has no words for; git's own are shown.",
        "Put right what git says, then run it again.",
    ),
    Page(
        "no-cryptography",
        "error",
        "A signature cannot be verified, since the package that does it is not installed for this Python.",
        "Install it with: pip install cryptography",
    ),
    Page(
        "disk-full",
        "error",
        "The disk has no room for what was to be written. Nothing half is in the record.",
        "Make room, then run it again.",
    ),
    Page(
        "interrupted",
        "error",
        "The call was stopped with Ctrl-C. What it had begun to write is taken back, or is whole in the record.",
        "Run it again.",
    ),
    Page(
        "lost-race",
        "error",
        "Somebody else wrote to the record at the same moment, and went on doing so.",
        "Run it again; nothing was written.",
    ),
    Page(
        "bare-repository",
        "error",
        "A bare repository is the place everybody pushes to. Nobody works in it, so there is nothing to set up there "
        "but the server's hook.",
        "proveout install --server FOLDER",
    ),
    Page(
        "not-bare",
        "error",
        "--server is for the repository everybody pushes to, and this is a clone somebody works in.",
        "Name the bare repository, or run proveout install without --server.",
    ),
    Page(
        "hooks-in-tree",
        "error",
        "core.hooksPath tells git to take its hooks from the working folder, so whatever is pulled would run on this PC.",
        "git config --unset core.hooksPath, then proveout install.",
    ),
    Page(
        "hooks-elsewhere",
        "error",
        "core.hooksPath tells git to take its hooks from a folder other repositories share. A hook of ours there would "
        "run in all of them.",
        "Give this clone its own folder as the error says, copy the hooks you need there, then proveout install.",
    ),
    Page(
        "hook-in-the-way",
        "error",
        "Another program put its hook in the place of ours, and the hook from before ours is still kept beside it.",
        "Put what both do into the file ending in .before-proveout, delete the other, then proveout install.",
    ),
)

PROBLEMS: tuple[Page, ...] = (
    Page(
        "record-deleted",
        "finding",
        "A record was taken away somewhere in the history, perhaps by bringing two branches together. Records are only "
        "ever added; what it said still counts. It stays in the list when it was put back later: it was taken away.",
        "Put the file back as it was: git revert DIGITS, with the digits the audit names. git show DIGITS tells who took it "
        "away, and when.",
    ),
    Page(
        "record-changed",
        "finding",
        "A record was changed after it was made. It stays in the list when it was put back later: the change was made.",
        "Put the file back as it was; to take something back, proveout strike or a new record.",
    ),
    Page(
        "unreadable-record",
        "finding",
        "A record is damaged, or was written by a newer version of this program. The gate stays closed meanwhile.",
        "Bring the file back from the history, or install the newer version.",
    ),
    Page(
        "wrong-digits",
        "finding",
        "The name of a revision ends in digits that open the hash of its own bytes. These are other bytes, or another "
        "number.",
        "Put the file back as it was made; a file made by hand is no revision: proveout checkin makes one.",
    ),
    Page(
        "revision-missing",
        "finding",
        "A record speaks of a revision no branch or tag here knows.",
        "git fetch: it may be in another clone. Else the revision was taken away, or never was.",
    ),
    Page(
        "text-not-recorded",
        "finding",
        "The revision names a text by its hash, and the state it was made in does not hold that text: nobody can show "
        "what was checked in.",
        "Find the text in a clone or a backup; check it in again. A proof of this revision shows nothing.",
    ),
    Page(
        "merged-text",
        "finding",
        "Bringing two edits together made a program that neither of two people wrote.",
        "Compare it with both, put it right, and proveout checkin it; then it needs a proof.",
    ),
    Page(
        "never-checked-in",
        "finding",
        "A job.toml is in the record's folder and no revision was ever made of the operation.",
        'proveout checkin JOB/OP -m "first issue"',
    ),
    Page(
        "not-checked-in",
        "finding",
        "A program or setup sheet was saved into the record past the check-in: it is not the text of any revision.",
        "proveout compare shows the difference; check it in, or put it back.",
    ),
    Page(
        "two-revisions",
        "finding",
        "Two clones checked in side by side. Both revisions stay; nothing is released until a third follows both.",
        "proveout compare the two, then check in the text that is right.",
    ),
    Page(
        "wrong-file",
        "finding",
        "A job.toml cannot be read, or the program it names is missing.",
        "Put the file right at the line named.",
    ),
    Page(
        "odd-tag",
        "finding",
        "A tag below release/ that is not called like a release: release/JOB/NUMBER.",
        "It is no release. Delete it: git tag -d NAME.",
    ),
    Page(
        "lightweight-tag",
        "finding",
        "A release tag without a tag of its own: it names no record and nobody. It is no release.",
        "It was made past the gate. Quality deletes it: git tag -d NAME; where it was pushed: git push origin :refs/tags/NAME.",
    ),
    Page(
        "tag-not-on-commit",
        "finding",
        "A release tag that stands on a single file or on another tag, not on a state of the shop. It is no release.",
        "It was made past the gate. Quality deletes it: git tag -d NAME; where it was pushed: git push origin :refs/tags/NAME.",
    ),
    Page(
        "renamed-tag",
        "finding",
        "A tag that was made under one name stands under another.",
        "Take it away; the release it was made for keeps its own name.",
    ),
    Page(
        "planted-tag",
        "finding",
        "A release tag that no release record knows. It is no release, whatever it is called.",
        "Take it away, and ask who made it: it went past the gate.",
    ),
    Page(
        "tag-without-record",
        "finding",
        "A release tag that does not name its release record together with that record's hash.",
        "The release record stands; its own tag was replaced. Fetch the tag from a clone that still has it.",
    ),
    Page(
        "damaged-object",
        "finding",
        "Something git keeps does not hold the bytes its name stands for: the disk failed, or somebody exchanged them.",
        "Do not work on here. Fetch into a fresh clone from another place, and run the audit there.",
    ),
    Page(
        "not-looked-at",
        "finding",
        "Because of damage the rest of the record could not be read, so nothing is said about it.",
        "Repair the damage first (proveout explain damaged-object), then run the audit again.",
    ),
    Page(
        "moved-tag",
        "finding",
        "A release tag stands on another state than the one its release was made in.",
        "Fetch the tag from a clone that still has it where it was; ask who moved it.",
    ),
    Page(
        "release-not-derived",
        "finding",
        "The gate would not open for this release: its own history does not bear out what it says.",
        "proveout withdraw it, put right what is missing, and release again.",
    ),
    Page(
        "missing-tag",
        "finding",
        "There is a release record and no tag for it: the tag was deleted, or the call that made the record was cut short.",
        "Fetch the tag from a clone that has it; or run proveout release again, which takes the record up.",
    ),
    Page(
        "release-twice",
        "finding",
        "Two different records of one release number: somebody made one by hand, or two clones released at once.",
        "Withdraw both and release again.",
    ),
    Page(
        "ran-not-usable",
        "finding",
        "A run was put down of a text that was not proven on that machine, or was held, withdrawn or lapsed when it ran. It "
        "is kept and renews nothing. Of a run put down for another day (--date) the end of that day is "
        "asked about.",
        "Look at the parts of that run; the reason says what was missing. If it never took place, who put it down "
        "strikes it: proveout strike RECORD.",
    ),
    Page(
        "replaced-objects",
        "finding",
        "git was told (refs/replace) to show something else than was recorded. This program shows what was recorded; "
        "other git commands here do not.",
        "git replace -d NAME, and ask who made it.",
    ),
)
