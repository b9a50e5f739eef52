"""The page of the manual for the setup person."""

TEXT = r"""For the setup person

Text checked, machine not. Follow the machine's manual, your employer's
procedure and the safety rules where you work; where they differ from this,
they win. Keep guards and interlocks working; stop if anything looks different
from the sheet.

What may run here today
Only what is released and stands on this machine today is listed; the rest is
named with the reason.

    $ proveout status --may-run --machine MILL2
    What may run on MILL2 - 20 Mar 2026 13:00 +00:00
    operation  rev  machine  id        rel  may run  standing
    4471/op10  r5   MILL2    A74AAED1  2    yes      CARRIED
        carried over from r2, proved 4 Feb 2026 on MILL2; r5 itself was not run in
        full. Treat T4, T5 as a first run. Covered by: slower (T4): desk review dg
        17 Feb 2026; T5 proved again kp 24 Feb 2026
    Records here are unsigned: nobody in shop.toml has a key (proveout explain
    unsigned).
      may not run: MILL2: 4471/op20 r1: held by dg 19 Mar 2026: customer asks about
      the edge break, answer due 23 Mar; proven by ss 4 Feb 2026 on MILL2
    last share: never: on this disk only
    Standing may have changed since; ask before loading.

Take programs to the machine
Into the machine's folder on the stick, read back after writing. A READ-ME.TXT
lies beside them.

    $ proveout export --machine MILL2 --to ../STICK --by ss --yes  # exit 1
    Written for MILL2 to STICK, folder MILL2, 20 Mar 2026 13:00 +00:00:
    file                 operation  rev  id        release
    MILL2/O1001.NC  new  4471/op10  r5   A74AAED1  2
    MILL2/O1002.NC  new  4471/op10  r5   A74AAED1  2
      4471/op10 r5 (id A74AAED1): CARRIED over from r2, proved 4 Feb 2026 on MILL2;
      r5 itself was not run in full. Treat T4, T5 as a first run. Covered by:
      slower (T4): desk review dg 17 Feb 2026; T5 proved again kp 24 Feb 2026
    LEFT OUT:
      4471/op20 r1: held by dg 19 Mar 2026: customer asks about the edge break,
      answer due 23 Mar; proven by ss 4 Feb 2026 on MILL2
    ... and 16 more lines

Prove a program out
A text nobody proved travels in a folder of its own, FOR-PROVING, and says so in
its first lines.

    $ proveout export --for-proving 4502/op10 --machine MILL3 --to ../STICK --by kp --yes
    Written for MILL3 to STICK, folder MILL3/FOR-PROVING, 20 Mar 2026 13:00 +00:00:
    file                             operation  rev  id        release
    MILL3/FOR-PROVING/O1201.NC  new  4502/op10  r2   0882C376  UNPROVEN
      4502/op10 r2 (id 0882C376): UNPROVEN: it came from r1, which is withdrawn:
      nothing is carried over
    MILL3/FOR-PROVING/READ-ME.TXT: lies beside them
    MILL3, STICK: 1 program UNPROVEN, for a prove-out only (1 new). Nothing to
    decide.
    The list on the stick asks to be looked at again by 27 Mar 2026. Standing may
    have changed since; ask before loading.
    Not proved on MILL3. Raise, single block, low rapid, hand on feed hold, read
    distance-to-go at every approach.
    Text checked, machine not. Follow the machine's manual, your employer's
    procedure and local safety rules: where they differ, they win. Keep guards and
    interlocks working; stop if anything looks different from the sheet.
    last share: never: on this disk only

Print the sheet: tools, offsets, deepest cuts, numbered steps with boxes.

    $ proveout sheet 4502/op10 --machine MILL3 --html sheet-4502.html
    written: sheet-4502.html
    4502/op10 r2 on MILL3, id 0882C376: unproven. Open it in a browser to print it.

At the machine: read the eight digits on the control back from the sheet. Raise,
single block, low rapid, hand on feed hold, read distance-to-go at every
approach. Then sign. On the screen, proveout prove 4502/op10 --machine MILL3
--by kp --accept asks for each step; with a form it is done beside the machine:

    $ proveout prove 4502/op10 --machine MILL3 --form prove-out.toml
    Empty form for 4502/op10 r2 written: prove-out.toml

Fill in `prove-out.toml`, step by step, then:

    $ proveout prove 4502/op10 --machine MILL3 --by kp --accept --first-piece "report 2240" --answers prove-out.toml --yes
    4502/op10 r2 (id 0882C376) on MILL3: accepted by kp.
      4502/op10 r2 on MILL3: PROVEN by kp 20 Mar 2026 on MILL3
    Text checked, machine not. Follow the machine's manual, your employer's
    procedure and local safety rules: where they differ, they win. Keep guards and
    interlocks working; stop if anything looks different from the sheet.

Did it go wrong, sign that: --reject --cause program (or tool, setup, machine).
Nobody may run that text then, and the next one knows.

Put a run down
With the lot, so that a part can be traced back to its text.

    $ proveout ran 4471/op10 --machine MILL2 --by ss --lot 2207 --yes
    4471/op10 r5: ran on MILL2 on 20 Mar 2026, lot 2207.
      4471/op10 r5 on MILL2: CARRIED over from r2, proved 4 Feb 2026 on MILL2; r5
      itself was not run in full. Treat T4, T5 as a first run. Covered by: slower
      (T4): desk review dg 17 Feb 2026; T5 proved again kp 24 Feb 2026

Bring the stick home
Every file is named for what it is. An edit made at the control is taken in with
--checkin, in your name, byte for byte. It ends with 1 while a person must
decide.

    $ proveout collect ../STICK --by ss --yes  # exit 1
    file                        verdict      is            what
    MILL2/O1001.NC              as-exported  4471/op10 r5  r5, written 20 Mar 2026
                                                           by ss, release 2
    MILL2/O1002.NC              as-exported  4471/op10 r5  r5, written 20 Mar 2026
                                                           by ss, release 2
    MILL3/FOR-PROVING/O1201.NC  FOR-PROVING  4502/op10 r2  r2, written 20 Mar 2026
                                                           by kp, UNPROVEN, for its
                                                           prove-out only; proven by
                                                           now: have it released
    STICK: 3 files: 1 for a prove-out only, 2 as exported. 1 file to decide about.
    DECIDE: MILL3/FOR-PROVING/O1201.NC: for a prove-out only: prove it, or take it
    off.

What is this file
Ends with 0 only if it may run here.

    $ proveout identify ../STICK/MILL2/O1001.NC --machine MILL2
    ../STICK/MILL2/O1001.NC
      4471/op10 r5, id A74AAED1, jobs/4471/op10/O1001.nc
      No difference found in code. Only the text was compared.
      the operation runs O1001.nc, O1002.nc
      MAY RUN on MILL2: carried over from r2, proved 4 Feb 2026 on MILL2; r5 itself
      was not run in full. Treat T4, T5 as a first run. Covered by: slower (T4):
      desk review dg 17 Feb 2026; T5 proved again kp 24 Feb 2026 (release 2)
    Text checked, machine not. Follow the machine's manual, your employer's
    procedure and local safety rules: where they differ, they win. Keep guards and
    interlocks working; stop if anything looks different from the sheet.

Stop something
Anybody may stop a text or a machine; quality lifts it.

    $ proveout hold 4471/op10 --by ss -m "burr on the edge, asked quality" --yes
    4471/op10 held by ss, every revision of it.
      4471/op10 r5 on MILL2: HELD by ss 20 Mar 2026: burr on the edge, asked
      quality; carried over from r2, proved 4 Feb 2026 on MILL2; r5 itself was not
      run in full
        to clear it: proveout lift 4471/op10 --by INITIALS -m "why"
    note: lies on BLUE-1 (MILL2): MILL2/O1001.NC, MILL2/O1002.NC: not to be run
    from there while it is held
    note: lies on STICK (MILL2): MILL2/O1001.NC, MILL2/O1002.NC: not to be run from
    there while it is held
    $ proveout status --standing held
    2 rows: 2 held; 0 may run.
    operation  rev  machine  id        rel  may run  standing
    4471/op10  r5   MILL2    A74AAED1  2    no       HELD
        held by ss 20 Mar 2026: burr on the edge, asked quality; carried over from
        r2, proved 4 Feb 2026 on MILL2; r5 itself was not run in full
        next: proveout lift 4471/op10 --by INITIALS -m "why"
    4471/op20  r1   MILL2    24F29D17  2    no       HELD
        held by dg 19 Mar 2026: customer asks about the edge break, answer due 23
        Mar; proven by ss 4 Feb 2026 on MILL2
        next: proveout lift 4471/op20 --by INITIALS -m "why"
    Records here are unsigned: nobody in shop.toml has a key (proveout explain
    unsigned).
    last share: never: on this disk only

In an emergency, proveout export --deviation takes a text without standing to
the machine for some hours. It says what it is, and a second person is owed.
"""
