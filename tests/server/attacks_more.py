"""Attacks on what a record is about, on releases put together from parts, and on names. Data only, a part of `tests.server.attacks`."""

MORE = (
    # -- who may make a record about another
    (
        "strike of a hold",
        "a programmer strikes the hold of another",
        "no-authority",
        "has not the role quality",
    ),
    ("strike of another's proof", "strikes a proof another made", "no-authority", "did not make this record"),
    ("strike of a revision", "strikes a revision", "no-authority", "none is ever struck"),
    ("strike of a release", "strikes a release", "no-authority", "none is ever struck"),
    ("countersigned by the prover", "countersigns his own proof", "no-authority", "is the prover"),
    ("reviewed by the writer", "reviews what he wrote himself", "no-authority", "wrote this revision"),
    # -- records in another's name
    (
        "lift entered for quality",
        "lifts a hold in the name of quality, as who entered it",
        "no-authority",
        "np has not the role quality",
    ),
    (
        "proof entered for setup",
        "proves in the name of setup, as who entered it",
        "no-authority",
        "np has not the role setup",
    ),
    (
        "release entered for quality",
        "releases in the name of quality, as who entered it",
        "no-authority",
        "np has not the role quality",
    ),
    (
        "entered by nobody",
        "names somebody on no list as who entered a hold",
        "no-authority",
        "zz, who entered it, is not in the shop.toml",
    ),
    (
        "review entered by the writer",
        "types in another's review of what he wrote himself",
        "no-authority",
        "np wrote this revision",
    ),
    (
        "machine lifted unchecked",
        "lifts a machine without a word on what was checked there",
        "evidence-missing",
        "does not say what was checked",
    ),
    # -- proofs that contradict themselves, and paper nobody can look at
    (
        "proof of other code run",
        "proves r2 with the programs of r1 as what was run",
        "record-copied",
        "names other code as run than the revision holds (O1001.NC)",
    ),
    (
        "proof of nothing run",
        "takes what was run out of a proof",
        "record-copied",
        "does not say what was run",
    ),
    (
        "proof of one program less",
        "takes a subprogram out of what was run",
        "record-copied",
        "names other code as run than the revision holds (O1002.NC)",
    ),
    (
        "release on the bytes of another text",
        "releases r2 on a proof that names the bytes of r1 as run",
        "release-gate",
        "names bytes as run that the record knows as other code",
    ),
    (
        "paper nobody can find",
        "pushes a proof on paper that does not say where the paper lies",
        "evidence-missing",
        "does not say where the paper lies",
    ),
    (
        "paper that renews",
        "pushes the short form of a proof as kept on paper",
        "evidence-missing",
        "for a whole prove-out only",
    ),
    (
        "release on paper nobody can find",
        "releases on such a proof that came in before this was asked",
        "release-gate",
        "does not say where the paper lies",
    ),
    # -- releases put together from parts
    (
        "release of another job's record",
        "tags release 1 of 4472 with the record of 4471's",
        "release-gate",
        "no readable record of release 1 of 4472",
    ),
    (
        "release of no operation",
        "takes the operations out of a release record",
        "release-gate",
        "names no operation",
    ),
    (
        "release that leaves evidence out",
        "takes the proof out of what a release record relies on",
        "release-gate",
        "does not name as relied on",
    ),
    (
        "release on evidence of another hash",
        "changes a hash in a release record",
        "release-gate",
        "is not there as it was relied on",
    ),
    (
        "release of another number",
        "writes 7 into the record of release 2",
        "record-copied",
        "is of release 7",
    ),
    ("release by a programmer", "writes himself into a release record", "no-authority", "quality"),
    (
        "release kept back",
        "pushes a release, made in time, after the operation was held",
        "release-gate",
        "held by ss",
    ),
    (
        "one among three hundred",
        "hides a forged release tag among 300 honest tags",
        "release-gate",
        "names no release record",
    ),
    (
        "release tag in another's name",
        "tags a release of quality in a programmer's name",
        "not-its-author",
        "made by np@shop.example, and its record by dg",
    ),
    # -- files and history
    ("shop.toml of a newer format", "pushes a shop.toml of format 2", "shop-unreadable", "2 is more than 1"),
    (
        "attributes of one folder",
        "adds jobs/4471/.gitattributes with `*.nc filter=x ident`",
        "bytes-altered",
        "jobs/4471/.gitattributes",
    ),
    (
        "merge by lines",
        "has git merge programs line by line (`*.nc merge=union`)",
        "bytes-altered",
        "merge=union",
    ),
    ("name of a stream", "adds common/O1.nc:x", "bad-name", "refuse :"),
    ("path of Windows", "adds a name with backslashes", "bad-name", "refuse \\"),
    ("name that is no UTF-8", "adds a name of bytes that are no UTF-8", "bad-name", "no UTF-8"),
    (
        "another shop's history",
        "merges a root of his own, whose shop.toml gives him the role he uses there",
        "founded-twice",
        "founds a shop beside",
    ),
    # -- which branch's shop.toml counts
    (
        "old state where HEAD names nothing",
        "pushes an old state, with his role of then, as a branch of a server whose HEAD names none",
        "no-main-branch",
        "which is not there",
    ),
    (
        "old state as the branch HEAD names",
        "pushes an old state as the very branch the server's HEAD names and nobody has",
        "no-main-branch",
        "which is not there",
    ),
)
