"""Who held which role and key on a day, from the shop.toml that counted then."""

import base64
import hashlib
import json
from datetime import UTC, date, datetime

import pytest

from tests.fakes.floor import SHOP
from tests.fakes.repository import FakeRepository, desk_at
from tracker.cli.screen import make_console
from tracker.errors import BadCall
from tracker.records.public_keys import key_print
from tracker.reports.people import as_json, print_text
from tracker.services.people_on import people_on

# the public key of RFC 8032 section 7.1, test 1, in the form of RFC 8709 section 4
RAW = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
BLOB = b"\0\0\0\x0bssh-ed25519\0\0\0\x20" + RAW
KEY = "ssh-ed25519 " + base64.b64encode(BLOB).decode()


def at(month, day, hour=12):
    return datetime(2026, month, day, hour, tzinfo=UTC)


@pytest.fixture
def repo():
    """Keys on 10 Mar; kp's last day, 19 Mar, written down on 25 Mar; ss's role taken away that day too."""
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP}, at=at(3, 1))
    keyed = SHOP.replace('roles = ["quality"]', f'roles = ["quality"]\nkeys = ["{KEY} dg@pc"]')
    repo.save({"shop.toml": keyed}, at=at(3, 10))
    kit = keyed.replace('initials = "kp"\n', 'initials = "kp"\nleft = 2026-03-19\n')
    sol = '"ss@bench.example"\nroles = ["setup"]'
    assert sol in kit
    repo.save({"shop.toml": kit.replace(sol, sol.replace('"setup"', ""))}, at=at(3, 25))
    return repo


def seen(repo, day):
    return {one.person.initials: one for one in people_on(desk_at(repo, at(4, 1)), day).people}


def test_roles_and_keys_are_those_of_the_day(repo):
    assert seen(repo, "2026-03-09")["dg"].keys == ()
    expected = base64.b64encode(hashlib.sha256(BLOB).digest()).decode()[:12]
    assert seen(repo, "2026-03-10")["dg"].keys == (f"SHA256:{expected}",)
    assert seen(repo, "2026-03-24")["ss"].person.roles == ("setup",)
    assert seen(repo, "2026-03-25")["ss"].person.roles == ()


@pytest.mark.parametrize(
    ("day", "here", "since_then"),
    [
        ("2026-03-19", True, None),
        ("2026-03-20", True, "kp left on 19 Mar 2026 and is not listed for 20 Mar 2026 in shop.toml"),
        ("2026-03-25", False, None),
    ],
)
def test_a_last_day_written_down_later_is_said(repo, day, here, since_then):
    found = seen(repo, day)["kp"]
    assert (found.here, found.since_then) == (here, since_then)


def test_before_the_first_shop_nobody_was_listed(repo, capsys):
    report = people_on(desk_at(repo, at(4, 1)), "2026-02-28")
    assert (report.people, report.commit, report.day) == ((), None, date(2026, 2, 28))
    print_text(report, make_console(error=False, no_color=True))
    assert "nobody was listed" in capsys.readouterr().out


@pytest.mark.parametrize("said", ["20 Mar", "2026-02-30", "2026-04-02", ""])
def test_what_is_no_day(repo, said):
    with pytest.raises(BadCall) as caught:
        people_on(desk_at(repo, at(4, 1)), said)
    assert caught.value.name == "bad-date"
    assert caught.value.fix


def test_how_it_looks(repo, capsys):
    report = people_on(desk_at(repo, at(4, 1)), "2026-03-20")
    print_text(report, make_console(error=False, no_color=True))
    out = capsys.readouterr().out
    for words in ("20 Mar 2026", "Kit Parallel", "quality", "SHA256:", "since then: kp left on 19 Mar 2026"):
        assert words in out
    data = json.loads(json.dumps(as_json(report)))
    assert data["day"] == "2026-03-20"
    kit = next(one for one in data["people"] if one["initials"] == "kp")
    assert (kit["listed"], kit["roles"], kit["left"]) == (True, ["setup"], None)
    assert "left on 19 Mar 2026" in kit["since_then"]


@pytest.mark.parametrize("key", ["", "ssh-ed25519", "ssh-ed25519 ???", "x y=z"])
def test_a_key_that_cannot_be_read_is_said_to_be_so(key):
    assert key_print(key) == "not readable"


def test_the_short_print_is_the_opening_of_what_ssh_keygen_shows():
    """What OpenSSH 9.2's ``ssh-keygen -l`` says of this key."""
    said = "256 SHA256:bbXpuKG6zhzdmnxq256TlqzFBzRl2f6OOg722cYNbU8 no comment (ED25519)"
    assert f" {key_print(KEY)}" in said
