"""What a server is attacked with where records are signed. Data only, a part of the table in `tests.server.attacks`."""

SIGNED = (
    # -- signatures (required, if nothing else is said)
    ("unsigned record", "pushes a lift nobody signed", "unsigned-record", "must be signed here (by dg)"),
    ("unsigned release", "pushes a release tag nobody signed", "unsigned-record", "refs/tags/release/4471/2"),
    (
        "release signed by another",
        "signs a release of dg with his own key",
        "signature-not-his-key",
        "refs/tags/release/4471/2",
    ),
    ("release with another's seal", "puts the signature of an older tag under a release", "signature-broken"),
    (
        "shop.toml changed without a record",
        "drops `required` in a commit without a record",
        "unsigned-record",
        "signed record of the change",
    ),
    (
        "required dropped and used",
        "drops `required`, and pushes an unsigned record with it",
        "shop-with-other",
    ),
    ("required dropped unsigned", "drops `required` in an unsigned change", "unsigned-record", "-shop-"),
    ("another's key", "signs a record of ss with his own key", "signature-not-his-key", "should be by ss"),
    (
        "another's lift, signed by himself",
        "enters a lift for quality and signs it with his own key",
        "no-authority",
        "np has not the role quality",
    ),
    ("stranger's key", "signs with a key nobody has", "signature-unknown-key"),
    ("key of the same push", "adds his key and signs with it in one push", "shop-with-other"),
    (
        "key of the same push alone",
        "adds a second key and signs the change itself with it",
        "signature-unknown-key",
    ),
    ("key taken out", "signs with a key that was taken out a commit before", "signature-revoked"),
    (
        "key taken out, dated back",
        "does so on a state of before, with the date of before, and merges",
        "signature-revoked",
    ),
    (
        "signed by who has left",
        "signs with his key, still listed, after he left",
        "signature-left",
        "somebody who is here makes it again",
    ),
    ("signature of another record", "lays the signature of an older record beside", "signature-broken"),
    ("signatures swapped", "swaps the signatures of two new records", "signature-broken"),
    (
        "signature for something else",
        "signs the record for the namespace of files",
        "signature-broken",
        "was made for file",
    ),
    (
        "record edited before the push",
        "changes a signed record in the commit that brings it",
        "signature-broken",
    ),
    ("signature that is none", "lays nonsense beside a record", "signature-broken", "is no SSH signature"),
    ("huge signature", "lays a signature of a megabyte beside a record", "signature-broken", "too long"),
    ("broken where optional", "lays nonsense beside a record, signatures being optional", "signature-broken"),
    (
        "stranger's key where optional",
        "signs with an unknown key, signatures being optional",
        "signature-unknown-key",
    ),
    ("signature without record", "pushes a signature alone", "signature-alone"),
    (
        "signature afterwards",
        "pushes a record first, and its signature in a second commit",
        "signature-alone",
    ),
    ("signature changed", "replaces a signature", "record-changed"),
    ("signature deleted", "takes a signature away", "record-deleted"),
    (
        "signed record again",
        "lays a signed hold under a later name, with its signature",
        "signature-replayed",
    ),
    (
        "signed record on another line",
        "brings a signed record a second time, on a side line",
        "signature-replayed",
    ),
)
