"""The tool list many posts write at the head of a program, a comment a tool: ``(T3 .257 DRILL H3 D3)``.

Common practice, no source. What follows the number is taken as the tool's words, without its H and D; a comment that
holds no word of three letters, like ``(T5 M6)``, says nothing of a tool.
"""

from collections.abc import Iterable, Mapping

from tracker.patterns import lazy_pattern

_TOOL = lazy_pattern(
    r"(?i)^(?:TOOL[ \t]*#?[ \t]*|T)(?P<number>\d{1,4})(?![.\w])[ \t]*[-:=|,]*[ \t]*(?P<words>.*)$"
)
_OFFSETS = lazy_pattern(r"(?i)[ \t|,;-]*\b[HD][ \t]*=?[ \t]*\d{1,4}(?![\d.])(?=[ \t|,;-]|$)")
_WORD = lazy_pattern(r"[A-Za-z]{3}")


def head_tools(comments: Iterable[str]) -> Mapping[int, str]:
    """Tool number -> its words; of several that speak of one tool nothing counts where they differ."""
    found: dict[int, set[str]] = {}
    for comment in comments:
        said = _TOOL.match(" ".join(comment.split()))
        if said is None:
            continue
        words = _OFFSETS.sub("", said["words"]).strip(" -|,;:")
        if _WORD.search(words):
            found.setdefault(int(said["number"]), set()).add(words)
    return {number: next(iter(words)) for number, words in found.items() if len(words) == 1}
