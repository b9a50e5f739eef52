"""The words of canonical blocks, quickly where a block is nothing but letters with numbers."""

import re

from tracker.nc import word
from tracker.nc.word import Word

_NUMBER = r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_PLAIN = re.compile(rf"(?:[A-Z]{_NUMBER})+")
_WORD = re.compile(rf"([A-Z])({_NUMBER})")


def words_of(block: str) -> tuple[Word, ...]:
    """The words of one block of a canonical text; what `tracker.nc.word.words` says of it."""
    if _PLAIN.fullmatch(block):
        return tuple(Word(letter, number, letter + number) for letter, number in _WORD.findall(block))
    return word.words(block)
