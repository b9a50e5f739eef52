"""Which kind of language a file is written in.

``word-address`` is ISO 6983 / RS274 style. A file is ``verbatim`` when it is binary (`tracker.nc.source`), when more
than 1 in 10 of its lines that hold anything but comments and numbering do not read as words, when a line that does
not read as words opens like the mark of a renamed label (``N=``): no word-address text can then be mistaken for a
canonical one, or when it may read the physical number of a line (``#<_line>``, Python in a comment): then blank lines
and lines of comments say something, those that open the file among them, and nothing may be stamped into it. The lone
per cent signs do not count either way.
"""

from tracker.frozen import dataclass

WORD_ADDRESS = "word-address"
VERBATIM = "verbatim"


@dataclass(slots=True)
class Tally:
    """What decides: lines that count, those of them that do not read as words, and the other reasons."""

    counted: int = 0
    unread: int = 0
    marked: bool = False
    sees_lines: bool = False
    binary: bool = False

    @property
    def verbatim(self) -> bool:
        """Whether the file is kept to the letter as a whole."""
        return self.binary or self.marked or self.sees_lines or self.unread * 10 > self.counted

    @property
    def note(self) -> str:
        """Why it is."""
        if self.binary:
            return "not a text: kept to the letter as a whole"
        if self.unread * 10 > self.counted:
            share = f"{self.unread} of {self.counted} lines do not read as words"
            return f"not in word-address form ({share}): kept to the letter as a whole"
        if self.sees_lines:
            return "reads the number of the line in the file: kept to the letter as a whole"
        return "holds a line that opens with N=: kept to the letter as a whole"
