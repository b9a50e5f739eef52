"""Comments that surely are only wording, left out of many lines at a time.

Nothing is decided here that `tracker.nc.comments` and `tracker.nc.reader` do not decide: what is left out is wording to
them, and any doubt leaves the comment where it is, which makes its line an odd one. A comment in ``( )`` goes when

- it holds a letter, no parenthesis, per cent sign or control character other than a tab, and `comments.is_code` says
  no; of most that is seen from their first letters;
- a letter, another comment or the end of the line follows it, so that it parts no number;
- no M0, M1 or M60 stands on its line.

A comment after ``;`` goes when it opens with two letters that open nothing else, so that it cannot be words. What hides
a comment (quotes, ``< >``, another comment) is an odd character by itself and keeps its line odd.
"""

import re

from tracker.nc import comments

_OPENS_CODE = (
    rb"M[ \t]*[SCD]|L[ \t]*[OU]|P[ \t]*[0-9RYCL]|D[ \t]*[EGSF]|A[ \t]*[BX]|G[ \t]*[OU]|I[ \t]*F|C[ \t]*A|R[ \t]*[PE]"
    rb"|E[ \t]*[XRSDF]|S[ \t]*[US]|W[ \t]*[RB]|O[ \t]*[PR]|T[ \t]*[LM]|T[ \t]*O[ \t]*[^Oo]|F[ \t]*R|K[ \t]*E"
)
"""Openings of which some are those of comments that are code."""

_OPENS_WORDS = rb"T[ \t]*H|E[ \t]*[LN]|W[ \t]*H|D[ \t]*[OP]|B[ \t]*P|S[ \t]*E|P[ \t]*[OC]|F[ \t]*[OC]"
"""Openings of which some are those of statements (`tracker.nc.block`)."""

_INSIDE = rb"[^()%\x00-\x08\x0a-\x1f\x7f]*"
_FOLLOWED = rb"\)(?=[ \t]*[A-Za-z\n(;\x01])"
_SURE = re.compile(
    rb"\([ \t]*(?:(?!" + _OPENS_CODE + rb")[A-Za-z]|[0-9][^A-Za-z()%\x00-\x08\x0a-\x1f\x7f]*[A-Za-z])" + _INSIDE
    + _FOLLOWED
    + rb"|;[ \t]*(?!" + _OPENS_CODE + rb"|" + _OPENS_WORDS + rb")[A-Za-z][ \t]*[A-Za-z]"
    rb"[^;()\[%\x00-\x08\x0a-\x1f\x7f]*(?=\n)",
    re.IGNORECASE,
)  # fmt: skip
_MAY_BE = re.compile(rb"\(" + _INSIDE + _FOLLOWED)
_STOP = re.compile(rb"[Mm][ \t]*0*(?:60|[01])(?![0-9])")
_ODD_MARKS = bytes.maketrans(b"(;", b"!!")
_GONE = b"\x01"
_ENGRAVES = re.compile(rb"[Ll][ \t]*[+]?[0-9]*9201")
_REMEMBERED = 4096

_known: dict[bytes, bytes] = {}


def left_out(text: bytes) -> bytes:
    """Lines (with LF) without the comments that surely are wording; the text itself where nothing is to be gained.

    Call it only where no unclosed comment and no engraving cycle stands before these lines.
    """
    if (b"(" not in text and b";" not in text) or _GONE in text or _ENGRAVES.search(text):
        return text
    bare = _SURE.sub(_GONE, _marked(text))
    if b"(" in bare:
        bare = _MAY_BE.sub(_judged, bare)
    return bare.replace(_GONE, b"")


def _judged(match: re.Match[bytes]) -> bytes:
    comment = match.group()
    found = _known.get(comment)
    if found is None:
        found = comment if comments.is_code(comment.decode("latin-1")) else _GONE
        if len(_known) >= _REMEMBERED:
            _known.clear()
        _known[comment] = found
    return found


def _marked(text: bytes) -> bytes:
    """The same, with no comment to be found on a line that stops the program."""
    done, parts = 0, []
    for match in _STOP.finditer(text):
        if match.start() < done:
            continue
        start, end = text.rfind(b"\n", 0, match.start()) + 1, text.index(b"\n", match.start())
        parts += [text[done:start], text[start:end].translate(_ODD_MARKS)]
        done = end
    return b"".join([*parts, text[done:]]) if done else text
