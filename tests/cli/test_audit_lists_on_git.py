"""The lists quality asks for, through the console on real git: each shows what is in the record, and nothing else."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.fakes.busy_shop import BusyShop, good_calls, job_path
from tests.fakes.shop_folder import ShopFolder
from tests.store.shop_repo import opened
from tracker.records.events import CountersignRecord, MeasuredRecord, ProofRecord
from tracker.services.audit_lists import LISTS
from tracker.services.ports import NewFile


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    return tmp_path_factory.mktemp("lists") / "kept"


@pytest.fixture
def shop(kept, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    return BusyShop(kept).copy(tmp_path / "here", lambda folder: ShopFolder(folder, capsys, monkeypatch))


def rows(shop, name):
    status, out, err = shop.call("audit", "--list", name, "--json")
    assert status == 0, err
    answer = json.loads(out)
    assert (answer["schema"], answer["list"]) == ("proveout/audit/1", name)
    for row in answer["rows"]:
        assert list(row) == answer["columns"]
        assert (shop.folder / row["record"]).is_file()
    return answer["rows"]


def plant(shop, record, path):
    """A record as another tool might have left it, brought in by a commit."""
    clone = opened(shop.folder)
    person = clone.tree().shop().people[0]
    clone.commit(
        [NewFile(path=path, data=clone.encode(record))], message="by hand", author=person, at=record.entered
    )


def a_proof(shop):
    found = [one for one in opened(shop.folder).ledger().records if isinstance(one.record, ProofRecord)]
    return next(one for one in found if one.record.job == "4471")


@pytest.mark.parametrize("name", LISTS)
def test_every_list_is_shown_as_a_table_too(shop, name):
    status, out, err = shop.call("audit", "--list", name)
    assert status == 0, err
    assert f"in the list {name}." in out


def test_same_person(shop):
    (row,) = rows(shop, "same-person")
    assert (row["what"], row["person"], row["countersigned"]) == ("4474/op10@r1", "ws", "-")
    shop.run(*good_calls(shop)["countersign"])
    (row,) = rows(shop, "same-person")
    assert row["countersigned"] == "ss"


def path_of(shop, kind):
    return next(one.path for one in opened(shop.folder).ledger().records if isinstance(one.record, kind))


def test_a_countersign_with_a_line_through_it_is_nobody_behind_a_proof(shop):
    shop.run(*good_calls(shop)["countersign"])
    shop.run("strike", path_of(shop, CountersignRecord), "--by", "ss", "-m", "not mine to sign", "--yes")
    (row,) = rows(shop, "same-person")
    assert row["countersigned"] == "-"


def test_what_was_measured_with_a_line_through_it_is_a_first_piece_that_waits(shop):
    words = good_calls(shop)["measured"]
    shop.run(*("--reject" if word == "--accept" else word for word in words), "-m", "wrong part")
    assert [row["what"] for row in rows(shop, "rejections")] == ["4473/op10@r1"]
    shop.run("strike", path_of(shop, MeasuredRecord), "--by", "dg", "-m", "wrong part measured", "--yes")
    found = {row["what"]: row["result"] for row in rows(shop, "first-piece")}
    assert found["4473/op10@r1"] == "waiting"
    assert [row["what"] for row in rows(shop, "rejections")] == ["4473/op10@r1, struck"]


def test_carries(shop):
    assert rows(shop, "carries") == []
    shop.run(*good_calls(shop)["review"])
    (row,) = rows(shop, "carries")
    assert (row["what"], row["on"], row["chain"]) == ("4472/op10@r2", "MILL2", "r1 -> r2")
    assert row["why"].startswith("carried")


def test_first_piece(shop):
    found = {row["what"]: row["result"] for row in rows(shop, "first-piece")}
    assert found["4473/op10@r1"] == "waiting"
    shop.run(*good_calls(shop)["measured"])
    found = {row["what"]: row for row in rows(shop, "first-piece")}
    assert (found["4473/op10@r1"]["result"], found["4473/op10@r1"]["report"]) == ("accepted", "77")
    assert found["4471/op10@r1"]["result"] == "accepted"


def test_withdrawals_and_what_was_struck(shop):
    assert rows(shop, "withdrawals") == rows(shop, "struck") == []
    shop.run(*good_calls(shop)["strike"])
    shop.run(*good_calls(shop)["withdraw"])
    (row,) = rows(shop, "withdrawals")
    assert (row["release"], row["by"], row["why"]) == ("1", "dg", "grip too low")
    (row,) = rows(shop, "struck")
    assert "-ran-" in row["struck"]
    assert (row["counts"], row["why"]) == ("yes", "wrong lot")


def test_lapse(shop):
    assert rows(shop, "lapse") == []
    shop.at("2028-01-20T09:00:00Z")
    soon = rows(shop, "lapse")
    assert {row["standing"] for row in soon} >= {"proven"}
    assert [row["lapses"] for row in soon] == sorted(row["lapses"] for row in soon)
    shop.at("2028-02-20T09:00:00Z")
    assert "lapsed" in {row["standing"] for row in rows(shop, "lapse")}


def test_late_entries_prior_rejections_and_limits(shop):
    for name in ("late-entries", "prior", "rejections", "incomplete"):
        assert rows(shop, name) == []
    proof = a_proof(shop).record
    late = replace(
        proof, at=proof.entered - timedelta(hours=49), limits="at 50 % rapid", prior={"evidence": "card 7"}
    )
    path = "jobs/4471/records/op10/{}-proof-MILL2-20260203T100000Z-ss.toml"
    plant(shop, late, path.format(proof.revision))
    early = replace(proof, at=proof.entered - timedelta(hours=47), result="rejected", cause="program")
    plant(shop, early, path.format(proof.revision).replace("T10", "T11"))
    (row,) = rows(shop, "late-entries")
    assert row["happened"] < row["entered"]
    assert rows(shop, "prior")[0]["evidence"] == "evidence: card 7"
    assert [row["why"] for row in rows(shop, "incomplete")] == ["limited: at 50 % rapid"]
    assert [row["cause"] for row in rows(shop, "rejections")] == ["program"]


def test_waivers(shop):
    assert rows(shop, "waivers") == []
    path = job_path("4471")
    text = (shop.folder / path).read_text(encoding="utf-8")
    waiver = '[[operations.waivers]]\nrule = "stick-out-short"\ntool = 4\nreason = "long holder"\nby = "np"\n'
    shop.put(path, text + waiver)
    shop.run("checkin", "4471", "-m", "waived", "--by", "np")
    (row,) = rows(shop, "waivers")
    assert (row["rule"], row["where"], row["by"], row["why"]) == (
        "stick-out-short",
        "T4",
        "np",
        "long holder",
    )


def test_a_clock_that_was_set(shop):
    total = len(opened(shop.folder).ledger().records)
    assert len(rows(shop, "set-clocks")) == total


def test_an_unknown_list(shop):
    status, out, err = shop.call("audit", "--list", "carrys")
    assert (status, out) == (2, "")
    assert "[unknown-list]" in err
    assert "same-person" in err


def test_a_job_that_cannot_be_read_does_not_stop_the_lists(shop):
    shop.put(job_path("4471"), "format = 1\n[job\n")
    shop.git("commit", "-qam", "broken")
    assert rows(shop, "carries") == []
