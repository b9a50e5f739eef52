"""What a changed text says itself, and what is on record of the place it lies in, of which one it was."""

from dataclasses import dataclass

from tracker.records.events import OnStick
from tracker.services.known import Exported, Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """The name and O numbers of a changed text, its stamps, what an export wrote last where it lies, and what was last seen there."""

    name: str
    numbers: tuple[int, ...]
    marks: tuple[str, ...]
    there: Exported | None
    lay: OnStick | None

    def stamped(self, text: Known) -> bool:
        """Whether a stamp of the changed text names this one, by the operation's digits or the program's."""
        prints = (text.record.operation_fingerprint, text.file.fingerprint)
        return any(one.startswith(mark.lower()) for mark in self.marks for one in prints)

    def says(self, text: Known) -> tuple[bool, bool]:
        """How far the changed text itself says that it was this one: by its stamp, by its number."""
        return self.stamped(text), text.file.number in self.numbers

    def lay_there(self, text: Known) -> bool:
        """Whether it is the text that lay in the file's place the last time anybody saw it."""
        if self.lay is None:
            return False
        named = (self.lay.job, self.lay.operation, self.lay.program, self.lay.revision)
        return named == (text.job, text.operation, text.file.path, text.stored.name)
