"""What a server is attacked with, and the rule that stops it: the one table of tests and of DEVELOPERS.md. Data only."""

from typing import NamedTuple

from tests.server.attacks_more import MORE
from tests.server.attacks_signed import SIGNED


class Attack(NamedTuple):
    """``says``: words of the refusal that tell it from others of the same rule."""

    name: str
    does: str
    rule: str
    says: str = ""


ATTACKS = (
    # -- references
    Attack("branch rewound", "pushes main back to an older commit by force", "branch-rewritten"),
    Attack("branch rewritten", "amends a pushed commit and pushes by force", "branch-rewritten"),
    Attack(
        "branch rolled back and on",
        "resets main to an old state, commits there, pushes by force",
        "branch-rewritten",
    ),
    Attack("branch deleted", "deletes the shared branch", "branch-deleted"),
    Attack("side branch deleted", "deletes a side branch that alone holds a hold", "branch-deleted"),
    Attack("replace reference", "pushes refs/replace, so that git shows another commit", "odd-reference"),
    Attack("notes and other places", "pushes a reference outside branches and tags", "odd-reference"),
    Attack("branch called like a release", "pushes refs/heads/release/4471/2", "odd-reference"),
    Attack("release in other letters", "plants refs/tags/Release/4471/2", "odd-reference"),
    Attack("release one level down", "plants refs/tags/refs/tags/release/4471/2", "odd-reference"),
    Attack("branch HEAD", "pushes a branch called HEAD", "odd-reference"),
    Attack("branch in other letters", "pushes Main beside main", "reference-clash"),
    Attack("branch on a tag", "pushes a tag object as a branch", "branch-not-commit"),
    Attack("plain tag moved", "moves a tag that is no release's", "tag-moved"),
    Attack("plain tag deleted", "deletes a tag that is no release's", "tag-deleted"),
    Attack("tag on a file", "pushes a tag that stands on a blob", "tag-nested"),
    Attack("release tag under another name", "pushes the release's tag object as refs/tags/v1", "tag-nested"),
    Attack("nested plain tag", "pushes a tag on a tag", "tag-nested"),
    # -- release tags
    Attack("release deleted", "deletes a release tag", "release-gate", "would be deleted"),
    Attack("release moved", "moves a release tag to another commit", "release-gate", "exists already"),
    Attack(
        "release made again",
        "replaces a release tag by a new object on the same commit",
        "release-gate",
        "exists already",
    ),
    Attack(
        "lightweight release",
        "pushes a release tag without a tag object",
        "release-gate",
        "is no annotated tag",
    ),
    Attack(
        "nested release", "pushes a release tag that stands on a tag", "release-gate", "straight on a commit"
    ),
    Attack("release on a file", "pushes a release tag on a blob", "release-gate", "is no annotated tag"),
    Attack("release renamed", "pushes release 1's tag object as release 2", "release-gate", "inside"),
    Attack(
        "release of nothing",
        "pushes an annotated release tag that names no record",
        "release-gate",
        "names no release record",
    ),
    Attack(
        "release with a gap", "pushes release 3 while there is no release 2", "release-gate", "leaves a gap"
    ),
    Attack(
        "odd release name", "pushes refs/tags/release/4471/x", "release-gate", "not called like a release"
    ),
    Attack(
        "release number with zeros",
        "pushes refs/tags/release/4471/02",
        "release-gate",
        "not called like a release",
    ),
    Attack(
        "release without evidence", "tags a commit whose tree lacks the proof", "release-gate", "unproven"
    ),
    Attack(
        "release aside",
        "releases on a line that does not know what the branch holds",
        "release-gate",
        "does not descend from the branch",
    ),
    Attack(
        "release aside in two pushes",
        "first pushes such a line merged, then its tag",
        "release-gate",
        "does not descend from the branch",
    ),
    Attack(
        "release on an unproven edit",
        "puts the record of release 1 on a commit with an edited program",
        "release-gate",
        "came in with commit",
    ),
    Attack(
        "good and bad release at once",
        "hides a forged release tag among honest references",
        "release-gate",
        "names no release record",
    ),
    # -- records
    Attack("record edited", "edits a proof", "record-changed"),
    Attack(
        "record edited and put back", "edits a proof and puts it back in the next commit", "record-changed"
    ),
    Attack("record deleted", "deletes a rejection", "record-deleted"),
    Attack("record deleted and put back", "deletes a record and adds it again", "record-deleted"),
    Attack("record renamed", "renames a proof", "record-deleted"),
    Attack("folder of records moved", "moves the folder of records of a job", "record-deleted"),
    Attack("record let go by a merge", "merges, keeping neither the other side's record", "record-deleted"),
    Attack("record edited in a merge", "edits a record while merging", "record-changed"),
    Attack("record added in a merge", "adds a record in a merge commit", "record-in-merge"),
    Attack("record as a link", "adds a record that is a symbolic link", "record-misplaced"),
    Attack("record turned into a link", "replaces a record by a symbolic link", "record-changed"),
    Attack("program among records", "adds a program below the folder of records", "record-misplaced"),
    Attack("records in other letters", "adds a record below jobs/4471/Records", "record-misplaced"),
    Attack("record that can be run", "adds a record with the run bit", "record-misplaced"),
    Attack("evidence of another job", "copies a proof to another job's folder", "record-copied", "is of job"),
    Attack(
        "evidence of another operation",
        "copies a proof to another operation's folder",
        "record-copied",
        "is of operation",
    ),
    Attack(
        "evidence of another revision",
        "copies a proof, renamed to the next revision",
        "record-copied",
        "speaks of",
    ),
    Attack(
        "evidence for another text", "rewrites a proof of r1 to speak of r2", "record-copied", "another text"
    ),
    Attack("evidence for no revision", "pushes a proof of a revision that is not there", "evidence-missing"),
    Attack("countersign of nothing", "pushes a countersign of a proof that is not there", "evidence-missing"),
    Attack("revision of another text", "records a revision and commits another program", "text-not-recorded"),
    Attack(
        "text of before in another's name",
        "takes an old text over and says somebody else wrote it",
        "before-forged",
        "as its author",
    ),
    Attack(
        "text of before dated back",
        "takes an old text over and dates it back",
        "before-forged",
        "says it is of",
    ),
    Attack(
        "text of before from nowhere",
        "says a text is from before the record, of a commit that is not there",
        "before-forged",
        "no commit behind it",
    ),
    Attack(
        "text of before that was another",
        "takes an old text over that its commit does not hold",
        "text-not-recorded",
    ),
    Attack("proof of a text of before", "proves a text of before the record", "before-record"),
    Attack("revision with wrong digits", "edits a revision record before it is pushed", "wrong-digits"),
    Attack("clock set by hand", "records with PROVEOUT_NOW", "clock-set"),
    Attack("newer format", "pushes a record of format 99", "newer-record"),
    Attack("unknown event", "pushes a record of an event nobody knows", "newer-record"),
    Attack("record that is no TOML", "pushes a damaged record", "unreadable-record"),
    Attack("record from tomorrow", "pushes a record entered tomorrow", "date-ahead"),
    Attack("record dated back", "commits today what says it was entered last year", "date-forged"),
    Attack("commit dated back", "commits with a date before the state it follows", "time-goes-back"),
    Attack("commit from tomorrow", "commits with tomorrow's date", "date-ahead"),
    # -- people
    Attack("in another's name", "commits a proof by ss under an address that is not his", "not-its-author"),
    Attack("by nobody", "pushes a hold by initials nobody has", "no-authority", "is not in the shop.toml"),
    Attack(
        "without the role",
        "a programmer pushes a lift he has no role for",
        "no-authority",
        "has not the role",
    ),
    Attack(
        "by one who has left", "pushes a hold by somebody who left last year", "no-authority", "is not listed"
    ),
    Attack(
        "back dated by one who has left",
        "dates all back to before he left, on a newer state",
        "time-goes-back",
    ),
    Attack(
        "authority taken and used",
        "gives himself the role and uses it in one push",
        "shop-with-other",
        "same push",
    ),
    Attack(
        "authority taken in two commits",
        "two changes of shop.toml in one push, the second by who the first made quality",
        "shop-no-authority",
    ),
    Attack("authority taken", "a programmer pushes a change of shop.toml", "shop-no-authority"),
    Attack(
        "key slipped in", "changes shop.toml in a commit with programs", "shop-with-other", "together with"
    ),
    Attack(
        "shop.toml with a tag",
        "pushes a change of shop.toml and a tag at once",
        "shop-with-other",
        "same push",
    ),
    Attack("shop.toml in a merge", "changes shop.toml while merging", "merged-shop"),
    Attack(
        "shop.toml other than recorded",
        "changes shop.toml again in the commit whose record was made for another",
        "shop-not-as-recorded",
    ),
    Attack("broken shop.toml", "pushes a shop.toml nobody can read", "shop-unreadable"),
    Attack(
        "author dated back by one who has left",
        "sets back the author's date alone, after he left",
        "after-leaving",
    ),
    # -- files
    Attack("program made by a merge", "merges two edits of one program into a third text", "merged-text"),
    Attack("program slipped into a merge", "adds a program in a merge commit", "merged-text"),
    Attack("link", "adds a symbolic link to /etc/passwd", "link"),
    Attack("submodule", "adds a submodule", "link"),
    Attack("names that differ in case", "adds o1001.nc beside O1001.nc", "bad-name", "same name as"),
    Attack(
        "names that differ in Unicode", "adds one name composed and decomposed", "bad-name", "same name as"
    ),
    Attack("reserved name", "adds AUX.nc", "bad-name", "for a device"),
    Attack("trailing blank", "adds a name that ends in a blank", "bad-name", "Windows drops"),
    Attack("control character", "adds a name with a line feed", "bad-name", "control character"),
    Attack("huge file", "adds a file over the limit", "too-large"),
    Attack("huge record", "adds a record of 5 MB", "too-large"),
    Attack("line ends altered", "adds `*.nc text eol=crlf` to .gitattributes", "bytes-altered"),
    Attack("bytes no longer kept", "takes `* -text` out of .gitattributes", "bytes-altered"),
    # -- rules of the checks
    Attack(
        "old rules named",
        "releases a faulty program whose revision names version 1 of the checks",
        "release-gate",
        "[h-not-tool]",
    ),
    Attack(
        "old rules named long before",
        "pushes such a revision first, and its release later",
        "release-gate",
        "[h-not-tool]",
    ),
    Attack(
        "rules to come named",
        "names a version of the checks that does not exist yet",
        "release-gate",
        "update proveout on the server",
    ),
    *(Attack(*row) for row in SIGNED),
    *(Attack(*row) for row in MORE),
    # -- git itself
    Attack("damaged object", "pushes a commit git's own check refuses", "git", "fsck"),
    Attack("grafts on the server", "a grafts file lies in the server's repository", "grafted"),
    Attack("shallow server", "the server's repository holds the end of the history only", "shallow"),
)

OUT_OF_SCOPE = (
    (
        "Whoever is root on the server, or may write its files: he can take the hook away, set the clock, or exchange the "
        "repository. A copy elsewhere and every clone's `audit` show what he did to the record."
    ),
    "A shared folder without a server: git runs the hook on the pushing PC, where it is a courtesy.",
    "Whoever holds a person's key or password, or two people who agree to lie.",
    "Who founds the shop: what is pushed into an empty repository is judged by its own shop.toml.",
    "A false answer of a person (a step ticked and not done), and what happens at the machine.",
    "Full disks and floods of pushes: the limits of sizes are there, a quota is the server's.",
)
