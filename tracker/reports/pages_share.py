"""Pages of ``explain`` for sharing with others. Data only."""

from tracker.reports.page import Page

SHARING: tuple[Page, ...] = (
    Page(
        "in-the-way",
        "error",
        (
            "What comes in would be written over work in this folder that is not checked in. Nothing was brought "
            "in, nothing of the work was touched."
        ),
        "Check it in with proveout checkin, or put it aside, then proveout share.",
    ),
    Page(
        "links-changed",
        "error",
        (
            "A link or a submodule changed in the shared repository. share brings plain files only: a link may "
            "lead out of the record."
        ),
        "Bring it together with git itself (git pull), and take the link out of the record.",
    ),
    Page(
        "name-clash",
        "error",
        (
            "Two files, one made here and one there, would have one and the same name on Windows or macOS, or one"
            " is called like a folder."
        ),
        "Rename one of them here, check it in, then proveout share.",
    ),
    Page(
        "no-shared-repository",
        "error",
        "This clone knows no other place that holds the record: it is on this disk only, and lost with it.",
        (
            "git remote add origin ADDRESS; an empty one is made with git init --bare FOLDER, on another disk or "
            "a server. Then proveout share."
        ),
    ),
    Page(
        "not-let-in",
        "error",
        (
            "The shared repository wants a password or key this PC does not give. Nothing was lost: what is "
            "recorded here stays here."
        ),
        "Sign in once on a terminal with git fetch, or ask its owner for the right, then proveout share.",
    ),
    Page(
        "nothing-to-choose",
        "error",
        (
            "--take names a file that was not changed on both sides, or a record: records are only ever added, "
            "and none is chosen away."
        ),
        "proveout share lists the files that wait for a choice.",
    ),
    Page(
        "other-branch",
        "error",
        (
            "Nothing is recorded here yet, and the shared repository keeps its record on a branch of another "
            "name."
        ),
        "git switch NAME with the name shown, then proveout share.",
    ),
    Page(
        "push-refused",
        "error",
        (
            "The server looked at what was sent and turned it away; its reasons are shown as it gave them. "
            "Everything stays here as it is. A hold, a withdrawal, a rejection goes out all the same, by itself: each that was "
            "taken in is named, and each that was not, which only this clone knows then."
        ),
        "Clear its reasons, then proveout share. Where a record or a text is refused, the branch here holds it, and it is made "
        "again on what is shared: git branch aside; git status; git reset --keep origin/main (your own branch's name, if it is another; edits "
        "that are not checked in stay); programs come back by git checkout aside -- FILE; check in, prove, record again what was "
        "not shared; proveout share; at last git branch -D aside.",
    ),
    Page(
        "race-lost",
        "error",
        "Others kept sending to the shared repository, so that each try came too late. Nothing was lost.",
        "proveout share again in a minute.",
    ),
    Page(
        "records-changed",
        "error",
        (
            "A record was taken away or written anew, here or in the shared repository. Records are only ever "
            "added, so nothing is shared until it is back as it was."
        ),
        (
            "Put it back in a commit of its own: git checkout COMMIT -- FILE with a commit that still held it. "
            "proveout audit lists all there are."
        ),
    ),
    Page(
        "share-cut-short",
        "error",
        (
            "A share was killed while it put in place what had come in, and a file it touches was edited since. "
            "Nobody can tell whether that edit is of the text before, or of what came in, so it is not checked in."
        ),
        (
            "Move the file to a folder outside this one, run proveout share, and make your edit again on the text "
            "that is there then."
        ),
    ),
    Page(
        "sharing",
        "error",
        "Another proveout share is at work in this clone.",
        "Wait for it, then share again.",
    ),
    Page(
        "unknown-remote",
        "error",
        "No shared repository of this name is known here, or there are several and none was named.",
        "git remote -v lists them; name one with --remote NAME, or an address.",
    ),
    Page(
        "unreachable",
        "error",
        (
            "The shared repository cannot be reached: no network, the server is off, or its address is wrong. "
            "Work goes on without it, and everything recorded here is kept."
        ),
        "Share again when it can be reached; git remote -v shows its address.",
    ),
    Page(
        "unrelated",
        "error",
        (
            "The shared repository holds another record: the two never had a state in common. Two records are "
            "never made one."
        ),
        "Look at the address: git remote -v. To begin anew, clone the shared one into another folder.",
    ),
)
