import sys

from tests.benchmarks import big_shop, looking_back

SCRIPT = [sys.executable, "-m", "tracker"]


def test_a_small_shop_is_told_the_same_and_its_audit_finds_nothing(tmp_path, capsys):
    big_shop.make(tmp_path / "shop", **looking_back.SMALL)
    race = looking_back.measure(tmp_path / "shop", SCRIPT, 1)
    assert race.wrong == []
    looking_back.report(race)
    rows = capsys.readouterr().out.splitlines()
    assert len(rows) == 2 + len(race.times)
    assert "commits/s" in rows[-1]
    assert all(one.best > 0 for one in race.times.values())


def test_an_answer_that_differs_is_told(tmp_path):
    race = looking_back.Race(tmp_path, SCRIPT, 1)
    race.agree("status", "one", "other")
    race.agree("where", "one", "one")
    assert race.wrong == ["status"]
