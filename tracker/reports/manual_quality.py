"""The page of the manual for quality."""

TEXT = r"""For quality

What is stopped, and what waits
What stops comes first; under each row stands what would clear it.

    $ proveout status --standing held,rejected,withdrawn
    operation  rev  machine  id        rel  may run  standing
    4471/op20  r1   MILL2    24F29D17  2    no       HELD
        held by dg 19 Mar 2026: customer asks about the edge break, answer due 23
        Mar; proven by ss 4 Feb 2026 on MILL2
        next: proveout lift 4471/op20 --by INITIALS -m "why"
    Records here are unsigned: nobody in shop.toml has a key (proveout explain
    unsigned).
    last share: never: on this disk only

Answer a question
README.md lists 25 of them under "What quality asks", with one command each.

    $ proveout history 4471 --event release
    at                        event    of    rev  machine  by
    6 Feb 2026 09:30 +00:00   release  4471                dg
        release 1: op10 r2, op20 r1
    24 Feb 2026 13:00 +00:00  release  4471                dg
        release 2: op10 r5, op20 r1
    $ proveout history 4471 --on 2026-02-20
    By what was recorded by the end of 20 Feb 2026:
    of         rev  machine  release  standing
    4471/op10  r4   MILL2    -        carried
        carried over from r2, proved 4 Feb 2026 on MILL2; r4 itself was not run in
        full. Treat T4 as a first run. Covered by: slower (T4): desk review dg 17
        Feb 2026
    4471/op10  r2   MILL2    1        proven
        proven by ss 4 Feb 2026 on MILL2
    4471/op20  r1   MILL2    1        proven
        proven by ss 4 Feb 2026 on MILL2
    $ proveout audit --list carries
    What          On     Chain                 Why
    4471/op10@r5  MILL2  r2 -> r3 -> r4 -> r5  carried over from r2, proved 4 Feb
                                               2026 on MILL2; r5 itself was not run
                                               in full. Treat T4, T5 as a first run.
                                               Covered by: slower (T4): desk review
                                               dg 17 Feb 2026; T5 proved again kp 24
                                               Feb 2026
        jobs/4471/records/op10/r0005-fa5c4130.toml
    1 entry in the list carries.

Let a proof carry over a change
The programmer made a text slower. Change `S6000 M3` to `S5500 M3` in
`jobs/4471/op10-m3/O1001.nc`, and record it:

    $ proveout checkin 4471/op10-m3 -m "S of T3 6000 to 5500" --by np
    4471/op10-m3 is r2   id 6A61AF1E
      from r0001-f0fec5c9: speed (T3), slowest 0.9166 of what it was
      No finding from 80 checks; 6 not computed (MILL3 states no max_tool_length,
      max_tool_weight: tool-too-heavy, tool-too-long; x and y of the stock are not
      stated on the setup sheet: span-not-stock; the setup sheet states no
      flute_length of T1, T2, T3, T4, T5, T6, lowest_z of T1, T2, T3, T4, T5, T6,
      length of T1, T2, T3, T4, T5, T6: flute-short, lowest-z, travel-z-short).

Read how it differs. If your rules let it pass, say so in your name: the proof
of the one before then counts for it, and that is said wherever it stands.

    $ proveout compare 4471/op10-m3@r1 4471/op10-m3@r2
    O1001.nc
      T3  1/2 4FL END MILL
        slower         was  N330 G0 G17 G40 G80 G90 G54 X-0.75 Y-0.75 S6000 M3
                            (line 38)
                       is   N330 G0 G17 G40 G80 G90 G54 X-0.75 Y-0.75 S5500 M3
                            (line 38)
    What O1001.nc does, lengths in inch, was -> is:
      T3    speed         6000 -> 5500
    Different code: slower.
    $ proveout review 4471/op10-m3@r2 --by dg -m "slower only, read line by line" --yes
    4471/op10-m3 r2: desk review by dg against r1: slower (T3).
      4471/op10-m3 r2 on MILL3: CARRIED over from r1, proved 12 Mar 2026 on MILL3;
      r2 itself was not run in full. Treat T3 as a first run. Covered by: slower
      (T3): desk review dg 20 Mar 2026

Release
Every operation of the job must stand. If one does not, every reason is listed
with what clears it, and nothing is released.

    $ proveout release 4471 --by dg --yes  # exit 1
    4471 is not released: 1 reason  [not-released]
      - 4471/op20 r1 on MILL2: held by dg 19 Mar 2026: customer asks about the edge break, answer due 23 Mar; proven by ss 4 Feb 2026 on MILL2 (clear it: proveout lift 4471/op20 --by INITIALS -m "why")
      fix: clear every reason above, then run it again

Here the customer's answer is in, so the hold is lifted, and release is asked
again; --dry-run says only whether it would.

    $ proveout lift 4471/op20 --by dg -m "answer of 20 March: as drawn" --yes
    4471/op20: hold lifted by dg.
      4471/op20 r1 on MILL2: PROVEN by ss 4 Feb 2026 on MILL2
    $ proveout release 4471 --by dg --dry-run
    4471 release 3 could be made now; nothing was written.
      op10 r5 on MILL2: CARRIED over from r2, proved 4 Feb 2026 on MILL2; r5 itself
      was not run in full. Treat T4, T5 as a first run. Covered by: slower (T4):
      desk review dg 17 Feb 2026; T5 proved again kp 24 Feb 2026
      op10-m3 r2 on MILL3: CARRIED over from r1, proved 12 Mar 2026 on MILL3; r2
      itself was not run in full. Treat T3 as a first run. Covered by: slower (T3):
      desk review dg 20 Mar 2026
      op20 r1 on MILL2: PROVEN by ss 4 Feb 2026 on MILL2
    last share: never: on this disk only

Call a release back
It may run nowhere any more. Sticks and machines that may hold it still are
listed, with their owners.

    $ proveout withdraw 4471@2 --by dg -m "edge break was read wrongly" --yes
    4471 release 2 withdrawn by dg: op10 r5, op20 r1.
      call in BLUE-1 (MILL2): MILL2/O1003.NC
      take it off the control of MILL2, which may hold it still
      then the stick: proveout export --machine MILL2 --to DIR --mirror
    $ proveout where 4471/op10@r5
    at                        what      machine  stick   of  by
    6 Feb 2026 09:45 +00:00   exported  MILL2    BLUE-1  r2  ss  a called program
        MILL2/O1002.NC
    16 Feb 2026 14:10 +00:00  seen      MILL2    BLUE-1  r2  np  a called program,
                                                                 as-exported
        MILL2/O1002.NC
    24 Feb 2026 11:10 +00:00  proved    MILL2    -       r5  kp  accepted, of T5, T6
    4471/op10 r5: 1 machine (MILL2), 0 sticks (none).
    Programs it calls, beside another text: BLUE-1.
    This shows what was proved, exported, collected and put down as run. It cannot
    know what the spindle ran, nor copies that nobody recorded: in a control's
    memory, on another stick, on a PC.

Is the record whole

    $ proveout audit
    No problem found in 31 records, 3 releases, 19 recorded texts and 31 states of
    the shop.
    This shows what was released, exported and collected, not what the spindle ran.

One page to show
Standing, timeline, differences, tool path, evidence; it needs nothing but
itself.

    $ proveout report 4471 -o report-4471.html
    written: report-4471.html
    Open it in a browser; it needs nothing else.

The record shows what was released, exported and collected, not what the spindle
ran. It never calls a program safe.
"""
