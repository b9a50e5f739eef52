"""The page of the manual for the programmer."""

TEXT = r"""For the programmer

The commands here are tried on the sample shop: proveout demo threepenny, then
cd threepenny. There the day is 20 Mar 2026 (PROVEOUT_NOW=2026-03-20T13:00:00Z).

See how things stand
One row an operation and machine, with what comes next.

    $ proveout status --job 4502
    operation  rev  machine  id        rel  may run  standing
    4502/op10  r2   MILL3    0882C376  -    no       UNPROVEN
        it came from r1, which is withdrawn: nothing is carried over
        next: proveout prove 4502 --machine MILL3
    Records here are unsigned: nobody in shop.toml has a key (proveout explain
    unsigned).
    last share: never: on this disk only

Change a program
Edit the file as always. Change `S7000 M3` to `S6500 M3` in
`jobs/4502/op10/O1201.nc`, then ask what was changed:

    $ proveout checkin
    operation  state    files
    4502/op10  changed  jobs/4502/op10/O1201.nc
    Take them in: proveout checkin JOB/OP -m "why", or --all for all of them.

Check it before it is recorded:

    $ proveout verify 4502
    4502/op10 on MILL3   id 48F8356B
      No finding from 80 checks; 6 not computed (MILL3 states no max_tool_length,
      max_tool_weight: tool-too-heavy, tool-too-long; x and y of the stock are not
      stated on the setup sheet: span-not-stock; the setup sheet states no
      flute_length of T1, T2, T3, lowest_z of T1, T2, T3, length of T1, T2, T3:
      flute-short, lowest-z, travel-z-short).

Record it, with the reason. Only this operation's files go into the record;
what else you have edited or staged stays as it is.

    $ proveout checkin 4502/op10 -m "S of the face mill 7000 to 6500" --by np
    4502/op10 is r3   id 48F8356B
      from r0002-0655e27c: speed (T3), slowest 0.9285 of what it was
      No finding from 80 checks; 6 not computed (MILL3 states no max_tool_length,
      max_tool_weight: tool-too-heavy, tool-too-long; x and y of the stock are not
      stated on the setup sheet: span-not-stock; the setup sheet states no
      flute_length of T1, T2, T3, lowest_z of T1, T2, T3, length of T1, T2, T3:
      flute-short, lowest-z, travel-z-short).

See what a change does
Tool by tool; numbering, comments, blanks are one line, for they are no code.
The table says what the machine does otherwise.

    $ proveout compare 4502/op10@r2 4502/op10@r3
    O1201.nc
      T3  1/4 BALL END MILL
        slower         was  N1293 G0 G17 G40 G80 G90 G54 X-1.8077 Y-1. S7000 M3
                            (line 1301)
                       is   N1293 G0 G17 G40 G80 G90 G54 X-1.8077 Y-1. S6500 M3
                            (line 1301)
    What O1201.nc does, lengths in inch, was -> is:
      T3    speed         7000 -> 6500
    Different code: slower.

A file stands beside a revision in the same way, and so do two releases
(4471@1 4471@2) and what two machines are to run (4471@MILL2 4471@MILL3).

See what a program does
Figures at 100 %, without tool changes. "At least" means that something in the
program is not followed, and it is named.

    $ proveout summary 4502/op10
    O1201.nc of 4502/op10 (id 48F8356B) on MILL3: mill program, inch
    tool  deepest  speed  feed   cut       rapid   min   used
    T1    0        5000   20-40  24.8      1.85    0.62  H1 G54
        1/2 4FL END MILL; X -1.9 to 1.9, Y -0.9 to 0.95, Z 0 to 0.15; line 9 (N3)
    T2    -0.13    6000   10-40  127.0135  7.9203  3.20  H2 G54
        3/8 BALL END MILL; X -1.8127 to 1.8127, Y -1 to 1, Z -0.13 to 0.15; line 30
        (N23)
    T3    -0.15    6500   10-40  186.0891  1.9098  4.67  H3 G54
        1/4 BALL END MILL; X -1.8077 to 1.8077, Y -1 to 1, Z -0.15 to 0.15; line
        1300 (N1292)
    Cut 337.9026 inch, 8.50 min; waiting 0.00 min; rapid 11.6801 inch as far as
    both ends are known.
    Minutes: at 100 %, without tool changes and rapids.
    A start in the middle is only as good as its block: length and work offset,
    plane, spindle, G90 must all be set there.

Bring an old text back
It becomes the next revision; the one in between stays on record.

    $ proveout checkin 4502/op10 --from r2 -m "6500 leaves chatter" --by np
    4502/op10 is r4   id 0882C376
      from r0003-b5b1241b: speed (T3)
      No finding from 80 checks; 6 not computed (MILL3 states no max_tool_length,
      max_tool_weight: tool-too-heavy, tool-too-long; x and y of the stock are not
      stated on the setup sheet: span-not-stock; the setup sheet states no
      flute_length of T1, T2, T3, lowest_z of T1, T2, T3, length of T1, T2, T3:
      flute-short, lowest-z, travel-z-short).

Put a new job in
Lay the program down, then have the setup sheet drafted from it. What the
program does not say is left as a question in job.toml; nothing is guessed.

    $ proveout new 4600 jobs/4488/op10/O2101.nc --machine LATHE1
    written   jobs/4600/job.toml

    4600/op10  ../4488/op10/O2101.nc  LATHE1, mm, G54
    T  offset  description
    1  1       CNMG 80 DEG ROUGHING, R0.8
    2  2       DNMG 55 DEG FINISHING, R0.4
    3  3       3 MM PART-OFF, R0.2, SET ON THE CHUCK-SIDE CORNER
    Next:
      1. Fill in jobs/4600/job.toml: 14 lines with ? is what no program says; what
      stays open is not checked.
      2. See what the checks say: proveout verify 4600/op10
      3. Record it: proveout checkin 4600/op10 -m "first issue"

A word you do not know
Every name on the screen has a page:

    $ proveout explain carried
    carried (standing)
      An earlier revision was proved in full on this machine, and every step from
      there to here is covered: by differences the shop lets pass by themselves, by
      a desk review of exactly that difference, or by a proof of the changed tools.
      The revision itself was not run in full; treat the changed tools as a first
      run.
      To put it right: Prove it in full when it is next on the machine:
        proveout prove JOB/OP --machine M.

Text checked, machine not. A program that is checked in is not proven: it goes
to the machine for its prove-out first (proveout explain setup).
"""
