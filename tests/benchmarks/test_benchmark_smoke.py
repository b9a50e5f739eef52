import hashlib
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks import arcing, coming_home, run, summary, surfacing
from tests.benchmarks.measure import Contender, interleaved
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.nc import canonical, compare, scan

ROOT = Path(__file__).resolve().parents[2]
SIZE = 200_000


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return run.programs(tmp_path_factory.mktemp("bench"), SIZE)


def test_the_programs_are_the_same_every_time(files, tmp_path):
    surfacing.write(tmp_path / "again.nc", SIZE)
    assert (tmp_path / "again.nc").read_bytes() == files[0].read_bytes()
    assert SIZE * 0.9 < files[0].stat().st_size < SIZE * 1.2


def test_the_second_is_the_first_renumbered_and_the_third_has_one_edit(files):
    first, same, other = (path.read_bytes() for path in files)
    assert canonical.canonical(first) == canonical.canonical(same)
    one, three = first.splitlines(), other.splitlines()
    words = [(a.split(b" ", 1)[1:], b.split(b" ", 1)[1:]) for a, b in zip(one, three, strict=True)]
    assert sum(a != b for a, b in words) == 1


def test_the_program_is_one_the_scanner_reads_by_itself(files):
    data = files[0].read_bytes()
    assert scan.identity(data).notes == ()
    assert scan.identity(data).blocks == canonical.canonical(data).count(b"\n")


def test_one_edit_is_one_change(files):
    found = compare.compare(files[0].read_bytes(), files[2].read_bytes())
    assert found.kinds == ("motion", "numbering")
    assert sum(change.old is not None for change in found.changes) == 1


def test_a_small_run_agrees(tmp_path):
    found = run.measure(tmp_path, SIZE, 1)
    assert found.wrong == []
    assert {name: len(race) for name, race in found.races.items()} == {
        "fingerprint": 2,
        "plain": 2,
        "compare": 2,
        "start": 6,
    }
    for race in found.races.values():
        assert all(one.best > 0 for one in race)
        assert all(one.name in found.text() for one in race)
    assert found.races["plain"][0].rate > 0
    assert "plain Python" in found.races["plain"][0].name
    assert "4471/op10" in found.races["start"][-2].output.decode()
    for cost in found.costs:
        assert len(cost.with_hook) == len(cost.without) == 2
        assert cost.name in found.text()
    assert [race.name for race in found.summaries] == ["surface", "surface, short", "arcs", "arcs, short"]
    for race in found.summaries:
        assert race.contenders[0].name == "proveout summary"
        assert all(one.best > 0 and one.name in found.text() for one in race.contenders)
    assert [cost.name for cost in found.costs] == [entry["name"] for entry in found.data()["hook"]]


def test_the_script_runs_by_itself(tmp_path):
    script = ROOT / "tests" / "benchmarks" / "run.py"
    call = [
        sys.executable,
        str(script),
        "--megabytes",
        "0.05",
        "--rounds",
        "1",
        "--json",
        "--folder",
        str(tmp_path),
    ]
    ran = subprocess.run(call, capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr
    found = json.loads(ran.stdout)
    assert found["wrong"] == []
    assert found["fingerprint"][-1]["ratio"] == found["fingerprint"][-1]["median_ratio"] == 1.0
    assert found["plain"][0]["megabytes_per_second"] > 0
    assert len(found["hook"]) == 3
    assert found["summary of surface"][0]["blocks_per_second"] > 0


def test_a_wrong_answer_is_told(files, monkeypatch):
    comparison = Contender("stand-in", [])
    comparison.output = json.dumps({"changes": [{"old": {"line": 1}}] * 3}).encode()
    first, same, _ = files
    told = run.wrong_answers(run.console_script(), (first, same, same), comparison)
    assert told == ["an edit did not change the fingerprint", "one edit is reported as 3 changes"]


def test_a_command_that_fails_is_no_measurement():
    broken = Contender("broken", [sys.executable, "-c", "raise SystemExit(2)"])
    with pytest.raises(RuntimeError, match="broken ended with 2"):
        interleaved([broken], 1)


def test_output_is_kept_from_its_start():
    talker = Contender("talker", [sys.executable, "-c", "print('x' * 200_000)"])
    interleaved([talker], 1)
    assert hashlib.sha256(talker.output).hexdigest() == hashlib.sha256(b"x" * 65536).hexdigest()


def test_a_summary_that_is_wrong_is_told():
    compiled, plain = Contender("one", []), Contender("other", [])
    compiled.output, plain.output = b'{"blocks": 5}', b'{"blocks": 6}'
    race = summary.Race("stand-in", 9, [compiled, plain])
    assert summary.wrong_answers([race]) == [
        "summary of stand-in: compiled and plain differ",
        "summary of stand-in: 5 blocks of 9 lines",
    ]


def test_programs_of_arcs_are_the_same_every_time(tmp_path):
    arcing.write(tmp_path / "one.nc", SIZE)
    lines = arcing.write(tmp_path / "other.nc", SIZE)
    text = (tmp_path / "one.nc").read_bytes()
    assert text == (tmp_path / "other.nc").read_bytes()
    assert text.count(b"\n") == lines
    told = summarise(text, Setting(lathe=False, units="mm", decimal="calculator"))
    assert told.not_followed == ()
    assert told.blocks == lines - 1


def test_a_small_stick_comes_home_as_it_went(tmp_path):
    line, right = coming_home.main([str(tmp_path), "6", "60000"])
    assert right
    assert line.startswith("6 files, 0 MB: sha256sum ")
    assert list(tmp_path.iterdir()) == []
