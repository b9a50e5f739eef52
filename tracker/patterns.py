"""Patterns that are compiled when they are first looked for, and not when their module is imported.

Compiling the patterns of the language takes longer than most short calls take altogether, and a hook that git waits for
meets next to nothing of what they look for; it need not even load ``re`` then. Flags stand in the pattern itself
(``(?s)``). A pattern that is wrong would come up late, so a test compiles them all.
"""

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from re import compile as lazy_pattern
else:

    class lazy_pattern:  # noqa: N801 - called like the function it is to type checkers
        """What ``re.compile`` gives, compiled at its first use; from then on its methods are those of the real one."""

        def __init__(self, text: str | bytes) -> None:
            self._text = text

        def __getattr__(self, name: str) -> object:
            import re

            found = getattr(re.compile(self._text), name)
            self.__dict__[name] = found
            return found

        def __repr__(self) -> str:
            return f"lazy_pattern({self._text!r})"


__all__ = ["lazy_pattern"]
