"""What a file is compared with, the quick way, held against going through everything, on files made up at random."""

import random
import re
from array import array
from collections import Counter

import pytest

from tests.fakes.stick_shop import StickShop, exported_shop, program
from tracker.errors import CouldNot
from tracker.nc import scan
from tracker.services.collect_base import LEAST_ALIKE, BaseFinder
from tracker.services.collect_blocks import BlocksKept, shared
from tracker.services.collect_renumbered import Renumbered
from tracker.services.cut_off import bare_blocks
from tracker.services.known import KnownTexts
from tracker.services.usable import Board

CASES = 300
NEVER = 1 << 40
NUMBERS = (1001, 1002, 1003, 2001, 2002, 9999)


class ThroughAll(BaseFinder):
    """Reads every candidate anew as it went out, and counts its blocks; tries every number there is."""

    def __init__(self, known, board, shaper):
        super().__init__(known, board, shaper)
        self._renumbered = Renumbered(known, NEVER)

    def _best(self, texts, blocks, signs, machine):
        found = []
        for known, exported, at_place in self._candidates(texts, signs, machine):
            try:
                text = self._known.bytes_of(known)
            except CouldNot:
                continue
            if exported is not None and machine is not None:
                text = self.as_exported(known, exported, text, machine)
            theirs = Counter(bare_blocks(scan.canonical(text)))
            common, mine, whole = (blocks & theirs).total(), blocks.total(), theirs.total()
            alike = 2 * common / (mine + whole) if mine + whole else 0.0
            found.append(Seen(known, text, alike, common / mine if mine else 0.0, at_place))
        return max(
            found,
            key=lambda one: (one.alike + one.within, signs.says(one.known), one.at_place),
            default=None,
        )


class Seen:
    def __init__(self, known, data, alike, within, at_place):
        self.known, self.data, self.alike, self.within, self.at_place = known, data, alike, within, at_place


def told(base):
    return base and (base.known, base.data, base.alike, base.within, base.at_place)


@pytest.fixture(scope="module")
def shop() -> StickShop:
    """A stick with three programs, and in the record besides a newer text of one and two jobs that never went out."""
    made = exported_shop()
    for number in (2001, 2002):
        made.add_job(str(number), f"O{number}.nc", program(number, depth=f"-0.{number}"))
        made.check_in(f"{number}/op10")
    made.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.55"))
    made.check_in("4471/op10")
    return made


def finders(shop, *, tries: int):
    """The quick one, whose numbers are looked up after so many tries a text, and the other."""
    known, board = _record(shop)
    quick = BaseFinder(known, board, shop.shaper)
    quick._renumbered = Renumbered(known, tries)
    return quick, ThroughAll(known, board, shop.shaper)


def _record(shop):
    ledger = shop.repo.ledger()
    return KnownTexts(shop.repo, ledger), Board(shop.desk(), ledger)


def changed(chance: random.Random, data: bytes) -> bytes:
    """What may come home: lines lost, doubled, moved and written anew, the number changed, cut off, stamps lost."""
    lines = data.splitlines(keepends=True)
    for _ in range(chance.choice((0, 1, 3, 10, 40))):
        at = chance.randrange(len(lines))
        what = chance.randrange(4)
        if what == 0 and len(lines) > 3:
            del lines[at]
        elif what == 1:
            lines.insert(at, lines[chance.randrange(len(lines))])
        elif what == 2:
            lines.insert(at, b"G01 X%d.%d Y%d.\r\n" % tuple(chance.randrange(50) for _ in range(3)))
        else:
            lines[at] = b"N%d %s" % (chance.randrange(9000), lines[at])
    text = b"".join(lines)
    if chance.random() < 0.4:
        text = re.sub(rb"(?m)^O\d+", b"O%d" % chance.choice(NUMBERS), text)
    if chance.random() < 0.4:
        text = re.sub(rb"\(ID[^)]*\)\r?\n", b"", text)
    return text[: chance.randrange(len(text) + 1)] if chance.random() < 0.2 else text


def test_the_quick_way_finds_what_going_through_all_finds(shop):
    machine = shop.repo.ledger().shop.machine("MILL2")
    texts = [
        *shop.files.values(),
        *(program(n, depth=f"-0.{n}") for n in (2001, 2002)),
        b"%\r\nO7\r\nM30\r\n%\r\n",
    ]
    chance, met = random.Random(20260320), Counter()
    for tries in (0, NEVER):
        quick, slow = finders(shop, tries=tries)
        for _ in range(CASES):
            data = changed(chance, chance.choice(texts))
            place = chance.choice(("MILL2/O1001.NC", "MILL2/O1003.NC", "OLD/P7.NC", "O2002.NC"))
            here = chance.choice((machine, None))
            found = quick.base_of(data, place, here)
            assert told(found) == told(slow.base_of(data, place, here)), (data, place)
            met["nothing" if found is None else "another" if found.alike < LEAST_ALIKE else "alike"] += 1
    assert min(met[kind] for kind in ("nothing", "another", "alike")) > 20, met


def test_a_number_changed_at_the_control_is_found_either_way(shop):
    known, _ = _record(shop)
    tried, looked_up = Renumbered(known, NEVER), Renumbered(known, 0)
    found = 0
    for text in known.texts:
        code = scan.canonical(known.bytes_of(text))
        for number in (b"O4444", b"O1003", b"O2001", b"O0", b"O12345678901"):
            other = re.sub(rb"(?m)^O\d+$", number, code)
            one = list(tried.texts(other))
            assert list(looked_up.texts(other)) == one
            found += bool(one)
        assert list(looked_up.texts(other + b"O5\n")) == list(tried.texts(other + b"O5\n")) == []
    assert found > 20


def test_a_lost_text_is_passed_over_either_way(shop, monkeypatch):
    known, board = _record(shop)

    def lost(text):
        raise CouldNot("damaged", "gone")

    monkeypatch.setattr(known, "bytes_of", lost)
    assert (
        BaseFinder(known, board, shop.shaper).base_of(program(2001, depth="-0.3"), "OLD/P7.NC", None) is None
    )
    code = re.sub(rb"(?m)^O\d+$", b"O4444", scan.canonical(program(2001, depth="-0.2001")))
    assert list(Renumbered(known, 0).texts(code)) == []


@pytest.mark.parametrize("long", [1, 40, 4000])
def test_what_is_shared_is_counted_as_often_as_it_stands_in_both(long):
    chance = random.Random(long)
    for _ in range(CASES):
        mine = [b"X%d" % chance.randrange(60) for _ in range(chance.randrange(50))]
        theirs = [b"X%d" % chance.randrange(60) for _ in range(chance.randrange(1 + long))]
        row = array("q", sorted(map(hash, theirs)))
        assert shared(Counter(mine), row) == (Counter(mine) & Counter(theirs)).total()


def test_rows_that_were_asked_for_longest_ago_go_and_are_made_again():
    kept, read = BlocksKept(most=5), []

    def text(name: str):
        return lambda: read.append(name) or b"G1 X1.\nG1 X2.\n"

    for name in ("a", "b", "a", "c", "a", "b"):
        assert len(kept.of(name, text(name))) == 2
    assert read == ["a", "b", "c", "b"]
