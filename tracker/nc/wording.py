"""Comments that surely are only wording, left out of many lines at a time.

Nothing is decided here that `tracker.nc.comments` and `tracker.nc.reader` do not decide: what is left out is wording to
them, and any doubt leaves the comment where it is, which makes its line an odd one. A comment in ``( )`` goes when

- it holds a letter, no parenthesis, per cent sign or control character other than a tab, and `comments.is_code` says
  no; of most that is seen from their first letters;
- a letter, another comment or the end of the line follows it, so that it parts no number;
- no M0, M1 or M60 stands on its line, and no L right before it.

A comment after ``;`` goes when it opens with two letters that open nothing else, so that it cannot be words. What hides
a comment (quotes, ``< >``, another comment) is an odd character by itself and keeps its line odd.
"""

from tracker.nc import comments
from tracker.patterns import lazy_pattern

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    import re

_CODE = (
    "MSG MCALL MDOFF LOG LUP PRINT PROBE PY PCALL PLC DEBUG DGWZ DST DFH ABORT AXIS GOTO GUP IF CALL RPT RET REPOS EXEC "
    "ERROR EST EDST EFH SUB SSO WRITE WBUF OPENP ORG TLF TMZT TO FRO KEY"
)
"""Openings of which some are those of comments that are code; ``TO`` but for TOOL."""

_WORDS = "THEN ELSE END WHILE DO DPRNT BPRNT SETVN POPEN PCLOS FOPEN FCLOS"
"""Openings of which some are those of statements (`tracker.nc.block`)."""


def _spread(words: str) -> bytes:
    """A pattern for any of the words, blanks between their letters allowed; grouped, so that most fail at one letter."""
    rests: dict[str, list[str]] = {}
    for word in words.split():
        rests.setdefault(word[0], []).append("[ \\t]*".join(word[1:]) + ("(?!OL)" if word == "TO" else ""))
    return "|".join(f"{first}[ \\t]*(?:{'|'.join(rest)})" for first, rest in rests.items()).encode("ascii")


_INSIDE = rb"[^()%\x00-\x08\x0a-\x1f\x7f]*"
_THREE_LETTERS = rb"[A-Z][ \t]*[A-Z][ \t]*[A-Z][ \t]*[,)]"
_FOLLOWED = rb"\)(?=[ \t]*[A-Z\n(;\x01])"
_SURE = lazy_pattern(
    rb"\([ \t]*(?:(?!P[ \t]*[0-9]|" + _THREE_LETTERS + rb"|" + _spread(_CODE) + rb")[A-Z]|[0-9][^A-Z()%\x00-\x08\x0a-\x1f\x7f]*[A-Z])" + _INSIDE
    + _FOLLOWED
    + rb"|;[ \t]*(?!P[ \t]*[0-9]|" + _spread(_CODE + " " + _WORDS) + rb")[A-Z][ \t]*[A-Z][^;()\[%\x00-\x08\x0a-\x1f\x7f]*(?=\n)"
)  # fmt: skip
_MAY_BE = lazy_pattern(rb"\(" + _INSIDE + _FOLLOWED)
_CLOSE = lazy_pattern(rb"M[ \t]*0*(?:60|[01])(?![0-9])|L[ \t]*[+-]?[0-9]+\.?[0-9]*[ \t]*\(")
_ODD_MARKS = bytes.maketrans(b"(;", b"!!")
_GONE = b"\x01"
_ENGRAVES = lazy_pattern(rb"L[ \t]*[+]?[0-9]*9201")
_REMEMBERED = 4096

_known: dict[bytes, bytes] = {}


def left_out(text: bytes) -> bytes:
    """Lines (with LF) in upper case without the comments that surely are wording.

    It is the text itself where nothing is to be gained. Call it only where no unclosed comment and no engraving cycle stands before these lines.
    """
    if (b"(" not in text and b";" not in text) or _GONE in text:
        return text
    upper = text.upper()
    if _ENGRAVES.search(upper):
        return text
    bare = _SURE.sub(_GONE, _marked(upper))
    if b"(" in bare:
        bare = _MAY_BE.sub(_judged, bare)
    return bare.replace(_GONE, b"")


def _judged(match: "re.Match[bytes]") -> bytes:
    comment = match.group()
    found = _known.get(comment)
    if found is None:
        found = comment if comments.is_code(comment.decode("latin-1")) else _GONE
        if len(_known) >= _REMEMBERED:
            _known.clear()
        _known[comment] = found
    return found


def _marked(text: bytes) -> bytes:
    """The same, with no comment to be found on a line that stops the program or has one right behind an L."""
    done, parts = 0, []
    for match in _CLOSE.finditer(text):
        if match.start() < done:
            continue
        start, end = text.rfind(b"\n", 0, match.start()) + 1, text.index(b"\n", match.start())
        parts += [text[done:start], text[start:end].translate(_ODD_MARKS)]
        done = end
    return b"".join([*parts, text[done:]]) if done else text
