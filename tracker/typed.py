"""The words of ``typing`` that stand in code which runs: importing them from there takes as long as Python to start.

For type checkers they are those of the standard library. When the program runs they say nothing: a protocol is a plain
base class, and whatever stands in square brackets is passed over. Names that only annotate need no import at run time
at all; they come from ``typing`` below ``TYPE_CHECKING``.
"""

TYPE_CHECKING = False  # a type checker takes it for true, whatever it says
if TYPE_CHECKING:
    from typing import IO, Any, Generic, Protocol, TypeVar, cast
else:

    class Generic:
        """What a class of any kind of thing rests on."""

        __slots__ = ()

        def __class_getitem__(cls, kinds: object) -> type:
            """The class itself, whatever the kinds are."""
            return cls

    Any = object
    IO = Protocol = Generic

    def TypeVar(name: str, **_: object) -> str:  # noqa: N802 - its name in the standard library
        """A kind of thing that is not known yet."""
        return name

    def cast(_: object, value: object) -> object:
        """The value, as it is."""
        return value


__all__ = ["IO", "Any", "Generic", "Protocol", "TypeVar", "cast"]
