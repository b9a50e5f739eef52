"""The page of the manual for the IT person."""

TEXT = r"""For the IT person

What is needed: Python 3.11, git, a folder. There is no service and no database.
The record is a git repository; whatever backs up files backs it up.

A PC
Once in each clone: the hook that asks the gate before a release tag, and git
diff that shows code. doctor says point by point what is set up, and how to put
the rest right. On a PC of several people: proveout install --shared.

    $ proveout install
    Set up: /srv/threepenny
      kept     the gate is asked before a release tag changes
      written  git diff shows programs as NC text
      kept     line ends and merges of programs left alone in this clone
      written  git difftool compares programs tool by tool
    note: The hook in a clone guards against accident only: status, export, audit
    and the server judge every release again.
    $ proveout doctor  # exit 1
    /srv/threepenny
    on            version     proveout VERSION, Python VERSION
    on            git         git VERSION
    on            scanner     a scanner reads programs
    on            history     the whole history is here
    on            hook        reference-transaction asks the gate
    on            diff        git diff shows programs as NC text
    on            attributes  line ends and merges of 6 programs are left alone
    on            shop        shop.toml is right: 4 people, 3 machines
    off           person      git knows no e-mail address here
    ... and 18 more lines

A server
A bare repository reached by ssh or https guards: what a push brings is judged
there, out of reach of who pushes. Every push is put down in a journal whose
lines hold each other.

    $ git clone -q --bare . ../server.git
    $ proveout install --server ../server.git --over ssh
    Set up on the server: /srv/server.git
      written  the gate judges every push
      written  receive.fsckObjects
      written  transfer.fsckObjects
      written  core.logAllRefUpdates
      written  receive.maxInputSize
      written  receive.denyNonFastForwards
      written  receive.denyDeletes
      kept     the main branch is main
      written  pushes come by ssh
      written  every push is put down in the receive journal
    This server is: guarded
    note: Guarded: pushes come by ssh, so the hook runs on the server, out of reach
    of who pushes.
    $ git remote add origin ../server.git
    $ proveout share
    Nothing to do: origin and this clone hold the same.
    $ proveout -C ../server.git gate --journal
    1 line, each follows the one before it.

A bare repository on a Windows share works too, but cannot guard, for the hook
runs on the PC that pushes. It says so (courtesy). Keep a witness then.

A second copy that follows no rewrite
On another disk, nightly; it ends with 1 when somebody should look.

    $ proveout witness ../witness --from ../server.git
    No finding: 4 branches and tags of
    /srv/server.git, 4 of
    them new or gone on; 3 releases derived again. Line 1 of the journal.

Backup
The whole record in one file, read back after writing. Try restoring it: a
backup nobody restored is a hope.

    $ proveout backup --to ../backups
    ../backups/threepenny-bench-works-20260320T130000Z.bundle
    5 references, SIZE bytes; read back whole.
    How to restore it with plain git stands beside it in
    threepenny-bench-works-20260320T130000Z.txt.
    Try it now and then: proveout backup --drill "../backups/threepenny-bench-works-20260320T130000Z.bundle"
    $ proveout backup --drill ../backups/threepenny-bench-works-20260320T130000Z.bundle
    ../backups/threepenny-bench-works-20260320T130000Z.bundle
    Restored for a try: 3 releases; every one of them was derived again.
    No problem found in 27 records, 3 releases, 17 recorded texts and 27 states of
    the shop.
    This shows what was released, exported and collected, not what the spindle ran.

Several sites
Each site has its clone and works without the others; share fetches, brings both
sides together and sends. Records never collide. A program changed on both sides
is never mixed: share says who changed what, and waits for --take.

    $ git clone -q ../server.git ../site-two
    $ proveout -C ../site-two install
    Set up: /srv/site-two
      written  the gate is asked before a release tag changes
      written  git diff shows programs as NC text
      kept     line ends and merges of programs left alone in this clone
      written  git difftool compares programs tool by tool
    note: The hook in a clone guards against accident only: status, export, audit
    and the server judge every release again.
    $ proveout -C ../site-two status --machine MILL2
    2 rows: 1 held, 1 carried; 1 may run.
    operation  rev  machine  id        rel  may run  standing
    4471/op10  r5   MILL2    A74AAED1  2    yes      CARRIED
        carried over from r2, proved 4 Feb 2026 on MILL2; r5 itself was not run in
        full. Treat T4, T5 as a first run. Covered by: slower (T4): desk review dg
        17 Feb 2026; T5 proved again kp 24 Feb 2026
    4471/op20  r1   MILL2    24F29D17  2    no       HELD
        held by dg 19 Mar 2026: customer asks about the edge break, answer due 23
        Mar; proven by ss 4 Feb 2026 on MILL2
        next: proveout lift 4471/op20 --by INITIALS -m "why"
    Records here are unsigned: nobody in shop.toml has a key (proveout explain
    unsigned).
    last share: today

Keys
Records are signed with SSH keys where shop.toml lists them. A person makes a
key with ssh-keygen, quality adds the line of the .pub file to keys in shop.toml
and checks that in; proveout install --key FILE --by INITIALS names it on the
person's PC. See that doctor names nobody without a key before signatures are
required. A key that is taken out signs nothing new; what it signed stays good.

    $ proveout explain signature-not-his-key
    signature-not-his-key (error)
      The signature holds, by a key of somebody else. Who sits at the keyboard
      signs: entered_by where the record names somebody there, else by.
      To put it right: That person makes the record, with a key of their own; or it
      says who entered it: --entered-by INITIALS.

Updating
Read the pages again after an update: records keep their form, and one of a
newer form than a PC knows is shown and refused by the gate, never guessed at.

Taking it off again

    $ proveout install --undo
    Taken out of /srv/threepenny
      removed  the hook
      removed  git diff shows programs as NC text
      removed  git difftool compares programs tool by tool
    note: The attributes stay: they keep line ends and merges of programs as they
    are.
"""
