"""Where the programs named for a new job will lie: which of them are main programs, and what is copied.

Of several files one that another of them calls is a called program; the others are main programs, an operation each.
"""

from collections.abc import Sequence

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.services.call_lookup import numbers_of
from tracker.services.naming import Named
from tracker.services.paths import folder_of, name_of
from tracker.services.ports import NewFile
from tracker.services.program_facts import FactsKept, facts_of

_STEP = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A program as named on the command line; ``path`` in the repository, None for one from outside."""

    name: str
    data: bytes
    path: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A main program where it will lie, with the called programs copied beside it."""

    operation: str
    path: str
    copies: tuple[NewFile, ...]


def places(
    named: Named, given: Sequence[Given], job_path: str, taken: Sequence[str], *, copy: bool
) -> list[Placed]:
    """Where every program will lie, an operation for each main program."""
    called_by = _called_by(given)
    mains = [one for one in given if one.name not in called_by] or list(given[:1])
    if named.operation is not None and len(mains) > 1:
        raise BadCall(
            "several-mains",
            f"{' and '.join(name_of(one.name) for one in mains)} do not call each other: which one is {named.operation}?",
            fix=f"name one main program, or the job alone for an operation each: proveout new {named.job} FILE...",
        )
    placed: list[Placed] = []
    ids = list(taken)
    for main in mains:
        operation = named.operation or free_id(ids)
        ids.append(operation)
        folder = f"{folder_of(job_path)}/{operation}"
        own = [main, *(one for one in given if called_by.get(one.name) == main.name)]
        copies = tuple(
            NewFile(path=f"{folder}/{name_of(one.name)}", data=one.data)
            for one in own
            if one.path is None or copy
        )
        path = main.path if main.path is not None and not copy else f"{folder}/{name_of(main.name)}"
        placed.append(Placed(operation=operation, path=path, copies=copies))
    return placed


def free_id(ids: Sequence[str]) -> str:
    """The next id in steps of ten, so that an operation can be put between two later."""
    numbers = [int(one[2:]) for one in ids if one.startswith("op") and one[2:].isdecimal()]
    return f"op{(max(numbers, default=0) // _STEP + 1) * _STEP}"


def _called_by(given: Sequence[Given]) -> dict[str, str]:
    """Name of each called program -> name of the main program it goes with: the first that reaches it."""
    kept: FactsKept = {}
    by_number = {number: one.name for one in given for number in numbers_of(one.name, one.data)}
    calls = {
        one.name: [
            by_number[number]
            for call in facts_of(one.data, kept).calls
            for number, _ in call.readings
            if by_number.get(number, one.name) != one.name
        ]
        for one in given
    }
    called = {name for names in calls.values() for name in names}
    found: dict[str, str] = {}
    for main in (one.name for one in given if one.name not in called):
        waiting = list(calls[main])
        while waiting:
            name = waiting.pop()
            if name not in found:
                found[name] = main
                waiting += calls[name]
    return found
