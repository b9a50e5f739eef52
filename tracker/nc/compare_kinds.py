"""From stretches that differ to changes with their kinds."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain

from tracker.nc import kinds as k
from tracker.nc.compare_change import Change
from tracker.nc.compare_sides import Text
from tracker.nc.difference import Difference
from tracker.nc.difference_moves import Move, Rest, crossed, moves, rests
from tracker.nc.difference_pairs import paired
from tracker.nc.kinds_block import At, Words, changed_words, kinds_changed, kinds_come, kinds_gone
from tracker.nc.kinds_slower import SpeedChange
from tracker.nc.kinds_words import is_comment, is_plain, kind_of

# one for each letter: a pattern that opens with a letter alone is looked for many times as fast as one with a choice
_EVERY_BLOCK = tuple(re.compile(letter + rb"[ \t]*0*66[ \t]*\.[ \t]*1") for letter in (b"G", b"g"))

STANDING = frozenset({k.STOP, k.DWELL})
"""Words a move may cross without anything being done at another place or in another state."""


@dataclass(slots=True)
class Findings:
    """What the walk over the stretches found.

    ``changes`` with the block of the new text each stands at; ``pairs`` blocks that became another; ``speeds`` every
    F and S that became another; ``undecided``: a feed or speed changed in another way than that.
    """

    changes: list[tuple[int, Change]] = field(default_factory=list)
    pairs: list[tuple[int, int]] = field(default_factory=list)
    speeds: list[SpeedChange] = field(default_factory=list)
    undecided: bool = False


def judged(old: Text, new: Text, found: Difference) -> Findings:
    """Every change of the stretches of ``found``, in the order of the new text."""
    findings = Findings()
    moved = moves(found)
    for move in moved:
        _judge_move(old, new, found, move, findings)
    for rest in rests(found, moved):
        _judge_rest(old, new, found, rest, findings)
    findings.changes.sort(key=lambda item: item[0])
    return findings


def called_every_block(code: bytes) -> bool:
    """Whether a program calls a macro after every block (G66.1), so that an added M8 runs one more."""
    return any(pattern.search(code) for pattern in _EVERY_BLOCK)


def add_flow(findings: Findings) -> None:
    """Every change is one of what runs, too."""
    for place, change in list(findings.changes):
        flow = Change(kind=k.FLOW, tool=change.tool, old=change.old, new=change.new)
        if (place, flow) not in findings.changes:
            findings.changes.append((place, flow))
    findings.undecided = True


def _judge_rest(old: Text, new: Text, found: Difference, rest: Rest, findings: Findings) -> None:
    """Blocks taken away, added, or become another."""
    old_texts = [found.old_block(index) for index in rest.old]
    new_texts = [found.new_block(index) for index in rest.new]
    place = rest.stretch.new_from
    for x, y in paired(old_texts, new_texts):
        one = old.at(old_texts[x], rest.old[x]) if x is not None else None
        other = new.at(new_texts[y], rest.new[y]) if y is not None else None
        place = other.index if other else place
        if one and other:
            findings.pairs.append((one.index, other.index))
        words = changed_words(one.block.words if one else (), other.block.words if other else ())
        kinds = _kinds(words, one, other)
        findings.changes.extend((place, change) for change in _changes(kinds, old, new, one, other))
        if k.FEED in kinds or k.SPEED in kinds:
            _note_speeds(words, one, other, findings)


def _kinds(words: Words, one: At | None, other: At | None) -> tuple[str, ...]:
    if one and other:
        return k.in_order(kinds_changed(words, one, other))
    if one:
        return k.in_order(kinds_gone(one))
    return k.in_order(kinds_come(other)) if other else ()


def _changes(kinds: Sequence[str], old: Text, new: Text, one: At | None, other: At | None) -> list[Change]:
    """A change for every kind, all of one place."""
    tool = new.tools.at(other.index) if other else old.tools.at(one.index) if one else None
    old_side = old.side(one.index) if one else None
    new_side = new.side(other.index) if other else None
    return [Change(kind=kind, tool=tool, old=old_side, new=new_side) for kind in kinds]


def _note_speeds(found: Words, one: At | None, other: At | None, findings: Findings) -> None:
    """Every F and S that became another; anything else about feed and speed cannot be set against what it was.

    Without a changed word it is one that is read anew.
    """
    gone = [word for word in found.gone if one and kind_of(word, one.block) in (k.FEED, k.SPEED)]
    come = [word for word in found.come if other and kind_of(word, other.block) in (k.FEED, k.SPEED)]
    letters = sorted(word.letter for word in gone)
    plain = all(is_plain(word) and word.letter in ("F", "S") for word in (*gone, *come))
    alike = letters == sorted(word.letter for word in come) and len(set(letters)) == len(letters)
    if not (letters and alike and plain):
        findings.undecided = True
        return
    for word in gone:
        now = next(other_word for other_word in come if other_word.letter == word.letter)
        if one and other:
            findings.speeds.append(
                SpeedChange(
                    letter=word.letter,
                    old=word.number,
                    new=now.number,
                    old_block=one.index,
                    new_block=other.index,
                )
            )


def _judge_move(old: Text, new: Text, found: Difference, move: Move, findings: Findings) -> None:
    """A moved stretch has the kinds of all its words, and ``motion`` if it went across motion or a modal word.

    Where it is no shorter than what it went across, that could as well be what was moved: then its words count too.
    """
    kinds: set[str] = set()
    for step in range(move.length):
        kinds |= kinds_gone(_old_at(old, found, move.old_from + step))
        kinds |= kinds_come(_new_at(new, found, move.new_from + step))
    old_spans, new_spans = crossed(move)
    before = (_old_at(old, found, index) for span in old_spans for index in span)
    after = (_new_at(new, found, index) for span in new_spans for index in span)
    if not all(map(_is_inert, chain(before, after))):
        kinds.add(k.MOTION)
    if sum(map(len, new_spans)) <= move.length or sum(map(len, old_spans)) <= move.length:
        for span in old_spans:
            kinds = kinds.union(*(kinds_gone(_old_at(old, found, index)) for index in span))
        for span in new_spans:
            kinds = kinds.union(*(kinds_come(_new_at(new, found, index)) for index in span))
    if kinds & {k.FEED, k.SPEED}:
        findings.undecided = True
    tool = new.tools.at(move.new_from)
    for kind in k.in_order(kinds):
        change = Change(kind=kind, tool=tool, old=old.side(move.old_from), new=new.side(move.new_from))
        findings.changes.append((move.new_from, change))


def _old_at(old: Text, found: Difference, index: int) -> At:
    return old.at(found.old_block(index), index)


def _new_at(new: Text, found: Difference, index: int) -> At:
    return new.at(found.new_block(index), index)


def _is_inert(place: At) -> bool:
    """Whether a block neither moves nor changes how others are read."""
    return all(is_comment(word) or kind_of(word, place.block) in STANDING for word in place.block.words)


def unread(old: Text, new: Text, found: Difference) -> Findings:
    """The changes of texts that are not read as words: every one is ``other``, block for block."""
    findings = Findings(undecided=True)
    for stretch in found.stretches:
        for x, y in _side_by_side(
            range(stretch.old_from, stretch.old_to), range(stretch.new_from, stretch.new_to)
        ):
            change = Change(
                kind=k.OTHER,
                tool=None,
                old=old.side(x) if x is not None else None,
                new=new.side(y) if y is not None else None,
            )
            findings.changes.append((stretch.new_from, change))
    return findings


def _side_by_side(old: Sequence[int], new: Sequence[int]) -> Iterator[tuple[int | None, int | None]]:
    for step in range(max(len(old), len(new))):
        yield (old[step] if step < len(old) else None, new[step] if step < len(new) else None)
