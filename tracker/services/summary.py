"""``summary``: what a program does, in figures, of a file anywhere or of an operation of the shop."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar

from tracker.errors import CouldNot
from tracker.frozen import dataclass
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary
from tracker.services.call_lookup import numbers_of
from tracker.services.program_text import ProgramText

if TYPE_CHECKING:
    from tracker.records.job import Operation
    from tracker.records.shop import Machine, Shop
    from tracker.services.desk import Desk
    from tracker.services.naming import Named

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryReport:
    """A program and what it does.

    ``file`` as named, or the file name of the operation's program; ``of`` the operation or revision, None for a plain
    file; ``machine`` whose figures were used, None where there was none or several that differ; ``mark`` the 8-digit id
    of the operation's text.
    """

    file: str
    summary: Summary
    of: str | None = None
    machine: str | None = None
    mark: str | None = None


def summary_of_file(file: str, data: bytes, machine: "Machine | None" = None) -> SummaryReport:
    """What a file does that is in no operation, on a machine or on none in particular."""
    setting = Setting() if machine is None else setting_of((machine,), {})
    return SummaryReport(file=file, summary=summarise(data, setting), machine=machine.id if machine else None)


def summary_of_operation(desk: "Desk", named: "Named", machine: str | None = None) -> SummaryReport:
    """What the main program of an operation does: as it lies in the tree, or with ``@rN`` as it was recorded.

    Raises BadCall (names nothing answers to) and CouldNot (``damaged``).
    """
    shop, operation, programs, label, mark = _meant(desk, named)
    machines = _machines(shop, operation, machine)
    setting = setting_of(machines, called_of(programs))
    main = programs[0]
    return SummaryReport(
        file=main.name,
        summary=summarise(main.data, setting),
        of=label,
        machine=machines[0].id if len(machines) == 1 else None,
        mark=mark,
    )


def setting_of(machines: "Sequence[Machine]", called: Mapping[int, bytes]) -> Setting:
    """What is known before a program runs on one of these machines: what they all have in common."""
    return Setting(
        lathe=_common([one.type == "lathe" for one in machines]),
        units=_common([one.units for one in machines]),
        decimal=_common([one.decimal for one in machines]),
        called=called.get,
        resident=tuple(sorted({number for one in machines for number in one.resident})),
        max_rpm=_common([one.max_rpm for one in machines]),
    )


def called_of(programs: Sequence[ProgramText]) -> Mapping[int, bytes]:
    """The programs in hand by number; a number that two of them answer to is left out, for nobody can say which runs."""
    found: dict[int, bytes | None] = {}
    for program in programs:
        for number in dict.fromkeys(numbers_of(program.path, program.data)):
            found[number] = None if number in found else program.data
    return {number: data for number, data in found.items() if data is not None}


def _meant(
    desk: "Desk", named: "Named"
) -> "tuple[Shop, Operation | None, tuple[ProgramText, ...], str, str]":
    from tracker.services.locate import locate
    from tracker.services.operation_text import operation_text
    from tracker.services.recorded import recorded
    from tracker.services.revision_text import revision_text, shown_name

    tree = desk.repo.work_tree()
    shop = tree.shop()
    if named.revision is None:
        path, job, operation = locate(tree, named)
        text = operation_text(tree, path, job, operation, shop)
        return shop, text.operation, text.programs, f"{job.number}/{operation.id}", text.display_id
    found = recorded(desk, named)
    held = revision_text(desk.repo, found.stored)
    label = f"{found.job}/{found.operation}@{shown_name(found.stored, found.ledger)}"
    first = held.record.files[0].path if held.record.files else ""
    if not held.programs or held.programs[0].path != first:
        raise CouldNot(
            "damaged",
            f"the program of {label} cannot be read back as it was recorded",
            where=first or held.stored.path,
            fix="proveout audit says what is missing; a backup may hold it",
        )
    return shop, held.operation, held.programs, label, held.record.operation_fingerprint[:8].upper()


def _machines(shop: "Shop", operation: "Operation | None", name: str | None) -> "tuple[Machine, ...]":
    from tracker.services.machine_named import machine_named

    if name is not None:
        return (machine_named(shop, name),)
    known = [shop.machine(one) for one in operation.machines] if operation else []
    return tuple(one for one in known if one is not None)


def _common(values: Sequence[T]) -> T | None:
    """What all of them are, or None."""
    return values[0] if values and all(one == values[0] for one in values) else None
