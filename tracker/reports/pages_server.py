"""Pages of ``explain`` for what a server refuses. Data only; the rules stand in `tracker.policy` and `tracker.services`."""

from tracker.reports.page import Page

_MAKE_AGAIN = "Go back to the state before that commit (git branch a copy first), make the work again, push."


def _rule(name: str, means: str, put_right: str = "") -> Page:
    return Page(name, "error", means, put_right)


SERVER: tuple[Page, ...] = (
    Page(
        "time-goes-back",
        "finding",
        "A state says it is more than ten minutes older than the one it follows: a PC's clock was wrong, or somebody "
        "set it.",
        "Look at the clock of that PC; records keep their order by what follows what, not by time.",
    ),
    _rule(
        "server-rules",
        "The server took nothing of a push. Every line begins with the rule that is broken; each rule has a page.",
        "Clear every line, then push again. Nothing is lost: the work is in your clone.",
    ),
    _rule(
        "no-journal",
        "There is no receive journal in this repository: none was begun, or somebody took it away.",
        "On a server, `proveout install --server BARE_REPO` begins one. Where there was one, ask who works on that server.",
    ),
    _rule(
        "odd-reference",
        "Only branches and tags are taken in, and none that passes for a release's tag.",
        "Push it under another name.",
    ),
    _rule(
        "reference-clash",
        "Two branches or tags are one name on Windows and macOS.",
        "Give the new one another name.",
    ),
    _rule(
        "branch-deleted",
        "A shared branch would be taken away; it may be all that holds a hold or a rejection.",
        "Leave it.",
    ),
    _rule(
        "branch-rewritten",
        "A shared branch would no longer hold what it held.",
        "proveout share, or git pull, then push without --force.",
    ),
    _rule(
        "branch-not-commit",
        "A branch would stand on something that is no state of the shop.",
        "Push a commit.",
    ),
    _rule("tag-moved", "A tag that others have would stand elsewhere.", "Give the new tag another name."),
    _rule("tag-deleted", "A shared tag would be taken away.", "Leave it."),
    _rule(
        "tag-nested",
        "A tag stands on a file, on another tag, or was made under another name.",
        "Make a tag straight on the commit.",
    ),
    _rule(
        "release-gate",
        "A release tag the gate does not open for; the reason follows.",
        "proveout release makes the tag.",
    ),
    _rule("record-in-merge", "A merge brings a record none of the merged sides has.", _MAKE_AGAIN),
    _rule(
        "record-misplaced",
        "What is no record, or under no name of one, lies in a folder for records.",
        _MAKE_AGAIN,
    ),
    _rule(
        "record-copied",
        "A record lies with another job, operation or revision than it speaks of, or speaks of another text, or a proof names other programs as run.",
        _MAKE_AGAIN,
    ),
    _rule(
        "before-forged",
        "A record takes over a text of before the record, and the old commit it names is not behind it, or names another author or date.",
        "proveout adopt --history makes such records.",
    ),
    _rule(
        "evidence-missing",
        "A record is about another that the same state does not hold, or a proof kept on paper does not say where the paper lies, or a lift what was checked.",
        "Push from the clone where both were made; put paper down with proveout prove --prior --evidence.",
    ),
    _rule(
        "merged-shop",
        "A merge makes a shop.toml none of its sides has.",
        "Take one side whole, then proveout checkin shop.toml.",
    ),
    _rule(
        "founded-twice",
        "A history of its own, with a shop.toml of its own, was brought in beside the shop's: whoever founds a shop has every "
        "role in it, and what is recorded there was judged by nobody here.",
        "Clone the shop, copy what is worth keeping into it, check it in there.",
    ),
    _rule(
        "shop-with-other",
        "People, machines and policy change in a commit and a push of their own, so that nothing rests on them in the same push.",
        "Push what comes before it, then it alone, then the rest.",
    ),
    _rule(
        "shop-no-authority",
        "shop.toml is changed by somebody who had not the role quality before the push.",
        "Somebody with that role makes the change.",
    ),
    _rule(
        "shop-unreadable",
        "A commit leaves a shop.toml that cannot be read; nobody could act under it.",
        _MAKE_AGAIN,
    ),
    _rule(
        "shop-not-as-recorded",
        "The record of a change of shop.toml says another SHA-256 than the shop.toml of its commit has: it was changed after "
        "the record was made, and signed.",
        "Make the change again from the state before: proveout checkin shop.toml.",
    ),
    _rule(
        "clock-set",
        "A record was made while PROVEOUT_NOW set the clock. That is for demos.",
        "Make it again without.",
    ),
    _rule(
        "date-ahead",
        "A record or a commit is dated later than the server's clock.",
        "Set this PC's clock right, make it again.",
    ),
    _rule(
        "date-forged",
        "A record says it was entered at another time than its commit was written.",
        _MAKE_AGAIN,
    ),
    _rule(
        "not-its-author",
        "The commit of a record is by somebody else than the record says, by the addresses in shop.toml; or a release tag was "
        "made by somebody who neither put down its record nor is of quality.",
        "Everybody enters his own records; proveout release makes tags.",
    ),
    _rule(
        "no-authority",
        "By the shop.toml of before the push, the person is not listed for that day or has not the role, or who entered it for him.",
        "Quality changes shop.toml first, in a push of its own.",
    ),
    _rule(
        "after-leaving",
        "A record by somebody who has left follows a state made after that day.",
        "Ask who entered it. Somebody who is here makes it again; proveout explain push-refused says how it goes off the branch.",
    ),
    _rule(
        "bad-name",
        "A new name that Windows, macOS or a stick refuses, or takes for another.",
        "Give it another name, commit, push again.",
    ),
    _rule(
        "link", "A link or a submodule is no file and leads outside the record.", "Put the file itself there."
    ),
    _rule(
        "too-large",
        "A file, or a record, is over the limit of this server (git config proveout.maxfile, megabytes).",
        "Keep it elsewhere, or have the limit raised.",
    ),
    _rule(
        "bytes-altered",
        "A rule in .gitattributes would let git change bytes of programs.",
        "Leave `* -text`, and no rule with text, eol, filter or merge.",
    ),
    _rule(
        "journal-not-written",
        "The server cannot write its receive journal, so it takes nothing in.",
        "Look at permissions and room of the folder `proveout` in its repository.",
    ),
    _rule(
        "journal-broken",
        "Lines of the receive journal do not follow each other, or the references are not where it last saw them.",
        "Hold it against the copy kept elsewhere.",
    ),
    _rule(
        "no-main-branch",
        "A push is judged by people, keys and policy of the main branch, and nothing says which one that is: HEAD of the "
        "server, or of the CI's clone, names a branch that is not there.",
        "On the server: git symbolic-ref HEAD refs/heads/NAME (proveout install --server does it where there is one branch "
        "only). In a hosted repository's CI: git remote set-head origin --auto, before the check; hooks/push-check.yml has it.",
    ),
    _rule(
        "before-not-here",
        "What a reference stood on before the push is not in the CI's clone, though every branch and tag was fetched: it was "
        "pushed by force, moved or taken away.",
        "Fetch again; if it still is not here, let the push not be merged, and put the reference back from another clone.",
    ),
    _rule(
        "bad-setting",
        "A setting of git that is ours is no value it can have; the gate stays closed until it is put right.",
        "git config shows and sets it.",
    ),
)
