"""Whoever may write below the git directory can make a list lie; he lets nothing out, and an audit begun anew believes him nothing.

Each lie is sealed as the index seals its rows (`tests.fakes.lying_index`). Where a lie can be seen at all, a view is shown
to believe it, so that what is held here could fail.
"""

import json
import shutil

import pytest

from tests.cli.test_signing_on_git import PEOPLE, begin
from tests.fakes import lying_index
from tests.fakes.shop_folder import MAIN, PROGRAM, ShopFolder, git
from tests.store.keys import make_key
from tracker.store.kept import Kept
from tracker.store.open_clone import open_clone


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch):
    """r1 was proved and released, then turned down for the program's sake."""
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    return ShopFolder(tmp_path / "shop", capsys, monkeypatch).brought_by(_made)


def _made(made: ShopFolder) -> None:
    git(made.folder, "init", "-q", "-b", "main")
    made.begin()
    made.run("install")
    made.prove()
    made.run("release", "4471", "--by", "dg", "--yes")
    made.at("2026-02-03T09:00:00Z")
    made.run(
        *("prove", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--reject"),
        *("--cause", "program", "--answers", made.answers(), "--yes"),
    )


def lied(shop, lie):
    """The index as the views make it, then the lie."""
    shop.rows()
    shop.run("history", "4471")
    kept = Kept(shop.folder / ".git")
    lie(kept, shop.folder)
    if lie is not lying_index.of_answers:  # what is worked out from the lie, not what was kept of the truth
        for kind in ("answer rows", "answer board"):
            kept.put(kind, {}, alone=True)
    kept.close()


def let_out(shop, stick):
    """What every verb that lets a text out says and does."""
    shutil.rmtree(stick, ignore_errors=True)
    stick.mkdir()
    said = {
        "release": shop.call("release", "4471", "--by", "dg", "--yes", "--json"),
        "export": shop.call("export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", "--dry-run", "--json"),
        "identify": shop.call("identify", PROGRAM, "--machine", "MILL2", "--json"),
    }  # fmt: skip
    return {name: (status, out.replace(str(stick), "STICK")) for name, (status, out, _) in said.items()}


def refs(shop):
    return shop.git("for-each-ref")


SEEN_IN = {
    lying_index.of_records: ("status", "--json"),
    lying_index.of_jobs: ("history", "4471", "--json"),
    lying_index.of_history: ("status", "--json"),
    lying_index.of_answers: ("status", "--json"),
}


@pytest.mark.parametrize("lie", SEEN_IN, ids=lambda one: one.__name__)
def test_a_lie_that_views_believe_lets_nothing_out(shop, tmp_path, lie):
    truth, honest = let_out(shop, tmp_path / "stick"), shop.run(*SEEN_IN[lie])
    assert [status for status, _ in truth.values()] == [1, 1, 1]
    before = refs(shop)
    lied(shop, lie)
    told = shop.run(*SEEN_IN[lie])
    assert told != honest
    assert '"rejected"' not in told
    lied(shop, lie)
    assert let_out(shop, tmp_path / "stick") == truth
    assert refs(shop) == before


def deeper(shop):
    """r2, which nobody proved."""
    shop.put(PROGRAM, MAIN.replace("Z-1.16", "Z-1.26"))
    shop.run("checkin", "4471", "-m", "deeper", "--by", "np")


def faulty(shop):
    """r2, proved though it calls the length of another tool: its check-in found that."""
    shop.put(PROGRAM, MAIN.replace("G43 H4", "G43 H9"))
    shop.run("checkin", "4471", "-m", "x", "--by", "np")
    shop.prove(revision="r2")


def held(shop):
    """r2 is proved, and the whole operation held."""
    shop.put(PROGRAM, MAIN.replace("PLATE", "COVER"))
    shop.run("checkin", "4471", "-m", "x", "--by", "np")
    shop.prove(revision="r2")
    shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")


def withdrawn(shop):
    shop.run("withdraw", "4471@1", "--by", "dg", "-m", "wrong drawing", "--yes")


@pytest.mark.parametrize(
    ("done", "why"),
    [(deeper, "unproven"), (faulty, "h-not-tool"), (held, "held"), (withdrawn, "withdrawn")],
)
def test_every_lie_at_once_lets_nothing_out(shop, tmp_path, done, why):
    done(shop)
    truth, before = let_out(shop, tmp_path / "stick"), refs(shop)
    assert truth["release"][0] == 1
    assert why in truth["release"][1]
    shop.rows()
    shop.run("history", "4471")
    lying_index.tell_all(shop.folder / ".git", shop.folder)
    assert let_out(shop, tmp_path / "stick") == truth
    assert refs(shop) == before


def test_a_lie_about_a_signature_puts_nothing_on_a_stick(tmp_path, capsys, monkeypatch, outside_program):
    """The proof of a released text is sealed with another record's signature, and the index calls that right."""
    outside_program("ssh-keygen")
    keys = {who: make_key(tmp_path / "keys", who) for who in PEOPLE}
    monkeypatch.setenv("PROVEOUT_NOW", "2026-02-02T09:00:00Z")
    shop = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    shop.folder.mkdir()
    begin(shop, keys)
    revision, proof = (event["record"] for event in shop.json("history", "4471")["events"])
    shop.put(f"{proof}.sig", (shop.folder / f"{revision}.sig").read_bytes())
    shop.git("commit", "-qa", "--amend", "--no-edit")
    truth = let_out(shop, tmp_path / "stick")
    assert "does not belong to these bytes" in truth["release"][1]
    honest = shop.rows()
    lied(shop, lying_index.of_seals)
    assert (honest[0]["standing"], shop.rows()[0]["standing"]) == ("unproven", "proven")
    lied(shop, lying_index.of_seals)
    assert let_out(shop, tmp_path / "stick") == truth
    assert shop.git("tag") == ""


# -- an audit


def problems(shop, *words):
    return {one["problem"] for one in json.loads(shop.call("audit", *words, "--json")[1])["problems"]}


def past_the_tool(shop):
    """A record edited and put back, and a release tag somebody made by hand, past the hook."""
    path = max(shop.folder.glob("jobs/4471/records/op10/*-proof-*.toml"))
    was = path.read_bytes()
    for data in (was + b"# x\n", was):
        path.write_bytes(data)
        shop.git("commit", "-qam", "x")
    shop.git("-c", "core.hooksPath=/nowhere", "tag", "-a", "-m", "x", "release/4471/2")


def test_an_audit_begun_anew_believes_no_note(shop):
    past_the_tool(shop)
    truth = problems(shop, "--anew")
    assert {"record-changed", "planted-tag"} <= truth
    assert problems(shop) == truth
    lying_index.tell_all(shop.folder / ".git", shop.folder)
    lying_index.note_of_a_clean_audit(shop.folder / ".git", open_clone(shop.folder).state())
    assert problems(shop) == set()  # it takes over what it noted: this is what --anew is for
    assert problems(shop, "--anew") == truth
    assert problems(shop) == truth  # and what it found is what is noted from then on


def test_after_an_audit_begun_anew_the_views_tell_the_truth(shop):
    truth = shop.rows()
    lied(shop, lying_index.of_records)
    assert shop.rows() != truth
    problems(shop, "--anew")
    assert shop.rows() == truth


def test_an_auditor_s_package_rests_on_no_note(shop, tmp_path):
    past_the_tool(shop)
    lying_index.tell_all(shop.folder / ".git", shop.folder)
    lying_index.note_of_a_clean_audit(shop.folder / ".git", open_clone(shop.folder).state())
    said = json.loads(shop.call("audit", "--bundle", str(tmp_path / "a.zip"), "--json")[1])
    assert {"record-changed", "planted-tag"} <= {one["problem"] for one in said["problems"]}


def test_a_list_needs_no_anew(shop):
    status, _, err = shop.call("audit", "--anew", "--list", "carries")
    assert (status, "[wrong-call]" in err) == (2, True)
