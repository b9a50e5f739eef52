"""Which kind of language a file is written in.

``word-address`` is ISO 6983 / RS274 style. A file is ``verbatim`` when it is binary (`tracker.nc.source`), when more
than 1 in 10 of its lines that hold anything but comments and numbering do not read as words, or when a line that does
not read as words opens like the mark of a renamed label (``N=``): no word-address text can then be mistaken for a
canonical one. The lone per cent signs do not count either way.
"""

from tracker.frozen import dataclass

WORD_ADDRESS = "word-address"
VERBATIM = "verbatim"


@dataclass(slots=True)
class Tally:
    """What decides: lines that count, those of them that do not read as words, and the two other reasons."""

    counted: int = 0
    unread: int = 0
    marked: bool = False
    binary: bool = False

    @property
    def verbatim(self) -> bool:
        """Whether the file is kept to the letter as a whole."""
        return self.binary or self.marked or self.unread * 10 > self.counted

    @property
    def note(self) -> str:
        """Why it is."""
        if self.binary:
            return "not a text: kept to the letter as a whole"
        if self.unread * 10 > self.counted:
            share = f"{self.unread} of {self.counted} lines do not read as words"
            return f"not in word-address form ({share}): kept to the letter as a whole"
        return "holds a line that opens with N=: kept to the letter as a whole"
