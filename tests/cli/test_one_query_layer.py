"""Every view reads through the index of the clone, and nothing that lets a text out, decides or records ever does."""

import pytest

from tracker.cli.entry import main
from tracker.cli.verbs import VERBS
from tracker.store.clone import Clone
from tracker.store.ledger import RecordReader

NOW = "2026-03-20T13:00:00Z"
PROGRAM = "jobs/4471/op10/O1001.nc"
VIEWS = {
    "status": (["status"], ["status", "--may-run", "--machine", "MILL2"]),
    "show": (["show", "4471/op10"],),
    "history": (
        ["history"],
        ["history", "4471"],
        ["history", "--machine", "MILL2"],
        ["history", "--on", "2026-03-12"],
        ["history", "--people-on", "2026-03-12"],
        ["history", f"{PROGRAM}:9"],
    ),
    "where": (
        ["where", "4471/op10@r2"],
        ["where", "--lot", "2207"],
        ["where", "--on", "2026-03-12", "--machine", "MILL2"],
        ["where", "--program", "O1002"],
        ["where", "--tool", "END MILL"],
    ),
    "report": (["report", "4471", "-o", "-"], ["report", "--shop", "-o", "-"]),
    "audit": (["audit", "--list", "carries"], ["audit", "--list", "lapse"], ["audit", "--list", "onumbers"]),
}
"""Verbs that show what the record knows, in every form."""
ALONE = {
    "show": (["show", "4471/op10", "-o", "-"],),
    "sheet": (["sheet", "4471/op10", "--machine", "MILL2"],),
    "identify": (["identify", PROGRAM, "--machine", "MILL2"],),
    "release": (["release", "4471", "--by", "dg", "--dry-run"],),
    "export": (["export", "--machine", "MILL2", "--to", "STICK", "--by", "ss", "--dry-run"],),
    "verify": (["verify", "4471"],),
}
"""What lets a text out or decides, where trying it changes nothing: objects alone."""
RECORDS = {
    *("new", "adopt", "checkin", "prove", "measured", "ran", "collect", "review", "countersign"),
    *("hold", "lift", "withdraw", "strike", "init", "share", "backup", "witness", "install"),
}
"""What writes: objects alone."""
NO_RECORDS = {"doctor", "demo", "explain", "normalize", "fingerprint", "gate", "compare", "summary"}
"""What reads no records to show them, looks at texts, or asks the gate."""


def read_by(shop, monkeypatch, words):
    """For every reading of records and every walk of a call, whether it was through the index."""
    through: list[bool] = []
    fetch, walk = RecordReader.fetch, Clone.walk

    def fetched(self, *args, **more):
        through.append(self.kept is not None)
        return fetch(self, *args, **more)

    def walked(self, tips):
        through.append(self.kept is not None)
        return walk(self, tips)

    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    monkeypatch.setattr(RecordReader, "fetch", fetched)
    monkeypatch.setattr(Clone, "walk", walked)
    monkeypatch.chdir(shop)
    assert main(words) in (0, 1)
    return through


@pytest.fixture(scope="module")
def shop(threepenny_once, tmp_path_factory):
    import shutil

    folder = tmp_path_factory.mktemp("layer") / "threepenny"
    shutil.copytree(threepenny_once, folder, symlinks=True)
    (folder / "STICK").mkdir()
    return folder


def calls(table):
    return [pytest.param(words, id=" ".join(words)) for forms in table.values() for words in forms]


@pytest.mark.parametrize("words", calls(VIEWS))
def test_a_view_reads_through_the_index(shop, monkeypatch, capsysbinary, words):
    for path in (shop / ".git" / "proveout").glob("index*"):
        path.unlink()
    through = read_by(shop, monkeypatch, words)
    assert through
    assert all(through)


@pytest.mark.parametrize("words", calls(ALONE))
def test_what_lets_a_text_out_or_decides_reads_the_objects_alone(shop, monkeypatch, capsysbinary, words):
    through = read_by(shop, monkeypatch, words)
    assert through
    assert not any(through)


def test_every_verb_has_its_place():
    assert {verb.name for verb in VERBS} == {*VIEWS, *ALONE, *RECORDS, *NO_RECORDS}
    assert not (VIEWS.keys() | ALONE.keys()) & (RECORDS | NO_RECORDS)
