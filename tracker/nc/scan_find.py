"""Finding the few blocks that matter in a long canonical text, with the engine there is."""

from collections.abc import Iterable

from tracker.nc import scan

Span = tuple[int, int, int]
"""Index of a block, the byte it starts at, the byte of its line feed (or the end of the text)."""


def spans_holding(code: bytes, needles: Iterable[bytes]) -> list[Span]:
    """Every block that holds one of ``needles`` anywhere, in order; cheap where they are rare."""
    if scan.engine() == "compiled":
        from tracker.nc import _scanner

        found: list[Span] = _scanner.spans_holding(code, needles)
        return found
    spans: set[tuple[int, int]] = set()
    for needle in needles:
        at = code.find(needle)
        while at >= 0:
            end = end_of_block(code, at)
            spans.add((code.rfind(b"\n", 0, at) + 1, end))
            at = code.find(needle, end)
    placed: list[Span] = []
    block = counted = 0
    for start, end in sorted(spans):
        block += code.count(b"\n", counted, start)
        counted = start
        placed.append((block, start, end))
    return placed


def end_of_block(code: bytes, at: int) -> int:
    """Where the block that holds byte ``at`` ends: its line feed, or the end of the text."""
    end = code.find(b"\n", at)
    return len(code) if end < 0 else end


def start_of(code: bytes, block: int) -> int:
    """The byte block ``block`` starts at; the length of the text if there is no such block."""
    if scan.engine() == "compiled":
        from tracker.nc import _scanner

        place: int = _scanner.start_of(code, block)
        return place
    low, high = 0, len(code)
    done = 0
    while high - low > 1 << 12:
        middle = (low + high) // 2
        count = code.count(b"\n", low, middle)
        if done + count >= block:
            high = middle
        else:
            low, done = middle, done + count
    while done < block:
        feed = code.find(b"\n", low)
        if feed < 0:
            return len(code)
        low, done = feed + 1, done + 1
    return low
