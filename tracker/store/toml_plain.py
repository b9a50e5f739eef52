"""Plain TOML, read quickly: what this tool writes itself, and nearly all of what people write.

Records are read by the hundred, and by a hook that git waits for; the reader of the standard library looks at every
character in Python, and takes as long to import as a dozen records to read. This one knows lines of one key, texts in
one pair of quotes, whole numbers, decimals, dates, true and false, lists, tables in one line, and headings. Whatever
else it meets, a mistake above all, it does not judge: the answer is None, and the reader of the standard library has
to say. So it may give up at any time, but must never read anything differently.
"""

from collections.abc import Iterator
from datetime import date

_DEEPEST = 8
"""Lists and tables in one line nested deeper than anybody writes them are not plain."""
_Table = dict[str, object]
_LINES = 4096
_seen_pairs: dict[str, tuple[str, object]] = {}
"""Lines that were read before and hold no list and no table, like ``done = true``: records say the same again and again."""
_seen_tables: dict[str, _Table] = {}
"""Tables in a line of a list, like the steps of a proof, that hold neither."""


class _NotPlain(Exception):  # noqa: N818 - no error: the reader of the standard library has to look
    pass


def plain_toml(text: str) -> dict[str, object] | None:
    """What a TOML text holds, or None where it is not plain (it may be wrong, or well-formed)."""
    try:
        return _Reader().read(iter(text.replace("\r\n", "\n").split("\n")))
    except (_NotPlain, ValueError):
        return None


class _Reader:
    """The tables read so far."""

    def __init__(self) -> None:
        self._root: _Table = {}
        self._here = self._root
        self._open = {id(self._root)}  # tables of headings; one that is written in a line cannot be added to
        self._growing: set[int] = set()  # lists that headings in double brackets add to

    def read(self, lines: Iterator[str]) -> _Table:
        """Take every line."""
        here = self._here
        for raw in lines:
            # nearly every line there is: one key, one text without anything in it that says more than itself
            key, middle, text = raw.partition(' = "')
            if (
                middle
                and text[-1:] == '"'
                and key not in here
                and "\\" not in text
                and text.find('"') == len(text) - 1
                and key.isidentifier()
                and key.isascii()
                and raw.isprintable()
            ):
                here[key] = text[:-1]
                continue
            seen = _seen_pairs.get(raw)
            if seen is not None and seen[0] not in here:
                here[seen[0]] = seen[1]
                continue
            line = _line(raw)
            if not line:
                continue
            if line[0] == "[":
                self._heading(line)
                here = self._here
                continue
            key, value = _pair(line)
            if key in here:
                raise _NotPlain
            here[key] = found = _rows(lines) if value == "[" else _value(_without_remark(value))
            if len(_seen_pairs) < _LINES and not isinstance(found, list | dict):
                _seen_pairs[raw] = key, found
        return self._root

    def _heading(self, line: str) -> None:
        width = 2 if line.startswith("[[") else 1
        if not line.endswith("]" * width):
            raise _NotPlain
        *path, last = map(_bare, line[width:-width].split("."))
        above = self._root
        for key in path:
            above = self._below(above, key)
        self._here = {}
        self._open.add(id(self._here))
        if width == 2:
            self._growing_list(above, last).append(self._here)
        elif last in above:
            raise _NotPlain
        else:
            above[last] = self._here

    def _below(self, table: _Table, key: str) -> _Table:
        """The table that ``key`` in the path of a heading leads to, of a list the latest; made where there is none."""
        if key not in table:
            table[key] = made = _Table()
            self._open.add(id(made))
        found = table[key]
        if id(found) in self._growing and isinstance(found, list):
            found = found[-1]
        if not isinstance(found, dict) or id(found) not in self._open:
            raise _NotPlain
        return found

    def _growing_list(self, table: _Table, key: str) -> list[object]:
        if key not in table:
            table[key] = made = list[object]()
            self._growing.add(id(made))
        found = table[key]
        if not isinstance(found, list) or id(found) not in self._growing:
            raise _NotPlain
        return found


def _line(line: str) -> str:
    """A line without blanks around it; empty if it is a remark."""
    line = line.strip(" \t")
    if not line.isprintable():
        raise _NotPlain
    return "" if line.startswith("#") else line


def _bare(key: str) -> str:
    if not key.isascii() or not key.replace("_", "").replace("-", "").isalnum():
        raise _NotPlain
    return key


def _pair(text: str) -> tuple[str, str]:
    """Key and value."""
    key, _, value = text.partition("=")
    return _bare(key.rstrip(" \t")), value.lstrip(" \t")


def _without_remark(value: str) -> str:
    """The value of a line; behind a list or a table a remark is left, and makes it not plain."""
    quote = value[:1]
    if "#" not in value or quote in ("[", "{"):
        return value
    end = value.find(quote, 1) + 1 if quote in ("'", '"') and "\\" not in value else 0
    held, mark, _ = value[end:].partition("#")
    return value if not mark else value[:end] + held.rstrip(" \t")


def _rows(lines: Iterator[str]) -> list[object]:
    """A list over several lines, an item on each."""
    rows: list[object] = []
    more = True
    for line in map(_line, lines):
        if line == "]":
            return rows
        if line:
            if not more:
                break
            more = line.endswith(",")
            rows.append(_row(line[:-1].rstrip(" \t") if more else line))
    raise _NotPlain


def _row(text: str) -> object:
    """An item of a list; of a table that was read before another one like it."""
    seen = _seen_tables.get(text)
    if seen is not None:
        return dict(seen)
    found = _value(text)
    if len(_seen_tables) < _LINES and isinstance(found, dict) and _is_flat(found):
        _seen_tables[text] = dict(found)
    return found


def _is_flat(table: _Table) -> bool:
    return not any(isinstance(one, list | dict) for one in table.values())


def _value(text: str) -> object:
    first, last = text[:1], text[1:][-1:]
    if first == '"' == last:
        return _text(text[1:-1])
    if first == "'" == last and "'" not in text[1:-1]:
        return text[1:-1]
    if first == "[" and last == "]":
        items = _split(text[1:-1])
        return [_value(one) for one in (items if items[-1] else items[:-1])]
    if first == "{" and last == "}":
        return _one_line_table(text[1:-1].strip(" \t"))
    if text in ("true", "false"):
        return text == "true"
    return _figure(text)


def _text(inside: str) -> str:
    """What stands between quotes; of what a stroke may say, only itself and a quote are plain."""
    if "\\" not in inside:
        if '"' in inside:
            raise _NotPlain
        return inside
    parts = [part.replace('\\"', "\0") for part in inside.split("\\\\")]
    if any('"' in part or "\\" in part for part in parts):
        raise _NotPlain
    return "\\".join(parts).replace("\0", '"')


def _one_line_table(inside: str) -> _Table:
    table: _Table = {}
    for piece in _split(inside) if inside else ():
        key, value = _pair(piece)
        if key in table:
            raise _NotPlain
        table[key] = _value(value)
    return table


def _split(inside: str) -> list[str]:
    """The pieces between commas, those inside texts, lists and tables left alone."""
    if "\\" in inside:
        raise _NotPlain
    if not any(mark in inside for mark in "'[{]}"):
        cut = inside.split(",")
        if not any(piece.count('"') % 2 for piece in cut):  # else a comma stands inside a text
            return [piece.strip(" \t") for piece in cut]
    pieces, began, depth, quote = [], 0, 0, ""
    for at, mark in enumerate(inside):
        if quote:
            quote = "" if mark == quote else quote
        elif mark in "\"'":
            quote = mark
        elif mark in "[{":
            depth += 1
            if depth > _DEEPEST:
                raise _NotPlain
        elif mark in "]}":
            depth -= 1
        elif mark == "," and not depth:
            pieces.append(inside[began:at].strip(" \t"))
            began = at + 1
    return [*pieces, inside[began:].strip(" \t")]


def _figure(text: str) -> int | float | date:
    """A number or a date; raises ValueError for a date that is none."""
    if len(text) == 10 and text[4] == text[7] == "-" and _digits(text[:4] + text[5:7] + text[8:]):
        return date(int(text[:4]), int(text[5:7]), int(text[8:]))
    whole, point, rest = text.removeprefix("-").partition(".")
    if not _digits(whole) or (whole[0] == "0" and whole != "0") or len(whole) > 18:
        raise _NotPlain
    if not point:
        return int(text)
    if not _digits(rest):
        raise _NotPlain
    return float(text)


def _digits(text: str) -> bool:
    return text.isascii() and text.isdecimal()
