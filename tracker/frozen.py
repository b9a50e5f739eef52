"""Frozen dataclasses that are quick to define: what guards and compares them is not compiled anew for every class.

``dataclasses.dataclass`` compiles six small functions for every frozen class, which took a third of the time in which
a verb of this program started. The decorator here compiles one, ``__init__``; the others are closures over the names
of the fields. What it makes is a dataclass still: ``fields``, ``replace`` and ``asdict`` know it, and type checkers
are shown the decorator of the standard library.

It serves ``@dataclass(frozen=True, slots=True, kw_only=True)`` and nothing else; a class that needs ``__post_init__``
takes the one of the standard library.
"""

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NoReturn

__all__ = ["dataclass"]

_set = object.__setattr__


def _init(fields: "tuple[dataclasses.Field[Any], ...]") -> object:
    """``__init__`` with every field by name; defaults and factories as in the standard library."""
    scope: dict[str, object] = {"_set": _set, "_unsaid": dataclasses.MISSING}
    words, lines = ["self", "*"], []
    for at, field in enumerate(fields):
        value = name = field.name
        if field.default_factory is not dataclasses.MISSING:
            scope[f"_make_{at}"] = field.default_factory
            words.append(f"{name}=_unsaid")
            value = f"_make_{at}() if {name} is _unsaid else {name}"
        elif field.default is not dataclasses.MISSING:
            scope[f"_else_{at}"] = field.default
            words.append(f"{name}=_else_{at}")
        else:
            words.append(name)
        lines.append(f" _set(self, {name!r}, {value})")
    if not fields:
        words, lines = ["self"], [" pass"]
    text = f"def __init__({', '.join(words)}):\n" + "\n".join(lines)
    exec(text, scope)  # noqa: S102 - names of fields alone go in, as in the standard library
    return scope["__init__"]


def _comparison(names: list[str]) -> dict[str, object]:
    """Equality of objects of one class by the values of these fields, and the hash that goes with it."""
    key = attrgetter(*names) if names else lambda _: ()

    def equal(self: object, other: object) -> bool:
        return bool(key(self) == key(other)) if other.__class__ is self.__class__ else NotImplemented

    def hashed(self: object) -> int:
        return hash(key(self))

    return {"__eq__": equal, "__hash__": hashed}


def _text(names: list[str]) -> object:
    def shown(self: object) -> str:
        values = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
        return f"{self.__class__.__qualname__}({values})"

    return shown


def _no_change(self: object, name: str, value: object) -> NoReturn:  # noqa: ARG001 - the words of __setattr__
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_removal(self: object, name: str) -> NoReturn:  # noqa: ARG001
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[object]:  # noqa: ANN401 - any of the classes made here
    """What a copy is made from."""
    return [getattr(self, field.name) for field in dataclasses.fields(self)]


def _restore(self: Any, state: list[object]) -> None:  # noqa: ANN401
    for field, value in zip(dataclasses.fields(self), state, strict=True):
        _set(self, field.name, value)


def _frozen(cls: type) -> type:
    made: type = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True, kw_only=True)(cls)
    fields = dataclasses.fields(made)
    methods = {
        "__init__": _init(fields),
        "__repr__": _text([field.name for field in fields if field.repr]),
        "__setattr__": _no_change,
        "__delattr__": _no_removal,
        "__getstate__": _state,
        "__setstate__": _restore,
        **_comparison([field.name for field in fields if field.compare]),
    }
    for name, method in methods.items():
        if name not in cls.__dict__:
            setattr(made, name, method)
    return made


if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool, slots: bool, kw_only: bool) -> Callable[[type], type]:
        """The decorator; all three must be true."""
        if not (frozen and slots and kw_only):
            raise TypeError("only frozen dataclasses with slots and keywords are made here")
        return _frozen
