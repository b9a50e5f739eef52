"""Standard input somebody types at."""

import io
import sys

import pytest


class Typed(io.StringIO):
    """A terminal, with all that will be typed."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def typed(monkeypatch):
    """Has these lines typed from now on; returns them as they stand, so that what nobody asked for can be seen."""

    def type_in(*lines: str) -> Typed:
        made = Typed("".join(f"{line}\n" for line in lines))
        monkeypatch.setattr(sys, "stdin", made)
        return made

    return type_in
