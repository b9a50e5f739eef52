"""Which line of a TOML text a key stands on: the standard reader does not say.

The text is known to be valid TOML (the standard reader has read it), so this follows only as much of the form as is
needed to find keys: comments, headings, dotted keys, strings of four kinds, lists and inline tables. A path is a tuple
of keys and list places, as in `tracker.records.problems`; of a list the items are found too.
"""

import json
import re

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:\\.|(?!""").)*"{3,5}|' r"'''(?:(?!''').)*'{3,5}|" r'"(?:\\.|[^"\\])*"|' r"'[^']*'",
    re.DOTALL,
)
_PLAIN_VALUE = re.compile(r"[^,\]}#\n]+")


def lines_of(text: str) -> dict[Path, int]:
    """The line (from 1) of every key, table and list item of a valid TOML ``text``."""
    return _Reader(text).read()


def line_of(lines: dict[Path, int], path: Path) -> int:
    """The line of ``path``, or of the innermost thing around it that has one; 1 for the whole file."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1


class _Reader:
    """One pass over one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.last_row: dict[Path, int] = {}

    def read(self) -> dict[Path, int]:
        table: Path = ()
        self._blanks()
        while self.at < len(self.text):
            if self.text.startswith("[", self.at):
                table = self._heading()
            else:
                self._assignment(table)
            self._blanks()
        return self.lines

    def _move(self, end: int) -> None:
        self.line += self.text.count("\n", self.at, end)
        self.at = end

    def _blanks(self) -> None:
        found = _BLANK.match(self.text, self.at)
        if found:
            self._move(found.end())

    def _skip(self, count: int) -> None:
        self._move(self.at + count)
        self._blanks()

    def _heading(self) -> Path:
        line = self.line
        rows = self.text.startswith("[[", self.at)
        self._skip(2 if rows else 1)
        keys = self._keys()
        self._move(self.at + (2 if rows else 1))
        path = self._resolve((), keys[:-1])
        for length in range(1, len(path) + 1):  # tables a heading makes by the way
            self.lines.setdefault(path[:length], line)
        path = (*path, keys[-1])
        if rows:
            self.last_row[path] = self.last_row.get(path, -1) + 1
            self.lines.setdefault(path, line)
            path = (*path, self.last_row[path])
        elif path in self.last_row:
            path = (*path, self.last_row[path])
        self.lines.setdefault(path, line)
        return path

    def _resolve(self, table: Path, keys: list[str]) -> Path:
        """The path of dotted keys: through a list of tables it leads into the last row."""
        for key in keys:
            table = (*table, key)
            if table in self.last_row:
                table = (*table, self.last_row[table])
        return table

    def _assignment(self, table: Path) -> None:
        line = self.line
        path = table
        for key in self._keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self._skip(1)  # the equals sign
        self._value(path)

    def _keys(self) -> list[str]:
        keys = [self._key()]
        while self.text.startswith(".", self.at):
            self._skip(1)
            keys.append(self._key())
        return keys

    def _key(self) -> str:
        quoted = _STRING.match(self.text, self.at)
        if quoted:
            self._move(quoted.end())
            key = _unquoted(quoted[0])
        else:
            bare = _BARE.match(self.text, self.at)
            if bare is None:  # not valid TOML after all; leave the rest unread rather than guess
                self._move(len(self.text))
                return ""
            self._move(bare.end())
            key = bare[0]
        self._blanks()
        return key

    def _value(self, path: Path) -> None:
        self.lines.setdefault(path, self.line)
        if self.text.startswith("[", self.at):
            self._list(path)
        elif self.text.startswith("{", self.at):
            self._inline_table(path)
        else:
            found = _STRING.match(self.text, self.at) or _PLAIN_VALUE.match(self.text, self.at)
            self._move(found.end() if found else len(self.text))

    def _list(self, path: Path) -> None:
        place = 0
        self._skip(1)
        while self.at < len(self.text) and self.text[self.at] != "]":
            self._value((*path, place))
            place += 1
            self._blanks()
            if self.text.startswith(",", self.at):
                self._skip(1)
        self._move(self.at + 1)

    def _inline_table(self, path: Path) -> None:
        self._skip(1)
        while self.at < len(self.text) and self.text[self.at] != "}":
            self._assignment(path)
            self._blanks()
            if self.text.startswith(",", self.at):
                self._skip(1)
        self._move(self.at + 1)


def _unquoted(text: str) -> str:
    if text.startswith("'"):
        return text[1:-1]
    try:
        return str(json.loads(text))  # TOML's escapes are those of JSON but for \U, \e and \x
    except ValueError:
        return text[1:-1]
