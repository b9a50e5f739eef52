"""The post-processor that wrote a program, as its header comments say."""

import re
from collections.abc import Iterable, Sequence


def post_of(header_comments: Iterable[str], patterns: Sequence[str]) -> str | None:
    """Name and version of the post-processor, or None if no header comment matches one of the shop's patterns.

    A pattern is a regular expression with the groups ``name`` and, if it has one, ``version``; a date beside them
    does not count. The first comment that matches the first pattern that fits anything decides. Blanks are set to
    one and letters to upper case, since a control may change either.

    Raises:
        re.error: a pattern is no regular expression.
        IndexError: a pattern has no group ``name``.
    """
    comments = list(header_comments)
    for pattern in patterns:
        expression = re.compile(pattern, re.IGNORECASE)
        if "name" not in expression.groupindex:
            raise IndexError(pattern)
        for comment in comments:
            match = expression.search(comment)
            if match:
                parts = match.groupdict()
                stamp = " ".join(part for part in (parts["name"], parts.get("version")) if part)
                return " ".join(stamp.upper().split())
    return None


def post_changed(old: str | None, new: str | None) -> bool:
    """Whether two stamps name another post-processor or version; a stamp that is missing says nothing."""
    return old is not None and new is not None and old != new
