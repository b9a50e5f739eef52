"""File names and lengths that stand on a stick: FAT and Windows rules, and the names machines want.

Sources: Microsoft, "FAT32 File System Specification" 1.03 (fatgen103): legal characters of short names, numeric tails,
255 characters of a long name, DIR_FileSize of 32 bits; learn.microsoft.com, "Naming Files, Paths, and Namespaces": reserved characters and
device names, no trailing blank or point, no reliance on case.

What is checked, of every name:

1. no character Windows reserves, no control character, nothing that is no character at all;
2. no device name, with or without an extension;
3. no blank or point at the end, no blank at the start;
4. 255 characters at most;
5. for a control that shows short names only: the name must be a short name itself, since the alias the file system
   makes (``LONGNA~1.NC``) is no name anybody knows the program by;
6. no two names in a folder that differ by case, or by the way an accent is written, alone.
"""

import re
import unicodedata
from collections.abc import Iterable

from tracker.records.ids import is_reserved

LONGEST = 255
LARGEST = 0xFFFF_FFFF
"""Bytes of a file: all that DIR_FileSize can say, 4 GiB less one."""
_RESERVED_CHARACTERS = '<>:"/\\|?*'
_NOT_SHORT = set('"*+,./:;<=>?[\\]|')
# the same page as RESERVED_NAMES: superscript digits count as digits of a device; CONIN$ and CONOUT$ open the console
_MORE_DEVICES = frozenset(
    [f"{port}{digit}" for port in ("COM", "LPT") for digit in "\u00b9\u00b2\u00b3"] + ["CONIN$", "CONOUT$"]
)
_PLACE = re.compile(r"\{(?:(number)(?::(0?)([1-9]?)d?)?|name)\}")


class PatternError(ValueError):
    """A machine's ``file_name`` that gives no name; the text says why."""


def machine_name(pattern: str, *, number: int | None, name: str) -> str:
    """The file name a machine wants: ``O{number:04}.NC``, ``{name}``.

    Raises:
        PatternError: the pattern holds something else in braces, or asks for the number of a program without one.
    """

    def fill(place: re.Match[str]) -> str:
        if place[1] is None:
            return name
        if number is None:
            raise PatternError(f"the machine names its files by number ({pattern}), and the program has none")
        return str(number).rjust(int(place[3] or 1), "0" if place[2] else " ")

    left = _PLACE.sub("", pattern)
    if "{" in left or "}" in left or not _PLACE.search(pattern):
        raise PatternError(
            f"file_name {pattern!r} must hold {{number:04}} or {{name}} and nothing else in braces"
        )
    return _PLACE.sub(fill, pattern)


def too_large(size: int) -> str | None:
    """Why a file of ``size`` bytes cannot stand on a stick, in words that follow "the text"; None if it can."""
    return f"has {size:,} bytes; a file on a stick has {LARGEST:,} at most (FAT)" if size > LARGEST else None


def problem(name: str, *, short_only: bool = False, ascii_only: bool = False) -> str | None:
    """Why ``name`` cannot stand on a stick, in words that follow "the name ..."; None if it can."""
    if not name or name in (".", ".."):
        return "is no name"
    if any(unicodedata.category(letter) in ("Cc", "Cs", "Co", "Cn") for letter in name):
        return "holds a character that cannot be written"
    found = [letter for letter in name if letter in _RESERVED_CHARACTERS]
    if found:
        return f"holds {found[0]!r}, which Windows reserves"
    if is_reserved(name.replace(" ", "")) or name.split(".", 1)[0].strip().upper() in _MORE_DEVICES:
        return "belongs to a device under Windows"
    if name[-1] in " ." or name[0] == " ":
        return "starts with a blank, or ends in a blank or point, which Windows drops"
    if len(name.encode("utf-16-le")) // 2 > LONGEST:
        return f"is longer than {LONGEST} characters"
    if ascii_only and not name.isascii():
        return "holds letters the machine does not have"
    if short_only and not is_short(name):
        return f"is no 8.3 name: the control would show it as {alias(name)}"
    return None


def is_short(name: str) -> bool:
    """Whether ``name`` is an 8.3 name itself (ASCII, one point at the most, no blank); case does not matter."""
    stem, point, extension = name.partition(".")
    if not stem or len(stem) > 8 or len(extension) > 3 or (point and not extension):
        return False
    return all(" " < letter < "\x7f" and letter not in _NOT_SHORT for letter in stem + extension)


def alias(name: str, taken: Iterable[str] = ()) -> str:
    """The short name FAT gives a file (fatgen103, "basis name" and "numeric tail"): ``LONGNA~1.NC``.

    ``taken``: short names already in the folder. The exact tail is the file system's choice; this is the first free.
    """
    if is_short(name):
        return name.upper()
    bare = name.strip(" ").lstrip(".").replace(" ", "")
    stem, _, extension = bare.rpartition(".") if "." in bare else (bare, "", "")
    base = "".join(_short_letter(letter) for letter in stem.replace(".", ""))
    end = "".join(_short_letter(letter) for letter in extension)[:3]
    used = {short.upper() for short in taken}
    for number in range(1, 1_000_000):
        tail = f"~{number}"
        short = base[: min(6, 8 - len(tail))] + tail + (f".{end}" if end else "")
        if short not in used:
            return short
    return name.upper()  # a million aliases: no folder holds them


def folded(name: str) -> str:
    """What names are compared by: no case, one way of writing accents, no trailing blanks and points."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold()).rstrip(" .")


def _short_letter(letter: str) -> str:
    upper = letter.upper()
    return upper if len(upper) == 1 and " " < upper < "\x7f" and upper not in _NOT_SHORT else "_"
