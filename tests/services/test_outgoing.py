"""Programs on their way out: read once, and held to the record whoever read them."""

import hashlib

import pytest

from tests.fakes.stick_shop import released_shop
from tracker.frozen import replace
from tracker.services.outgoing import of_revision
from tracker.services.usable import Board

MAIN = "jobs/4471/op10/O1001.nc"


@pytest.fixture
def shop():
    return released_shop()


def released(shop, machine: str | None):
    ledger = shop.repo.ledger()
    board = Board(shop.desk(), ledger, texts_of=ledger.shop.machine(machine) if machine else None)
    found = board.released("4471", "op10")
    assert found is not None
    return found


def test_what_was_read_to_derive_a_release_is_not_read_again(shop):
    found = released(shop, "MILL2")
    assert sorted(found.texts) == [MAIN, "jobs/4471/sub/O1002.nc"]
    programs, lost = of_revision(_NothingToRead(), found)
    assert lost == []
    sha256 = {one.source: (one.data, hashlib.sha256(one.data).hexdigest()) for one in programs}
    assert sha256 == dict(found.texts)


class _NothingToRead:
    """A repository whose trees are empty."""

    def tree(self, commit):
        return self

    def read(self, path):
        return None


def test_texts_are_kept_for_the_machine_asked_for_alone(shop):
    assert released(shop, None).texts == {}
    assert released(shop, "MILL3").texts == {}


def test_what_was_kept_is_held_to_the_record_all_the_same(shop):
    other = b"%\nO1001\nM30\n%\n"
    found = replace(released(shop, "MILL2"), texts={MAIN: (other, hashlib.sha256(other).hexdigest())})
    programs, lost = of_revision(shop.repo, found)
    assert lost == [MAIN]
    assert [one.source for one in programs] == ["jobs/4471/sub/O1002.nc"]


def test_the_programs_of_the_machine_are_read_ahead_and_no_others(shop):
    ledger = shop.repo.ledger()
    machine = ledger.shop.machine("MILL2")
    board = Board(shop.desk(), ledger, texts_of=machine)
    usable, _ = board.on_machine(machine)
    wanted = [(one.released.commit, path) for one in usable for path in one.released.texts]
    assert wanted
    assert sorted(shop.repo.expected) == sorted(wanted)
    Board(shop.desk(), ledger, texts_of=ledger.shop.machine("MILL3")).on_machine(machine)
    assert not any(path == MAIN for _, path in shop.repo.expected)
