"""Which family of control a text is written for, told by flow words that only one of them knows.

O words with a keyword and named variables are RS274/NGC (LinuxCNC documentation, O codes, "Named Parameters"); IF
with GOTO or THEN, WHILE with DO, GOTO, END, G65 and G66 are macro-type controls (common practice, no source). A text with
neither, or with both, may be for any: what differs between them then is not computed.
"""

import re

NGC = "ngc"
MACRO = "macro"

_COMMENT = re.compile(rb"\([^)\n]*\)|;[^\n]*")
_NGC = re.compile(
    rb"O[ \t]*(?:[0-9]+|<[^<>\n]*>)[ \t]*(?:SUB|ENDSUB|CALL|DO|WHILE|IF|REPEAT|RETURN)|#[ \t]*<|EXISTS[ \t]*\[",
    re.IGNORECASE,
)
_MACRO = re.compile(
    rb"(?<![A-Z0-9>])(?:GOTO|(?:IF|WHILE)[ \t]*\[|DO[ \t]*[1-9]|END[ \t]*[1-9])|G[ \t]*0*6[56](?![0-9])",
    re.IGNORECASE,
)
_O_LINE = re.compile(rb"[ \t]*(?:N[ \t]*[0-9]+[ \t]*)?O[ \t]*(?:[0-9]+|<[^<>\n]*>)[ \t]*[A-Z]", re.IGNORECASE)


def family_of(text: bytes) -> str | None:
    """The family of a text with LF line ends, or None if its words do not tell."""
    if not (b"#" in text or b"[" in text):
        return None
    bare = _COMMENT.sub(b"", text)
    ngc = bool(_NGC.search(bare))
    macro = any(
        not _O_LINE.match(bare, bare.rfind(b"\n", 0, met.start()) + 1) for met in _MACRO.finditer(bare)
    )
    if ngc == macro:
        return None
    return NGC if ngc else MACRO
