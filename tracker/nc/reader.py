"""One line, read with care: what of it is code, and what was taken away.

This is the reference for every line. A *simple line* (`tracker.nc.simple`) may be read by a quicker way that gives
the same code; whatever is not simple comes here.

`careful_line` looks at one line and at two things before it: whether an unclosed ``(`` stands further up (then every
comment is code), and whether a G10 is open (then the whole line is data). In this order:

1. Nothing but blanks: nothing. ``%`` alone: a lone per cent sign. ``%`` with something after it: the line, to the
   letter.
2. The line is cut into code and comments (`tracker.nc.comments`), the code is read as items (`tracker.nc.block`).
3. The line is kept to the letter, N and comments and all, when a piece is no item; when it opens with one of
   ``$ ! @ &``; or when it reads otherwise once its removed comments are gone. All but the second are *not words*.
4. An N first in the block, or right after its block skip, is its number; what becomes of it is decided by the whole
   scope (`tracker.nc.labels`). A comment that is code and stands before it makes it an N that is not first.
5. Comments that are not code are wording, and go.
"""

from itertools import pairwise

from tracker.frozen import dataclass, field
from tracker.nc import comments
from tracker.nc.block import BlockReader, NotWords
from tracker.nc.codes import CALL_G, CALL_M, PLAIN_G, PLAIN_M, SHOWN_G, SHOWN_M, code_of
from tracker.nc.item import Item, Word
from tracker.nc.labels import VARIABLE, References, behind, beside, reads_numbers, references
from tracker.nc.named_by_l import as_named, behind_its_name
from tracker.patterns import lazy_pattern

UNREAD = "line that does not read as words"
CHANNEL = "line with $ ! @ or &"

_OPENS = lazy_pattern(r"[ \t]*%[ \t]*[O:o][ \t]*[0-9]")
_MARKED = lazy_pattern(r"(?i)[ \t]*(?:/[0-9]?[ \t]*)*N[ \t]*=")
_RETURN = lazy_pattern(r"(?i)M[ \t]*0*99(?![0-9])")
_CALLING = {"G": CALL_G - {"67"}, "M": CALL_M - {"96", "99"}}
_ENGRAVES = "9201"
_ANYWHERE = 1 << 30
_ONE_SHOT_L = frozenset({"2", "20", "10", "11", "12", "13"})
_SET_LETTERS = frozenset("XYZABCUVWIJKRQ")


@dataclass(slots=True)
class Line:
    """What one line says.

    ``kind`` is ``blank`` (nothing, or only wording), ``percent`` or ``block``. The canonical text of a block is
    ``head`` (block skips before the N), the N if it stays, and ``body``; ``jumps`` are the numbers in the body that
    name labels: (start, end, label). ``written`` is the N as it was
    written. ``rest`` is the line without its wording and its N, ``rest_with_number`` without its wording only. ``after_skip``: a skip
    follows the N at once. ``counts``: it holds more than wording and a number; ``reads``: as words. ``marked``: it is
    kept to the letter and opens like the mark of a renamed label. ``data_label``: the N of a line kept as data.
    ``opens_comment``: from this line on every comment is code. ``sees_lines``: it may read its physical line.
    """

    kind: str
    head: str = ""
    number: str = ""
    written: str = ""
    after_skip: bool = False
    body: str = ""
    rest: str = ""
    rest_with_number: str = ""
    wording: tuple[str, ...] = ()
    words: tuple[Word, ...] = ()
    jumps: tuple[tuple[int, int, str], ...] = ()
    labels: References = field(default_factory=References)
    counts: bool = False
    reads: bool = True
    note: str = ""
    opens_scope: bool = False
    opens_comment: bool = False
    opens_data: bool = False
    one_shot: bool = False
    closes_data: bool = False
    marked: bool = False
    sees_lines: bool = False
    data_label: str = ""

    @property
    def label(self) -> str:
        """The N as a label: whole digits without leading zeros, or nothing."""
        return (self.number.partition(".")[0].lstrip("0") or "0") if self.number else ""


@dataclass(slots=True)
class _Parts:
    """A line in the making."""

    text: str
    pieces: list[comments.Piece]
    items: list[Item] = field(default_factory=list)
    kept: list[comments.Piece] = field(default_factory=list)
    removed: list[comments.Piece] = field(default_factory=list)
    odd_variable: bool = False
    sees_lines: bool = False
    speaks: bool = False
    output_at: int = -1
    renamed: bool = False


def careful_line(
    text: str, *, comments_kept: bool = False, data: bool = False, renamed: bool = False
) -> Line:
    """Read one line (latin-1 text without its line end).

    Args:
        text: the line.
        comments_kept: an unclosed ``(`` stands before it in the file.
        data: it stands between G10 and G11.
        renamed: read the marks of renamed labels as numbers; only for text that is canonical already.
    """
    bare = text.strip(" \t")
    if not bare:
        return Line("blank", rest=text)
    if bare == "%":
        return Line("percent", rest=text)
    if bare[0] == "%":
        return _percent_line(text)
    parts = _Parts(text, comments.pieces(text), renamed=renamed)
    if bare[0] in "$!@&":
        line = _to_the_letter(text, CHANNEL, reads=True)
    else:
        line = _words_line(parts, comments_kept=comments_kept)
    if data and (line.counts or line.number):
        line = _data_line(line, text)
    unclosed = comments.leaves_open(text)
    line.opens_comment = unclosed or any(
        item.word.letter == "L" and code_of(item.word.number) == _ENGRAVES for item in parts.items
    )
    if unclosed:
        line.note = "; ".join(filter(None, (line.note, "unclosed comment kept as code")))
    return line


def _percent_line(text: str) -> Line:
    name = text.strip(" \t")[1:]
    return Line(
        "block",
        body=text,
        rest=text,
        words=(Word("%", name, "%" + name),),
        counts=True,
        opens_scope=bool(_OPENS.match(text)),
        opens_comment=comments.leaves_open(text),
        sees_lines=comments.sees_lines(text),
    )


def _to_the_letter(text: str, why: str, *, reads: bool) -> Line:
    across = why if _RETURN.search(text) else VARIABLE if comments.sees_numbers(text) else ""
    return Line(
        "block",
        body=text,
        rest=text,
        words=(Word("", "", text),),
        labels=References(reason=why, wide_reason=across),
        counts=True,
        reads=reads,
        note="" if reads else "does not read as words, kept to the letter",
        marked=bool(_MARKED.match(text)),
        sees_lines=comments.sees_lines(text),
    )


def _data_line(line: Line, text: str) -> Line:
    """A line between G10 and G11: whole; the G11 itself is a block like any other."""
    if line.closes_data:
        return line
    kept = _to_the_letter(text, "", reads=line.reads)
    kept.labels = line.labels
    kept.words = line.words
    kept.data_label = line.label
    return kept


def _words_line(parts: _Parts, *, comments_kept: bool) -> Line:
    try:
        _read_items(parts)
    except NotWords:
        return _to_the_letter(parts.text, UNREAD, reads=False)
    _sort_comments(parts, keep_all=comments_kept)
    if not _same_without(parts):
        return _to_the_letter(parts.text, UNREAD, reads=False)
    return _built(parts)


def _read_items(parts: _Parts) -> None:
    for piece in parts.pieces:
        if piece.kind != "code":
            continue
        reader = BlockReader(parts.text, piece.start, piece.end, renamed=parts.renamed)
        reader.read(parts.items)
        parts.odd_variable |= reader.odd_variable
        parts.sees_lines |= reader.sees_lines
        parts.speaks |= reader.speaks
        if reader.output_at >= 0:
            parts.output_at = reader.output_at
            printed = parts.text[reader.output_at :]
            parts.odd_variable |= comments.sees_numbers(printed)
            parts.sees_lines |= comments.sees_lines(printed)
            name = printed[:5].upper()
            parts.items.append(Item(Word(name, printed[5:], printed), reader.output_at, len(parts.text)))
            return


def _sort_comments(parts: _Parts, *, keep_all: bool) -> None:
    """Which comments stay, by what they hold, what stands before them and what their block does."""
    keep_all |= parts.speaks or _shows(parts.items) or _is_o_line(parts.items)
    unnamed_to, files, folders = _may_be_named(parts.items)
    last_skip = max((item.start for item in parts.items if item.word.letter == "/"), default=-1)
    acted = False
    for piece in parts.pieces:
        if piece.kind == "code":
            continue
        if 0 <= parts.output_at <= piece.start:
            return
        text = parts.text[piece.start : piece.end]
        active = comments.is_active(text)
        stays = keep_all or acted or active or piece.kind == "open" or piece.start < last_skip
        stays = stays or comments.is_code(text) or piece.start < unnamed_to
        stays = stays or (files and comments.names_a_file(text, may_be_folders=folders))
        stays = stays or (piece.kind == "(" and behind_its_name(parts.items, parts.text, piece.start))
        (parts.kept if stays else parts.removed).append(piece)
        acted |= active


def _shows(items: list[Item]) -> bool:
    """Whether the block shows a comment to the operator or cuts it into the part, or may do so."""
    return any(
        item.word.letter in ("G", "M")
        and (
            code_of(item.word.number) in (SHOWN_M if item.word.letter == "M" else SHOWN_G)
            or not item.word.number[:1].isdigit()
        )
        for item in items
    )


def _may_be_named(items: list[Item]) -> tuple[int, bool, bool]:
    """What a block may call by a name in parentheses, as some controls do (from memory).

    Returns:
        Up to where in the line any comment may be the name: that of a call without a P before it; whether one that
        looks like the name of a file may be one, and whether one with folders may.
    """
    codes = [
        (item.word.letter, code_of(item.word.number)) for item in items if item.word.letter in ("G", "M")
    ]
    if any(code in _CALLING[letter] for letter, code in codes):
        places = [item.start for item in items if item.word.letter == "P"]
        return min(places, default=_ANYWHERE), True, True
    return -1, any(code not in (PLAIN_M if letter == "M" else PLAIN_G) for letter, code in codes), False


def _is_o_line(items: list[Item]) -> bool:
    return any(
        item.word.letter == "O" and after.word.letter.isalpha() and len(after.word.letter) > 1
        for item, after in pairwise(items)
    )


def _same_without(parts: _Parts) -> bool:
    """Whether the line reads the same once the removed comments are gone."""
    last_code = max((p.start for p in parts.pieces if p.kind == "code"), default=0)
    if not any(p.start < last_code for p in parts.removed):
        return True
    text = parts.text
    for piece in reversed(parts.removed):
        text = text[: piece.start] + text[piece.end :]
    again = _Parts(text, comments.pieces(text), renamed=parts.renamed)
    try:
        _read_items(again)
    except NotWords:
        return False
    return [item.word for item in again.items] == [item.word for item in parts.items]


def _built(parts: _Parts) -> Line:
    items = as_named(parts.items, parts.text)
    kept = [(p.start, Word(parts.text[p.start], "", parts.text[p.start : p.end])) for p in parts.kept]
    wording = tuple(parts.text[p.start : p.end] for p in parts.removed)
    at = _number_at(items, parts.kept)
    line = Line("block", wording=wording, counts=bool(items))
    own = items
    if at >= 0:
        line.head = "".join(item.word.text for item in items[:at])
        line.number = items[at].word.number
        line.written = parts.text[items[at].start : items[at].end]
        line.after_skip = at + 1 < len(items) and items[at + 1].word.letter == "/"
        own = items[at + 1 :]
        line.counts = len(items) > 1
    line.labels = references(own)
    line.sees_lines = parts.sees_lines or any(comments.sees_lines(comment.text) for _, comment in kept)
    if parts.odd_variable:
        reads_numbers(line.labels)
    for start, comment in kept:
        before = [item.word.letter for item in items if item.start < start]
        if before:
            behind(line.labels, before[-1], comments.holds_only_numbers(comment.text))
        beside(
            line.labels,
            comments.words_behind(comment.text),
            statement=comments.is_statement(comment.text),
            odd_variable=comments.sees_numbers(comment.text),
        )
    line.body, line.jumps = _spelled(own, kept, line.labels)
    line.words = tuple(word for _, _, word in _in_order(items, kept))
    line.rest = _rest(parts, items[at] if at >= 0 else None)
    line.rest_with_number = _rest(parts, None) if at >= 0 else line.rest
    if not (line.head or line.body or line.number):
        line.kind = "blank"
    _look_for_data(line, own)
    line.opens_scope = bool(own) and at <= 0 and _opens_scope(own)
    return line


def _number_at(items: list[Item], kept: list[comments.Piece]) -> int:
    """Where the line number stands among the items, or -1."""
    for index, item in enumerate(items):
        if item.word.letter == "/":
            continue
        plain = (
            item.word.letter == "N" and item.word.number[:1] not in ("", "+", "-") and _is_number(item.word)
        )
        return index if plain and not any(piece.start < item.start for piece in kept) else -1
    return -1


def _is_number(word: Word) -> bool:
    return word.number[0] in ".0123456789="


def _opens_scope(items: list[Item]) -> bool:
    """A plain O or colon number opens a scope; an O line with a keyword or a name does not."""
    first = items[0]
    if first.word.letter not in ("O", ":") or (first.value is None and first.word.letter == "O"):
        return False
    return not _is_o_line(items[:2])


def _in_order(items: list[Item], kept: list[tuple[int, Word]]) -> list[tuple[int, int, Word]]:
    """Items and comments that stay as they stand in the line: (offset, index of the item or -1, word)."""
    entries = [(item.start, index, item.word) for index, item in enumerate(items)]
    if not kept:
        return entries
    return sorted([*entries, *((start, -1, word) for start, word in kept)], key=lambda entry: entry[0])


def _spelled(
    items: list[Item], kept: list[tuple[int, Word]], labels: References
) -> tuple[str, tuple[tuple[int, int, str], ...]]:
    """The body, and where in it the numbers of jumps stand."""
    if not (kept or labels.jumps):
        return "".join([item.word.text for item in items]), ()
    wanted = dict(labels.jumps)
    body, jumps = "", []
    for _, index, word in _in_order(items, kept):
        body += word.text
        if index in wanted:
            jumps.append((len(body) - len(word.number), len(body), wanted[index]))
    return body, tuple(jumps)


def _rest(parts: _Parts, number: Item | None) -> str:
    """The line without its N (and the blanks after it) and its wording (and the blanks before it)."""
    cuts = [(piece.start, piece.end, "(") for piece in parts.removed]
    if number is not None:
        cuts.append((number.start, number.end, "N"))
    text = parts.text
    if not cuts:
        return text
    for start, end, what in sorted(cuts, reverse=True):
        left, right = text[:start], text[end:]
        text = left + right.lstrip(" \t") if what == "N" else left.rstrip(" \t") + right
    return text


def _look_for_data(line: Line, items: list[Item]) -> None:
    """G10 and G11; a G11 that may be skipped closes nothing."""
    letters = {item.word.letter for item in items}
    g = {code_of(item.word.number) for item in items if item.word.letter == "G"}
    line.closes_data = "11" in g and not line.head and all(len(name) == 1 and name != "/" for name in letters)
    line.opens_data = "10" in g and not line.closes_data
    kinds = [item.word.number for item in items if item.word.letter == "L"]
    line.one_shot = (
        line.opens_data
        and len(kinds) == 1
        and kinds[0] in _ONE_SHOT_L
        and "P" in letters
        and bool(letters & _SET_LETTERS)
    )
