"""Pre-calls of a side-mount changer written into a program: a T for the next tool on the line after each change.

As it is practised, from the end of the program upwards: the last tool calls for the first one, each tool before it for
the one behind it. What is there and right stays; a lone wrong one gets the right number. Every other byte is kept:
line ends, characters, numbers. Where the text does not plainly say which tool comes next, nothing is written.

The result is a text like any other: changed, and not proven. It says so in a comment.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from tracker.checks.rules.precall import tool_number
from tracker.checks.spans import parts_of
from tracker.nc.block import O_KEYWORDS
from tracker.nc.codes import code_of
from tracker.nc.word import Word, words

NOTICE = "(PRE-CALLS WRITTEN BY PROVEOUT - NOT PROVEN)"

_LINE = re.compile(rb"[^\r\n]*(?:\r\n|\r|\n|\Z)")
_T_WORD = re.compile(r"[Tt][ \t]*[+]?[0-9]+")
_JUMPS = frozenset(("GOTO", "IF", "WHILE", "DO", "END", *O_KEYWORDS))


class NotWrittenError(Exception):
    """Why no pre-calls can be written into this text; ``line`` where that shows."""

    def __init__(self, why: str, line: int | None = None) -> None:
        super().__init__(why)
        self.why = why
        self.line = line


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A text with its pre-calls, and what was done: (line of the original, tool called for) of each."""

    data: bytes
    added: tuple[tuple[int, int], ...]
    corrected: tuple[tuple[int, int], ...]

    @property
    def changes(self) -> bool:
        """Whether anything was to be done."""
        return bool(self.added or self.corrected)


@dataclass(slots=True)
class _Change:
    """A tool change: the places of its M6 and of its T, the tool, its T as written, the T words up to the next change."""

    at: int
    called_at: int
    tool: int
    spelled: str
    staged: list[tuple[int, int]] = field(default_factory=list)


def with_precalls(data: bytes) -> Written:
    """The main program of ``data`` with every pre-call.

    Raises NotWrittenError where jumps, calls of a tool by variable, block skip or several T words leave open which
    tool comes next, or where there is no tool change.
    """
    lines = _LINE.findall(data)
    changes = _changes(data, lines)
    added: list[tuple[int, int]] = []
    corrected: list[tuple[int, int]] = []
    following = changes[0]
    for change in reversed(changes):
        wanted, spelled = following.tool, following.spelled
        following = change
        if wanted == change.tool or wanted == 0:
            continue
        if len({tool for _, tool in change.staged}) > 1:
            raise NotWrittenError(
                "several tools are called for between two changes", change.staged[-1][0] + 1
            )
        if not change.staged:
            if not lines[change.at].endswith((b"\r", b"\n")):
                raise NotWrittenError("the text ends with a tool change", change.at + 1)
            lines.insert(change.at + 1, spelled.encode("latin-1") + _end_of(lines, change.at))
            added.append((change.at + 1, wanted))
        elif change.staged[0][1] != wanted:
            for at, _ in change.staged:
                lines[at] = _with_tool(lines[at], spelled)
                corrected.append((at + 1, wanted))
    if added or corrected:
        _say_so(lines, data)
    return Written(data=b"".join(lines), added=tuple(added[::-1]), corrected=tuple(corrected[::-1]))


def changes_without_tool(data: bytes) -> tuple[tuple[int, str, int], ...]:
    """The changes whose M6 has no T in its own block: line of the M6, T that is changed to, line it stands on.

    Raises NotWrittenError as `with_precalls`.
    """
    lines = _LINE.findall(data)
    bare = (change for change in _changes(data, lines) if change.called_at != change.at)
    return tuple((one.at + 1, one.spelled, one.called_at + 1) for one in bare)


def _changes(data: bytes, lines: Sequence[bytes]) -> list[_Change]:
    """The tool changes of the main program in the order they stand; raises NotWrittenError."""
    changes: list[_Change] = []
    last: tuple[int, str, int] | None = None
    staged: list[tuple[int, int]] = []
    for at in _lines_run(data):
        text = lines[at].decode("latin-1").rstrip("\r\n")
        block = words(text)
        _plain(block, at)
        t = next((word for word in block if word.letter == "T"), None)
        changes_here = any(word.letter == "M" and code_of(word.number) == "6" for word in block)
        if not t and not changes_here:
            continue
        if text.lstrip().startswith("/"):
            raise NotWrittenError("a tool is called or changed on a line with block skip", at + 1)
        if t is not None:
            last = (_tool(t, at), _spelling(text), at)
        if changes_here:
            if last is None:
                raise NotWrittenError("M6 with no T before it", at + 1)
            if changes:
                changes[-1].staged = staged
            changes.append(_Change(at=at, called_at=last[2], tool=last[0], spelled=last[1]))
            staged = []
        elif last is not None:
            staged.append((at, last[0]))
    if not changes:
        raise NotWrittenError("there is no tool change (M6) in the main program")
    changes[-1].staged = staged
    return changes


def _lines_run(data: bytes) -> range:
    """Places of the lines of the main program, up to the line that ends it."""
    main = parts_of(data)[0]
    end = main.ends[0][0] if main.ends else main.last
    return range(main.first - 1, end)


def _plain(block: Sequence[Word], at: int) -> None:
    """Raise NotWrittenError where the order of lines is not the order they are run in."""
    for word in block:
        if word.letter in _JUMPS:
            raise NotWrittenError(f"{word.letter} may change the order in which tools are used", at + 1)
        if word.letter == "M" and code_of(word.number) == "97":
            raise NotWrittenError("M97 calls lines of the same text", at + 1)


def _tool(word: Word, at: int) -> int:
    number = tool_number(word)
    if number is None:
        raise NotWrittenError("a tool is called by a variable", at + 1)
    return number


def _spelling(text: str) -> str:
    """The T as written on a line: ``T05``."""
    found = _T_WORD.findall(re.sub(r"\([^)]*\)", "", text))
    if len(found) != 1:
        raise NotWrittenError(f"the T of {text.strip()!r} is not plainly written")
    return str(found[0]).replace(" ", "").replace("\t", "")


def _with_tool(line: bytes, spelled: str) -> bytes:
    """A line with its T replaced; comments are left alone."""
    text = line.decode("latin-1")
    cut = [(match.start(), match.end()) for match in re.finditer(r"\([^)]*\)", text)]
    for match in _T_WORD.finditer(text):
        if not any(start <= match.start() < end for start, end in cut):
            return (text[: match.start()] + spelled + text[match.end() :]).encode("latin-1")
    return line


def _end_of(lines: list[bytes], at: int) -> bytes:
    """The line end at a place; a last line without one gets that of the line before it."""
    for line in (lines[at], *lines):
        body = line.rstrip(b"\r\n")
        if len(body) < len(line):
            return line[len(body) :]
    return b"\n"


def _say_so(lines: list[bytes], data: bytes) -> None:
    """The notice on a line of its own behind the O line, else behind the leading ``%``, else first."""
    if NOTICE.encode() in data:
        return
    main = parts_of(data)[0]
    has_percent = lines[0].strip(b" \t\x00\xef\xbb\xbf").startswith(b"%")
    at = main.first if main.number is not None else 1 if has_percent else 0
    lines.insert(at, NOTICE.encode() + _end_of(lines, max(at - 1, 0)))
