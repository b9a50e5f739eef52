"""A key of a people's file and a table of keys, as `tracker.records.fields` describes them."""

from collections.abc import Callable, Mapping

from tracker.frozen import dataclass, field

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from typing import ClassVar


class Kind(str):
    """What a value is, in the words of an error message; one of the constants below (``enum`` takes long to import)."""

    __slots__ = ()

    TEXT: "ClassVar[Kind]"
    ID: "ClassVar[Kind]"
    WHOLE: "ClassVar[Kind]"
    FIGURE: "ClassVar[Kind]"
    YES_NO: "ClassVar[Kind]"
    DATE: "ClassVar[Kind]"
    RANGE: "ClassVar[Kind]"
    TEXTS: "ClassVar[Kind]"
    IDS: "ClassVar[Kind]"
    WHOLES: "ClassVar[Kind]"
    TABLE: "ClassVar[Kind]"
    TABLES: "ClassVar[Kind]"


Kind.TEXT = Kind("text in quotes")
Kind.ID = Kind("a short id in quotes")
Kind.WHOLE = Kind("a whole number")
Kind.FIGURE = Kind("a number")
Kind.YES_NO = Kind("true or false")
Kind.DATE = Kind("a date like 2026-01-31, without quotes")
Kind.RANGE = Kind("two numbers, lowest first, like [-30.0, 0.0]")
Kind.TEXTS = Kind('a list of texts, like ["a", "b"]')
Kind.IDS = Kind('a list of ids, like ["MILL2"]')
Kind.WHOLES = Kind("a list of whole numbers, like [9001]")
Kind.TABLE = Kind("a table")
Kind.TABLES = Kind("a list of tables, each opened by a line in double brackets")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key.

    ``choices``: all that is allowed, of a list its items. ``low`` is the least value, ``above`` a bound the value
    must exceed, ``high`` the greatest. ``rule`` looks at a value of the right kind (of a list at each item) and
    returns what is wrong with it. ``unbuilt`` names values that ask for more than this version does, with the reason.
    ``example`` is TOML for the template; ``required`` keys are never absent.
    """

    key: str
    kind: Kind
    doc: str
    required: bool = False
    default: object = None
    choices: tuple[str, ...] = ()
    low: float | None = None
    above: float | None = None
    high: float | None = None
    pattern: str | None = None
    rule: Callable[[str], str | None] | None = None
    unbuilt: Mapping[str, str] = field(default_factory=dict)
    table: "Table | None" = None
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: how its heading is written, its keys, and what is built from it.

    ``unbuilt``: keys this version knows of but does not act on; to accept them would be to ignore them.
    """

    heading: str
    doc: str
    fields: tuple[Field, ...]
    builds: Callable[..., object]
    unbuilt: Mapping[str, str] = field(default_factory=dict)

    def field(self, key: str) -> Field | None:
        """The key's description, or None if the table has no such key."""
        return next((one for one in self.fields if one.key == key), None)
