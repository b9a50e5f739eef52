"""The page of the manual for an auditor."""

TEXT = r"""For the auditor

You need not believe this tool. What it keeps is a git repository of plain text:
programs as they are, setup sheets and one file a record as TOML, releases as
annotated tags. Records are only ever added; a mistake is answered by another
record, never by an edit.

Ask for the whole record, checked
Every object is hashed, every release derived again from its own tree and
history.

    $ proveout audit
    No problem found in 27 records, 3 releases, 17 recorded texts and 27 states of
    the shop.
    This shows what was released, exported and collected, not what the spindle ran.

What stood on a day
By the records and the policy of that day, not of today:

    $ proveout history --on 2026-03-12
    By what was recorded by the end of 12 Mar 2026:
    of            rev  machine  release  standing
    4471/op10     r5   MILL2    2        carried
        carried over from r2, proved 4 Feb 2026 on MILL2; r5 itself was not run in
        full. Treat T4, T5 as a first run. Covered by: slower (T4): desk review dg
        17 Feb 2026; T5 proved again kp 24 Feb 2026
    4471/op10-m3  r1   MILL3    -        proven
        proven by ss 12 Mar 2026 on MILL3
    4471/op20     r1   MILL2    2        proven
        proven by ss 4 Feb 2026 on MILL2
    4488/op10     r1   LATHE1   -        lapsed
        lapsed 17 Jan 2026: 24 months since the last proof 17 Jan 2024, no run
        recorded since; proven by kp 17 Jan 2024 on LATHE1
    4502/op10     r1   MILL3    1        proven
        proven by kp 4 Mar 2026 on MILL3

From a text to every machine and stick it was on
From a part: proveout where --lot LOT, or --serial, or --on DAY --machine M.

    $ proveout where 4471/op10@r2
    at                        what      machine  stick   of  by
    4 Feb 2026 11:30 +00:00   proved    MILL2    -       r2  ss  accepted
    6 Feb 2026 09:45 +00:00   exported  MILL2    BLUE-1  r2  ss
        MILL2/O1001.NC, MILL2/O1002.NC
    16 Feb 2026 14:10 +00:00  seen      MILL2    BLUE-1  r2  np  changed-code
        MILL2/O1001.NC
    16 Feb 2026 14:10 +00:00  seen      MILL2    BLUE-1  r2  np  as-exported
        MILL2/O1002.NC
    4471/op10 r2: 1 machine (MILL2), 1 stick (BLUE-1).
    This shows what was proved, exported, collected and put down as run. It cannot
    know what the spindle ran, nor copies that nobody recorded: in a control's
    memory, on another stick, on a PC.

Exceptions, a table each
Proofs carried over, prover and writer the same person, late entries, clocks,
deviations, waivers: each is proveout audit --list NAME.

    $ proveout audit --list late-entries
    0 entries in the list late-entries.
    $ proveout audit --list incomplete
    What          On     By  Why
    4471/op10@r1  MILL2  ss  without P9, P10
        jobs/4471/records/op10/r0001-6ba8eb05-proof-MILL2-20260203T102500Z-ss.toml
    4471/op10@r5  MILL2  kp  tools 5, 6 only
        jobs/4471/records/op10/r0005-fa5c4130-proof-MILL2-20260224T111000Z-kp.toml
    2 entries in the list incomplete.

Who held which role

    $ proveout history --people-on 2026-03-12
    By shop.toml at the end of 12 Mar 2026:
    who  name          that day  roles       since  left  keys
    np   Nora Pencil   listed    programmer               none
    kp   Kit Parallel  listed    setup                    none
    ss   Sol Shim      listed    setup                    none
    dg   Dell Gauge    listed    quality                  none

Check a release by hand, with git alone
The tag names its record and that record's SHA-256. Hash the record of that
commit with sha256sum: it must give that figure. The record names each proof and
review it relies on in the same way.

    $ git cat-file tag release/4471/2
    object COMMIT
    type commit
    tag release/4471/2
    tagger Dell Gauge <dg@threepenny.example> 1771938000 +0000

    4471 release 2

    record: jobs/4471/records/release-0002.toml
    sha256: 4a5b0dbd0ae0e35ecc47894036f809f586aa33b7c51601f3896ce310d77d85dd
    $ git show release/4471/2:jobs/4471/records/release-0002.toml
    format = 1
    event = "release"
    job = "4471"
    at = "2026-02-24T13:00:00Z"
    entered = "2026-02-24T13:00:00Z"
    by = "dg"
    clock = "set"
    number = 2
    not_included = [
        { operation = "op10-m3", reason = "4471/op10-m3 r1 on MILL3: unproven: never proved on MILL3" },
    ... and 57 more lines
    $ git log --diff-filter=MD --oneline -- "*records/*.toml"

The last command lists records that were altered or deleted at any time. It
answers nothing: there are none.

Take it with you
A package with every record, program, signature and list, and a script that
checks them with Python alone. Have the SHA-256 told to you another way: who
alters a package can alter every sum in it.

    $ proveout audit --bundle auditor.zip
    No problem found in 27 records, 3 releases, 17 recorded texts and 27 states of
    the shop.
    This shows what was released, exported and collected, not what the spindle ran.
    written: auditor.zip (84 files)
    SHA-256 of manifest.txt in it:
    SHA256
    Tell the auditor this figure another way. Who has the file runs: python
    verify.py

What no record knows
What the spindle ran, copies nobody recorded, whether the clock of a PC was
right on the day. Dates are claimed by the PC that made the record; a server
that guards holds them against its own clock at receipt.
"""
