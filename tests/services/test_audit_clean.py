"""What an audit notes of a job without a fault is named by all its finding hangs on: nothing else, and nothing less."""

import json
import re

import pytest

from tests.benchmarks import big_shop
from tests.store.shop_repo import git
from tracker.cli.entry import main


@pytest.fixture
def shop(tmp_path, monkeypatch):
    folder = tmp_path / "shop"
    big_shop.make(folder, jobs=3, rounds=2, exports=3, operations=2)
    monkeypatch.setenv("PROVEOUT_NOW", big_shop.NOW)
    return folder


def problems(folder, capsys):
    main(["-C", str(folder), "audit", "--json"])
    found = json.loads(capsys.readouterr().out)["problems"]
    return {(one["problem"], one["where"]) for one in found}


def looked_at(monkeypatch):
    """The jobs whose texts are looked at from now on."""
    from tracker.services import audit_texts

    real, seen = audit_texts.look_at_job, []

    def look(planner, path, index):
        seen.append(path)
        return real(planner, path, index)

    monkeypatch.setattr(audit_texts, "look_at_job", look)
    return seen


def test_only_the_job_something_happened_to_is_looked_at_again(shop, capsys, monkeypatch):
    assert problems(shop, capsys) == set()
    seen = looked_at(monkeypatch)
    assert main(["-C", str(shop), "hold", "1002/op10", "--by", "dg", "-m", "look at it again"]) == 0
    capsys.readouterr()
    assert problems(shop, capsys) == set()
    assert seen == []
    program = next((shop / "jobs/1002/op10").glob("*.nc"))
    program.write_bytes(program.read_bytes().replace(b"F300.", b"F301.", 1))
    git(shop, "commit", "-qam", "by hand")
    told = {("not-checked-in", program.relative_to(shop).as_posix())}
    assert problems(shop, capsys) >= told
    assert seen == ["jobs/1002/job.toml"]
    git(shop, "commit", "-q", "--allow-empty", "-m", "nothing")
    assert problems(shop, capsys) >= told  # a fault is never noted
    git(shop, "revert", "--no-edit", "HEAD~1")
    assert not problems(shop, capsys) & told


@pytest.mark.parametrize("path", ["common/O8001.nc", "shop.toml", "drawings/plan.pdf"])
def test_what_every_job_may_hang_on_has_all_looked_at(shop, capsys, monkeypatch, path):
    problems(shop, capsys)
    seen = looked_at(monkeypatch)
    file = shop / path
    file.parent.mkdir(exist_ok=True)
    file.write_bytes((file.read_bytes() if file.exists() else b"%\nO8001\nM99\n%\n") + b"\n")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "common")
    problems(shop, capsys)
    assert len(seen) == 3


def test_a_program_below_another_job_is_never_passed_over(shop, capsys, monkeypatch):
    text = (shop / "jobs/1001/job.toml").read_text()
    other = next((shop / "jobs/1002/op10").glob("*.nc")).name
    mine = next((shop / "jobs/1001/op10").glob("*.nc")).name
    (shop / "jobs/1001/job.toml").write_text(text.replace(f"op10/{mine}", f"../1002/op10/{other}"))
    git(shop, "commit", "-qam", "elsewhere")
    problems(shop, capsys)
    seen = looked_at(monkeypatch)
    git(shop, "commit", "-q", "--allow-empty", "-m", "nothing")
    problems(shop, capsys)
    assert seen == ["jobs/1001/job.toml"]


def test_a_revision_of_another_text_is_told_every_time(shop, capsys):
    git(shop, "checkout", "-q", "-b", "side")
    (record,) = (shop / "jobs/1003/records/op10").glob("r0002-????????.toml")
    opens, digest, rest = re.split(r'(?<=raw_sha256 = ")([0-9a-f]{64})', record.read_text(), maxsplit=1)
    record.write_text(opens + digest[::-1] + rest)
    git(shop, "commit", "-qam", "forged")
    first = {one for one in problems(shop, capsys) if one[0] == "text-not-recorded"}
    git(shop, "commit", "-q", "--allow-empty", "-m", "nothing")
    assert first == {one for one in problems(shop, capsys) if one[0] == "text-not-recorded"} != set()
