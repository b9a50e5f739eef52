"""The variables of a control: what is known of each, and what is not.

Three kinds of value: a figure; *null* (None, as macro-type controls have it for what was never set: it counts as 0 in
a sum, and a word with it is as if not written); and not known, which is said by an exception. Common variables and
system variables hold what an earlier program or the control put there, so one that this program did not set is not
known. Locals (#1 to #33, by level of G65; #1 to #30, by level of an O call) are null or 0 where their level begins.

Which family of control a text is for decides what differs between them; see `tracker.machining.family`.
"""

from collections.abc import Mapping

from tracker.machining.family import MACRO, NGC

MACRO_LOCALS = 33
NGC_LOCALS = 30
"""Local variables of a level: of G65 on macro-type controls (common practice, no source), of an O call (LinuxCNC
documentation, O codes, "Subroutines")."""

SYSTEM = 1000
"""From this number on a macro-type control answers for itself (common practice, no source)."""

NGC_SYSTEM = 5000
HIGHEST = 99_999
_NEAR = 0.0001
_Level = tuple[int, dict[float, float | None], set[int], bool, dict[str, float | None]]
"""How near to a whole number an index must be: NISTIR 6556 section 3.3.2.1."""


class NotKnown(Exception):  # noqa: N818 - says what is the case, not what went wrong
    """A figure cannot be told; the text says why."""


def index_of(value: float | None) -> int:
    """The number of a variable from a figure.

    Raises:
        NotKnown: it is no number of a variable.
    """
    near = round(value) if value is not None and abs(value) <= HIGHEST else -1
    if value is None or near < 0 or abs(value - near) > _NEAR:
        raise NotKnown(f"there is no variable #{'' if value is None else f'{value:g}'}")
    return near


class Variables:
    """All variables at one time.

    Attributes:
        values: figures by number; None where one cannot be told. Shared with the control.
        family: ``NGC``, ``MACRO`` or None.
        changes: how often a variable has got another value.
    """

    def __init__(self, values: dict[float, float | None], family: str | None) -> None:
        self.values = values
        self.family = family
        self.changes = 0
        self._nulls: set[int] = set()
        self._locals_null = family == MACRO
        self._commons_lost = False
        self._names: dict[str, float | None] = {}
        self._common_names: dict[str, float | None] = {}
        self._levels: list[_Level] = []

    def read(self, number: int) -> float | None:
        """The value of a numbered variable, None if it is null.

        Raises:
            NotKnown: it cannot be told.
        """
        if number >= SYSTEM and self.is_system(number):
            raise NotKnown(f"#{number} is read from the control")
        if number in self.values:
            value = self.values[number]
            if value is None:
                raise NotKnown(f"#{number} is not known")
            return value
        if number == 0 or number in self._nulls or (number <= MACRO_LOCALS and self._locals_null):
            return None
        raise NotKnown(f"#{number} is not known")

    def is_system(self, number: int) -> bool:
        """Whether the control itself answers for it, or acts when it is set."""
        return number >= (NGC_SYSTEM if self.family == NGC else SYSTEM)

    def write(self, number: int, value: float | None, *, known: bool = True) -> None:
        """Set a numbered variable; ``value`` None is null; with ``known`` off it cannot be told.

        Raises:
            NotKnown: #0 cannot be set.
        """
        if number == 0:
            raise NotKnown("#0 cannot be set")
        before = self.values.get(number, self)
        if known and value is None:
            self.changes += number not in self._nulls
            self.values.pop(number, None)
            self._nulls.add(number)
            return
        self._nulls.discard(number)
        self.values[number] = value if known else None
        self.changes += before is self or before != self.values[number]

    def read_name(self, name: str) -> float | None:
        """The value of a named variable (``name`` without its brackets).

        Raises:
            NotKnown: it cannot be told.
        """
        plain = _plain(name)
        value = self._of(plain).get(plain)
        if value is None:
            raise NotKnown(f"#<{plain}> is not known")
        return value

    def write_name(self, name: str, value: float | None, *, known: bool = True) -> None:
        """Set a named variable: one that opens with ``_`` is common to all levels."""
        plain = _plain(name)
        names, new = self._of(plain), (value or 0.0) if known else None
        self.changes += plain not in names or names[plain] != new
        names[plain] = new

    def exists(self, name: str) -> float:
        """1 if a named variable was set here, 0 if it surely was not.

        Raises:
            NotKnown: another program, or the control, may have set it.
        """
        plain = _plain(name)
        if plain in self._of(plain):
            return 1.0
        if plain[:1] == "_" or self._commons_lost:
            raise NotKnown(f"whether #<{plain}> exists is not known")
        return 0.0

    def _of(self, name: str) -> dict[str, float | None]:
        return self._common_names if name[:1] == "_" else self._names

    def enter(self, arguments: Mapping[int, float | None], unknown: frozenset[int], *, ngc: bool) -> None:
        """Begin a level of locals with these arguments; those in ``unknown`` cannot be told.

        With ``ngc`` (an O call) a local that is no argument is 0, else it is null.
        """
        last = NGC_LOCALS if ngc else MACRO_LOCALS
        kept: dict[float, float | None] = {
            number: self.values.pop(number) for number in range(1, last + 1) if number in self.values
        }
        nulls = {number for number in self._nulls if number <= last}
        self._levels.append((last, kept, nulls, self._locals_null, self._names))
        self._nulls -= nulls
        self._names = {}
        self._locals_null = not ngc
        if ngc:
            self.values.update((number, 0.0) for number in range(1, last + 1))
        for number, value in arguments.items():
            self.write(number, value)
        for number in unknown:
            self.write(number, None, known=False)

    def leave(self) -> None:
        """End a level: the locals of the level above are back."""
        last, kept, nulls, self._locals_null, self._names = self._levels.pop()
        for number in range(1, last + 1):
            self.values.pop(number, None)
            self._nulls.discard(number)
        self.values.update(kept)
        self._nulls |= nulls

    def lose(self, *, locals_too: bool) -> None:
        """Something that cannot be followed may have set any variable."""
        self._commons_lost = True
        self.changes += 1
        self._common_names = dict.fromkeys(self._common_names)
        for number in [number for number in self.values if locals_too or number > MACRO_LOCALS]:
            self.values[number] = None
        self._nulls = set() if locals_too else {number for number in self._nulls if number <= MACRO_LOCALS}
        if locals_too:
            self._locals_null = False


def _plain(name: str) -> str:
    """Blanks and case say nothing in a name (LinuxCNC documentation, "Named Parameters")."""
    return name.translate({32: None, 9: None}).lower()
