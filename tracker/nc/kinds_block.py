"""The kinds of change of one block: taken away, added, or become another."""

from collections import Counter
from collections.abc import Callable, Sequence

from tracker.frozen import dataclass
from tracker.nc import kinds as k
from tracker.nc.compare_words import words_of
from tracker.nc.kinds_words import AXES, Block, block_of, is_comment, is_plain, kind_of
from tracker.nc.word import Word

_OUTSIDE_A_DWELL = {**dict.fromkeys(AXES, k.MOTION), "F": k.FEED, "S": k.SPEED}
"""What words say that may be a time beside G4 (F and S on some controls, from memory)."""

_FIRM_STOPS = frozenset({"0", "60"})

Stages = Callable[[int], bool]
"""Whether the T words of block i only get a tool ready."""

PER_CENT = Word("%", "", "%")
"""What a block is that is a ``%`` alone: it ends what many controls read, so it counts beside other changes too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class At:
    """A block with its place, and how to ask what its T words do."""

    index: int
    block: Block
    stages: Stages
    in_data: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What changed inside a block: words taken away and words that came, in order."""

    gone: Sequence[Word]
    come: Sequence[Word]


def at(text: str, index: int, stages: Stages, *, lathe: bool, in_data: bool = False) -> At:
    """The block ``text`` as block ``index``; ``in_data``: a line of data for the control, between G10 and G11."""
    words = (PER_CENT,) if text == PER_CENT.text else words_of(text)
    return At(index=index, block=block_of(words, lathe=lathe), stages=stages, in_data=in_data)


def changed_words(old: Sequence[Word], new: Sequence[Word]) -> Words:
    """The words that differ between two blocks.

    If those they share stand in another order, every word between the equal ends counts: order is code.
    """
    front = 0
    while front < min(len(old), len(new)) and old[front].text == new[front].text:
        front += 1
    back = 0
    while back < min(len(old), len(new)) - front and old[-1 - back].text == new[-1 - back].text:
        back += 1
    old, new = old[front : len(old) - back], new[front : len(new) - back]
    if {word.text for word in old}.isdisjoint([word.text for word in new]):
        return Words(gone=old, come=new)
    shared = Counter(word.text for word in old) & Counter(word.text for word in new)
    if _those(old, shared) != _those(new, shared):
        return Words(gone=old, come=new)
    return Words(gone=_without(old, shared), come=_without(new, shared))


def _those(row: Sequence[Word], shared: Counter[str]) -> list[str]:
    left = shared.copy()
    return [word.text for word in row if _take(left, word.text)]


def _without(row: Sequence[Word], shared: Counter[str]) -> list[Word]:
    left = shared.copy()
    return [word for word in row if not _take(left, word.text)]


def _take(left: Counter[str], text: str) -> bool:
    if not left[text]:
        return False
    left[text] -= 1
    return True


def kinds_changed(found: Words, old: At, new: At) -> frozenset[str]:
    """The kinds of a block that became another; ``found`` are the words that differ."""
    kinds = set(_of(found.gone, old)) | set(_of(found.come, new))
    kinds |= _stops(found, old.block, new.block) | _read_anew(found, old, new) | _last_m(old, new)
    tools = _tool_kinds(found.gone, old) | _tool_kinds(found.come, new)
    # One T word that became another is one change: what it does in the stricter text counts.
    return frozenset(kinds | ({k.TOOL} if k.TOOL in tools else tools))


def _read_anew(found: Words, old: At, new: At) -> frozenset[str]:
    """Kinds of words that stay but mean something else now: X5. is a time beside G4 and a way to go without it."""
    if (
        not any(word.letter in ("G", "M") for word in (*found.gone, *found.come))
        or old.in_data
        or new.in_data
    ):
        return frozenset()
    after = {word.text: word for word in new.block.words}
    kinds: set[str] = set()
    for word in old.block.words:
        if word.text in after:
            pair = {kind_of(word, old.block), kind_of(after[word.text], new.block)}
            kinds |= pair if len(pair) > 1 else set()
            if ("4" in old.block.g) != ("4" in new.block.g):
                kinds |= {_OUTSIDE_A_DWELL[word.letter]} if word.letter in _OUTSIDE_A_DWELL else set()
    return frozenset(kinds - {k.STOP})


def _last_m(old: At, new: At) -> frozenset[str]:
    """Kinds of M words that stay in a block and are the last of it on one side alone.

    Where a control acts on one M of a block it is the last (common practice, no source): M3 that became M3 M8 turns no
    spindle there.
    """
    if old.in_data or new.in_data:
        return frozenset()
    was, now = ([word for word in place.block.words if word.letter == "M"] for place in (old, new))
    if not was or not now or was[-1] == now[-1]:
        return frozenset()
    kinds = {kind_of(now[-1], new.block)} if now[-1] in was else set()
    if was[-1] in now:
        kinds.add(k.STOP_REMOVED if was[-1].number in _FIRM_STOPS else kind_of(was[-1], old.block))
    return frozenset(kinds)


def kinds_gone(old: At) -> frozenset[str]:
    """The kinds of a block that was taken away."""
    words_gone = old.block.words
    kinds = set(_of(words_gone, old)) | _tool_kinds(words_gone, old)
    return frozenset(kinds | _stops(Words(gone=words_gone, come=()), old.block, block_of((), lathe=False)))


def kinds_come(new: At) -> frozenset[str]:
    """The kinds of a block that was added."""
    words_come = new.block.words
    kinds = set(_of(words_come, new)) | _tool_kinds(words_come, new)
    return frozenset(kinds | _stops(Words(gone=(), come=words_come), block_of((), lathe=False), new.block))


def _of(row: Sequence[Word], place: At) -> list[str]:
    """Kinds of words, T words and stops left out: they are judged by place and direction."""
    if place.in_data:
        return [k.OTHER] if row else []
    kinds = [kind_of(word, place.block) for word in row if not _is_staging(word, place.block)]
    return [kind for kind in kinds if kind != k.STOP]


def _is_staging(word: Word, block: Block) -> bool:
    return word.letter == "T" and is_plain(word) and kind_of(word, block) == k.TOOL


def _tool_kinds(row: Sequence[Word], place: At) -> frozenset[str]:
    """``tool`` or ``precall`` of the T words in the row."""
    if place.in_data or not any(_is_staging(word, place.block) for word in row):
        return frozenset()
    return frozenset({k.PRECALL if place.stages(place.index) else k.TOOL})


def _stops(found: Words, old: Block, new: Block) -> frozenset[str]:
    """Kinds by what became of stops: one that is gone or weaker, one that came, the words beside one that stays."""
    gone, come = _stop_numbers(found.gone), _stop_numbers(found.come)
    kinds: set[str] = set()
    if gone & _FIRM_STOPS:
        kinds.add(k.STOP_REMOVED)
    elif "1" in gone or come & {"0", "1"}:
        kinds.add(k.STOP)
    if "60" in come:
        kinds.add(k.OTHER)
    stays = old.has_stop and new.has_stop and not gone and not come
    if stays and any(is_comment(word) for word in (*found.gone, *found.come)):
        kinds.add(k.STOP_REMOVED)
    return frozenset(kinds)


def _stop_numbers(row: Sequence[Word]) -> frozenset[str]:
    return frozenset(word.number for word in row if word.letter == "M" and word.number in ("0", "1", "60"))
