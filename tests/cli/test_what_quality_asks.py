"""What quality asks: each question has one command in the README, and its answer is that of plain git on the sample shop.

Each row holds a few words of git and sh that give the answer from the files and the history alone, the answer they gave when
it was worked out by hand, and what is read out of the command's JSON. All three must agree. The sample shop ends without a
run and without a stop of a machine; both are put down first.
"""

import contextlib
import io
import json
import re
import shutil
import subprocess

import pytest

from tracker.cli.entry import main

NOW = "2026-03-20T13:00:00Z"
ROW = re.compile(r"^\| (\d+) \| (.+?) \| `proveout (.+?)`(.*) \|$", re.MULTILINE)
# commit that brought a record in
HELP = 'came() { git log --diff-filter=A --format=%H -- "$1"; }\nOP10=jobs/4471/records/op10\n'


def cells(*keys, of="rows"):
    return lambda body: [" ".join(str(row[key]) for key in keys) for row in body[of]]


def first_run(body):
    (run,) = body["runs"]
    proofs = [one for one in (*run["rests_on"], *run["proofs"]) if "-proof-" in one["record"]]
    return [
        f"{run['revision']} release/4471/{run['released']} proved by {' '.join(one['by'] for one in proofs)}"
    ]


def changed(body):
    return [
        f"{sign}{change[side]['text']}"
        for change in body["changes"]
        for sign, side in (("-", "old"), ("+", "new"))
    ]


# question: what git and sh are asked | the answer by hand | how the command's JSON is read
ASKED = {
    1: (
        # r5 is carried over: who proved what it came from in full, and who its changed tools, by the release that rests on them
        """f=$(git ls-files '*-ran-*' | xargs grep -l 'lot = "2207"'); r=$(basename $f | sed 's/-ran-.*//')
        for t in $(git tag -l 'release/4471/*'); do n=$(printf %04d ${t##*/})
        by=$(git show $t:jobs/4471/records/release-$n.toml | grep -o "$OP10/[^ ]*-proof-MILL2-.*toml" | sed 's/.*-\\(.*\\).toml/\\1/')
        git show $t:jobs/4471/records/release-$n.toml | grep -q "$r\\"" &&
        echo "r$(echo $r | cut -c5) $t proved by" $by; done; true""",
        ["r5 release/4471/2 proved by ss kp"],
        first_run,
    ),
    2: (
        """git diff --no-textconv -U0 $(came $OP10/r0004-f1efe0a6.toml) $(came $OP10/r0005-fa5c4130.toml) -- jobs/4471/op10/O1001.nc |
        grep '^[-+]N' | tr -d '\\r'""",
        ["-N650 G98 G83 X2. Y2.25 Z-0.81 R0.1 Q0.1 F16.", "+N650 G98 G83 X2. Y2.25 Z-0.85 R0.1 Q0.1 F16."],
        changed,
    ),
    3: (  # released for MILL2, and no hold that was not lifted
        """git show release/4471/2:jobs/4471/records/release-0002.toml |
        awk '/^operation =/{o=$3} /^ *"MILL2"/{print o}' | cut -d'"' -f2 | while read op; do
        holds=$(ls jobs/4471/records/$op | grep -c -e '-hold-'); lifts=$(ls jobs/4471/records/$op | grep -c -e '-lift-')
        [ $holds -gt $lifts ] || echo 4471 $op; done""",
        ["4471 op10"],
        lambda body: [f"{row['job']} {row['operation']}" for row in body["operations"] if row["may_run"]],
    ),
    4: (  # the releases there were by the end of the day
        """git for-each-ref --format='%(taggerdate:short) %(refname:lstrip=2)' refs/tags/release | awk '$1 <= "2026-03-12"' |
        sed 's/.*release.//' | sort -t/ -k1,1 -k2,2n | awk -F/ '{last[$1]=$2} END {for (j in last) print j, last[j]}' |
        sort""",
        ["4471 2", "4502 1"],
        lambda body: sorted({f"{row['job']} {row['released']}" for row in body["operations"] if row["released"]}),
    ),
    5: (
        """{ git ls-files 'jobs/4471/records/*.toml'; git grep -l 'job = "4471"' -- 'records/*'; } | wc -l | tr -d ' '""",
        ["21"],
        lambda body: [str(len(body["events"]))],
    ),
    6: (  # who signed a proof against who checked the text in
        """git ls-files '*-proof-*' | while read p; do r=$(echo $p | sed 's/-proof-.*//').toml
        [ "$(grep '^by = ' $p)" = "$(grep '^by = ' $r)" ] && echo $p; done; true""",
        [],
        cells("record"),
    ),
    7: (
        """git grep -lE 'result = "unfinished"|^limits|done = false|^tools = ' -- '*-proof-*' | sed 's/.*records.//'""",
        [
            "op10/r0001-6ba8eb05-proof-MILL2-20260203T102500Z-ss.toml",
            "op10/r0005-fa5c4130-proof-MILL2-20260224T111000Z-kp.toml",
        ],
        lambda body: [row["record"].split("records/")[1] for row in body["rows"]],
    ),
    8: (  # from r5 back by the origin each record names, to the first with an accepted proof of all tools
        """r=r0005-fa5c4130; chain=r5
        while ! grep -L '^tools = ' $(grep -l 'result = "accepted"' $OP10/$r-proof-* /dev/null) /dev/null 2>/dev/null | grep -q proof
        do r=$(grep -A9 '^\\[\\[origins' $OP10/$r.toml | grep '^revision' | cut -d'"' -f2); chain="r$(echo $r | cut -c5) -> $chain"
        done; echo "$chain" """,
        ["r2 -> r3 -> r4 -> r5"],
        cells("chain"),
    ),
    9: (  # the words a step changed, comments, numbers and blanks aside, that its record does not name as its kind
        """code() { git show $(came $OP10/$1.toml):jobs/4471/op10/O1001.nc | sed 's/([^)]*)//g; s/^N[0-9]*//' | tr -d ' \\r'; }
        old=r0002-6543da5b; for r in r0003-cc758886 r0004-f1efe0a6 r0005-fa5c4130; do
        for pair in 'feed F' 'speed S' 'motion [XYZIJKQR]' 'tool T' 'offset [HD]'; do w="${pair#* }[-0-9.]*"
        a=$(code $old | grep -o "$w"); b=$(code $r | grep -o "$w"); [ -n "$a" ] || echo "nothing read of $old"
        [ "$a" = "$b" ] || grep -q "\\"${pair% *}\\"" $OP10/$r.toml || echo "$r ${pair% *}"; done; old=$r; done""",
        [],
        cells("what"),
    ),
    10: ("git ls-files '*-deviation-*'", [], cells("record")),
    11: (  # files that came home changed, whose bytes no revision has
        """git grep -h -B9 'verdict = "changed-code"' -- '*-collect-*' | grep '^sha256' | cut -d'"' -f2 | while read s; do
        git grep -q "raw_sha256 = \\"$s\\"" || echo $s; done""",
        [],
        cells("record"),
    ),
    12: (
        """git grep -lE 'r0002-6543da5b' -- 'records/*' | sort""",
        ["records/20260206T094500Z-export-MILL2-ss.toml", "records/20260216T141000Z-collect-MILL2-np.toml"],
        lambda body: list(dict.fromkeys(p["record"] for p in body["places"] if p["same_text"] and p["stick"])),
    ),
    13: (  # the recall, and no export ever named that job
        """git ls-files '*-withdraw-*' | while read w; do grep -q 'job = "4502"' records/*-export-* && s=a-stick || s=-
        echo "$(grep '^job' $w | cut -d'"' -f2) $(grep '^number' $w | cut -d' ' -f3) $s"; done""",
        ["4502 1 -"],
        cells("what", "release", "still on"),
    ),
    14: (
        """for t in release/4471/2 release/4502/1; do j=$(echo $t | cut -d/ -f2)
        [ "$(git show $t:jobs/$j/job.toml | grep '^drawing')" = "$(grep '^drawing' jobs/$j/job.toml)" ] || echo $t; done""",
        [],
        cells("release"),
    ),
    15: (  # last proof or run of every operation; lapse_months = 24, so what was before 20 May 2024
        """for j in $(ls jobs | grep -v toml); do for o in $(ls jobs/$j/records | grep -v toml); do
        ls jobs/$j/records/$o | grep -e -proof- -e -ran- | grep -o '20[0-9]\\{6\\}T' | sort | tail -1 | tr -d T | while read d; do
        [ $d -le 20240519 ] && echo "$j/$o $(date -d "$d +24 months" +%F)"; done; done; done; true""",
        ["4488/op10 2026-01-17"],
        lambda body: [f"{row['what'].split('@')[0]} {row['lapses']}" for row in body["rows"]],
    ),
    16: (
        """git ls-files 'jobs/*.nc' | sed 's/.*.O/O/; s/.nc//' | sort | uniq -d | sort -u""",
        ["O1001"],
        lambda body: sorted({row["number"] for row in body["rows"]}),
    ),
    17: (  # who says P1002, and the newest accepted proof of all tools there
        """git grep -l 'P1002' -- 'jobs/*.nc' | cut -d/ -f2,3 | sort | while read o; do d=jobs/4471/records/${o#*/}
        r=$(grep -l 'result = "accepted"' $d/*-proof-* | xargs grep -L '^tools = ' | tail -1 | sed 's/.*r000\\(.\\).*/\\1/')
        echo "$o r$r"; done""",
        ["4471/op10 r2", "4471/op10-m3 r1", "4471/op20 r1"],
        lambda body: sorted(f"{use['job']}/{use['operation']} {use['proven']}" for use in body["uses"]),
    ),
    18: (
        """git grep -l 'scope = "machine"' -- 'records/*-MILL3-*' """,
        ["records/20260320T130000Z-hold-MILL3-dg.toml"],
        cells("record", of="events"),
    ),
    19: ("git grep -l first_piece -- '*-proof-*' | wc -l | tr -d ' '", ["6"], lambda body: [str(len(body["rows"]))]),
    20: (
        """git grep -l 'result = "accepted"' -- '*-proof-*' | while read p; do r=$(echo $p | sed 's/-proof-.*//').toml
        grep '^post' $r | cut -d'"' -f2; done | sort | uniq -c | sed 's/^ *//' | sort""",
        ["1 PLUMB-TURN 1.0", "5 PLUMB-MILL 1.2"],
        lambda body: sorted(f"{[r['post'] for r in body['rows']].count(p)} {p}" for p in {r["post"] for r in body["rows"]}),
    ),
    21: (
        "git ls-files 'records/*-export-*'",
        ["records/20260206T094500Z-export-MILL2-ss.toml"],
        cells("record", of="events"),
    ),
    22: (  # no object is damaged, no record was ever altered or taken away, and so many there are
        """git fsck --full --no-dangling >&2 && git log --diff-filter=MD --format=%H -- '*records/*.toml'
        git ls-files '*records/*.toml' | wc -l | tr -d ' '""",
        ["29"],
        lambda body: [*(one["problem"] for one in body["problems"]), str(body["checked"]["records"])],
    ),
    23: ("""git grep -l '^clock = "set"' | wc -l | tr -d ' '""", ["29"], lambda body: [str(len(body["rows"]))]),
    24: (
        """git show $(git log -1 --before=2026-03-12T23:59:59Z --format=%H -- shop.toml):shop.toml |
        awk -F'"' '/^initials/{w=$2} /^roles/{print w, $2}' | sort""",
        ["dg quality", "kp setup", "np programmer", "ss setup"],
        lambda body: sorted(f"{p['initials']} {' '.join(p['roles'])}" for p in body["people"]),
    ),
    25: (
        "cat .git/proveout/last-backup 2>/dev/null || echo off",
        ["off"],
        lambda body: [point["state"] for point in body["points"] if point["point"] == "backup"],
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def shop(threepenny_once, tmp_path_factory):
    folder = tmp_path_factory.mktemp("asked") / "threepenny"
    shutil.copytree(threepenny_once, folder, symlinks=True)
    with pytest.MonkeyPatch.context() as world:
        world.setenv("PROVEOUT_NOW", NOW)
        here = ["-C", str(folder)]
        assert (
            main([*here, "ran", "4471/op10", "--machine", "MILL2", "--by", "ss", "--lot", "2207", "--yes"])
            == 0
        )
        because = ["--because", "crash", "--by", "dg", "-m", "spindle ran into the vise", "--yes"]
        assert main([*here, "hold", "--machine", "MILL3", *because]) == 0
    return folder


def rows(project):
    text = (project / "README.md").read_text(encoding="utf-8")
    found = ROW.findall(text[text.index("### What quality asks") :])
    return {int(number): command for number, _, command, _ in found}


def by_git(folder, said):
    done = subprocess.run(["sh", "-c", HELP + said], cwd=folder, capture_output=True, text=True, check=False)
    assert "fatal" not in done.stderr, done.stderr
    return done.stdout.splitlines()


def test_every_question_has_one_command(project):
    assert list(rows(project)) == list(range(1, 26)) == list(ASKED)


@pytest.mark.parametrize("number", ASKED)
def test_the_answer_is_that_of_plain_git(project, shop, number, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    plain, by_hand, read = ASKED[number]
    words = rows(project)[number].split()
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(["-C", str(shop), *words, "--json"])
    assert status in (0, 1), err.getvalue()
    assert by_git(shop, plain) == by_hand
    assert read(json.loads(out.getvalue())) == by_hand


@pytest.mark.parametrize("number", ASKED)
def test_each_answer_comes_as_a_table_too(project, shop, number, monkeypatch, capsysbinary):
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    words = rows(project)[number].split()
    assert main(["-C", str(shop), *words, "--csv"]) in (0, 1)
    assert capsysbinary.readouterr().out.startswith(b"\xef\xbb\xbf")


def test_what_no_record_can_answer_is_said(shop, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    assert main(["-C", str(shop), "where", "--lot", "9999"]) == 1
    assert "No run is recorded for lot 9999." in capsys.readouterr().out
