"""How often an audit waits for git: by lots of releases and jobs, not by each of them."""

import json

import pytest

from tests.benchmarks import big_shop
from tracker.cli.entry import main
from tracker.store import processes
from tracker.store.objects import Objects


@pytest.fixture(scope="module")
def shops(tmp_path_factory):
    """Two shops, one with twice the jobs, in lots of eight."""
    folder = tmp_path_factory.mktemp("shops")
    for jobs in (8, 16):
        big_shop.make(folder / str(jobs), jobs=jobs, rounds=2, operations=2, exports=2)
    return folder


def goes(shop, monkeypatch, capsys):
    """Questions put to the process that reads objects, a batch of them counted once, and how many releases there were."""
    asked = []
    each = Objects.each
    with monkeypatch.context() as here:
        here.setenv("PROVEOUT_NOW", big_shop.NOW)
        here.setattr(processes, "_processors", lambda: 1)
        here.setattr(Objects, "each", lambda objects, wanted: asked.append(wanted) or each(objects, wanted))
        assert main(["-C", str(shop), "audit", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["problems"] == []
    return len(asked), said["checked"]["releases"]


def test_twice_the_releases_are_a_lot_more_and_not_twice_the_questions(shops, monkeypatch, capsys):
    few, releases = goes(shops / "8", monkeypatch, capsys)
    more, twice = goes(shops / "16", monkeypatch, capsys)
    assert (releases, twice) == (16, 32)
    # a lot of releases and one of sheets: states, a level at a time, files; one by one it is a dozen for each release
    assert more - few < twice - releases
