"""Dataclasses that are quick to define: nothing is compiled for a class of which few objects are made.

The decorator of the standard library compiles six small functions for every frozen class, and the module it stands in
takes longer to import than Python to start. The decorator here needs no import, makes what guards and compares an
object from closures over the names of its fields, and compiles ``__init__`` alone, when it was called often enough.

What it makes is a dataclass still: ``fields``, ``replace`` and ``asdict`` of the standard library know it (their
description of the class is made when they ask for it), and type checkers are shown the decorator of the standard
library. It serves classes with ``slots=True``; ``__post_init__`` and ``InitVar`` are not known here: a class that
needs them takes the decorator of the standard library.
"""

from _operator import attrgetter

TYPE_CHECKING = False  # as in typing, which takes as long to import as a program to read
if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass, field, replace
    from typing import Any, NoReturn

__all__ = ["dataclass", "field", "names_of", "replace", "required_of", "types_of"]

_set = object.__setattr__
_UNCOMPILED = 12
"""Compiling ``__init__`` costs as much as filling in so many objects without."""
_UNSAID: object = type("_Unsaid", (), {"__repr__": lambda _: "<unsaid>"})()


class _Default:
    """What a field holds when nothing is said: a value, or what a factory makes anew each time."""

    __slots__ = ("compare", "factory", "repr", "value")

    def __init__(
        self,
        value: object = _UNSAID,
        factory: "Callable[[], object] | None" = None,
        *,
        repr: bool = True,  # noqa: A002 - the word of the standard library
        compare: bool = True,
    ) -> None:
        self.value = value
        self.factory = factory
        self.repr = repr
        self.compare = compare

    @property
    def required(self) -> bool:
        return self.value is _UNSAID and self.factory is None


def _default(said: object) -> _Default:
    """What the body of a class says of a field, be it by ``field`` of this module or of the standard library."""
    if isinstance(said, _Default):
        return said
    if type(said).__module__ == "dataclasses":
        import dataclasses

        if isinstance(said, dataclasses.Field):
            value = _UNSAID if said.default is dataclasses.MISSING else said.default
            factory = None if said.default_factory is dataclasses.MISSING else said.default_factory
            return _Default(value, factory, repr=said.repr, compare=said.compare)
    return _Default(said)


def _own_fields(cls: type) -> list[str]:
    """What is annotated in the body of a class, without what belongs to the class itself."""
    return [name for name, kind in cls.__annotations__.items() if not _is_of_the_class(kind)]


def _is_of_the_class(kind: object) -> bool:
    written = kind if isinstance(kind, str) else str(kind) if type(kind).__module__ == "typing" else ""
    return "ClassVar[" in written[:20]


class _Shape:
    """What is known of a class: its fields in order, with their annotations and defaults, and how it is made."""

    __slots__ = ("defaults", "frozen", "kw_only", "required", "types")

    def __init__(self, cls: type, *, frozen: bool, kw_only: bool) -> None:
        self.types: dict[str, object] = {}
        self.defaults: dict[str, _Default] = {}
        self.frozen = frozen
        self.kw_only = kw_only
        for base in cls.__mro__[-1:0:-1]:
            if "__tracker_shape__" in base.__dict__:
                known: _Shape = base.__tracker_shape__  # type: ignore[attr-defined]  # as just seen
                self.types.update(known.types)
                self.defaults.update(known.defaults)
        for name in _own_fields(cls):
            self.types[name] = cls.__annotations__[name]
            self.defaults[name] = _default(cls.__dict__.get(name, _UNSAID))
        self.required = tuple(name for name, default in self.defaults.items() if default.required)


class _Later:
    """The shape of a class, made out when it is first wanted: of most classes a short call makes no object."""

    __slots__ = ("_cls", "_frozen", "_kw_only", "_shape")

    def __init__(self, cls: type, *, frozen: bool, kw_only: bool) -> None:
        self._cls = cls
        self._frozen = frozen
        self._kw_only = kw_only
        self._shape: _Shape | None = None

    @property
    def shape(self) -> _Shape:
        """It."""
        if self._shape is None:
            self._shape = _Shape(self._cls, frozen=self._frozen, kw_only=self._kw_only)
        return self._shape

    def __get__(self, obj: object, owner: type) -> _Shape:
        """As an attribute of the class."""
        return self.shape


class _Described:
    """``__dataclass_fields__`` and ``__dataclass_params__``, made when the standard library first asks for them."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __get__(self, obj: object, owner: type) -> object:
        import dataclasses

        shape: _Shape = owner.__tracker_shape__  # type: ignore[attr-defined]  # the class this stands in
        rows = []
        for name, kind in shape.types.items():
            default = shape.defaults[name]
            said: dict[str, Any] = {"repr": default.repr, "compare": default.compare}
            if default.factory is not None:
                said["default_factory"] = default.factory
            elif default.value is not _UNSAID:
                said["default"] = default.value
            rows.append((name, kind, dataclasses.field(**said)))
        twin = dataclasses.make_dataclass(
            owner.__name__, rows, frozen=shape.frozen, kw_only=shape.kw_only, slots=True
        )
        made = getattr(twin, self._name)
        setattr(owner, self._name, made)
        return made


def _compiled_init(made: type, shape: _Shape) -> "Callable[..., None]":
    """``__init__`` with every field by name; defaults and factories as in the standard library.

    A frozen object is filled in through its slots, which takes two thirds of the time of ``object.__setattr__``.
    """
    scope: dict[str, object] = {"_unsaid": _UNSAID}
    words, lines = ["self", "*"] if shape.kw_only and shape.types else ["self"], []
    for at, (name, default) in enumerate(shape.defaults.items()):
        value = name
        if default.factory is not None:
            scope[f"_make_{at}"] = default.factory
            words.append(f"{name}=_unsaid")
            value = f"_make_{at}() if {name} is _unsaid else {name}"
        elif default.value is not _UNSAID:
            scope[f"_else_{at}"] = default.value
            words.append(f"{name}=_else_{at}")
        else:
            words.append(name)
        if shape.frozen:
            scope[f"_put_{at}"] = getattr(made, name).__set__
        lines.append(f" _put_{at}(self, {value})" if shape.frozen else f" self.{name} = {value}")
    exec(f"def __init__({', '.join(words)}):\n" + "\n".join(lines or [" pass"]), scope)  # noqa: S102 - names of fields alone go in, as in the standard library
    return scope["__init__"]  # type: ignore[return-value]  # what was just defined


def _init(made: type, later: _Later) -> object:
    """Stands in for ``__init__`` until enough objects were made that compiling one pays."""
    left = _UNCOMPILED

    def init(self: object, *words: object, **named: object) -> None:
        nonlocal left
        left -= 1
        shape = later.shape
        if left >= 0 and _fill(self, shape, words, named):
            return
        compiled = _compiled_init(made, shape)
        compiled.__qualname__ = f"{made.__qualname__}.__init__"
        if made.__dict__["__init__"] is init:
            made.__init__ = compiled  # type: ignore[misc]  # the one that was waited for
        compiled(self, *words, **named)

    return init


def _fill(obj: object, shape: _Shape, words: tuple[object, ...], named: "dict[str, object]") -> bool:
    """Fill an object in, field by field; False, with nothing lost, for a call that is wrong."""
    if words:
        if (
            shape.kw_only
            or len(words) > len(shape.defaults)
            or not named.keys().isdisjoint(tuple(shape.defaults)[: len(words)])
        ):
            return False
        named = {**dict(zip(shape.defaults, words, strict=False)), **named}
    if not named.keys() <= shape.defaults.keys():
        return False
    for name, default in shape.defaults.items():
        if name in named:
            _set(obj, name, named[name])
        elif default.required:
            return False
        else:
            _set(obj, name, default.value if default.factory is None else default.factory())
    return True


def _comparison(later: _Later, *, frozen: bool) -> dict[str, object]:
    """Equality of objects of one class by the values of their fields, and the hash that goes with it."""
    key: Callable[[object], object] | None = None

    def equal(self: object, other: object) -> bool:
        nonlocal key
        if key is None:
            key = _key(later.shape)
        return bool(key(self) == key(other)) if other.__class__ is self.__class__ else NotImplemented

    def hashed(self: object) -> int:
        nonlocal key
        if key is None:
            key = _key(later.shape)
        return hash(key(self))

    return {"__eq__": equal, "__hash__": hashed if frozen else None}


def _key(shape: _Shape) -> "Callable[[object], object]":
    """The values an object is compared by."""
    names = [name for name, default in shape.defaults.items() if default.compare]
    return attrgetter(*names) if names else lambda _: ()


def _text(later: _Later) -> object:
    def shown(self: object) -> str:
        names = [name for name, default in later.shape.defaults.items() if default.repr]
        values = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
        return f"{self.__class__.__qualname__}({values})"

    return shown


def _no_change(self: object, name: str, value: object) -> "NoReturn":  # noqa: ARG001 - the words of __setattr__
    raise _frozen_error(f"cannot assign to field {name!r}")


def _no_removal(self: object, name: str) -> "NoReturn":  # noqa: ARG001
    raise _frozen_error(f"cannot delete field {name!r}")


def _frozen_error(words: str) -> AttributeError:
    import dataclasses

    return dataclasses.FrozenInstanceError(words)


def _state(self: object) -> list[object]:
    """What a copy is made from."""
    return [getattr(self, name) for name in names_of(type(self))]


def _restore(self: object, state: list[object]) -> None:
    for name, value in zip(names_of(type(self)), state, strict=True):
        _set(self, name, value)


def _made(cls: type, *, frozen: bool, kw_only: bool) -> type:
    """The class anew, with slots for its fields."""
    later = _Later(cls, frozen=frozen, kw_only=kw_only)
    own = _own_fields(cls)
    space = {name: held for name, held in cls.__dict__.items() if name not in own}
    for name in ("__dict__", "__weakref__"):
        space.pop(name, None)
    methods: dict[str, object] = {
        "__slots__": tuple(
            name for name in own if not any(name in base.__dict__ for base in cls.__mro__[1:])
        ),
        "__match_args__": () if kw_only else tuple(later.shape.types),
        "__repr__": _text(later),
        "__dataclass_fields__": _Described("__dataclass_fields__"),
        "__dataclass_params__": _Described("__dataclass_params__"),
        "__tracker_shape__": later,
        "__getstate__": _state,
        "__setstate__": _restore,
        **_comparison(later, frozen=frozen),
    }
    if frozen:
        methods |= {"__setattr__": _no_change, "__delattr__": _no_removal}
    made = type(cls)(cls.__name__, cls.__bases__, methods | space)
    made.__qualname__ = cls.__qualname__
    if "__init__" not in space:
        made.__init__ = _init(made, later)  # type: ignore[misc]  # taken over at the first call
    return made


def names_of(cls: type) -> tuple[str, ...]:
    """The fields of a class made here, in order."""
    return tuple(cls.__tracker_shape__.types)  # type: ignore[attr-defined]  # every class made here has it


def types_of(cls: type) -> "dict[str, object]":
    """The annotations of its fields; strings where its module leaves them unread."""
    return dict(cls.__tracker_shape__.types)  # type: ignore[attr-defined]


def required_of(cls: type) -> tuple[str, ...]:
    """The fields without a default."""
    return tuple(cls.__tracker_shape__.required)  # type: ignore[attr-defined]


def is_made_here(thing: object) -> bool:
    """Whether a class, or an object's class, was made by this decorator."""
    return hasattr(thing, "__tracker_shape__")


if not TYPE_CHECKING:

    def dataclass(*, slots: bool, frozen: bool = False, kw_only: bool = False) -> "Callable[[type], type]":
        """The decorator."""
        if not slots:
            raise TypeError("only dataclasses with slots are made here")
        return lambda cls: _made(cls, frozen=frozen, kw_only=kw_only)

    def field(
        *,
        default: object = _UNSAID,
        default_factory: "Callable[[], object] | None" = None,
        repr: bool = True,  # noqa: A002 - the word of the standard library
        compare: bool = True,
    ) -> object:
        """As in the standard library."""
        return _Default(default, default_factory, repr=repr, compare=compare)

    def replace(obj: "Any", /, **changes: object) -> "Any":  # noqa: ANN401 - the type it was handed
        """A copy with some fields changed, as in the standard library."""
        cls = type(obj)
        for name in cls.__tracker_shape__.types:
            if name not in changes:
                changes[name] = getattr(obj, name)
        return cls(**changes)
