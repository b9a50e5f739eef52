"""Which revision is meant."""

from dataclasses import dataclass

import pytest

from tests.policy.rows import read
from tracker.errors import BadCall
from tracker.policy.find import by_name, find_revision, label, newest, number_of, revisions, short_name


@dataclass(frozen=True)
class Meant:
    revision: int | None = None
    digits: str | None = None
    job: str = "4471"


TWO = read("02-02 r1 np | 02-03 r2-a<r1 np wording | 02-03 r2-b<r1 pp wording")
LINE = read("02-02 r1 np | 02-03 r2<r1 np wording | 02-04 r3<r2 np wording")


def test_newest_is_what_nothing_came_from():
    assert [s.name for s in newest(LINE.ledger(), "4471", "OP10")] == [LINE.names["r3"]]
    assert {s.name for s in newest(TWO.ledger(), "4471", "op10")} == {TWO.names["r2-a"], TWO.names["r2-b"]}
    merged = read(
        "02-02 r1 np | 02-03 r2-a<r1 np wording | 02-03 r2-b<r1 pp wording | 02-04 r3<r2-a,r2-b np wording/wording"
    )
    assert [s.name for s in newest(merged.ledger(), "4471", "op10")] == [merged.names["r3"]]
    assert newest(LINE.ledger(), "4471", "op20") == ()


def test_revisions_are_in_order_and_in_hand():
    away = read("02-02 r1 np | ~ 02-03 r2<r1 np wording")
    assert [number_of(s.name) for s in revisions(LINE.ledger(), "4471", "op10")] == [1, 2, 3]
    assert [number_of(s.name) for s in revisions(away.ledger(), "4471", "op10")] == [1]
    assert len(revisions(away.ledger(), "4471", "op10", everywhere=True)) == 2
    assert by_name(away.ledger(), "4471", "op10", away.names["r2"]) is not None
    assert by_name(away.ledger(), "4471", "op10", None) is None


def test_named_revisions():
    assert find_revision(LINE.ledger(), Meant(), "op10").name == LINE.names["r3"]
    assert find_revision(LINE.ledger(), Meant(2), "op10").name == LINE.names["r2"]
    wanted = TWO.names["r2-b"]
    assert find_revision(TWO.ledger(), Meant(2, wanted[6:10]), "op10").name == wanted


@pytest.mark.parametrize(
    ("rows", "meant", "name", "words"),
    [
        (LINE, Meant(9), "unknown-revision", "has no revision r9"),
        (LINE, Meant(2, "0123"), "unknown-revision", "has no revision r2-0123"),
        (LINE, Meant(job="9999"), "unknown-revision", "has no revision yet"),
        (TWO, Meant(), "ambiguous-revision", "2 revisions stand side by side"),
        (TWO, Meant(2), "ambiguous-revision", "2 revisions stand side by side"),
    ],
)
def test_what_is_not_there_or_not_plain(rows, meant, name, words):
    with pytest.raises(BadCall) as caught:
        find_revision(rows.ledger(), meant, "op10")
    assert caught.value.name == name
    assert words in caught.value.what
    assert caught.value.fix


def test_names_on_screens():
    assert [label("r0003-7f3a09c2"), label("r3"), label("draft"), label(None)] == ["r3", "r3", "draft", "?"]
    assert [number_of("r0012-7f3a09c2"), number_of("readme"), number_of("")] == [12, 0, 0]
    assert [short_name("r0005-7f3a09c2"), short_name("r0005")] == ["r5-7f3a09c2", "r5"]
