import hashlib
import json

import pytest

from tracker.chained import links, next_line

SAID = [{"at": "2026-03-11T09:15:02Z", "who": "Jörg"}, {"at": "2026-03-11T09:16:00Z"}, {"changes": [1, None]}]


@pytest.fixture
def lines():
    made: list[bytes] = []
    for said in SAID:
        made.append(next_line(made, said))
    return made


def breaks(lines):
    return [link.number for link in links(lines) if not link.follows]


def test_what_was_said_is_read_again_and_follows(lines):
    assert breaks(lines) == []
    assert [link.number for link in links(lines)] == [1, 2, 3]
    read = [dict(link.said) for link in links(lines)]
    assert [one.pop("before") for one in read] == ["", *(hashlib.sha256(it).hexdigest() for it in lines[:2])]
    assert [one.pop("line") for one in read] == [1, 2, 3]
    assert read == SAID


def test_a_line_is_ascii_and_one_line(lines):
    assert all(line.isascii() and b"\n" not in line for line in lines)


def test_nothing_has_no_links():
    assert list(links([])) == []


def test_what_was_changed_breaks_it_behind(lines):
    assert breaks([lines[0].replace(b"09:15", b"09:14"), *lines[1:]]) == [2]
    assert breaks([lines[0], lines[1].replace(b"09:16", b"09:17"), lines[2]]) == [3]


def test_what_was_taken_out_put_in_or_swapped_breaks_it(lines):
    assert breaks(lines[1:]) == [1, 2]
    assert breaks([lines[0], lines[2]]) == [2]
    assert breaks([lines[0], lines[0], *lines[1:]]) == [2, 3, 4]
    assert breaks([lines[1], lines[0], lines[2]]) == [1, 2, 3]


def test_a_number_that_is_wrong_breaks_it(lines):
    other = json.loads(lines[0]) | {"line": 2}
    assert breaks([json.dumps(other).encode()]) == [1]


@pytest.mark.parametrize("line", [b"", b"nonsense", b"[1]", b"7", b"\xff\xfe", b'{"line": 1}'])
def test_what_is_no_line_of_ours_does_not_follow(lines, line):
    assert 1 in breaks([line, *lines])
