"""Programs on their way out: read once, and held to the record whoever read them."""

import hashlib

import pytest

from tests.fakes.stick_shop import released_shop
from tracker.errors import CouldNot
from tracker.frozen import replace
from tracker.services.outgoing import of_revision
from tracker.services.usable import Board

MAIN = "jobs/4471/op10/O1001.nc"


@pytest.fixture
def shop():
    return released_shop()


def released(shop):
    board = Board(shop.desk(), shop.repo.ledger())
    found = board.released("4471", "op10")
    assert found is not None
    return found


def test_what_was_hashed_to_derive_a_release_is_not_read_again_to_tell_that_it_goes(shop):
    found = released(shop)
    assert sorted(found.texts) == [MAIN, "jobs/4471/sub/O1002.nc"]
    programs, lost = of_revision(_NothingToRead(), found)
    assert lost == []
    assert {one.source: one.raw_sha256 for one in programs} == {
        path: file.raw_sha256 for path, file in found.texts.items()
    }
    for one in of_revision(shop.repo, found)[0]:
        assert hashlib.sha256(one.read()).hexdigest() == found.texts[one.source].raw_sha256


class _NothingToRead:
    """A repository whose trees are empty."""

    def tree(self, commit):
        return self

    def digest(self, path):
        return None


def test_what_was_kept_is_held_to_the_record_all_the_same(shop):
    other = b"%\nO1001\nM30\n%\n"
    seen = released(shop)
    read = replace(seen.texts[MAIN], raw_sha256=hashlib.sha256(other).hexdigest())
    found = replace(seen, texts={MAIN: read})
    programs, lost = of_revision(shop.repo, found)
    assert lost == [MAIN]
    assert [one.source for one in programs] == ["jobs/4471/sub/O1002.nc"]


class Watching:
    """Somebody who wants what may run on a machine, and keeps what is told."""

    def __init__(self):
        self.told = []

    def deriving(self, job, done, total):
        assert 0 <= done < total

    def expected(self, programs):
        self.told.append(programs)

    def found(self, one):
        self.told.append(one)


def test_the_programs_of_the_machine_are_read_ahead_and_no_others(shop):
    ledger = shop.repo.ledger()
    watch, other = Watching(), Watching()
    usable, _ = Board(shop.desk(), ledger).on_machine(ledger.shop.machine("MILL2"), watch)
    wanted = [(one.released.commit, path) for one in usable for path in one.released.texts]
    assert wanted
    assert sorted(shop.repo.expected) == sorted(wanted)
    Board(shop.desk(), ledger).on_machine(ledger.shop.machine("MILL3"), other)
    assert not any(path == MAIN for _, path in shop.repo.expected)
    expected, *found = watch.told
    assert found == list(usable)
    assert sorted(file.path for _, file in expected.programs) == sorted(path for _, path in wanted)
    assert expected.size == sum(len(shop.repo.tree(commit).read(path)) for commit, path in wanted)


def test_nobody_who_only_asks_has_programs_read_ahead(shop):
    ledger = shop.repo.ledger()
    shop.repo.expected = None
    Board(shop.desk(), ledger).on_machine(ledger.shop.machine("MILL2"))
    assert shop.repo.expected is None


def test_what_deriving_the_release_read_is_known_and_is_known_no_longer_where_it_read_anything_else(shop):
    found = released(shop)
    assert [one.known for one in of_revision(shop.repo, found)[0]] == [True, True]
    main = found.texts[MAIN]
    for other in (
        replace(main, fingerprint="0" * 64),
        replace(main, dialect="verbatim"),
        None,
    ):
        texts = {**found.texts, MAIN: other} if other is not None else {}
        programs = {one.source: one for one in of_revision(shop.repo, replace(found, texts=texts))[0]}
        assert not programs[MAIN].known


def test_a_strict_fingerprint_is_never_known(shop):
    found = released(shop)
    strict = replace(found, record=replace(found.record, strict=True))
    assert [one.known for one in of_revision(shop.repo, strict)[0]] == [False, False]


def test_what_was_fetched_is_held_to_the_record_whoever_hands_it_over(shop):
    (main, _) = of_revision(shop.repo, released(shop))[0]
    assert main.held(main.fetch()) == main.read()
    for other in (None, b"", main.read() + b"\n"):
        with pytest.raises(CouldNot) as fault:
            main.held(other)
        assert (fault.value.name, fault.value.where) == ("damaged", MAIN)
