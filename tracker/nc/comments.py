"""Comments: where they stand in a line, and which of them are code all the same.

A line is read from the left: ``(`` opens a comment that the first ``)`` ends, ``;`` one that the end of the line ends;
inside a comment nothing else starts. Text in quotes or ``< >`` is code and hides both.

A comment is code when

1. it acts, or it stands after such a one on its line: it opens, in any case and with blanks between the letters, with
   MSG…, LOG…, PROBEOPEN…, PROBECLOSE…, with DEBUG, PRINT, ABORT, PY, PYRUN, PYRELOAD as a word of its own, or with ``AXIS,``
   (NISTIR 6556 section 3.3.4; LinuxCNC, G-code overview). So (PRINTED …) is wording;
2. its block shows it (`tracker.nc.codes`: M0, M1, M60, text engraving, a computed G or M …), calls a program that it
   may name (`names_a_file`), assigns ``#3000``, ``#3006``, a named or computed variable, or is an O line with a keyword, or a block skip stands behind it (first in its block or not is what a
   block skip lives by, NISTIR 6556 section 3.3): the reader decides that;
3. it holds no letter (``L10(5)`` may be a parameter list), a ``(``, a ``%`` or a control character other than a tab;
4. it opens like a statement in parentheses of another control: with GOTO, IF, CALL, PCALL, MCALL, RPT, RET, EXEC,
   ERROR, WRITE and the like as a word of its own or with a parameter glued to it (``IFP1…``), with SUB, PROBE or
   OPEN P and a number, or with an assignment to ``P<digits>`` or an offset of it (what such controls know: from
   memory). So (RETRACT) and (SUB PLATE) are wording. In ``( )`` also with three letters and a comma, or with one of a
   few such words alone: some controls choose the origin, mirror, turn, repeat and jump by three letters in
   parentheses: (UAO,2), (ROT,45), (MIR) (from memory);
5. it opens with ``;`` and holds nothing but words from one ``;`` to the next, or opens so with ``$ ! @ &``: some
   controls show the end of a block so;
6. an unclosed ``(``, or a call of the engraving cycle that takes its text from a comment (L9201, from memory), stands
   before it in the file or on its line: the reader and the walk decide that.
"""

from tracker.frozen import dataclass
from tracker.nc.block import LINE_NAME, BlockReader, NotWords, bare_name
from tracker.nc.item import Item, Word
from tracker.patterns import lazy_pattern

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    import re

_PIECE = lazy_pattern(r"(?s)\"[^\"]*\"|'[^']*'|<[^<>]*>|\([^)]*\)?|;.*")
_ACTIVE = lazy_pattern(r"MSG|LOG|PROBEOPEN|PROBECLOSE|(?:DEBUG|PRINT|ABORT|PY(?:RUN|RELOAD)?)(?![A-Z])|AXIS,")
_STATEMENT = lazy_pattern(
    r"(?:GOTO|IF|[PM]?CALL|RPT|RET|EXEC|ERROR|MDOFF|WRITE|WBUF|REPOS|DGWZ|E?DSTOP|ESTOP|[DE]STBLK|[DE]FHOLD)(?![A-Z])"
    r"|(?:GOTO|IF|[PM]?CALL|RPT|EXEC)[A-Z]{1,2}[0-9]|P[0-9]+=|(?:SUB|PROBE|OPENP|OPEN +P)[ \t]*[0-9]"
    r"|(?:TO[DFIKLRSXZ]|TLF[DFNR]|TMZT|ORG[A-Z]|PLC[A-Z]|[GL]UP|FRO|SSO|KEY)[0-9]*[ \t]*="
)
_OF_THREE = "(?:BEQ|BGE|BGT|BLE|BLT|BNC|BNE|CLS|EPP|ERP|GTO|MIR|ROT|RQO|SCF|UAO|UIO|UTO)"
_THREE_LETTERS = lazy_pattern(r"[A-Z]{3}[ \t]*,|" + _OF_THREE + r"[ \t]*\)?\Z")
_KNOWN_LETTERS = lazy_pattern(_OF_THREE + r"[ \t]*(?:,|\)?\Z)")
_LABEL = lazy_pattern("[Nn][ \t]*[0-9]")
_LAST_NUMBER = lazy_pattern("(?i)BLKN")
_SEES_LINES = lazy_pattern("#" + LINE_NAME)
_SEES_NUMBERS = lazy_pattern(r"#(?:0*4[135]14|[\[#_]|<[^<>]*line)")
_PYTHON = lazy_pattern(r"(?i)[(;][ \t]*P[ \t]*Y(?:RUN|RELOAD)?(?![A-Z])")
_FILE_NAME = lazy_pattern(r"\.[A-Za-z]")
_FOLDERS = lazy_pattern(r"[/\\]")
_LETTER = lazy_pattern("[A-Za-z]")
_DIGIT = lazy_pattern("[0-9]")
_NUMBER = lazy_pattern("[0-9]+")
_ODD = lazy_pattern(r"[(%\x00-\x08\x0a-\x1f\x7f]")
_NO_BLANKS = str.maketrans("", "", " \t")
_NO_MARKS = str.maketrans("", "", "()")


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a line: ``code``, ``(`` closed comment, ``;`` comment, ``open`` comment without its end."""

    kind: str
    start: int
    end: int


def pieces(line: str) -> list[Piece]:
    """The line cut into code and comments; put together they are the line again."""
    found: list[Piece] = []
    code_from = 0
    for match in _PIECE.finditer(line):
        first = line[match.start()]
        if first not in "(;":
            continue
        if match.start() > code_from:
            found.append(Piece("code", code_from, match.start()))
        kind = first if first == ";" or match.group().endswith(")") else "open"
        found.append(Piece(kind, match.start(), match.end()))
        code_from = match.end()
    if code_from < len(line):
        found.append(Piece("code", code_from, len(line)))
    return found


def leaves_open(line: str) -> bool:
    """Whether a ``(`` stays unclosed on the line, quotes and ``;`` notwithstanding."""
    at = line.find("(")
    while at >= 0:
        close = line.find(")", at)
        if close < 0:
            return True
        at = line.find("(", close)
    return False


def is_active(comment: str) -> bool:
    """Whether a control acts on the comment (given with its mark)."""
    return _opens_with(_ACTIVE, comment[1:])


def _opens_with(pattern: "re.Pattern[str]", text: str) -> bool:
    """Whether it opens so, read word by word or without its blanks."""
    text = text.strip(" \t").upper()
    return bool(pattern.match(text) or pattern.match(text.translate(_NO_BLANKS)))


def is_code(comment: str) -> bool:
    """Whether a closed or ``;`` comment is code by what it holds (rules 1, 3, 4, 5)."""
    text = comment[1:-1] if comment[0] == "(" else comment[1:]
    if not _LETTER.search(text) or _ODD.search(text) or is_active(comment):
        return True
    if _opens_with(_STATEMENT, text) or (comment[0] == "(" and _opens_with(_THREE_LETTERS, text)):
        return True
    return comment[0] == ";" and any(
        part.strip(" \t")[:1] in ("$", "!", "@", "&") or _words_in(part) for part in text.split(";")
    )


def is_statement(comment: str) -> bool:
    """Whether a comment that is code opens like a statement (rule 4) and names or reads a number.

    The last line number is a variable by name on such controls (BLKN; from memory). Codes of three letters jump to names;
    one that shows a line number all the same may mean it.
    """
    if comment[0] == "(" and _opens_with(_THREE_LETTERS, comment[1:]) and _LABEL.search(comment):
        return True
    return _opens_with(_STATEMENT, comment[1:]) and bool(
        _DIGIT.search(comment) or _LAST_NUMBER.search(comment)
    )


def turns_or_jumps(comment: str) -> bool:
    """Whether it is a code of three letters in parentheses that moves the zero or changes the order of blocks."""
    return comment[0] == "(" and _opens_with(_KNOWN_LETTERS, comment[1:])


def names_a_file(comment: str, *, may_be_folders: bool) -> bool:
    """Whether it may be the name of a file to call or to show: it has an ending, or folders."""
    return bool(_FILE_NAME.search(comment) or (may_be_folders and _FOLDERS.search(comment)))


def sees_lines(text: str) -> bool:
    """Whether text that is code, comment or not, may read the physical line it stands on.

    Python in a comment can read anything: line and number, and the file itself (LinuxCNC, G-code overview).
    """
    return bool(_PYTHON.search(text)) or _shows_variable(_SEES_LINES, text)


def sees_numbers(text: str) -> bool:
    """Whether text that was not read as words may read the line number, or a variable with a computed index."""
    return _shows_variable(_SEES_NUMBERS, text)


def _shows_variable(pattern: "re.Pattern[str]", text: str) -> bool:
    """Whether a variable of the kind stands in it, comments in it read as text or left out."""
    return "#" in text and any(
        pattern.search(bare_name(written)) for written in (text, text.translate(_NO_MARKS))
    )


def holds_only_numbers(comment: str) -> list[str]:
    """The whole numbers of a comment without any letter, without leading zeros."""
    if _LETTER.search(comment):
        return []
    return [digits.lstrip("0") or "0" for digits in _NUMBER.findall(comment)]


def words_behind(comment: str) -> list[list[Item]]:
    """What a ``;`` comment holds if every ``;`` ends a block: the items of each part that is words."""
    parts = comment.split(";") if comment[0] == ";" else []
    return [items for part in parts if (items := _words_in(part))]


def _words_in(text: str) -> list[Item]:
    """The items of a text that is words, read as it stands or without its blanks; none if it is not."""
    for written in (text, text.translate(_NO_BLANKS)):
        items: list[Item] = []
        reader = BlockReader(written, 0, len(written))
        try:
            reader.read(items)
        except NotWords:
            continue
        if reader.output_at >= 0:
            items.append(Item(Word("DPRNT", "", written), reader.output_at, len(written)))
        return items
    return []
